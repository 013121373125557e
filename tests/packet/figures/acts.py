"""What the crew's pages may say of the acts: each act's own figures, and the sums of a section, from the JSON's acts.

A gun's time is what a watch shows: whole seconds under 50, then ever wider steps, whole minutes from ten.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from planner.units import System, read
from tests.packet.figures.given import some
from tests.packet.figures.known import Known, table_step

_EXPECTED = {
    "s": ("time", 1.0), "pa": ("pressure", 1.0), "m_per_s": ("speed", 1.0), "m3": ("volume", 1.0),
    "mg_per_l": ("concentration", 1e-3), "ph": ("count", 1.0), "m": ("length", 1.0),
}  # fmt: skip
_HOW = {"m3": "jug", "m": "stick", "ph": "digits"}


def acted(job: dict[str, Any], system: System) -> Iterator[Known]:
    """Everything a page may say of one job's acts."""
    procedure = job.get("procedure") or {}
    acts: list[dict[str, Any]] = procedure.get("acts") or []
    lots = {lot["lot"] for mix in job.get("mixes", ()) for lot in (*mix["lots"], mix) if lot["lot"]}
    for act in acts:
        yield from _act(act, lots, system)
    yield from _sections(acts)
    yield from _counts(acts)


def _act(act: dict[str, Any], lots: set[str], system: System) -> Iterator[Known]:
    verb, start = act["act"], act["start_s"]
    if act["who"] in ("second", "both"):
        yield from some(f"acts.{verb}.start", start, "clock", "up")
        if verb in (
            "fill",
            "water",
        ):  # rounds: am or pm stands before them, two of one five minutes are told by the minute
            for at in (start, start % 43200.0 if system == "us" else start):
                yield from some(f"acts.{verb}.start", at, "clock", "up")
                yield from some(f"acts.{verb}.start", at, "clock", "up", how="minute")
    if verb == "spray":
        exact = act["use"] == "test" or (act["section"] and act["use"] == "mix")
        side = "near" if exact else "up"
        yield from some(f"acts.spray.{act['use']}.seconds", act["seconds"], "time", side, how="gun")  # type: ignore[arg-type]
        yield from some(f"acts.spray.{act['use']}.m3", act["m3"], "volume", side, how="jug")  # type: ignore[arg-type]
        yield from some(f"acts.spray.{act['use']}.m3", act["m3"], "volume", side)  # type: ignore[arg-type]
    elif verb == "wait":
        yield from some("acts.wait.seconds", act["seconds"], "time", "up", how="gun")
    elif verb in ("fill", "water"):
        yield from some(f"acts.{verb}.m3", act["m3"], "volume", "up", how="jug")
        yield from some(f"acts.{verb}.whole.m3", act["m3"], "volume", "up")
        yield from some(f"acts.{verb}.seconds", act["lasts_s"], "time", "up")
    elif verb == "pour":
        # What is strong goes down, soap beside it up: rounding makes no mix stronger.
        yield from some("acts.pour.m3", act["m3"], "volume", "down" if act["lot"] in lots else "up", how="jug")
        yield from some("acts.pour.kg", act["kg"], "mass", "down", how="scale")
    elif verb == "drain":
        yield from some("acts.drain.m3", act["m3"], "volume", "up", how="jug")
        yield from some("acts.drain.m3", act["m3"], "volume", "up")
    elif verb in ("stir", "soak"):
        yield from some(f"acts.{verb}.seconds", act["seconds"], "time", "up")
    elif verb == "neutralise":
        yield from some("acts.neutralise.kg", act["kg"], "mass", "up", how="scale")
    elif verb == "set_dosing":
        yield from some("acts.set_dosing.mark", act.get("mark"), "dial", "down")
    if act["expect"]:
        one = act["expect"]
        family, unit = _EXPECTED[one["unit"]]
        how = "plain" if one["what"] == "throw" else _HOW.get(one["unit"], "plain")
        value = "down" if one["what"] == "throw" else "near"
        ends = _ends(one, system) if one["what"] != "throw" else one
        for key, side in (("value", value), ("low", "up"), ("high", "down")):
            yield from some(f"acts.{one['what']}.{key}", ends[key] * unit, family, side, how=how)  # type: ignore[arg-type]


def _ends(one: dict[str, Any], system: System) -> dict[str, Any]:
    """A reading with its ends: the marks beside its own are in order whatever the band is."""
    kind = {"m": "dip", "pa": "pressure", "m3": "jug", "s": "watch"}.get(one["unit"])
    if kind is None:
        return one
    units = {"dip": ("in", "mm"), "pressure": ("psi", "bar"), "jug": ("fl oz", "mL"), "watch": ("s", "s")}[kind]
    unit = units[system == "si"]
    size = read(f"1 {unit}", {"dip": "length", "pressure": "pressure", "jug": "volume", "watch": "time"}[kind])
    step = {"dip": Fraction(1, 8) if unit == "in" else Fraction(2), "watch": Fraction(1)}.get(kind) or table_step(
        kind, unit, one["value"] / size
    )
    assert step is not None
    width = float(step) * size
    mark = round(one["value"] / width) * width
    return one | {"low": max(min(one["low"], mark - width), 0.0), "high": max(one["high"], mark + width)}


def _sections(acts: list[dict[str, Any]]) -> Iterator[Known]:
    """Of each section and use: what its sprays come to, all of them and what is left of them after the first ones."""
    sprays: dict[tuple[str, int, str], list[dict[str, Any]]] = defaultdict(list)
    rinsed: dict[tuple[str, int], float] = {}
    mixed: dict[tuple[str, int], float] = {}
    for act in acts:
        if act["act"] != "spray" or not act["section"]:
            continue
        wall = (act["section"]["surface"], act["section"]["number"])
        sprays[(*wall, act["use"])].append(act)
        if act["use"] == "mix":
            mixed[wall] = act["start_s"] + act["lasts_s"]
        elif act["use"] == "rinse":
            rinsed.setdefault(wall, act["start_s"])
    wetted: Counter[str] = Counter()
    for (wall_name, _, use), found in sprays.items():
        if use == "wet":
            wetted[wall_name] += sum(act["m3"] for act in found)
        name = f"acts.wall[{wall_name}].{use}"
        side = "near" if use == "mix" else "up"
        yield from some(f"{name}.whole", sum(act["seconds"] for act in found), "time", side, how="gun")  # type: ignore[arg-type]
        for begin in range(len(found)):
            for end in range(begin + 1, len(found) + 1):
                part = found[begin:end]
                yield from some(f"{name}.seconds", sum(act["seconds"] for act in part), "time", side, "near", how="gun")  # type: ignore[arg-type]
                for how in ("plain", "jug"):
                    yield from some(f"{name}.m3", sum(act["m3"] for act in part), "volume", side, how=how)  # type: ignore[arg-type]
    for wall_name, number in {(name, number) for name, number, _ in sprays}:
        both = [act["seconds"] for use in ("wet", "mix") for act in sprays.get((wall_name, number, use), ())]
        yield from some(f"acts.wall[{wall_name}].gun", sum(both), "time", "up", "near", how="gun")
    for wall_name, whole in wetted.items():
        yield from some(f"acts.side[{wall_name}].wet", whole, "volume", "up")
    for wall, start in rinsed.items():
        if wall in mixed:
            yield from some(f"acts.wall[{wall[0]}].stands", (start - mixed[wall]) / 60.0, "count")


def _counts(acts: list[dict[str, Any]]) -> Iterator[Known]:
    """Numbers of sections and pails, and how often something is done."""
    numbers = {act["section"][key] for act in acts if act["section"] for key in ("number", "of")}
    repeats = Counter((act["act"], act.get("into"), act.get("bed"), act.get("use")) for act in acts)
    pails = len({act[key] for act in acts for key in ("into", "what") if str(act.get(key)).startswith("pail ")})
    for number in sorted(numbers | set(range(1, max(repeats.values(), default=0) + 1)) | set(range(1, pails + 1))):
        yield from some("acts.count", number, "count", how="exact")
