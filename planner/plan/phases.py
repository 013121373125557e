"""The work of a job step by step in its order: what is done, for how long, and what water it takes from where.

The same steps and seconds as the job's clock (timing.py), in finer pieces: a surface's wetting, mix and rinse, by
whichever run does each, section by section.  Sections dwell while the next one is sprayed, and the one before is
rinsed after that; where a section takes a fixed time it is finished before the next.  The gun is open only part of
a step, so a step's draw is its volume over its elapsed time.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from planner.inputs.joined import JobInput, RunInput
from planner.plan.change_model import ChangeFlush
from planner.plan.mix_line import run_off
from planner.plan.mix_model import BatchPlan, FlushPlan, MixPlan, SurfaceMix, SurfaceWork
from planner.plan.supply_model import NOWHERE, POND, TAP, Phase
from planner.plan.tap import has_tap, water_tank
from planner.plan.timing import FLUSH_FIRST, flush_seconds, set_up_seconds, surface_seconds
from planner.plan.water_model import BedWater

MOST_SECTIONS: Final = 50
"""A surface of more sections is followed in so many parts: the level is no finer for it (our choice)."""

_LEAST: Final = 1e-9
_NO_DRAWS: Final[Mapping[str, float]] = {}


def job_phases(
    job: JobInput,
    mixes: Sequence[MixPlan],
    work: Sequence[SurfaceWork],
    flushes: Sequence[FlushPlan],
    beds: BedWater | None,
    pour: float,
    changes: Sequence[ChangeFlush] = (),
) -> tuple[Phase, ...]:
    """Every step from set-up to driving off; the clock is 0 at the end of set-up. `pour` [m3/s] fills a mix tank.

    The beds' first water is given during set-up, their last during flush and packing, the rest while mix is out.
    """
    walk = _Walk(job=job, mixes=mixes, pour=pour, sources=_Sources.of(job), changes=list(changes))
    out = [*walk.change(""), *(phase for task in _tasks(work, mixes) for phase in walk.task(task))]
    end = sum(phase.seconds for phase in out)
    set_up = set_up_seconds(job, mixes, work)
    flush = flush_seconds(job, mixes, flushes)
    pack = float(job.tables["minutes"]["pack"])
    last = (flush + pack) or 1.0
    before, during, after = (beds.before, beds.during, beds.after) if beds is not None else (0.0, 0.0, 0.0)
    by_bed = walk.sources.beds
    soaked = sum(phase.seconds for phase in out if phase.what in ("apply", "dwell"))
    phases = [Phase(what="set up", about="", start=-set_up, seconds=set_up, draws=_drawn((by_bed, before)))]
    now = 0.0
    for phase in out:
        share = phase.seconds / soaked if phase.what in ("apply", "dwell") else 0.0
        draws = _drawn(*phase.draws.items(), (by_bed, during * share))
        phases.append(replace(phase, start=now, draws=draws))
        now += phase.seconds
    if flush > 0.0:
        phases.append(
            Phase(
                what="flush",
                about="",
                start=end,
                seconds=flush,
                draws=_drawn(*walk.flush(flushes), (by_bed, after * flush / last)),
                shut=any(walk.on_tap(one.run) for one in flushes),
            )
        )
    rest = _drawn((by_bed, after * pack / last))
    phases.append(Phase(what="pack", about="", start=end + flush, seconds=pack, draws=rest))
    return tuple(phases)


def _drawn(*parts: tuple[str, float]) -> Mapping[str, float]:
    """Volumes by source, those of one source added up."""
    draws: dict[str, float] = {}
    for source, volume in parts:
        if volume > 0.0:
            draws[source] = draws.get(source, 0.0) + volume
    return draws or _NO_DRAWS


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sources:
    """Where plain water comes from: of each run by name, for mixing, for the beds."""

    plain: Mapping[str, str]
    mixing: str
    beds: str

    @classmethod
    def of(cls, job: JobInput) -> _Sources:
        """The tap where there is one; else the pond, for beds; else the rig's own water."""
        tank = water_tank(job)
        tap = has_tap(job)
        own = tank.name if tank is not None else TAP if tap else NOWHERE
        return cls(
            plain={run.name: _plain(run, own) for run in job.runs},
            mixing=TAP if tap else own,
            beds=TAP if tap else POND if job.water.source == "pond" else own,
        )


def _plain(run: RunInput, own: str) -> str:
    """A run that sprays from a mix tank has its suction put on clean water to wet, rinse and flush."""
    if run.feed in (TAP, POND):
        return run.feed
    return own if run.premix or run.feed_tank is None else run.feed_tank.name


@dataclass(frozen=True, slots=True, kw_only=True)
class _Task:
    """One surface by one run that puts mix on it, with the runs that wet, rinse or clean it; or plain-water work."""

    mixer: SurfaceWork | None
    cleaners: tuple[SurfaceWork, ...]
    waters: tuple[SurfaceWork, ...]
    share: float


def _tasks(work: Sequence[SurfaceWork], mixes: Sequence[MixPlan]) -> Iterator[_Task]:
    """The surfaces in the order they are first worked on; runs that put mix on one divide its other water evenly."""
    by_surface: dict[str, list[SurfaceWork]] = {}
    for one in work:
        by_surface.setdefault(one.surface.name, []).append(one)
    for rows in by_surface.values():
        mixers = [one for one in rows if one.apply > 0.0]
        cleaners = tuple(one for one in rows if one.clean > 0.0)
        waters = tuple(one for one in rows if one.apply <= 0.0)
        if not mixers:
            yield _Task(mixer=None, cleaners=cleaners, waters=waters, share=1.0)
        for n, mixer in enumerate(mixers):
            yield _Task(mixer=mixer, cleaners=() if n else cleaners, waters=waters, share=1.0 / len(mixers))


@dataclass(slots=True, kw_only=True)
class _Loaded:
    """The batches of one mix that are still to be filled, and what of the last one [m3] may still be sprayed."""

    batches: list[BatchPlan]
    dead_volume: float
    left: float = 0.0


@dataclass(slots=True, kw_only=True)
class _Walk:
    """The job being gone through, with what has been mixed so far."""

    job: JobInput
    mixes: Sequence[MixPlan]
    pour: float
    sources: _Sources
    changes: list[ChangeFlush] = field(default_factory=list)
    loaded: dict[int, _Loaded] = field(default_factory=dict)

    def on_tap(self, run: str) -> bool:
        """Whether a run draws the tap itself."""
        return any(one.name == run and one.feed == TAP for one in self.job.runs)

    def flush(self, flushes: Sequence[FlushPlan]) -> list[tuple[str, float]]:
        """What the flushes draw."""
        return [(self.sources.plain[one.run], one.volume or 0.0) for one in flushes]

    def change(self, mix: str) -> Iterator[Phase]:
        """What is flushed before a mix, once: a tank with the water mixes are made of, a line with its own."""
        for change in [one for one in self.changes if one.mix == mix]:
            self.changes.remove(change)
            if not change.seconds > 0.0:
                continue
            tank = change.tank
            of_tank = tank.volume or 0.0 if tank is not None else 0.0
            of_line = change.volume - of_tank
            yield Phase(
                what=FLUSH_FIRST,
                about=change.run,
                start=0.0,
                seconds=change.seconds,
                draws=_drawn((self.sources.mixing, of_tank), (self.sources.plain[change.run], of_line)),
                shut=(self.sources.mixing == TAP and of_tank > 0.0) or (of_line > 0.0 and self.on_tap(change.run)),
            )

    def task(self, task: _Task) -> Iterator[Phase]:
        """One task's steps, in order; a start is given them later."""
        for row in task.cleaners:
            yield self._plain("clean", row, row.clean, row.clean_volume, mix_on=False)
        mixer = task.mixer
        if mixer is None:
            for row in task.waters:
                yield from self._water("wet", row, 1.0, mix_on=False)
                yield from self._water("rinse", row, 1.0, mix_on=False)
            return
        found = self._mix_on(mixer)
        if found is not None:
            yield from self.change(found[0].name)
            yield from self._load(found[0], first=True)
        count = min(mixer.sections, MOST_SECTIONS)
        part = 1.0 / count
        rows = [(mixer, part), *((row, task.share * part) for row in task.waters)]
        if mixer.surface.row["section_time"]:
            idle = (surface_seconds(mixer) - mixer.clean - mixer.wet - mixer.apply - mixer.rinse) / count
            for _ in range(count):
                yield from self._each("wet", rows, mix_on=False)
                yield from self._apply(mixer, found, part)
                yield from self._dwell(mixer, idle)
                yield from self._each("rinse", rows, mix_on=True)
            return
        rinsed = any(row.rinse > 0.0 for row, _ in rows)
        for n in range(count):
            yield from self._each("wet", rows, mix_on=rinsed and n > 0)
            yield from self._apply(mixer, found, part)
            if n:
                yield from self._each("rinse", rows, mix_on=True)
        yield from self._dwell(mixer, mixer.dwell_most)
        yield from self._each("rinse", rows, mix_on=True)

    def _each(self, what: str, rows: Sequence[tuple[SurfaceWork, float]], *, mix_on: bool) -> Iterator[Phase]:
        for row, share in rows:
            yield from self._water(what, row, share, mix_on=mix_on)

    def _water(self, what: str, row: SurfaceWork, share: float, *, mix_on: bool) -> Iterator[Phase]:
        seconds, volume = (row.wet, row.wet_volume) if what == "wet" else (row.rinse, row.rinse_volume)
        if seconds > 0.0:
            yield self._plain(what, row, seconds * share, volume * share, mix_on=mix_on)

    def _plain(self, what: str, row: SurfaceWork, seconds: float, volume: float, *, mix_on: bool) -> Phase:
        return Phase(
            what=what,
            about=row.surface.name,
            start=0.0,
            seconds=seconds,
            draws=_drawn((self.sources.plain[row.run], volume)),
            mix_on=mix_on,
            shut=self.on_tap(row.run),
        )

    def _dwell(self, mixer: SurfaceWork, seconds: float) -> Iterator[Phase]:
        if seconds > _LEAST:
            about = mixer.surface.name
            yield Phase(what="dwell", about=about, start=0.0, seconds=seconds, draws=_NO_DRAWS, mix_on=True)

    def _mix_on(self, row: SurfaceWork) -> tuple[MixPlan, SurfaceMix] | None:
        for mix in self.mixes:
            for part in mix.parts:
                if mix.run.name == row.run and part.surface.name == row.surface.name:
                    return mix, part
        return None

    def _apply(self, row: SurfaceWork, found: tuple[MixPlan, SurfaceMix] | None, share: float) -> Iterator[Phase]:
        """Mix going on; out of a tank, batch after batch."""
        if found is None:
            return
        mix, part = found
        beside, line = run_off(mix, part)
        seconds, volume = row.apply * share, (part.mix + beside) * share
        plain = (self.sources.plain[row.run], line * share)
        phase = Phase(
            what="apply", about=row.surface.name, start=0.0, seconds=seconds, draws=_NO_DRAWS, mix_on=True,
            shut=self.on_tap(row.run),
        )  # fmt: skip
        if mix.kind != "premix" or mix.run.feed_tank is None:
            source = mix.run.feed_tank.name if mix.run.feed_tank is not None else mix.run.feed
            yield replace(phase, draws=_drawn((source, volume * _water_share(mix)), plain))
            return
        tank, left = mix.run.feed_tank.name, volume
        while left > _LEAST * volume:
            yield from self._load(mix)
            loaded = self.loaded[id(mix)]
            # With the last batch sprayed there is only the spare: it takes what is left of the wall.
            take = left if not loaded.batches else min(left, loaded.left)
            loaded.left -= take
            left -= take
            part_done = take / volume
            draws = _drawn((tank, take), (plain[0], plain[1] * part_done))
            yield replace(phase, seconds=seconds * part_done, draws=draws)

    def _load(self, mix: MixPlan, *, first: bool = False) -> Iterator[Phase]:
        """The next batch being filled, where the one before is sprayed; with `first` only the first of all."""
        if mix.kind != "premix" or mix.run.feed_tank is None:
            return
        loaded = self.loaded.setdefault(
            id(mix), _Loaded(batches=list(mix.batches), dead_volume=mix.run.feed_tank.dead_volume)
        )
        if first and len(loaded.batches) < len(mix.batches):
            return
        while loaded.batches and loaded.left <= _LEAST:
            batch = loaded.batches.pop(0)
            loaded.left += max(batch.mix - loaded.dead_volume, 0.0)
            if batch.water > 0.0:
                yield Phase(
                    what="fill and mix",
                    about=mix.run.name,
                    start=0.0,
                    seconds=batch.water / self.pour,
                    draws=_drawn((self.sources.mixing, batch.water)),
                    mix_on=not first,
                    shut=self.sources.mixing == TAP,
                    into=batch.tank,
                    poured=batch.mix - batch.heel,
                )


def _water_share(mix: MixPlan) -> float:
    """Water's part [-] of what a panel or injector sprays; none of it where the mix can't be made: none is sprayed."""
    if not mix.mix or mix.water is None:
        return 0.0
    return mix.water / mix.mix
