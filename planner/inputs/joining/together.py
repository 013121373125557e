"""Runs sprayed at once: who with whom, through which hoses they both go, with which tips, and by how many hands.

Runs that begin with the same named hoses share them up to where they part: `Line.branches` is a tree of `Branch` and
`Fork`, and `Line.runs` its tips in order. A run's fittings are spread evenly over its hoses; on a shared hose those of
the run count that has most there. A hose they share anywhere else, or two of one name, is a fault (`one_hose`), as is
another length on its reel. What a hose holds is counted for each of its runs, so mix and flush are on the full side.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from planner.frozen import dataclass
from planner.inputs.joined import HosePiece, RunInput
from planner.inputs.models import HoseRun, Setup
from planner.inputs.models.base import Location, Slip

_LEAST_REEL = 1e-6
"""Lengths of hose left on a reel [m] that are one (no more than rounding)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One run as asked for, by a hose run written out or by a setup with the job's short keys over it."""

    at: Location
    gear: HoseRun | Setup
    keys: Mapping[str, object]

    def number(self, name: str) -> float | None:
        """A run key in SI, None where nobody wrote it."""
        value = self.keys.get(name)
        return float(value) if isinstance(value, int | float) else None


def same_time(asked: Sequence[Asked]) -> tuple[dict[str, tuple[str, ...]], list[Slip]]:
    """Who sprays with whom, both ways round and through others, and who cannot."""
    groups = {one.gear.name: {one.gear.name} for one in asked}
    slips = []
    by_name = {one.gear.name: one for one in asked}
    for run in asked:
        for place, other in enumerate(run.gear.same_time if isinstance(run.gear, HoseRun) else ()):
            joined = groups[run.gear.name] | groups[other]
            for name in joined:
                groups[name] = joined
            differ = [
                key for key in ("pump", "feed", "dosing") if getattr(run.gear, key) != getattr(by_name[other].gear, key)
            ]
            if differ:
                slips.append(
                    Slip(
                        code="run.same_time",
                        message=f"`{run.gear.name}` and `{other}` spray at the same time but not with the same "
                        + " and ".join(differ),
                        remedy="give both the same pump, feed and dosing, or take one out of `same_time`",
                        at=(*run.at, "same_time", place),
                    )
                )
    return {
        one.gear.name: tuple(o.gear.name for o in asked if o is not one and o.gear.name in groups[one.gear.name])
        for one in asked
    }, slips


def one_hose(
    asked: Sequence[Asked], pieces: Mapping[str, Sequence[HosePiece]], together: Mapping[str, tuple[str, ...]]
) -> Iterator[Slip]:
    """Runs sprayed at once share the hoses they begin with, as the same reel leaves them, and no other.

    `pieces` are the hoses of each run by its name.
    """
    for number, run in enumerate(asked):
        ours = pieces[run.gear.name]
        for other in asked[:number]:
            if other.gear.name not in together[run.gear.name]:
                continue
            theirs = pieces[other.gear.name]
            shared = next((n for n, (a, b) in enumerate(zip(ours, theirs, strict=False)) if not _same(a, b)), None)
            shared = min(len(ours), len(theirs)) if shared is None else shared
            both = f"`{run.gear.name}` and `{other.gear.name}` spray at the same time"
            for place, hose in enumerate(ours):
                if place < shared and hose != theirs[place]:
                    yield Slip(
                        code="run.same_time",
                        message=f"{both}, and each has another hose called `{hose.name}`",
                        remedy="give one of the two hoses another name",
                        at=(*run.at, "hoses", place),
                    )
                elif place >= shared and any(_same(hose, their) for their in theirs):
                    yield Slip(
                        code="run.same_time",
                        message=f"{both} through `{hose.name}`, and not from the pump on",
                        remedy="start both with the hoses they share, in the same order, or give one another hose",
                        at=(*run.at, "hoses", place),
                    )
            length = sum(hose.length for hose in ours[:shared])
            coiled = [min(each.number("on_reel") or 0.0, length) for each in (run, other)]
            if abs(coiled[0] - coiled[1]) > _LEAST_REEL:
                yield Slip(
                    code="run.same_time",
                    message=f"{both} through `{ours[0].name}`, and leave different lengths of it on its reel",
                    remedy="write the same `on_reel` for both",
                    at=(*run.at, "on_reel"),
                )


def _same(hose: HosePiece, other: HosePiece) -> bool:
    return hose.named and other.named and hose.name == other.name


def tips_alike(asked: Sequence[Asked], together: Mapping[str, tuple[str, ...]]) -> Iterator[str]:
    """Runs sprayed at once with one tip's name: that there is one for each is assumed."""
    tips = {one.gear.name: one.gear.tip for one in asked}
    for run in asked:
        alike = [name for name in (run.gear.name, *together[run.gear.name]) if tips[name] == run.gear.tip]
        if len(alike) > 1 and alike[0] == next(each.gear.name for each in asked if each.gear.name in alike):
            yield f"{' and '.join(alike)}: a tip {run.gear.tip} for each"


def too_many_guns(runs: Sequence[RunInput], crew: int | None, at: Callable[[str], Location]) -> Iterator[Slip]:
    """More guns at once than there are people to hold them; `at` gives a run's place in the file."""
    seen: set[str] = set()
    for run in runs:
        guns = 1 + len(run.same_time)
        if crew is not None and guns > crew and run.name not in seen:
            yield Slip(
                code="run.same_time",
                message=f"{guns} guns spray at the same time, {' and '.join((run.name, *run.same_time))}, "
                f"and the day has a crew of {crew}",
                remedy="take runs out of `same_time`, or write who else works as `crew` in day.yaml",
                at=at(run.name),
            )
        seen |= {run.name, *run.same_time}
