"""What records say to plan with from now on, as the text of learned.yaml: only what rests on enough of them.

Coverage is learned against the table's own, what was learned before taken out again (`cover_factor`), and a pump's
condition as such, worn where records tell it from a sound one and sound where they know it is: learning twice from the
same records gives the same. A kind is left alone where surfaces.yaml has its
`cover`, for its pace its `apply` or `section_time`.

The low end of a reach is one number a tip of a rig, from jets at the wall above the tip on days when gauge or bucket
told the pump (a jet alone tells of the pump): the middle of five or more, unpulled, less 7 % or twice what the next may
be off by, never above the lowest of them, nor above `reach_recorded_factor`. Under the band of a tip nobody measured it
comes as far as the middle lies under the model, or to the second lowest jet: one wild throw widens nothing. A throw
along the ground never moves it, and the high end is never raised by it.

A tap is learned by its address: the middle of its buckets, unpulled, one being enough; a bucket is free discharge.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Collection, Iterable, Mapping
from dataclasses import field, replace
from math import floor, isclose, sqrt
from typing import Final

from planner.archive.compare.figures import learning
from planner.archive.compare.trends import Trend
from planner.frozen import dataclass
from planner.inputs.models.learned import LEAST_JET, Learned
from planner.inputs.reading.addresses import same_place
from planner.inputs.tables.defaults import default
from planner.inputs.tables.whole import limit_rows
from planner.units import read, show, show_number

_HEAD: Final = """\
# What our own records say, written by `planner compare --apply`. The next --apply replaces it. To keep a number of
# your own, write it in the rig's file, surfaces.yaml, stock.yaml, the company's limits or the job: those come first.
# You may take out any line under a heading.
"""

_HEAD_REMEMBERED: Final = "# What you remember of earlier jobs, until `planner compare --apply` has records of them."
_BY_RIG: Final = ("pumps", "jets")
_TAP_STEP: Final = 0.05
"""Taps are learned to so much [gpm]: half a second of a usual bucket (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """One thing as learned.yaml has it: `value` in SI, for a lot the `text` of its strength and the day it was `on`."""

    value: float | None = None
    text: str = ""
    on: datetime.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the workspace has today: what is gone is not learned. `own_covers`: kinds with a coverage of their own,
    `own_paces` those with minutes of their own; `own_reach` where the company wrote the low end of every reach itself.

    `before` is what learned.yaml holds, by `place_of`.
    """

    pumps: Collection[tuple[str, str]]
    kinds: Collection[str]
    lots: Collection[str]
    own_covers: Collection[str] = ()
    own_paces: Collection[str] = ()
    tips: Collection[tuple[str, str]] = ()
    own_reach: bool = False
    before: Mapping[tuple[str, ...], Before] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """One thing learned: `key` of `about` set to `value`, or to `text` for a strength or a flow; resting on `records`.

    `raw` is what records say by themselves, before the pull toward the default; `band` what a pump may be by them;
    `old` what learned.yaml has instead, None where it has nothing. `unmeasured` is the day a pump was worked on with
    nothing read since, None otherwise.
    """

    kind: str
    about: tuple[str, ...]
    key: str
    value: float
    raw: float
    records: int
    through: datetime.date | None
    text: str = ""
    old: Before | None = None
    unmeasured: datetime.date | None = None
    band: tuple[float, float] | None = None

    @property
    def changed(self) -> bool:
        """Whether it is another than what learned.yaml has; that more records say the same is no change."""
        if self.old is None or self.old.value is None:
            return self.old is None or (self.text, self.through) != (self.old.text, self.old.on)
        return not isclose(self.value, self.old.value, rel_tol=1e-6)


def corrections(found: Iterable[Trend], known: Known) -> list[Correction]:
    """What may be learned of these trends, by kind and name."""
    made = [
        replace(one, old=known.before.get(place_of(one.kind, *one.about)))
        for trend in found
        if (one := _correction(trend, known)) is not None
    ]
    return sorted(made, key=lambda one: (one.kind, one.about))


def place_of(kind: str, *about: str) -> tuple[str, ...]:
    """Where a thing stands in learned.yaml; an address is found however it is spelled."""
    return (kind, *(same_place(name) for name in about)) if kind == "taps" else (kind, *about)


def _correction(trend: Trend, known: Known) -> Correction | None:
    about = trend.name
    if trend.subject == "pump" and trend.what == "condition" and about in known.pumps:
        # As records have it where they tell it from a sound one, else as sound where they know that; nothing else.
        # Down to the hundredth, so that no reach is promised too high. At the bench one look right after the work is
        # enough by itself.
        if not trend.known:
            return None
        value = floor(min(trend.pulled, 1.0) * 100.0 + 1e-9) / 100.0
        least = learning("pump", "least_benched" if trend.benched else "least")
        return _made("pumps", about, "condition", value, trend, least=least)
    if trend.subject == "surface" and trend.what == "cover" and about[0] in known.kinds:
        if about[0] in known.own_covers:
            return None
        value = round(trend.pulled, 2)
        return _made("surfaces", about, "cover", value, trend, least=learning("surface", "least"))
    if trend.subject == "surface" and trend.what == "pace" and about[0] in known.kinds:
        if about[0] in known.own_paces:
            return None
        value = round(trend.pulled, 2)
        return _made("paces", about, "minutes", value, trend, least=learning("surface", "least"))
    if trend.subject == "tip" and trend.what == "jet" and about in known.tips and not known.own_reach:
        made = _made("jets", about, "low", low_end(trend), trend, least=learning("jet", "least"))
        return replace(made, raw=_jet_by_records(trend)) if made is not None else None
    if trend.subject == "tap" and trend.text and trend.last is not None:
        # There is nothing to pull it toward: an ordinary tap is only what is taken where nothing is known.
        flow = trend.middle * default("tap_flow")
        text = " ".join(show_number(flow, "flow", "us", step=_TAP_STEP))
        return Correction(
            kind="taps", about=(trend.text,), key="flow", value=read(text, "flow"), raw=flow, records=trend.count,
            through=trend.last, text=text,
        )  # fmt: skip
    if trend.subject == "lot" and trend.text and trend.last is not None and about[0] in known.lots:
        # A container ages: its last test counts, by itself.
        return _made("lots", about, "tested", trend.now, trend, least=1.0)
    return None


def low_end(trend: Trend) -> float:
    """The low end of a tip's reach, as a share of the model's height over the tip [-], down to the hundredth.

    A band about where records have the jet: as wide as limits.yaml narrows it to, or twice what the next jet may be
    off by as records scatter, where that is more. Unpulled, since toward the model would be the bold side; never above
    a jet that does what the model says.  It comes below the band of a jet nobody measured only where records say so:
    as far as their middle lies under the model, or as their second lowest jet; one wild throw alone widens nothing.
    """
    limits = limit_rows()
    least, most = limits["reach_low_factor"].value, limits["reach_recorded_factor"].value
    next_off = trend.spread * sqrt(1.0 + 1.0 / trend.count)
    found = min(1.0, _jet_by_records(trend)) * min(most, 1.0 - 2.0 * next_off)
    found = min(found, trend.lowest)
    floor_by_records = max(min(least * min(1.0, _jet_by_records(trend)), trend.next_lowest), LEAST_JET)
    return floor(min(max(found, floor_by_records), most) * 100.0 + 1e-9) / 100.0


def _jet_by_records(trend: Trend) -> float:
    """Where records have a jet that may have been falling: the lower of their middle and the end of their line."""
    return min(trend.now, trend.middle)


def _made(
    kind: str, about: tuple[str, ...], key: str, value: float, trend: Trend, *, least: float
) -> Correction | None:  # fmt: skip
    if trend.count < least:
        return None
    return Correction(
        kind=kind, about=about, key=key, value=value, raw=trend.now, records=trend.count, through=trend.last,
        text=trend.text, unmeasured=trend.since if trend.unmeasured else None,
        band=(trend.low, trend.high) if trend.low is not None and trend.high is not None else None,
    )  # fmt: skip


def learned_text(found: Iterable[Correction]) -> str:
    """The file, sorted, a comment to each line of what it rests on; the same records give the same text."""
    lines = [_HEAD.rstrip("\n")]
    by_kind: dict[str, list[Correction]] = {}
    for one in sorted(found, key=lambda one: (one.kind, one.about)):
        by_kind.setdefault(one.kind, []).append(one)
    for kind, rows in by_kind.items():
        lines.append(f"{kind}:")
        rig = None
        for one in rows:
            if kind in _BY_RIG and one.about[0] != rig:
                rig = one.about[0]
                lines.append(f"  {quoted(rig)}:")
            lines.append(("    " if kind in _BY_RIG else "  ") + _line(one))
    return "\n".join(lines) + "\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class Remembered:
    """A share [-] of the table's that rests on so many `jobs` somebody remembers: `key` of a kind of surface, under
    `section`; a job may be `off` it by so much [-]."""

    section: str
    kind: str
    key: str
    value: float
    jobs: int
    off: float

    @property
    def line(self) -> str:
        """Its line in learned.yaml."""
        told = f"{self.key}: {self.value:.2f}, records: 0, remembered: {self.jobs}, off: {100.0 * self.off:.0f} %"
        return f"  {quoted(self.kind)}: {{{told}}}    # jobs you remember; records come first"


REMEMBERED: Final = {"paces": "minutes", "surfaces": "cover"}
"""What somebody may remember, by its heading in learned.yaml."""


def remembered_in(learned: Learned | None) -> list[Remembered]:
    """What learned.yaml has from memory alone."""
    found: list[Remembered] = []
    for section, key in REMEMBERED.items():
        for kind, one in getattr(learned, section, {}).items():
            if one.remembered and not one.records:
                value, off = getattr(one, key), one.off if one.off is not None else learning("remembered", "off")
                row = Remembered(section=section, kind=kind, key=key, value=value, jobs=one.remembered, off=off)
                found.append(row)
    return found


def with_remembered(text: str, rows: Iterable[Remembered], taken: Collection[tuple[str, str]] = ()) -> str:
    """The file with what is remembered of kinds it says nothing of; `taken` are headings and kinds it does."""
    lines = text.rstrip("\n").splitlines() if text else [_HEAD_REMEMBERED]
    for row in rows:
        if (row.section, row.kind) in taken:
            continue
        heading = f"{row.section}:"
        if heading not in lines:
            lines.append(heading)
        lines.insert(lines.index(heading) + 1, row.line)
    return "\n".join(lines) + "\n"


def _line(one: Correction) -> str:
    name, through = quoted(one.about[-1]), f", through: {one.through.isoformat()}" if one.through is not None else ""
    if one.kind == "taps":
        why = f"# {show(one.value, 'flow', 'si')} with the tap open"
        return f"{name}: {{flow: {one.text}, records: {one.records}{through}}}    {why}"
    if one.kind == "jets":
        why = f"# records alone: the jet at the wall comes to {one.raw:.3f} of the model's"
        return f"{name}: {{low: {one.value:.2f}, records: {one.records}{through}}}    {why}"
    if one.kind == "lots":
        return f"{name}: {{strength: {one.text}, on: {one.through}, records: {one.records}}}"
    pulled = ", pulled toward the table" if one.kind != "pumps" else ""
    if one.band is not None:
        pulled = f", {one.band[0]:.2f} to {one.band[1]:.2f}"
    if one.unmeasured is not None:
        pulled += f"; worked on {one.unmeasured.isoformat()}, not measured since"
    why = f"# records alone: {one.raw:.3f}{pulled}"
    return f"{name}: {{{one.key}: {one.value:.2f}, records: {one.records}{through}}}    {why}"


def quoted(name: str) -> str:
    """A name as a YAML key: bare where it reads back as itself, else in double quotes."""
    plain = name.replace(" ", "").replace("-", "").replace("_", "")
    bare = plain.isascii() and plain.isalnum() and name[:1].isalpha() and name == " ".join(name.split())
    return name if bare else json.dumps(name, ensure_ascii=False)
