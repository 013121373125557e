"""Dosing on the run: metering valves on one pump, or a venturi after it.

Metered, parts a of stock to w of water and s of soap: C = Cs a / (a + w + s), so the share of stock in the
flow is x = Ct / Cs.  The dial is read between the rig's own bucket-tested points by straight lines, never
beyond them.  Injector, r of water to 1 drawn: C = C_jug / (1 + r), so 10:1 is one eleventh and not 10 %.
Source: mass balance of the active; volumes add (see dilution).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

from planner.chemistry.constants import MARGIN
from planner.frozen import dataclass

Outside = Literal["below", "above"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DialPoint:
    """One bucket test of a metered panel: at `setting` [dial mark] the flow held `share` [m3 stock per m3]."""

    setting: float
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Dial:
    """Where to set a panel: `setting` [dial mark], None where the share lies `outside` the tested points."""

    setting: float | None
    outside: Outside | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Metered:
    """What a panel must draw, as shares of the flow [-]: `stock`, `soap`, `water` sum to 1.

    `reachable`: stock and soap fit in the flow. `highest` [kg/m3] is the most this stock gives by chemistry;
    `dial_low` and `dial_high` [kg/m3] what the tested points give.
    """

    stock: float
    soap: float
    water: float
    dial: Dial
    reachable: bool
    highest: float
    dial_low: float
    dial_high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Jug:
    """What an injector drinks from, as shares of the jug [-]: `stock`, `soap`, `water` sum to 1 if `reachable`.

    `strength` [kg/m3] on the wall with this jug; `highest` [kg/m3] with no water in it; `stock_strength_needed`
    [kg/m3] for the target with no water in it. An unreachable target gets the strongest jug there is.
    """

    stock: float
    soap: float
    water: float
    strength: float
    highest: float
    stock_strength_needed: float
    reachable: bool


def metered_strength(stock_strength: float, share: float) -> float:
    """Strength [kg/m3] of a flow that holds `share` [m3 stock per m3] of `stock_strength` [kg/m3]: Cs x.

    Source: mass balance. Share from 0 to 1.
    """
    return stock_strength * share


def dial_for(share: float, points: Sequence[DialPoint]) -> Dial:
    """The dial for `share` [m3 stock per m3 of flow] by straight lines between tested `points`, never beyond.

    Source: the rig's own bucket tests. Raises ValueError for fewer than two points, or settings or shares
    that do not both run one way.
    """
    rows = _in_order(points)
    slack = MARGIN * rows[-1].share
    if share < rows[0].share - slack:
        return Dial(setting=None, outside="below")
    if share > rows[-1].share + slack:
        return Dial(setting=None, outside="above")
    share = min(max(share, rows[0].share), rows[-1].share)
    for low, high in pairwise(rows):
        if share <= high.share:
            along = (share - low.share) / (high.share - low.share)
            return Dial(setting=low.setting + along * (high.setting - low.setting), outside=None)
    return Dial(setting=rows[-1].setting, outside=None)


def share_at(setting: float, points: Sequence[DialPoint]) -> float | None:
    """Share of stock [m3 per m3] at dial `setting` [dial mark]; None outside the tested `points`.

    Straight lines between points. Source and errors: as dial_for.
    """
    rows = sorted(_in_order(points), key=lambda point: point.setting)
    slack = MARGIN * max(abs(rows[0].setting), abs(rows[-1].setting))
    if not rows[0].setting - slack <= setting <= rows[-1].setting + slack:
        return None
    setting = min(max(setting, rows[0].setting), rows[-1].setting)
    for low, high in pairwise(rows):
        if setting <= high.setting:
            along = (setting - low.setting) / (high.setting - low.setting)
            return low.share + along * (high.share - low.share)
    return rows[-1].share


def metered(*, target: float, stock_strength: float, points: Sequence[DialPoint], soap_share: float = 0.0) -> Metered:
    """How to set a panel for `target` [kg/m3] from `stock_strength` [kg/m3] with `soap_share` [m3 soap per m3 mix].

    x = Ct / Cs; the dial from tested `points`. Source: the module. Not reachable where x + s > 1; the shares are
    then those of the strongest flow. Raises ValueError for a soap share outside 0 to 1, a target below 0,
    or no stock strength.
    """
    if not 0.0 <= soap_share < 1.0 or target < 0.0 or not stock_strength > 0.0:
        raise ValueError(f"no flow of {target} kg/m3 from {stock_strength} with soap {soap_share}")
    share, most = target / stock_strength, 1.0 - soap_share
    reachable = share <= most * (1.0 + MARGIN)
    share = min(share, most)
    rows = _in_order(points)
    return Metered(
        stock=share,
        soap=soap_share,
        water=most - share,
        dial=dial_for(share, points) if reachable else Dial(setting=None, outside="above"),
        reachable=reachable,
        highest=stock_strength * most,
        dial_low=metered_strength(stock_strength, rows[0].share),
        dial_high=metered_strength(stock_strength, rows[-1].share),
    )


def injector_share(water_to_stock: float) -> float:
    """Share of the flow after it [-] that an injector of `water_to_stock` [m3 water per m3 drawn] adds: 1/(1+r).

    Source: definition of r:1. Raises ValueError for a ratio not above 0.
    """
    if not water_to_stock > 0.0:
        raise ValueError(f"{water_to_stock}:1 is not a ratio")
    return 1.0 / (1.0 + water_to_stock)


def injector_strength(stock_strength: float, water_to_stock: float, soap_share: float = 0.0) -> float:
    """Strength [kg/m3] on the wall from neat stock of `stock_strength` [kg/m3] at `water_to_stock` [m3/m3].

    C = Cs (1/(1+r) - s): `soap_share` [m3 soap per m3 on the wall] takes its place in the jug.
    Source: mass balance. Never below 0. Raises ValueError for a ratio not above 0.
    """
    return max(stock_strength * (injector_share(water_to_stock) - soap_share), 0.0)


def injector_soap(soap_share: float, water_to_stock: float) -> float:
    """Soap in the jug [m3 per m3 of jug] for `soap_share` [m3 per m3 on the wall]: s (1 + r).

    `water_to_stock` [m3/m3]. Source: mass balance. Over 1 means no jug can carry so much.
    """
    return soap_share / injector_share(water_to_stock)


def injector(*, target: float, stock_strength: float, water_to_stock: float, soap_share: float = 0.0) -> Jug:
    """What to put in an injector's jug for `target` [kg/m3] from `stock_strength` [kg/m3].

    The ratio `water_to_stock` [m3/m3] cannot be set, so the jug is thinned: stock = Ct (1+r) / Cs, soap =
    s (1+r), water the rest; `soap_share` [m3 soap per m3 on the wall]. Source: the module. Raises ValueError
    for no stock, a target below 0, a ratio not above 0, or more soap than the jug holds.
    """
    drawn = injector_share(water_to_stock)
    soap = injector_soap(soap_share, water_to_stock)
    if not stock_strength > 0.0 or target < 0.0 or not 0.0 <= soap < 1.0:
        raise ValueError(f"no jug for {target} kg/m3 from {stock_strength} with soap {soap_share}")
    wanted, most = target / (stock_strength * drawn), 1.0 - soap
    stock = min(wanted, most)
    return Jug(
        stock=stock,
        soap=soap,
        water=most - stock,
        strength=stock * stock_strength * drawn,
        highest=injector_strength(stock_strength, water_to_stock, soap_share),
        stock_strength_needed=target / (drawn * most),
        reachable=wanted <= most * (1.0 + MARGIN),
    )


def share_band(water_to_stock: float, least: float, most: float) -> tuple[float, float]:
    """How far an injector's share may go from that of `water_to_stock` [m3/m3]: its least and most, as factors [-].

    `least` and `most` [-] are the ratio's ends as parts of what it is said to be: more water to one of stock is less
    share. Source: 1/(1+r). Raises ValueError for a ratio not above 0.
    """
    said = injector_share(water_to_stock)
    return injector_share(water_to_stock * most) / said, injector_share(water_to_stock * least) / said


def _in_order(points: Sequence[DialPoint]) -> list[DialPoint]:
    """Points by rising share; settings must then rise or fall throughout."""
    rows = sorted(points, key=lambda point: point.share)
    if len(rows) < 2:
        raise ValueError("a dial needs two tested points")
    steps = [high.setting - low.setting for low, high in pairwise(rows)]
    level = any(high.share <= low.share for low, high in pairwise(rows))
    if level or not (all(step > 0.0 for step in steps) or all(step < 0.0 for step in steps)):
        raise ValueError("more dial must give more stock, or less, at every tested point")
    return rows
