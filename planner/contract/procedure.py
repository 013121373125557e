"""A procedure as the JSON contract has it: each verb's own fields, SI with the unit in the key.

Beside the verbs every reader knows:

- `change_tip` (run, role: `tip`, `rinse_tip` or `cleaner`, tip): another of the run's tips on its gun, which is shut,
  with the power off and the pressure let out. What is sprayed next leaves it at that role's flow (`runs[].roles`), and
  no stock is drawn behind any but `tip`. Where its line is another, `off` and `on`: hoses from the pump's side to the
  gun's, each with what it holds.
- `tap` (run, on): of a run without a pump that a tank feeds, that tank's valve.
"""

from __future__ import annotations

from typing import NotRequired, Required, TypedDict

from planner.plan.procedure import acts
from planner.plan.procedure.acts import Act, Expect, Held, State


class SectionJson(TypedDict):
    surface: str
    number: int
    of: int


class ExpectJson(TypedDict):
    what: str
    unit: str
    value: float
    low: float
    high: float


_From = TypedDict("_From", {"from": str}, total=False)


class DrawJson(_From):
    share: float


class VerbJson(_From, total=False):
    """A verb and what it may say."""

    act: Required[str]
    what: str
    number: int
    before: str
    about: str | None
    asks: list[str]
    run: str
    into: str
    m3: float | None
    kg: float | None
    lot: str
    order: int
    tank: str
    seconds: float
    to: str
    feed: str
    on: bool | list[str]
    off: list[str]
    draws: list[DrawJson]
    mark: float | None
    pump: str
    onto: str
    use: str
    bed: str
    role: str
    tip: str


class ActJson(VerbJson):
    id: str
    phase: str
    who: str
    at: str
    start_s: float
    lasts_s: float
    hands_s: float | None
    after: list[str]
    section: SectionJson | None
    expect: ExpectJson | None
    stop_point: int | None
    why: str | None


class HeldJson(TypedDict):
    m3: NotRequired[float]
    stock: str
    g_per_l: float


class StateJson(TypedDict):
    tanks: dict[str, HeldJson]
    hoses: dict[str, HeldJson]
    lots: dict[str, float]
    pails: dict[str, HeldJson]


def act_json(act: Act) -> ActJson:
    """One act."""
    return {
        "id": act.id,
        "phase": act.phase,
        "who": act.who,
        "at": act.at,
        **_fields(act),
        "start_s": act.start,
        "lasts_s": act.lasts,
        "hands_s": act.hands,
        "after": list(act.after),
        "section": None
        if act.section is None
        else {"surface": act.section.surface, "number": act.section.number, "of": act.section.of},
        "expect": None if act.expect is None else expect_json(act.expect),
        "stop_point": act.stop_point,
        "why": act.why,
    }


def expect_json(one: Expect) -> ExpectJson:
    """What a reading should show."""
    return {"what": one.what, "unit": one.unit, "value": one.value, "low": one.low, "high": one.high}


def state_json(state: State) -> StateJson:
    """The rig at one moment."""
    return {
        "tanks": {name: _held(held) for name, held in state.tanks.items()},
        "hoses": {name: _held(held) for name, held in state.hoses.items()},
        "lots": dict(state.lots),
        "pails": {name: _held(held) for name, held in state.pails.items()},
    }


def _held(held: Held) -> HeldJson:
    of: HeldJson = {"stock": held.stock, "g_per_l": held.strength}
    return of if held.volume is None else {"m3": held.volume, **of}


def _fields(act: Act) -> VerbJson:
    """The verb and its own fields."""
    match act.detail:
        case acts.Mark(verb=verb, what=what):
            return {"act": verb, "what": what}
        case acts.StopPoint() as one:
            asks = list(one.asks)
            return {"act": "stop_point", "number": one.number, "before": one.before, "about": one.about, "asks": asks}
        case acts.Join(run=run):
            return {"act": "join", "run": run}
        case acts.Parting(run=run):
            return {"act": "part", "run": run}
        case acts.Fill() as one:
            return {"act": "fill", "into": one.into, "from": one.source, "m3": one.volume}
        case acts.Pour() as one:
            return {
                "act": "pour",
                "lot": one.lot,
                "into": one.into,
                "m3": one.volume,
                "kg": one.mass,
                "order": one.order,
            }
        case acts.Stir() as one:
            return {"act": "stir", "tank": one.tank, "seconds": one.seconds}
        case acts.Drain() as one:
            return {"act": "drain", "from": one.source, "to": one.to, "m3": one.volume}
        case acts.DrawFrom() as one:
            return {"act": "draw_from", "run": one.run, "feed": one.feed}
        case acts.Prime(run=run):
            return {"act": "prime", "run": run}
        case acts.Tap() as one:
            return {"act": "tap", "run": one.run, "on": one.on}
        case acts.SetDosing() as one:
            draws: list[DrawJson] = [{"from": draw.source, "share": draw.share} for draw in one.draws]
            return {"act": "set_dosing", "run": one.run, "to": one.to, "draws": draws, "mark": one.mark}
        case acts.Power() as one:
            return {"act": "power", "pump": one.pump, "on": one.on}
        case acts.Spray() as one:
            return {
                "act": "spray",
                "run": one.run,
                "seconds": one.seconds,
                "m3": one.volume,
                "onto": one.onto,
                "use": one.use,
            }
        case acts.Shut(run=run):
            return {"act": "shut", "run": run}
        case acts.Relieve(run=run):
            return {"act": "relieve", "run": run}
        case acts.ChangeTip() as one:
            tip: VerbJson = {"act": "change_tip", "run": one.run, "role": one.role, "tip": one.tip}
            return {**tip, "off": list(one.off), "on": list(one.on)} if one.off or one.on else tip
        case acts.Read():
            return {"act": "read"}
        case acts.Wait() as one:
            return {"act": "wait", "seconds": one.seconds}
        case acts.WaterBed() as one:
            return {"act": "water", "bed": one.bed, "from": one.source, "m3": one.volume}
        case acts.Neutralise() as one:
            return {"act": "neutralise", "what": one.what, "lot": one.lot, "kg": one.mass}
        case acts.Soak() as one:
            return {"act": "soak", "what": one.what, "into": one.into, "seconds": one.seconds}
