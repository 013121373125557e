"""Ready combinations of a new rig's gear: those that fit are offered, others are put together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from planner.inputs.models.gear import quietly
from planner.inputs.models.rig import Setup
from planner.inputs.reading.letters import alike
from planner.inputs.tables.defaults import default
from planner.interview.answers import Here, choice, key_of
from planner.interview.asking import Question, Unfit, Walk
from planner.interview.rig.keys import NO_MORE, Raw, together
from planner.interview.rig.pumps import of
from planner.interview.setup import gear_of, line, roles
from planner.units import read

_KEPT = ("yes", "no", "own")


def setups(here: Here, rig: Raw) -> Walk[None]:
    """The setups, each offered or put together; a rig without one has its hose runs asked for in each job."""
    found: list[Raw] = []
    for made in offered(rig):
        at = f"setup {made['name']}"
        answer = yield Question(
            key=at,
            about=f"Setup `{made['name']}`: {gear_of(made)}. Keep it",
            read=choice(_KEPT),
            blank="yes",
            more="`own` lets you put it together. A job names a setup, and all of this comes with it.",
        )
        if answer == "no":
            continue
        if answer == "own":
            made = {"name": made["name"], **(yield from line(here, rig, at))}
        found.append((yield from _with_roles(rig, made, at)))
    while rig["pumps"]:
        at = f"setup {len(found) + 1} more"
        rig["setups"] = found
        name = yield Question(
            key=at, about="Another setup: what is it called", read=_free(here, rig), blank=NO_MORE,
            more="A ready combination of pump, dosing, hoses and tip, such as `deck`.",
        )  # fmt: skip
        if name is None:
            break
        found.append((yield from _with_roles(rig, {"name": name, **(yield from line(here, rig, at))}, at)))
    if found:
        yield from together(here, rig, "setups")
    else:
        rig.pop("setups", None)


def _with_roles(rig: Raw, made: Raw, at: str) -> Walk[Raw]:
    """A setup with the tips it changes to, those offered with it first."""
    own = yield from roles(rig, made, at)
    return {name: value for name, value in made.items() if name not in ("rinse_tip", "cleaner")} | own


def _free(here: Here, rig: Raw) -> Any:
    key = key_of(Setup, "name")
    taken = {alike(made["name"]) for made in rig["setups"]}

    def read(text: str) -> str:
        given: str = " ".join(key(text).split())
        if alike(given) in taken:
            raise Unfit((f"there is a setup `{given[:40]}` already", "give it another name"))
        return given

    return read


def offered(rig: Mapping[str, Any]) -> list[Raw]:
    """What this gear is good for: a house, a roof, flat work; nothing twice."""
    made: list[Raw] = []
    for one in (_house(rig), _roof(rig), *_flat(rig), _rinse(rig)):
        if one is not None and all({**one, "name": ""} != {**other, "name": ""} for other in made):
            made.append(one)
    return made


def _pumps(rig: Mapping[str, Any], *, hard: bool) -> list[Raw]:
    return [pump for pump in rig["pumps"] if (kind := of(rig, pump["name"])) is not None and kind.pierces == hard]


def _tank(rig: Mapping[str, Any], holds: str, use: str = "") -> str | None:
    names = [str(tank["name"]) for tank in rig["tanks"] if tank["holds"] == holds]
    return next((name for name in names if use and use in name), names[0] if names else None)


def _tip(rig: Mapping[str, Any], *patterns: str) -> str | None:
    found = (tip["name"] for pattern in patterns for tip in rig["tips"] if tip["pattern"] == pattern)
    return next(found, None)


def _dosing(rig: Mapping[str, Any], kind: str, pump: Raw) -> str | None:
    rows = (row for row in rig.get("dosing", ()) if row["kind"] == kind)
    return next((row["name"] for row in rows if row.get("pump") in (None, pump["name"])), None)


def _house(rig: Mapping[str, Any]) -> Raw | None:
    tip, water = _tip(rig, "solid", "fan"), _tank(rig, "water") or "tap"
    soft = _pumps(rig, hard=False)
    for pump in soft:
        panel = _dosing(rig, "metered", pump)
        if panel is not None and tip is not None:
            return _made(rig, "house", pump, water, panel, tip)
    return _premixed(rig, "house", soft, tip) or _injected(rig, "house", _tip(rig, "fan", "solid"))


def _roof(rig: Mapping[str, Any]) -> Raw | None:
    # A roof's mix is strong: a pump that a switch stops is handier than one that stands against a shut gun.
    soft = sorted(_pumps(rig, hard=False), key=lambda pump: "cut_off" not in pump)
    return _premixed(rig, "roof", soft, _tip(rig, "solid"))


def _flat(rig: Mapping[str, Any]) -> Iterator[Raw | None]:
    """Flat work: cleaned, treated and rinsed by one setup where an injector draws behind the pump that cleans."""
    cleaner = _tip(rig, "surface_cleaner")
    if cleaner is None:
        return
    fans = _widest_first(rig)
    injected = _injected(rig, "flat", fans[0] if fans else None)
    if injected is not None:
        yield injected | ({"rinse_tip": fans[1]} if len(fans) > 1 else {}) | {"cleaner": cleaner}
        return
    for pump in _pumps(rig, hard=True)[:1]:
        yield _made(rig, "clean flat", pump, _tank(rig, "water") or "tap", None, cleaner)
    yield _premixed(rig, "treat flat", _pumps(rig, hard=False), _tip(rig, "fan", "solid"))


def _widest_first(rig: Mapping[str, Any]) -> list[str]:
    """Fans by what they let through: behind the widest an injector draws, and the next one rinses."""

    def wide(tip: Raw) -> float:
        if "size" in tip:
            return float(str(tip["size"]))
        flow, at = quietly(tip.get("flow"), "flow"), quietly(tip.get("at"), "pressure")
        rated, size = read("1 gpm", "flow"), read("4000 psi", "pressure")
        return (flow or 0.0) / rated * ((size / at) ** 0.5 if at else 1.0)

    return [str(tip["name"]) for tip in sorted(rig["tips"], key=wide, reverse=True) if tip["pattern"] == "fan"]


def _rinse(rig: Mapping[str, Any]) -> Raw | None:
    tip, pumps = _tip(rig, "fan"), _pumps(rig, hard=False) or _pumps(rig, hard=True)
    if tip is None or not pumps:
        return None
    return _made(rig, "water", pumps[0], _tank(rig, "water") or "tap", None, tip)


def _premixed(rig: Mapping[str, Any], name: str, pumps: Sequence[Raw], tip: str | None) -> Raw | None:
    tank = _tank(rig, "mix", name)
    return _made(rig, name, pumps[0], tank, "premix", tip) if pumps and tank is not None and tip is not None else None


def _injected(rig: Mapping[str, Any], name: str, tip: str | None) -> Raw | None:
    for pump in _pumps(rig, hard=True):
        injector = _dosing(rig, "injector", pump)
        if injector is not None and tip is not None:
            return _made(rig, name, pump, _tank(rig, "water") or "tap", injector, tip)
    return None


def _made(rig: Mapping[str, Any], name: str, pump: Raw, feed: str, dosing: str | None, tip: str) -> Raw:
    dosed = {"dosing": dosing} if dosing is not None else {}
    return {"name": name, "pump": pump["name"], "feed": feed, **dosed, "hoses": _hoses(rig, pump), "tip": tip}


def _hoses(rig: Mapping[str, Any], pump: Raw) -> list[str]:
    """Hoses that take the pump's pressure, all of one bore; soft work stays out of hoses made for hard."""
    hard, skin = of(rig, pump["name"]), default("through_skin")
    rated = {hose["name"]: quietly(hose.get("rated"), "pressure") for hose in rig["hoses"]}
    made_for = [
        hose for hose in rig["hoses"]
        if ((rated[hose["name"]] or 0.0) >= skin) == (hard is not None and hard.pierces)
    ]  # fmt: skip
    hoses = made_for or rig["hoses"]
    return [hose["name"] for hose in _alike(hoses)]


def _alike(hoses: Iterable[Raw]) -> list[Raw]:
    several = list(hoses)
    return [hose for hose in several if hose["bore"] == several[0]["bore"]]
