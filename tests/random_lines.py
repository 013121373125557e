"""Lines drawn at random from gear one may meet: every pump kind and source, one to three runs, three liquids."""

from __future__ import annotations

from dataclasses import dataclass, replace
from random import Random
from typing import Literal

from planner.physics.hoses import Hose, reynolds
from planner.physics.lines import Branch, Fluid, Fork, Line, Operating, Source, paths
from planner.physics.liquids import water_density, water_viscosity
from planner.physics.parts import DevicePart, HosePart, MinorPart, Part
from planner.physics.pumps import HeadPump, PistonPump, centrifugal, diaphragm
from planner.physics.supply import Tap
from planner.physics.tips import bore_coefficient, rated_coefficient

GPM = 6.30901964e-5
PSI = 6894.757293168
FOOT = 0.3048
INCH = 0.0254

Kind = Literal["centrifugal", "diaphragm", "piston", "none"]
KINDS: tuple[Kind, ...] = ("centrifugal", "diaphragm", "piston", "none")


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A line and the words for what is in it."""

    line: Line
    words: frozenset[str]


def draw(random: Random, wanted: Kind | None = None) -> Drawn:
    """A line of the wanted pump kind, or of any."""
    kind: Kind = random.choice(KINDS) if wanted is None else wanted
    words: set[str] = set()
    temperature = random.uniform(278.0, 305.0)
    water = Fluid(density=water_density(temperature), viscosity=water_viscosity(temperature))
    mix = Fluid(
        density=water.density * random.uniform(1.005, 1.12), viscosity=water.viscosity * random.uniform(1.0, 1.3)
    )
    source, words_source = _source(random, kind, water)
    words |= words_source
    pumped, sprayed, drawn_in = water, water, 0.0
    trunk: list[Part] = []
    dosing = random.choice(("plain", "premix", "panel", "injector"))
    if dosing == "premix" and source.tap is None:
        source, pumped, sprayed = replace(source, fluid=mix), mix, mix
        words.add("premix")
    elif dosing == "panel":
        pumped = sprayed = mix
        words.add("panel")
        loss = random.uniform(0.3, 4.0) * PSI / (water.density * 9.80665)
        trunk.append(DevicePart(name="panel", rated_head=loss, rated_flow=8.0 * GPM))
    elif dosing == "injector":
        sprayed, drawn_in = mix, random.uniform(0.04, 0.15)
        words.add("injector")
        loss = random.uniform(3.0, 45.0) * PSI / (water.density * 9.80665)
        loss *= 1.0 if kind == "piston" else 0.15
        trunk.append(DevicePart(name="injector", rated_head=loss, rated_flow=5.5 * GPM))
    runs = random.choice((1, 1, 2, 3))
    words.add(f"{runs} run{'s' if runs > 1 else ''}")
    if runs > 1 and random.random() < 0.5:
        trunk.extend(_hoses(random, kind, "trunk", 1))
        words.add("shared hose")
    branches = tuple(
        Branch(
            name=f"run {i + 1}",
            parts=tuple(_hoses(random, kind, f"run {i + 1}", random.choice((1, 2, 3)))),
            coefficient=_tip(random, kind),
            tip_height=random.uniform(-1.0, 4.0),
        )
        for i in range(runs)
    )
    line = Line(
        source=source,
        pump=_pump(random, kind),
        pump_height=random.uniform(0.2, 1.2) if kind != "none" else 0.0,
        trunk=tuple(trunk),
        branches=branches,
        pumped=pumped,
        sprayed=sprayed,
        draw=drawn_in,
    )
    return Drawn(line=line, words=frozenset(words | {kind}))


def words_of(drawn: Drawn, point: Operating) -> set[str]:
    """What the line is, with what the pump turned out to do."""
    words = set(drawn.words)
    if "piston" in words:
        words.add("piston at its unloader" if point.bypassing else "piston below its unloader")
    if "diaphragm" in words:
        words.add("diaphragm at its cut-off" if point.cycling else "diaphragm below its cut-off")
    return words


def lowest_reynolds(line: Line, point: Operating) -> float:
    """The smallest Reynolds number [-] in any hose of the line at this operating point."""
    numbers: list[float] = []

    def look(parts: tuple[Part, ...], flow: float, fluid: Fluid) -> None:
        for part in parts:
            if isinstance(part, HosePart):
                numbers.append(reynolds(flow, part.hose.bore, fluid.kinematic))

    # A pump held at a pressure draws whatever it draws: its suction plays no part in the answer.
    if not isinstance(line.pump, PistonPump) and not point.cycling:
        look(line.source.parts, point.pump_flow, line.source.fluid)
    look(line.trunk, point.pump_flow, line.pumped)
    for path in paths(line, point.flows):
        for part, flow in path:
            look((part,), flow, line.sprayed)
    return min(numbers)


def forked(random: Random, kind: Kind) -> Drawn:
    """A line of three runs, two of which share a hose up to where they part; in half of them the third parts before."""
    drawn = draw(random, kind)
    while len(drawn.line.branches) != 3:
        drawn = draw(random, kind)
    first, second, third = drawn.line.branches
    shared = Fork(parts=tuple(_hoses(random, kind, "shared", random.choice((1, 2)))), branches=(first, second))
    branches: tuple[Branch | Fork, ...] = (shared, third)
    if random.random() < 0.5:
        branches = (Fork(parts=tuple(_hoses(random, kind, "first shared", 1)), branches=branches),)
    return replace(drawn, line=replace(drawn.line, branches=branches))


def wyed(random: Random, kind: Kind) -> Drawn:
    """Four guns behind three wyes: one after another, or two behind the first. Bores are wide where more flows."""
    drawn = draw(random, kind)
    while len(drawn.line.branches) != 3:
        drawn = draw(random, kind)
    last = Branch(name="run 4", parts=tuple(_hoses(random, kind, "run 4", random.choice((1, 2)))),
                  coefficient=_tip(random, kind), tip_height=random.uniform(-1.0, 4.0))  # fmt: skip
    one, two, three = drawn.line.branches
    trunk, middle, end = (tuple(_hoses(random, kind, name, 1)) for name in ("trunk to", "middle", "end"))
    far = Fork(parts=end, branches=(three, last))
    near: tuple[Branch | Fork, ...] = (one, Fork(parts=middle, branches=(two, far)))
    if random.random() < 0.5:
        near = (Fork(parts=middle, branches=(one, two)), far)
    return replace(drawn, line=replace(drawn.line, branches=(Fork(parts=trunk, branches=near),)))


def fallen(random: Random, kind: Kind) -> Drawn:
    """A line without a pump out of a tank that stands well above its tips; by itself, or as four guns behind wyes."""
    assert kind == "none"
    drawn = (draw if random.random() < 0.5 else wyed)(random, kind)
    entrance = MinorPart(name="entrance", k=0.57, bore=random.choice((0.75, 1.0)) * INCH)
    level = random.uniform(8.0, 30.0)
    source = Source(fluid=drawn.line.source.fluid, level=level, parts=(entrance,))
    return replace(drawn, line=replace(drawn.line, source=source, pump_height=level))


def _source(random: Random, kind: Kind, water: Fluid) -> tuple[Source, set[str]]:
    which = random.choice(("tank", "pond", "tap", "untested tap"))
    if kind == "none":
        which = random.choice(("tap", "untested tap"))
    parts: list[Part] = []
    if which in ("tank", "pond"):
        bore = random.choice((0.75, 1.0, 1.25)) * INCH
        parts.append(MinorPart(name="entrance", k=random.uniform(0.5, 3.0), bore=bore))
        parts.append(HosePart(name="suction", hose=Hose(bore=bore, length=random.uniform(0.5, 4.0), roughness=1e-5)))
        level = random.uniform(0.3, 2.0) if which == "tank" else random.uniform(-2.5, 0.0)
        return Source(fluid=water, level=level, parts=tuple(parts)), {which, "suction"}
    parts.append(
        HosePart(
            name="supply hose",
            hose=Hose(bore=random.choice((0.625, 0.75)) * INCH, length=random.uniform(5.0, 30.0), roughness=3e-5),
        )
    )
    static = random.uniform(45.0, 85.0) * PSI
    if which == "untested tap":
        return Source(fluid=water, tap=Tap(static=static), parts=tuple(parts)), {which}
    residual = random.uniform(0.0, 0.8) * static
    tap = Tap(static=static, residual=residual, test_flow=random.uniform(6.0, 20.0) * GPM)
    return Source(fluid=water, tap=tap, parts=tuple(parts)), {"tap"}


def _pump(random: Random, kind: Kind) -> HeadPump | PistonPump | None:
    if kind == "none":
        return None
    if kind == "piston":
        return PistonPump(flow=random.uniform(3.0, 8.0) * GPM, unloader=random.uniform(300.0, 3500.0) * PSI)
    shut_off = random.uniform(35.0, 75.0)
    if kind == "diaphragm":
        most = random.uniform(5.0, 9.0) * GPM
        middle = (0.5 * most, shut_off * random.uniform(0.45, 0.6))
        points = [(0.0, shut_off), *((middle,) if random.random() < 0.5 else ()), (most, 0.0)]
        return diaphragm(points, cut_off=random.uniform(12.0, 60.0) * PSI)
    most, bend = random.uniform(10.0, 26.0) * GPM, random.uniform(1.4, 2.4)
    count, last = random.choice((3, 5, 6, 8)), random.uniform(0.6, 0.98)
    shares = [last * i / (count - 1) for i in range(count)]
    points = [(most * s, shut_off * (1.0 - s**bend)) for s in shares]
    return centrifugal(points, speed_ratio=random.uniform(0.85, 1.05), condition=random.uniform(0.7, 1.0))


def _hoses(random: Random, kind: Kind, name: str, count: int) -> list[Part]:
    """Hoses in series, of falling bore as one would couple them, with fittings between."""
    bores = (0.375, 0.5) if kind == "piston" else (0.5, 0.625, 0.75, 1.0)
    parts: list[Part] = []
    for i, bore in enumerate(sorted(random.choices(bores, k=count), reverse=True)):
        hose = Hose(
            bore=bore * INCH * random.uniform(0.95, 1.02),
            length=random.uniform(5.0, 35.0),
            roughness=random.choice((1.5e-6, 1e-5, 3e-5)),
        )
        parts.append(HosePart(name=f"{name} hose {i + 1}", hose=hose))
        if random.random() < 0.7:
            parts.append(MinorPart(name=f"{name} fittings {i + 1}", k=random.uniform(0.1, 5.0), bore=hose.bore))
    return parts


def _tip(random: Random, kind: Kind) -> float:
    if kind == "piston":
        return bore_coefficient(random.uniform(1.2, 2.6) * 1e-3, random.uniform(0.9, 0.98))
    if random.random() < 0.3:
        return rated_coefficient(random.uniform(2.0, 7.0) * GPM, 40.0 * PSI)
    return bore_coefficient(random.uniform(3.5, 7.0) * 1e-3, random.uniform(0.9, 0.98))
