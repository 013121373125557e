"""A record: what was done on one job, whole or in part. Whatever was not written down is left out, never guessed.

Every figure may be written as crews write it on a tablet, see `inputs/reading/handwriting.py`. A box of the printed
page is named by the job's id, a slash and the key path here, as in
`2026-06-09/10-millrace/times.arrived`, `.../readings.house.gauge_open`, `.../mixes.1.stock_used`, `.../sides.2.rinse`.
The second part of a reading is the run's name, of a mix or a side its number in the plan's order, from 1; a run goes by
its number too, and must where two names would be spelled alike in a field. Paper prints the unit beside its box:
whoever reads a filled page back adds it to a bare number, for a bucket as `5 gal in 38 s`, before it comes here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, ClassVar, Literal

from planner.inputs.models.base import Slip, Written, key
from planner.inputs.models.day import Heel
from planner.inputs.models.lists import Listed, Staged
from planner.inputs.models.quantities import Amount, Clock, Date, Hours, Money, Name, Reads, Words
from planner.inputs.reading.handwriting import (
    Residual,
    plain,
    read_bucket_done,
    read_count,
    read_gauge,
    read_number,
    read_residual,
    read_time,
    read_volume,
)
from planner.inputs.reading.strengths import EXAMPLES, Strength, read_strength
from planner.units import DIMENSIONS, Bucket, Unreadable, read


class TimesDone(Written, defer_build=True):
    """When it happened, s from midnight."""

    what: ClassVar[str] = "the times"
    arrived: Clock | None = key("When the rig arrived", "08:40", None)
    first_mix: Clock | None = key("When the first wall was started, with water or mix", "09:25", None)
    flushed: Clock | None = key("When the flush was over", "12:10", None)
    left: Clock | None = key("When the rig left", "12:40", None)


class ReadingsDone(Written, defer_build=True):
    """What one hose run showed: pressures in Pa, lengths in m."""

    what: ClassVar[str] = "the readings of a run"
    gauge_open: GaugeDone | None = key("Its gauge with the gun open", "52 psi", None)
    gauge_closed: GaugeDone | None = key("Its gauge with the gun closed", "66 psi", None)
    bucket: BucketDone | None = key("A bucket filled at its tip", "5 gal in 38 s", None)
    jet: LengthDone | None = key("How high the jet got at the wall, above the ground there", "34 ft", None)
    throw: LengthDone | None = key("How far the jet was thrown along the ground", "38 ft", None)
    standoff: PositiveLengthDone | None = key("How far from the wall the tip was", "12 ft", None)


class MixDone(Written, defer_build=True):
    """What was poured and sprayed of one mix. Volumes in m3; `stock_test` as it was written."""

    what: ClassVar[str] = "what was done with a mix"
    lot: Name | None = key("The container it came from, where it was another than planned", "drum 14", None)
    stock_test: StrengthDone | None = key("What the strip or titration of the stock read", "10.5 trade %", None)
    dial: DialDone | None = key("What the dial was set to", "2.4", None)
    batches: CountDone | None = key("How many tankfuls were mixed", "2", None)
    stock_used: AmountDone | None = key("Stock used in all, a volume or a weight", "6 gal", None)
    mix_made: VolumeDone | None = key("Mix made in all", "60 gal", None)
    jug_left: VolumeDone | None = key("What was left in the jug once its draw test was read", "20 fl oz", None)
    left: VolumeDone | None = key("Mix left over when the walls were done, before any was drained", "2 gal", None)
    water: VolumeDone | None = key("Water that went into it", "54 gal", None)


class SideDone(Written, defer_build=True):
    """What one side of the work took: volumes in m3, `first_mix` in s from midnight, `dwell` in s."""

    what: ClassVar[str] = "what was done of a side"
    also_written: ClassVar[Mapping[str, str]] = {"wait": "dwell"}
    first_mix: Clock | None = key("When the first mix was on it", "09:25", None)
    sections: CountDone | None = key("In how many sections it was washed", "4", None)
    wet: VolumeDone | None = key("Water before", "12 gal", None)
    mix: VolumeDone | None = key("Mix on it", "18 gal", None)
    dwell: DwellDone | None = key("How long the mix stayed on it", "8 min", None)
    rinse: VolumeDone | None = key("Water after", "40 gal", None)


class WaterDone(Written, defer_build=True):
    """Water of the whole job, m3, and the bucket held under its open tap."""

    what: ClassVar[str] = "the water"
    used: VolumeDone | None = key("Water in all", "240 gal", None)
    tap: BucketDone | None = key("A bucket held under the open tap", "5 gal in 50 s", None)


class FlushDone(Written, defer_build=True):
    """What the strip at the tip read after the flush: `residual` in kg/m3, or less than that."""

    what: ClassVar[str] = "the flush"
    residual: ResidualDone | None = key("Chlorine left in the water at the tip", "2 mg/L", None)
    ph: PhDone | None = key("The pH at the tip", "7", None)


class LotDone(Written, defer_build=True):
    """What one container was found to hold."""

    what: ClassVar[str] = "a lot"
    test: StrengthDone | None = key("What its strip or titration read", "10.5 trade %", None)
    on_hand: AmountDone | None = key("What is left in it", "9 gal", None)


class StageDone(Written, defer_build=True):
    """What was found of one stage, or of one part where the pump has no stages: words, as they were written."""

    what: ClassVar[str] = "what was done of a stage"
    part: Words | None = key("Which part it is, where there are no stages", "inlet valve 2", None)
    spacer: Words | None = key("The spacer that was there", "0.020 in", None)
    plate: Words | None = key("How its plate, valve or seal was found", "cracked at the rim", None)
    cost: Words | None = key("What its new part cost", "$12", None)


def _numbers(raw: Mapping[str, Any], name: str, what: str, remedy: str) -> Iterator[Slip]:
    """A slip for each part of a mapping that goes by no number."""
    written = raw.get(name)
    for own in written if isinstance(written, dict) else ():
        if not re.fullmatch(r"[1-9][0-9]?", str(own)):
            message = f"`{str(own)[:60]}` is not a {what}'s number"
            yield Slip(code="name.unknown", message=message, remedy=remedy, at=(name, own))


class PumpWork(Written, defer_build=True):
    """What was done to a pump in the yard. Lengths in m, `bath` in s, gauges in Pa; bare names are of after."""

    what: ClassVar[str] = "the pump work"
    also_written: ClassVar[Mapping[str, str]] = {"parts": "replaced", "new_parts": "replaced"}
    bath: BathDone | None = key("How long it was in the bath", "20 min", None)
    spacers: Staged = key(
        "Spacers stage by stage from the root of the shaft, or by number like `{4: 1 thick}`", "[2 thin, 1 thick]", ()
    )
    replaced: Listed = key("Parts replaced", "[diffuser plates, shaft seal]", ())
    checked: Listed = key("Parts looked at and kept", "[impellers]", ())
    stages: dict[str, StageDone] = key(
        "What was found at each stage, by its number from the root of the shaft", "{1: {spacer: 2 thin}}", {}
    )
    throw_before: LengthDone | None = key("The throw you paced before", "31 ft", None)
    throw_after: LengthDone | None = key("The throw you paced after", "38 ft", None)
    gauge_before: GaugeDone | None = key("Its gauge before, with the gun closed", "58 psi", None)
    gauge_closed: GaugeDone | None = key("Its gauge after, with the gun closed", "66 psi", None)
    bucket_before: BucketDone | None = key("A bucket filled at the tip before", "5 gal in 38 s", None)
    bucket: BucketDone | None = key("A bucket filled at the tip after", "5 gal in 33 s", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """Stages go by their numbers."""
        remedy = "count stages from the root of the shaft and write `1`, `2` and so on"
        yield from _numbers(raw, "stages", "stage", remedy)


class InitialsDone(Written, defer_build=True):
    """Who stood at a stop point and answered all of it yes, as they wrote it."""

    what: ClassVar[str] = "the initials at a stop point"
    lead: Name | None = key("The lead's", "AB", None)
    second: Name | None = key("The second's", "CD", None)


class Record(Written, defer_build=True):
    """What was done on one job."""

    what: ClassVar[str] = "a record"
    job: Name = key("The job's id: its day and its file's name", "2026-06-09/10-boathouse")
    plan: Name | None = key("The plan number printed on the packet worked from", "3f9a2c1b", None)
    status: Literal["done", "part", "cancelled", "moved"] | None = key(
        "How the job went: done, part of it, cancelled, or moved to another day; left out, done", "part", None
    )
    date: Date | None = key("The day it was done; left out, the job's own", "2026-06-09", None)
    times: TimesDone | None = key("When it happened, by the 24 hour clock", "{arrived: 08:40, left: 12:40}", None)
    water: WaterDone | None = key("Water of the whole job", "{used: 240 gal}", None)
    readings: dict[str, ReadingsDone] = key(
        "What each hose run showed, by its name or its number", "{house: {gauge_open: 52 psi, throw: 38 ft}}", {}
    )
    mixes: dict[str, MixDone] = key(
        "What was done with each mix, by its number in the plan", "{1: {stock_used: 6 gal, left: 2 gal}}", {}
    )
    sides: dict[str, SideDone] = key(
        "What each side took, by its name or its number", "{1: {wet: 12 gal, dwell: 8 min}}", {}
    )
    lots: dict[str, LotDone] = key("What containers held, by name", "{drum 14: {test: 10.5 trade %}}", {})
    flush: FlushDone | None = key("The strip at the tip after the flush", "{residual: 2 mg/L}", None)
    heels: dict[str, Heel] = key(
        "What is left in which tank", "{mix: {stock: bleach, strength: 3 %, volume: 2 gal}}", {}
    )
    pump: PumpWork | None = key("Work on a pump, of a yard job", "{throw_before: 31 ft, throw_after: 38 ft}", None)
    initials: dict[str, InitialsDone] = key(
        "Initials at stop points, by their numbers", "{1: {lead: AB}, 2: {lead: AB, second: CD}}", {}
    )
    customer: Name | None = key("Initials of whoever was shown around before", "EF", None)
    deviations: Words | None = key("What went differently, and why", "gable by ladder, hose too short", None)
    after: Words | None = key("Plants, glass, property afterwards, and leftovers", "hosta leaves bleached", None)
    callback: AnswerDone | None = key("Whether the customer called back about the job", "no", None)
    callbacks: Words | None = key("What the customer called back about", "streaks by the door", None)
    cost: Words | None = key("What it came to", "6 gal bleach, 5.5 hours", None)
    spent: Money | None = key("What was spent on it, in your own money", "312.50", None)
    hours: Hours | None = key("Crew hours in all", "16.5", None)
    signed: Name | None = key("Who led the work and signs for it", "Ana", None)
    signed_at: Words | None = key("When it was signed, as written", "2026-06-09 12:45", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """Stop points go by their numbers."""
        yield from _numbers(raw, "initials", "stop point", "write the number printed at the stop point")


# ------------------------------------------------------------ hand
# The kinds of text a record takes: as crews write them in a box, see `inputs/reading/handwriting.py`, each read to SI.


HIGHEST_PH = 14.0
"""The end of the pH strips; stronger acids and lyes pass it only on paper."""


def _length(text: str) -> float:
    return read(plain(text, "a length"), "length")


def _above_zero(text: str) -> float:
    value = _length(text)
    if value <= 0.0:
        raise Unreadable("quantity.range", f"`{text[:40]}` must be more than zero", "write a length such as `31 ft`")
    return value


def _amount(text: str) -> Amount:
    """A volume, or a weight; ounces by themselves are a weight where no box has said otherwise."""
    words = re.sub(r"(?<=[0-9.½⅓¼¾⅛⅔⅜⅝⅞]) ?#$", " lb", plain(text, "a volume or a mass", parts=True))
    if re.search(r"[0-9.½⅓¼¾⅛⅔⅜⅝⅞] ?(?:lbs?|pounds?|oz|ounces?)\b", words, re.IGNORECASE) and not re.search(
        r"fl|gal", words, re.I
    ):
        return Amount(volume=None, mass=read(words, "mass"))
    try:
        return Amount(volume=read_volume(words), mass=None)
    except Unreadable as slip:
        if slip.code == "quantity.dimension" and " is a mass" in slip.message:
            return Amount(volume=None, mass=read(words, "mass"))
        raise


def _strength(text: str) -> Strength:
    words = plain(text, "a strength")
    return read_strength(f"{words} %" if re.search(r"[0-9] ?(?:trade|wt|vol)$", words, re.IGNORECASE) else words)


def _ph(text: str) -> float:
    value = read_number(re.sub(r"^ph\s*[:=]?\s*", "", text.strip(), flags=re.IGNORECASE), parts=False)
    if value > HIGHEST_PH:
        raise Unreadable(
            "quantity.range", f"`{text[:40]}` is not a pH a strip shows", "write a number from 0 to 14, such as `7`"
        )
    return value


def _answer(text: str) -> bool:
    word = text.strip().rstrip(".!").lower()
    if word not in ("y", "yes", "true", "on", "n", "no", "none", "false", "off"):
        raise Unreadable("value.choice", f"`{text[:40]}` is neither yes nor no", "write `yes` or `no`")
    return word in ("y", "yes", "true", "on")


def _bath(text: str) -> float:
    return read_time(text, watch=False)


def _article(dimension: str) -> tuple[str, str]:
    return DIMENSIONS[dimension].article, DIMENSIONS[dimension].example


GaugeDone = Annotated[float, Reads(read_gauge, (float, int), *_article("pressure"))]
LengthDone = Annotated[float, Reads(_length, (float, int), *_article("length"))]
PositiveLengthDone = Annotated[float, Reads(_above_zero, (float, int), *_article("length"))]
VolumeDone = Annotated[float, Reads(read_volume, (float, int), *_article("volume"))]
DwellDone = Annotated[float, Reads(read_time, (float, int), *_article("time"))]
BathDone = Annotated[float, Reads(_bath, (float, int), *_article("time"))]
BucketDone = Annotated[Bucket, Reads(read_bucket_done, (Bucket,), "a bucket test", "`5 gal in 50 s`")]
DialDone = Annotated[float, Reads(read_number, (float, int), "a number", "`0.95`", ("number",))]
PhDone = Annotated[float, Reads(_ph, (float, int), "a number", "`0.95`", ("number",))]
AnswerDone = Annotated[bool, Reads(_answer, (bool,), "yes or no", "`yes` or `no`", ("boolean",))]
CountDone = Annotated[int, Reads(read_count, (int,), "a whole number", "`3`", ("integer",))]
AmountDone = Annotated[Amount, Reads(_amount, (Amount,), "a volume or a mass", "`12 gal` or `50 lb`")]
StrengthDone = Annotated[Strength, Reads(_strength, (Strength,), "a strength", EXAMPLES)]
ResidualDone = Annotated[Residual, Reads(read_residual, (Residual,), *_article("concentration"))]
