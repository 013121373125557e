"""Single changes to try on a run: what else hangs on the trailer, and where else somebody could stand."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from planner.checks.model import Change
from planner.frozen import dataclass
from planner.inputs.joined import HosePiece, JobInput, RunInput
from planner.inputs.joining import regear
from planner.inputs.models import Pump, Tank, Tip
from planner.plan.line.apparatus import tip_coefficient
from planner.plan.model import Value
from planner.remedies.table import efforts, sizes

Alter = Callable[[JobInput, RunInput], RunInput | None]

_MOST_SWAPS = 24
"""So many hose swaps are tried, widest first: a rig with forty hoses is not searched all night (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """A change, its trouble, what of the run it touches, and the run it makes; `apart` takes it out of its group."""

    change: Change
    touches: frozenset[str]
    alter: Alter
    apart: bool = False
    on_rig: bool = True

    @property
    def key(self) -> tuple[object, ...]:
        """The same for the same change, however often it is made up."""
        return (self.change.kind, tuple(sorted(self.change.values.items(), key=lambda item: item[0])))

    @property
    def effort(self) -> int:
        """How much trouble the change is."""
        return efforts()[self.change.kind]


def option(kind: str, touches: str, alter: Alter, *, on_rig: bool = True, **values: Value | str) -> Option:
    """An option of one kind; `touches` names the keys of the run it changes, with blanks between."""
    change = Change(kind=kind, values=values)
    return Option(change=change, touches=frozenset(touches.split()), alter=alter, apart=kind == "apart", on_rig=on_rig)


def applied(job: JobInput, name: str, options: tuple[Option, ...]) -> JobInput | None:
    """The job with all `options` made on the run `name`; None where they do not go together."""
    written = run = next(run for run in job.runs if run.name == name)
    for one in options:
        changed = one.alter(job, run)
        if changed is None:
            return None
        run = changed
    alone = any(one.apart for one in options) or _other_source(job, run)
    if alone:
        run = replace(run, same_time=())
    if not _hoses_free(job, written, run):
        return None
    runs = []
    for other in job.runs:
        if other.name == name:
            runs.append(run)
        elif alone and name in other.same_time:
            runs.append(replace(other, same_time=tuple(one for one in other.same_time if one != name)))
        else:
            runs.append(other)
    return replace(job, runs=tuple(runs))


def _other_source(job: JobInput, run: RunInput) -> bool:
    """Whether the run no longer shares pump, feed and dosing with those it was to be sprayed with."""
    for other in job.runs:
        if other.name in run.same_time:
            same_gear = other.pump is run.pump and other.feed == run.feed and other.dosing is run.dosing
            if not same_gear or other.feed_tank is not run.feed_tank or other.premix != run.premix:
                return True
    return False


def _hoses_free(job: JobInput, written: RunInput, run: RunInput) -> bool:
    """Whether the hoses the run takes now can be had.

    None lies in a run sprayed at the same time, and where the run's own are rated, so is what takes their place: a
    hose whose rating nobody read is no cure.
    """
    own = {hose.name for hose in written.hoses}
    taken = [hose for hose in run.hoses if hose.name not in own]
    if any(hose.rated is None for hose in taken) and any(hose.rated is not None for hose in written.hoses):
        return False
    names = {hose.name for hose in taken} & {hose.name for hose in job.rig.hoses}
    return not any(hose.name in names for other in job.runs if other.name in run.same_time for hose in other.hoses)


def parting(job: JobInput, name: str, options: tuple[Option, ...]) -> Option | None:
    """Spraying the run by itself, where other gear takes it out of its group and none of `options` says so."""
    written = next(run for run in job.runs if run.name == name)
    if not written.same_time or any(one.apart for one in options):
        return None
    altered = applied(job, name, options)
    alone = altered is not None and not next(run for run in altered.runs if run.name == name).same_time
    return next(_apart(job, written)) if alone else None


def options_for(job: JobInput, run: RunInput, kinds: frozenset[str]) -> list[Option]:
    """Every single change of these `kinds` that can be made to the run, least trouble first."""
    options = [one for source in _SOURCES for one in source(job, run) if one.change.kind in kinds]
    return sorted(options, key=lambda one: one.effort)


def _standoffs(job: JobInput, run: RunInput) -> Iterator[Option]:
    for place in sizes("standoffs", job.company.units):
        if abs(place - run.standoff) > 0.05:
            yield option("standoff", "standoff", _setting("standoff", place), standoff=Value(place, "length"))


def _setting(key: str, value: float) -> Alter:
    def alter(job: JobInput, run: RunInput) -> RunInput | None:
        return replace(run, **{key: value})  # type: ignore[arg-type]

    return alter


def _apart(job: JobInput, run: RunInput) -> Iterator[Option]:
    if run.same_time:
        yield option("apart", "same_time", lambda job, run: run, run=run.name, others=" and ".join(run.same_time))


def asks_reach(job: JobInput, run: RunInput) -> bool:
    """Whether the run's jet is to reach; low work is done with the pattern it was planned with."""
    return run.tip.pattern != "surface_cleaner" and run.target > job.limits["reach_from"]


def _does_the_work(job: JobInput, run: RunInput, tip: Tip | None, pump: Pump | None) -> bool:
    """Whether tip and pump do the run's work: the same pattern, or a solid jet where reach is asked.

    What was sent through a pump kept for one chemical goes through no other, and nothing else through that one.
    """
    kept = run.pump.dedicated if run.pump is not None else None
    if pump is not None and pump.dedicated != kept:
        return False
    if tip is None or tip.pattern == run.tip.pattern:
        return True
    return tip.pattern == "solid" and asks_reach(job, run)


def _throw(job: JobInput, tip: Tip) -> tuple[Tip, object]:
    """All that a tip's throw goes by: itself but for its name, and what records say of it. Of two alike, one does."""
    return tip.model_copy(update={"name": ""}), job.jets.get(tip.name)


def _tips(job: JobInput, run: RunInput) -> Iterator[Option]:
    """Tips of the rig that throw the same way, or a solid one for a fan that is to reach; those like its own first."""
    own, seen = tip_coefficient(run), [_throw(job, run.tip)]
    for tip in sorted(job.rig.tips, key=lambda tip: abs(tip_coefficient(regear.with_tip(run, tip)) - own)):
        if _throw(job, tip) in seen or run.tip.pattern == "surface_cleaner":
            continue
        seen.append(_throw(job, tip))
        if _does_the_work(job, run, tip, run.pump):
            yield option("tip", "tip", lambda job, run, tip=tip: regear.with_tip(run, tip), tip=tip.name)  # type: ignore[misc]


def _role_tips(job: JobInput, run: RunInput) -> Iterator[Option]:
    """Other tips to rinse through, a surface cleaner never, and other surface cleaners; those like its own first."""
    for role in run.tips:
        if role == "tip":
            continue
        own, seen = tip_coefficient(run.with_role(role)), [_throw(job, run.tips[role])]
        spins = role == "cleaner"
        for tip in sorted(job.rig.tips, key=lambda tip: abs(tip_coefficient(regear.with_tip(run, tip)) - own)):
            if _throw(job, tip) in seen or (tip.pattern == "surface_cleaner") != spins:
                continue
            seen.append(_throw(job, tip))
            alter: Alter = lambda job, run, tip=tip, role=role: regear.with_tip(run, tip, role)  # type: ignore[misc] # noqa: E731
            yield option(role, role, alter, tip=tip.name)


def _unreel(job: JobInput, run: RunInput) -> Iterator[Option]:
    if run.on_reel > 0.0:
        yield option("unreel", "on_reel", _setting("on_reel", 0.0))


def _nearer(job: JobInput, run: RunInput) -> Iterator[Option]:
    if len(run.hoses) < 2:
        return
    for place, hose in enumerate(run.hoses):

        def without(job: JobInput, run: RunInput, place: int = place) -> RunInput | None:
            left = run.hoses[:place] + run.hoses[place + 1 :]
            return regear.with_hoses(run, left) if left else None

        yield option("nearer", "hoses", without, hose=hose.name, length=Value(hose.length, "length"))


def free_hoses(job: JobInput, run: RunInput) -> list[HosePiece]:
    """Hoses of the rig that neither this run nor one sprayed with it uses, widest first; rated where its own are."""
    busy = {hose.name for hose in (*run.hoses, *run.put_on)}
    busy |= {hose.name for other in job.runs if other.name in run.same_time for hose in other.hoses}
    rated = any(hose.rated is not None for hose in run.hoses)
    pieces = [regear.piece_of(hose) for hose in job.rig.hoses if hose.name not in busy and (hose.rated or not rated)]
    return sorted(pieces, key=lambda hose: (-hose.bore, -hose.length))


def _swaps(job: JobInput, run: RunInput) -> Iterator[Option]:
    """One hose for a spare one at least as long."""
    free = free_hoses(job, run)
    count = 0
    for place, old in enumerate(run.hoses):
        for new in free:
            better = new.bore > old.bore or (new.rated or 0.0) > (old.rated or 0.0)
            if new.length < old.length * (1 - 1e-9) or not better or count >= _MOST_SWAPS:
                continue
            count += 1

            def swapped(job: JobInput, run: RunInput, place: int = place, new: HosePiece = new) -> RunInput | None:
                return regear.with_hoses(run, (*run.hoses[:place], new, *run.hoses[place + 1 :]))

            yield option("swap", "hoses", swapped, new=new.name, old=old.name)


def _relaid(job: JobInput, run: RunInput) -> Iterator[Option]:
    """The widest, and the strongest, hoses on the trailer that come to the same length."""
    length = sum(hose.length for hose in run.hoses)
    pool = [*run.hoses, *free_hoses(job, run)]
    orders: tuple[Callable[[HosePiece], tuple[float, float]], ...] = (
        lambda hose: (-hose.bore, -hose.length),
        lambda hose: (-(hose.rated or 0.0), -hose.bore),
    )
    seen = {tuple(sorted(hose.name for hose in run.hoses))}
    for order in orders:
        laid: list[HosePiece] = []
        for hose in sorted(pool, key=order):
            if sum(hose_piece.length for hose_piece in laid) >= length * (1 - 1e-9):
                break
            laid.append(hose)
        names = tuple(sorted(hose.name for hose in laid))
        if sum(hose_piece.length for hose_piece in laid) < length * (1 - 1e-9) or names in seen:
            continue
        seen.add(names)
        alter: Alter = lambda job, run, laid=tuple(laid): regear.with_hoses(run, laid)  # type: ignore[misc] # noqa: E731
        yield option("hoses", "hoses", alter, hoses=" and ".join(hose.name for hose in laid))


def _mixed_in(job: JobInput) -> set[str]:
    """Tanks that runs of the job draw ready mix from: no plain water comes out of them."""
    return {run.feed_tank.name for run in job.runs if run.premix and run.feed_tank is not None}


def _tank_serves(job: JobInput, run: RunInput, tank: Tank, *, premix: bool) -> bool:
    """Whether ready mix, or plain water, may come out of a tank by what is kept and mixed in it."""
    if premix:
        return tank.holds in (None, "mix") or tank is run.feed_tank
    return tank.holds in (None, "water") and tank.name not in _mixed_in(job)


def _feeds(job: JobInput, run: RunInput) -> Iterator[Option]:
    if run.premix:
        return
    if run.feed != "tap" and job.water.source in ("tap", "hydrant"):
        yield option("feed_tap", "feed", lambda job, run: regear.with_feed(run, "tap", None, job.rig))
    for tank in job.rig.tanks:
        if tank is not run.feed_tank and _tank_serves(job, run, tank, premix=False):
            yield option(
                "feed_tank", "feed",
                lambda job, run, tank=tank: regear.with_feed(run, "tank", tank, job.rig),  # type: ignore[misc]
                tank=tank.name,
            )  # fmt: skip


def _dosings(job: JobInput, run: RunInput) -> Iterator[Option]:
    if run.dosing is None:
        return
    for dosing in job.rig.dosing:
        if dosing.name != run.dosing.name:
            yield option(
                "dosing", "dosing feed",
                lambda job, run, dosing=dosing: regear.with_dosing(run, dosing),  # type: ignore[misc]
                dosing=dosing.name,
            )  # fmt: skip
    for tank in job.rig.tanks:
        if tank.holds == "mix":
            yield option(
                "premix", "dosing feed",
                lambda job, run, tank=tank: regear.with_premix(run, tank, job.rig),  # type: ignore[misc]
                tank=tank.name,
            )  # fmt: skip


def _pumps(job: JobInput, run: RunInput) -> Iterator[Option]:
    if run.pump is None:
        return
    for pump in job.rig.pumps:
        if pump.name != run.pump.name and _does_the_work(job, run, None, pump):
            yield option(
                "pump", "pump",
                lambda job, run, pump=pump: regear.with_pump(run, pump, job.rig),  # type: ignore[misc]
                pump=pump.name,
            )  # fmt: skip


def _setups(job: JobInput, run: RunInput) -> Iterator[Option]:
    """A ready combination that also puts a mix on the wall, or also does not."""
    level = job.water.level or 0.0
    mixes = run.premix or run.dosing is not None
    for setup in job.rig.setups:
        pump = next((pump for pump in job.rig.pumps if pump.name == setup.pump), None)
        tip = next((tip for tip in job.rig.tips if tip.name == setup.tip), None)
        if (setup.dosing is not None) != mixes or not _does_the_work(job, run, tip, pump):
            continue
        tank = next((tank for tank in job.rig.tanks if tank.name == setup.feed), None)
        if tank is not None and not _tank_serves(job, run, tank, premix=setup.dosing == "premix"):
            continue
        if setup.name == run.name or (setup.feed in ("tap", "pond") and setup.feed != run.feed):
            continue
        alter: Alter = lambda job, run, setup=setup: regear.with_setup(run, setup, job.rig, level)  # type: ignore[misc] # noqa: E731
        yield option("setup", "pump feed dosing hoses tip on_reel", alter, setup=setup.name)


_SOURCES: tuple[Callable[[JobInput, RunInput], Iterator[Option]], ...] = (
    _standoffs,
    _apart,
    _tips,
    _role_tips,
    _unreel,
    _nearer,
    _dosings,
    _swaps,
    _relaid,
    _feeds,
    _pumps,
    _setups,
)
