"""Procedures spoiled one act at a time, of any job: what a rehearsal has to refuse.

Where an act is taken away, the lead's day is closed up or he waits in its place, so that a gap alone does not tell it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from planner.plan.procedure import acts as of
from planner.plan.procedure.acts import Act, Procedure
from planner.rehearsal.breach import Log
from planner.rehearsal.crew import walks
from planner.rehearsal.setting import Setting

_AT_ONCE = 1e-6


@dataclass(frozen=True, slots=True)
class Spoiled:
    """One procedure that is wrong: what `kind` of wrong, at which `act`, how, and the setting it is played on."""

    kind: str
    act: Act
    how: str
    setting: Setting
    procedure: Procedure
    before: Procedure


def spoiled(setting: Setting, procedure: Procedure) -> Iterator[Spoiled]:
    """Every way to spoil a procedure that is right."""
    yield from _Spoiler(setting, procedure).all()


class _Spoiler:
    def __init__(self, setting: Setting, procedure: Procedure) -> None:
        self.setting, self.procedure, self.acts = setting, procedure, list(procedure.acts)
        self.walk = walks(setting, self.acts, Log(setting.units))

    def all(self) -> Iterator[Spoiled]:
        """Every kind."""
        for number, act in enumerate(self.acts):
            yield from self._gone(number, act)
            yield from self._swapped(number, act)
            yield from self._elsewhere(number, act)
            yield from self._amounts(number, act)
            yield from self._people(number, act)
            if isinstance(act.detail, of.StopPoint):
                yield from self._stop_point(number, act, act.detail)
            if isinstance(act.detail, of.SetDosing):
                yield from self._dosing(number, act, act.detail)
            if isinstance(act.detail, of.Spray):
                yield from self._spray(number, act, act.detail)
            if act.expect is not None and act.expect.what in ("bucket", "jug_down"):
                one = act.expect
                wrong = replace(one, value=2 * one.value, low=2 * one.low, high=2 * one.high)
                yield self._one("wrong reading", act, one.what, number, replace(act, expect=wrong))
        yield from self._dwell()
        yield from self._states()

    # ------------------------------------------------------------------------------------------- making one

    def _made(self, kind: str, act: Act, how: str, acts: Sequence[Act], later: float = 0.0) -> Spoiled:
        """The spoiled procedure, its acts by their start; the clock goes with it where it is `later` done."""
        setting = self.setting
        if later and setting.ends is not None:
            setting = replace(setting, ends=setting.ends + later)
        ordered = tuple(sorted(acts, key=lambda one: one.start))
        return Spoiled(kind, act, how, setting, replace(self.procedure, acts=ordered), self.procedure)

    def _one(self, kind: str, act: Act, how: str, number: int, new: Act) -> Spoiled:
        return self._made(kind, act, how, [*self.acts[:number], new, *self.acts[number + 1 :]])

    def _detail(self, kind: str, number: int, **fields: Any) -> Spoiled:
        act = self.acts[number]
        how = ", ".join(f"{name} {value}" for name, value in fields.items())
        return self._one(kind, act, how, number, replace(act, detail=replace(act.detail, **fields)))

    def _moved(self, acts: Sequence[Act], since: float, by: float) -> list[Act]:
        """Acts from a moment on, so much later."""
        return [replace(one, start=one.start + by) if one.start >= since - _AT_ONCE else one for one in acts]

    def _ends(self, acts: Sequence[Act]) -> float:
        return max(act.end for act in acts) - self.procedure.ends

    # ------------------------------------------------------------------------------------------- the kinds

    def _gone(self, number: int, act: Act) -> Iterator[Spoiled]:
        rest = [*self.acts[:number], *self.acts[number + 1 :]]
        unlinked = [replace(one, after=tuple(other for other in one.after if other != act.id)) for one in rest]
        yield self._made("left out", act, "", unlinked, self._ends(unlinked))
        if act.who == "second":
            return
        closed = self._moved(unlinked, act.end, -act.lasts)
        yield self._made("left out, closed up", act, "", closed, self._ends(closed))
        if not isinstance(act.detail, of.Wait):
            seconds = act.lasts - self.walk[number]
            idle = replace(act, detail=of.Wait(seconds=seconds), expect=None, section=None, stop_point=None)
            yield self._made("waited instead", act, "", [*unlinked, idle])

    def _swapped(self, number: int, act: Act) -> Iterator[Spoiled]:
        """With the next act of the same person."""
        for place in range(number + 1, len(self.acts)):
            other = self.acts[place]
            if other.who != act.who:
                if "both" in (other.who, act.who):
                    return
                continue
            gap = other.start - act.end
            first, second = replace(other, start=act.start), replace(act, start=act.start + other.lasts + gap)
            rest = [one for one in self.acts if one not in (act, other)]
            linked = [replace(one, after=()) if one.id in (act.id, other.id) else one for one in (first, second)]
            yield self._made("swapped with the next", act, other.id, [*rest, *linked])
            return

    def _elsewhere(self, number: int, act: Act) -> Iterator[Spoiled]:
        """Wrong tanks and wrong lots."""
        tanks, lots = list(self.setting.tanks), list(self.procedure.begin.lots)
        for field in ("into", "source", "to", "feed", "tank", "lot", "what"):
            now = getattr(act.detail, field, None)
            if isinstance(act.detail, of.Mark | of.Soak) and field == "what":
                continue
            vessel = isinstance(now, str) and now.startswith(("pail ", "jug "))
            others = tanks if now in tanks or vessel else list(self.setting.lots) if now in lots else []
            kind = "wrong lot" if now in lots else "wrong tank"
            for other in others:
                if other != now:
                    yield self._detail(kind, number, **{field: other})

    def _amounts(self, number: int, act: Act) -> Iterator[Spoiled]:
        detail = act.detail
        if isinstance(detail, of.Spray):
            more = replace(detail, seconds=2 * detail.seconds, volume=2 * detail.volume)
            longer = replace(act, detail=more, lasts=act.lasts + detail.seconds)
            rest = self._moved([one for one in self.acts if one is not act], act.end, detail.seconds)
            yield self._made("gun twice as long", act, "", [*rest, longer], self._ends([*rest, longer]))
            yield self._detail("seconds doubled, volume not", number, seconds=2 * detail.seconds)
            return
        for field in ("volume", "mass", "seconds"):
            now = getattr(detail, field, None)
            if now:
                for times in (2.0, 0.5):
                    yield self._detail("wrong amount", number, **{field: now * times})

    def _people(self, number: int, act: Act) -> Iterator[Spoiled]:
        other = {"lead": "second", "second": "lead"}.get(act.who)
        if other is not None:
            yield self._one("somebody else", act, other, number, replace(act, who=other))  # type: ignore[arg-type]
        for at in {"rig", "wall"} - {act.at}:
            yield self._one("somewhere else", act, at, number, replace(act, at=at))  # type: ignore[arg-type]
        if act.who == "second":
            twin = replace(act, id=f"{act.id}x", at="wall", detail=of.Wait(seconds=act.lasts), expect=None, section=None,
                           stop_point=None)  # fmt: skip
            yield self._made("second at two places", act, "", [*self.acts, twin])

    def _stop_point(self, number: int, act: Act, point: of.StopPoint) -> Iterator[Spoiled]:
        rest = self._moved([one for one in self.acts if one is not act], act.end, -act.lasts)
        guarded = next((one for one in rest if one.stop_point == point.number), None)
        for how, moment in (
            ("to the beginning", self.procedure.starts),
            ("behind what it guards", guarded.end if guarded is not None else None),
            ("to the end", max(one.end for one in rest)),
        ):
            if moment is not None:
                apart = [replace(one, after=tuple(other for other in one.after if other != act.id)) for one in rest]
                moved = [*self._moved(apart, moment, act.lasts), replace(act, start=moment)]
                yield self._made("stop point moved", act, how, moved, self._ends(moved))
        for key in point.asks:
            asks = tuple(other for other in point.asks if other != key)
            yield self._detail("stop point asks less", number, asks=asks)
        for before in ("power", "stock", "mix", "coil"):
            if before != point.before:
                yield self._detail("stop point before something else", number, before=before)

    def _dosing(self, number: int, act: Act, one: of.SetDosing) -> Iterator[Spoiled]:
        if one.draws:
            for times in (2.0, 0.9):
                draws = tuple(replace(draw, share=draw.share * times) for draw in one.draws)
                yield self._detail("wrong share", number, draws=draws)
            for name in [name for name in self.setting.lots if name != one.draws[0].source]:
                yield self._detail("wrong lot", number, draws=(replace(one.draws[0], source=name),))
            return
        last = next((other.detail for other in reversed(self.acts[:number]) if _draws(other, one.run)), None)
        if isinstance(last, of.SetDosing):
            yield self._detail("stock left on", number, to=last.to, draws=last.draws)

    def _spray(self, number: int, act: Act, spray: of.Spray) -> Iterator[Spoiled]:
        for onto in ("ground", "bed", "section", "bucket"):
            if onto != spray.onto:
                yield self._detail("sprayed elsewhere", number, onto=onto)
        for use in ("wet", "mix", "rinse", "flush"):
            if use != spray.use:
                yield self._detail("sprayed for something else", number, use=use)
        if act.section is not None and act.section.of > 1:
            other = replace(act.section, number=act.section.number % act.section.of + 1)
            yield self._one("wrong section", act, f"{other.number}", number, replace(act, section=other))
        if spray.use in ("wet", "rinse", "test", "flush") or spray.use == "mix":
            kind = "rinse from another tank" if spray.use == "rinse" else f"{spray.use} from another tank"
            feed = next((a.detail.feed for a in reversed(self.acts[:number]) if _feeds(a, spray.run)), None)
            for tank in self.setting.tanks:
                if tank != feed:
                    put = Act(
                        id="x", phase=act.phase, who="lead" if self.setting.crew < 2 else "second", at="grounds",
                        detail=of.DrawFrom(run=spray.run, feed=tank), start=act.start - 1e-3, lasts=5e-4, hands=0.0,
                    )  # fmt: skip
                    yield self._made(kind, act, tank, [*self.acts, put])

    def _dwell(self) -> Iterator[Spoiled]:
        """Each section's first rinse after half the time."""
        mixed: dict[tuple[str, int], float] = {}
        for act in self.acts:
            if act.section is None or not isinstance(act.detail, of.Spray):
                continue
            key = (act.section.surface, act.section.number)
            if act.detail.use == "mix":
                mixed[key] = act.end
            elif act.detail.use == "rinse" and key in mixed:
                half = 0.5 * (act.start - mixed.pop(key))
                acts = self._moved(self.acts, act.start, -half)
                yield self._made("dwell halved", act, f"{half:.0f} s", acts, self._ends(acts))

    def _states(self) -> Iterator[Spoiled]:
        """A beginning or an end that is not so."""
        act = self.acts[0]
        for which in ("begin", "end"):
            state: of.State = getattr(self.procedure, which)
            for name, held in state.tanks.items():
                if not held.volume:
                    continue
                more = replace(held, volume=(held.volume or 0.0) * 0.9)
                yield self._told(act, which, name, replace(state, tanks={**state.tanks, name: more}))
            for name in state.hoses:
                for stock in ("unknown", "hypochlorite", "muriatic"):
                    other = of.Held(stock=stock, strength=10.0)
                    yield self._told(act, which, f"{name} {stock}", replace(state, hoses={**state.hoses, name: other}))
            for name, left in state.lots.items():
                if not left:
                    continue
                yield self._told(act, which, name, replace(state, lots={**state.lots, name: 0.9 * left}))

    def _told(self, act: Act, which: str, name: str, state: of.State) -> Spoiled:
        procedure = replace(self.procedure, begin=state) if which == "begin" else replace(self.procedure, end=state)
        return Spoiled(f"wrong {which}", act, name, self.setting, procedure, self.procedure)


def _draws(act: Act, run: str) -> bool:
    return isinstance(act.detail, of.SetDosing) and act.detail.run == run and bool(act.detail.draws)


def _feeds(act: Act, run: str) -> bool:
    return isinstance(act.detail, of.DrawFrom) and act.detail.run == run
