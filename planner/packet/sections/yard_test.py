"""The test of a pump before and after: throw along level ground, closed gauge and bucket, each with a box beside it."""

from __future__ import annotations

from typing import Any

from planner.packet.blocks import Block, Picture, Section, Text
from planner.packet.drawings.ground import Jet, along_ground
from planner.packet.figures import bench_bucket
from planner.packet.findings import with_numbers
from planner.packet.measures import gauge_number, timed
from planner.packet.sections.acts import headed
from planner.packet.sections.done import Entry
from planner.packet.sections.reading import Reading, template
from planner.packet.sections.yard_acts import Pages, pages_of, yard_printing
from planner.packet.sections.yard_bench import stages
from planner.packet.sections.yard_safety import held_wear
from planner.packet.sections.yard_words import opened, role_in_yard, yard_of
from planner.packet.wording import section_from
from planner.plan.found_wear import Found, beside, finer_than, told_by
from planner.plan.yard_model import BenchPoint, ThrowTest, YardPlan
from planner.units import System, show, show_number

_GROUND = (94.0, 82.0, 0.0)
_SAME = 0.3  # m; jets that land nearer each other than this are one


def section(reading: Reading) -> Section | None:
    """The test's sheet; without a line to test on only its boxes."""
    plan, system = reading.checked.plan, reading.system
    yard = yard_of(plan)
    if yard is None:
        return None
    test, printing, apart = yard.test, yard_printing(reading), opened(yard)
    picture = _picture(test, system) if test is not None and not apart else None
    pages = pages_of(printing.telling.procedure.acts) if printing is not None else Pages()
    acts = printing.blocks((*pages.test, *pages.down)) if printing is not None else ()
    places: dict[str, tuple[Block, ...]] = {
        "acts": headed(acts),
        "ground": (picture,) if picture is not None else (),
        "paced": tuple(_paced(test, system, opened=apart)) if test is not None else (),
        "stages": (stages(yard),) if apart else (),
    }
    values: dict[str, Any] = {
        "opened": "yes" if apart else "no",
        "lined": "yes" if test is not None else "no",
        "kind": yard.pump.kind,
        "wear": held_wear(yard),
        "rebuild": "yes" if "rebuild" in yard.works or yard.replace else "no",
    }
    return section_from("yard_test", template("yard_test"), values, places, role=role_in_yard(reading))


def line_words(test: ThrowTest, system: System) -> str:
    """What it is tested through: `150 ft of hose (red 1, red 2), long throw`."""
    hoses = test.run.hoses
    length = show(sum(hose.length for hose in hoses), "length", system)
    return f"{length} of hose ({', '.join(hose.name for hose in hoses)}), tip {test.run.tip.name}"


def _paced(test: ThrowTest, system: System, *, opened: bool) -> list[Block]:
    """What was read before the work says of the pump; of one that is opened only what asks for another look."""
    told = [_read_words(one, test, system) for one in test.found if not opened or _odd(one, test)]
    if test.written is not None and test.paced is None:
        thrown = show(test.written, "length", system, toward="down")
        told.append(f"Paced out before: {thrown}; this line's tip throws no jet to pace, so it tells nothing.")
    return [Text(spans=with_numbers(" ".join(told)))] if told else []


def _odd(one: Found, test: ThrowTest) -> bool:
    """Whether a reading does not go with the pump or with the others, so that it is looked at again."""
    lies = beside(one, finer_than(one, test.found, test.of)) if one.side != "high" else None
    return lies in ("under", "over") or one.side in ("short", "high")


def _read_words(one: Found, test: ThrowTest, system: System) -> str:
    """One reading: what it was, and what it tells."""
    value, sound = (_reading(one, amount, system) for amount in (one.value, one.sound))
    lead = {"gauge": "Gauge shut before", "bucket": "By bucket before", "throw": "Paced out before"}[one.by]
    again = {"gauge": "Read it again", "bucket": "Time it again", "throw": "Pace it again"}[one.by]
    told = f"{lead}: {value}, "
    finer = finer_than(one, test.found, test.of)
    lies = beside(one, finer) if one.side != "high" else None
    if finer is not None and lies == "under":
        look = "tip, hose, strainer and aim" if one.by == "throw" else "hose, tip, strainer and air"
        return f"{told}less than the pump as its {finer.by} shows it: look at {look}. No condition from this."
    if finer is not None and lies == "over":
        return f"{told}more than the pump as its {finer.by} shows it could: read both again. No condition from this."
    if finer is not None and lies == "with" and not (one.by == "throw" and one.side == "inside"):
        return f"{told}which fits the pump as its {finer.by} shows it."
    if one.side == "short":
        return f"{told}less than any pump gives on this line. {again}."
    if one.side == "high":
        return f"{told}more than a sound pump gives on this line ({sound}). {again}."
    if one.side == "flat":
        return f"{told}the same for a worn pump as for a sound one: it tells nothing."
    if one.by == "throw" and one.side == "inside":
        closer = "" if told_by(test.found, test.of) is not None else " Read the gauge shut: it tells."
        return f"{told}within what jets differ from a sound pump's {sound}: it tells no wear.{closer}"
    high = show(one.high or 1.0, "fraction", system, toward="up")
    if one.by == "throw":
        low = f"{show(one.low, 'fraction', system, toward='down')} to {high}" if one.low else f"{high} at most"
        return f"{told}the throw of a pump with {low} of its {test.of}. Read the gauge shut: it tells closer."
    share = show(one.share or 0.0, "fraction", system, toward="down")
    limit = show(test.limit, "fraction", system)
    worn = f"; under {limit} it is worn or scaled" if (one.share or 0.0) < test.limit else ""
    return f"{told}that of a pump with {share} of its {test.of}{worn}."


def _reading(one: Found, amount: float, system: System) -> str:
    if one.by == "gauge":
        return " ".join(gauge_number(amount, system))
    if one.by == "bucket":
        return show(amount, "flow", system)
    return show(amount, "length", system, toward="down")


def _picture(test: ThrowTest, system: System) -> Picture | None:
    after, before = test.after, test.before
    if after.ground is None:
        return None
    sound = _jet(after, "sound", system)
    today = _jet(before, "as the pump stands today", system) if before.ground is not None else None
    if today is not None and abs(today.ground - sound.ground) < _SAME:
        today = None

    def paint(wide: float, tall: float) -> object:
        return along_ground(sound, today, wide, tall)

    told = f"Sound the jet lands {sound.words} away along level ground"
    told += f", as the pump stands today {today.words}." if today is not None else "."
    return Picture(paint=paint, heights=_GROUND, title="The throw", told=told)


def _jet(point: BenchPoint, name: str, system: System) -> Jet:
    ground = point.ground or 0.0
    return Jet(path=point.path, ground=ground, words=show(ground, "length", system, toward="down"), name=name)


def readings(yard: YardPlan, when: str, system: System) -> list[Entry]:
    """What a test should show, each with its box: `before` the work, or `after` it."""
    test, before = yard.test, when == "before"
    point = (test.before if before else test.after) if test is not None else None
    unit, pressure = "ft" if system == "us" else "m", gauge_number(0.0, system)[1]
    size, name = bench_bucket(test.bucket if test is not None else None, system)
    told = f", {when}" if opened(yard) else ""
    found = [
        Entry(name=f"pump.{'gauge_before' if before else 'gauge_closed'}", label="Gun shut",
              planned=_shut(point, system), unit=pressure, spoken=f"Gauge closed{told}"),
        Entry(name=f"pump.{'bucket_before' if before else 'bucket'}", label=f"{name} in",
              planned=_seconds(point, size), unit="s", lead=f"{name} in", spoken=f"Bucket{told}"),
    ]  # fmt: skip
    if yard.pump.kind != "piston" or (test is not None and test.after.ground is not None):
        found.append(
            Entry(name=f"pump.throw_{when}", label="Throw", planned=_far(point, system), unit=unit,
                  spoken=f"Throw{told}")
        )  # fmt: skip
    return found


def _far(point: BenchPoint | None, system: System) -> str:
    return show_number(point.ground, "length", system, toward="down")[0] if point and point.ground is not None else ""


def _shut(point: BenchPoint | None, system: System) -> str:
    return gauge_number(point.closed, system)[0] if point and point.closed is not None else ""


def _seconds(point: BenchPoint | None, size: float) -> str:
    seconds = point.bucket(size) if point is not None else None
    return timed(seconds) if seconds is not None else ""
