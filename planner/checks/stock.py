"""What the shelf holds of what the job takes, and how far its age can be trusted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from planner.checks.model import Finding, Level, check, over, under
from planner.faults import Where
from planner.frozen import dataclass
from planner.inputs.tables.chemicals import BLEACH, SOAP
from planner.plan.mix.model import LotToday, MixPlan
from planner.plan.model import JobPlan, Value
from planner.plan.yard.model import BathPlan


@check("mix.age")
def mix_age(plan: JobPlan) -> Iterator[Finding]:
    """Whether each lot of bleach that is poured was made or tested lately enough for where it stands."""
    limits = plan.input.limits
    lots = {
        share.lot.name: (share.lot, mix) for mix in plan.mixes for share in mix.pours if share.lot.chemical == BLEACH
    }
    for lot, mix in lots.values():
        level: Level = "ok"
        most = limits["age_hot"] if lot.hot else limits["age_cool"]
        if lot.not_yet:
            level, case = "caution", "not_yet"
        elif lot.age is None:
            undated = plan.input.date is not None
            level, case = ("caution", "undated") if undated or not lot.known else ("none", "no_day")
        elif over(lot.age, most):
            level, case = "caution", "tested_long_ago" if lot.tested else "made_long_ago"
        else:
            case = ("tested" if lot.tested else "fresh") + ("_today" if lot.age <= 0.0 else "")
        sour = lot.lye_ph is not None and under(lot.lye_ph, limits["bleach_ph"])
        if sour and level != "caution":
            level, case = "caution", "low_caustic"
        values: dict[str, Value | str] = {
            "lot": lot.name,
            "age": Value(lot.age or 0.0, "days"),
            "most": Value(most, "days"),
            "ph": f"{limits['bleach_ph']:g}",
            "where": "warm" if lot.hot else "cool",
        }
        if sour and case != "low_caustic":
            values["sour"] = lot.name
        if lot.extrapolated and not sour:
            values["beyond"] = lot.name
        if lot.optimistic:
            values["optimistic"] = lot.name
        yield Finding(code="mix.age", about=lot.name, level=level, case=case, values=values, where=mix.where)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """What is asked of a stock: `need` to pour, `pull` to load, what both lack; in m3, or kg where `dimension` is."""

    stock: str
    lots: Sequence[LotToday]
    need: float
    pull: float
    short: float
    short_pull: float
    dimension: str
    where: Where


@check("mix.stock")
def mix_stock(plan: JobPlan) -> Iterator[Finding]:
    """Whether the shelf holds what the job's mixes and their soap take, at nominal and at low strength.

    What earlier jobs of the day, and of the days before it, pulled is off the shelf already.
    """
    by_stock: dict[str, list[MixPlan]] = {}
    for mix in plan.mixes:
        if mix.chemical != SOAP:
            named = mix.use is not None and mix.use.stock in {lot.name for lot in plan.shelf}
            by_stock.setdefault(mix.use.stock if named and mix.use is not None else mix.chemical, []).append(mix)
    for stock, mixes in by_stock.items():
        mass = sum(mix.stock_mass or 0.0 for mix in mixes)
        meant = {lot.name for mix in mixes if mix.use is not None for lot in mix.use.lots}
        able = {lot.name for mix in mixes for lot in mix.able} or meant
        yield _on_hand(
            plan,
            _Asked(
                stock=stock,
                lots=[lot for lot in plan.shelf if lot.name in able],
                need=mass or sum(mix.stock or 0.0 for mix in mixes),
                pull=mass or sum(mix.pull or 0.0 for mix in mixes),
                short=sum(mix.short for mix in mixes),
                short_pull=sum(mix.short_pull for mix in mixes),
                dimension="mass" if mass else "volume",
                where=mixes[0].where,
            ),
        )
    yield from _for_bath(plan)
    yield from _for_leftovers(plan)
    soap = sum((mix.soap or 0.0) * (1.0 if mix.kind == "premix" else 1.0 + mix.spare_loaded) for mix in plan.mixes)
    if soap > 0.0:
        lots = [lot for lot in plan.shelf if lot.chemical == SOAP]
        lacking = max(soap - sum(lot.on_hand or 0.0 for lot in lots), 0.0)
        yield _on_hand(
            plan,
            _Asked(
                stock="soap", lots=lots, need=soap, pull=soap, short=lacking, short_pull=lacking, dimension="volume",
                where=plan.mixes[0].where,
            ),
        )  # fmt: skip


def _for_bath(plan: JobPlan) -> Iterator[Finding]:
    """What a pump's bath takes; one that cannot be made takes nothing."""
    bath = plan.yard.bath if plan.yard is not None else None
    if bath is None or not bath.reachable:
        return
    need = bath.stock_mass or bath.stock
    yield from _for_harmless(plan, bath)
    yield _on_hand(
        plan,
        _Asked(
            stock=bath.chemical,
            lots=[lot for lot in plan.shelf if lot.chemical == bath.chemical],
            need=need,
            pull=need,
            short=bath.short,
            short_pull=bath.short,
            dimension="mass" if bath.stock_mass is not None else "volume",
            where=plan.input.places.get("bath", plan.where),
        ),
    )


def _for_leftovers(plan: JobPlan) -> Iterator[Finding]:
    """What makes a wash's leftovers harmless."""
    if plan.yard is not None:
        return
    for need in plan.agents:
        level: Level = "ok"
        case = "left_agent"
        if not need.lots:
            level, case = "caution", "left_no_agent"
        elif need.on_hand is None:
            level, case = "caution", "left_not_weighed"
        elif over(need.carry, need.on_hand):
            level, case = "caution", "left_short"
        values: dict[str, Value | str] = {
            "chemical": need.agent.replace("_", " "),
            "against": need.against,
            "need": Value(need.mass, "mass"),
            "pull": Value(need.carry, "mass"),
            "have": Value(need.on_hand or 0.0, "mass"),
            "buy": Value(need.buy, "mass"),
        }
        if need.before > 0.0:
            values["taken"] = Value(need.before, "mass")
        about = f"{need.agent} for leftovers"
        yield Finding(code="mix.stock", about=about, level=level, case=case, values=values, where=plan.where)


def _for_harmless(plan: JobPlan, bath: BathPlan) -> Iterator[Finding]:
    """What makes the bath and its rinse harmless: no bath is mixed that the shelf cannot end, spare or no spare."""
    ends_it = bath.neutralise[0].agent if bath.neutralise else ""
    least = bath.neutralise[0].mass if bath.neutralise else 0.0
    for need in plan.agents:
        level: Level = "ok"
        case = "agent"
        if not need.lots:
            level, case = "stop" if need.agent == ends_it else "caution", "no_agent"
        elif need.on_hand is None:
            level, case = "none", "not_counted"
        elif need.agent == ends_it and over(least, need.on_hand):
            level, case = "stop", "agent_lacking"
        elif over(need.carry, need.on_hand):
            level, case = "caution", "agent_short"
        values: dict[str, Value | str] = {
            "chemical": need.agent.replace("_", " "),
            "need": Value(need.mass, "mass"),
            "least": Value(least, "mass"),
            "pull": Value(need.carry, "mass"),
            "have": Value(need.on_hand or 0.0, "mass"),
            "buy": Value(need.buy, "mass"),
            "acid": bath.chemical,
        }
        if need.before > 0.0:
            values["taken"] = Value(need.before, "mass")
        where = plan.input.places.get("bath", plan.where)
        yield Finding(code="mix.stock", about=need.agent, level=level, case=case, values=values, where=where)


def _on_hand(plan: JobPlan, asked: _Asked) -> Finding:
    counted = [lot.on_hand_mass if asked.dimension == "mass" else lot.on_hand for lot in asked.lots]
    known = [amount for amount in counted if amount is not None]
    level: Level = "ok"
    case = "ok"
    if not asked.lots:
        level, case = "stop", "no_lot"
    elif len(known) < len(counted):
        level, case = "none", "not_counted"
    elif over(asked.short + asked.need, asked.need):
        level, case = "stop", "short"
    elif over(asked.short_pull + asked.pull, asked.pull):
        level, case = "caution", "short_if_weak"
    values: dict[str, Value | str] = {
        "chemical": asked.stock.replace("_", " "),
        "need": Value(asked.need, asked.dimension),
        "pull": Value(asked.pull, asked.dimension),
        "have": Value(sum(known), asked.dimension),
        "buy": Value(max(asked.short_pull, asked.short), asked.dimension),
    }
    before = sum(plan.found.taken.get(lot.name, 0.0) for lot in asked.lots)
    if before > 0.0:
        values["taken"] = Value(before, asked.dimension)
    return Finding(code="mix.stock", about=asked.stock, level=level, case=case, values=values, where=asked.where)
