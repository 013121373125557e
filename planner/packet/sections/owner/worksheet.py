"""The owner's pages: curves, every figure with its equation and inputs, every check with its state."""

from __future__ import annotations

from collections.abc import Mapping

from planner.checks.model import CheckedJob, Finding, Level
from planner.packet.blocks import Block, Heading, Picture, Section, Span, State, Table, Text, Two, said
from planner.packet.drawings.charts import along, meeting
from planner.packet.drawings.wall import elevation
from planner.packet.findings import all_remedies_of, message_of, worst_first
from planner.packet.sections.crew.safety import forms_of, hazard_basis
from planner.packet.sections.owner.mix_figures import minutes_blocks, mix_blocks, short_title
from planner.packet.sections.owner.power import power_blocks
from planner.packet.sections.owner.sensitivity import sensitivity_blocks
from planner.packet.sections.owner.supply import supply_blocks
from planner.packet.sections.owner.weather import weather_blocks
from planner.packet.sections.owner.weights import load_sheet
from planner.packet.sections.reading import Reading, eave_of, template
from planner.packet.sections.told import along_told, jet_told, meeting_told
from planner.packet.sections.yard.safety import bath_forms
from planner.packet.sections.yard.sheet import yard_blocks
from planner.packet.wording import section_from
from planner.plan.model import RunPlan, Value
from planner.units import System, show
from planner.words.assumed import assumed_words
from planner.words.figures import reaches, source_of

_CHART = (172.0, 150.0)
_WALL = (140.0, 120.0, 104.0)
_NAMES = {
    "flow": "flow at the tip",
    "pump_pressure": "pressure at the gauge",
    "tip_pressure": "pressure at the tip",
    "losses": "lost between them",
    "shut_off_pressure": "highest, gun closed",
    "surge": "surge, gun snaps shut",
    "shut_off_time": "shut off until hot",
    "reaction": "push of the gun",
    "npsh_available": "suction head",
    "acceleration_head": "strokes at the inlet",
    "reach": "height reached",
}


def section(reading: Reading) -> Section:
    """The worksheet."""
    plan = reading.checked.plan
    places: dict[str, tuple[Block, ...]] = {
        "yard": tuple(yard_blocks(reading)),
        "mixes": tuple(mix_blocks(reading)),
        "minutes": tuple(minutes_blocks(reading)),
        "supply": tuple(supply_blocks(reading)),
        "power": tuple(power_blocks(reading)),
        "load": tuple(load_sheet(reading)),
        "weather": tuple(weather_blocks(reading)),
        "hazards": tuple(hazard_basis(bath_forms(plan) if plan.kind == "yard" else forms_of(plan))),
        "assumed": tuple(_assumed(assumed_words(plan, reading.system))),
        "noted": tuple(_noted(reading)),
        "checks": tuple(_quiet(reading)),
    }
    for n, run in enumerate(plan.runs, start=1):
        # With each tip: another tip is another line.
        several = len(plan.runs) > 1
        names = [_named(one, several, len(run.every) > 1) for one in run.every]
        places[f"curves {n}"] = tuple(
            _curves(one, reading.system, name) for one, name in zip(run.every, names, strict=True)
        )
        places[f"figures {n}"] = tuple(_figures(run, reading.system, names[0], eave_of(plan)))
        places[f"changes {n}"] = tuple(sensitivity_blocks(plan, run, reading.system))
    counts = {
        level: sum(f.level == level for f in reading.checked.findings) for level in ("ok", "caution", "stop", "none")
    }
    values = {
        "plan": plan.hash,
        "count_ok": counts["ok"],
        "count_caution": _counted(counts["caution"], "caution", "cautions"),
        "count_stop": _counted(counts["stop"], "stop", "stops"),
        "count_none": f"{counts['none']} do not apply" if counts["none"] != 1 else "1 does not apply",
        "runs": [{"number": n, "name": run.name} for n, run in enumerate(plan.runs, start=1)],
    }
    foot = "check: ok    triangle: caution    octagon: stop    dash: does not apply"
    return section_from("worksheet", template("worksheet"), values, places, foot=foot, role="owner")


def _counted(number: int, one: str, many: str) -> str:
    return f"1 {one}" if number == 1 else f"{number or 'no'} {many if number else one}"


def _named(run: RunPlan, several: bool, tips: bool) -> str:
    """What tells a run, and the tip that is on, from the others; nothing where there are none."""
    return "".join(f", {name}" for name, said in ((run.name, several), (run.input.tip.name, tips)) if said)


def _curves(run: RunPlan, system: System, name: str) -> Two:
    """Both charts of a run side by side."""

    def left(wide: float, tall: float) -> object:
        return meeting(run, system, wide, tall)

    def right(wide: float, tall: float) -> object:
        return along(run, system, wide, tall)

    source = f"{source_of(run).capitalize()} meets line"
    return Two(
        left=(
            Heading(spans=said(f"{source}{name}")),
            Picture(paint=left, heights=_CHART, told=meeting_told(run, system)),
        ),
        right=(
            Heading(spans=said("Pressure along the line")),
            Picture(paint=right, heights=_CHART, told=along_told(run, system)),
        ),
        split=(6, 6),
    )


def _printed(value: Value | str, system: System) -> str:
    if isinstance(value, str):
        return value
    if value.dimension == "roughness":  # a hundredth of a millimetre, in either reader's units
        return show(value.amount, "length", system, unit="mm", digits=2)
    return show(value.amount, value.dimension, system)


def figure_values(run: RunPlan, system: System) -> Mapping[str, str]:
    """Each figure of a run that has a basis, as it is printed."""
    lost = sum(part.pressure for part in run.losses)
    values = {
        "flow": show(run.flow, "flow", system),
        "pump_pressure": show(run.pump_pressure, "pressure", system),
        "tip_pressure": show(run.tip_pressure, "pressure", system),
        "losses": show(lost, "pressure", system),
        "reaction": show(run.reaction, "force", system, toward="up"),
    }
    values["shut_off_pressure"] = (
        show(run.shut_off_pressure, "pressure", system, toward="up")
        if run.shut_off_pressure is not None
        else "no limit"
    )
    if run.surge is not None:
        ends = (show(end, "pressure", system, digits=2) for end in (run.surge.low, run.surge.nominal, run.surge.high))
        values["surge"] = "roughly {1}, {0} to {2}".format(*ends)
    if run.shut_off is not None:
        values["shut_off_time"] = show(run.shut_off.seconds, "time", system, toward="down")
    if run.npsh_available is not None:
        required = run.npsh_required
        needs = f", needs {show(required, 'head', system, toward='up')}" if required is not None else ""
        values["npsh_available"] = f"{show(run.npsh_available, 'head', system, toward='down')}{needs}"
    if run.acceleration_head is not None:
        values["acceleration_head"] = show(run.acceleration_head, "head", system, toward="up")
    if run.reach is not None:
        nominal, low = (show(h, "length", system, toward="down") for h in (run.reach.nominal, run.reach.low))
        values["reach"] = f"{nominal}, at worst {low}"
    return values


def _figures(run: RunPlan, system: System, name: str, eave: float | None) -> list[Block]:
    """Every figure of the run with its equation and what went in, the losses part by part, the jet where it counts."""
    values = figure_values(run, system)
    rows = []
    for key, basis in run.basis.items():
        figure = _NAMES.get(key, key.replace("_", " "))
        inputs = "; ".join(f"{name} {_printed(value, system)}" for name, value in basis.inputs)
        rows.append((figure, (Span(text=values.get(key, ""), strong=True),), short_title(basis.equation), inputs))
    table = Table(
        head=("Figure", "Value", "Equation", "What went in"), rows=tuple(rows), widths=(2.1, 2.1, 3.4, 4.4)
    )  # fmt: skip
    losses = Table(
        head=("Part", "Costs", "Water speed", "Reynolds"),
        rows=tuple(
            (
                part.part,
                show(part.pressure, "pressure", system),
                _speed(part.velocity, system),
                f"{part.reynolds:,.0f}" if part.reynolds is not None else "",
            )
            for part in run.losses
        ),
        widths=(5, 2, 2, 2),
        right=frozenset({1, 2, 3}),
    )
    blocks: list[Block] = [Heading(spans=said(f"Figures{name}")), table]
    costs = (Heading(spans=said(f"What each part costs{name}")), losses) if run.losses else ()
    if not reaches(run):
        return [*blocks, *costs]

    def wall(wide: float, tall: float) -> object:
        return elevation(run, system, wide, tall, eave)

    jet = Picture(paint=wall, heights=_WALL, title=run.name, told=jet_told(run, system))
    return [*blocks, Two(left=(Heading(spans=said(f"The jet at the wall{name}")), jet), right=costs, split=(6, 6))]


def _speed(velocity: float | None, system: System) -> str:
    if velocity is None:
        return ""
    # Hose is sized by feet a second, not by miles an hour.
    return f"{velocity / 0.3048:.1f} ft/s" if system == "us" else f"{velocity:.1f} m/s"


def _assumed(notes: tuple[str, ...]) -> list[Block]:
    if not notes:
        return []
    return [
        Text(spans=(Span(text="Filled in where your files do not say: ", strong=True), Span(text="; ".join(notes))))
    ]


def _noted(reading: Reading) -> list[Block]:
    """Stops and cautions with their words, remedies and the source of the limit."""
    noted = [f for f in worst_first(reading.checked.findings) if f.level in ("stop", "caution")]
    if not noted:
        return []
    rows = tuple((State(level=f.level), _name(f), _words(reading.checked, f, reading.system)) for f in noted)
    return [Table(head=("", "Check", "What was found, and what to do"), rows=rows, widths=(0.5, 3.2, 8.3))]


def _name(finding: Finding) -> tuple[Span, ...]:
    about = f", {finding.about}" if finding.about else ""
    return (Span(text=finding.code, strong=True), Span(text=about))


def _words(checked: CheckedJob, finding: Finding, system: System) -> str:
    text = f"{message_of(finding, system)} {all_remedies_of(finding, system, checked)}".strip()
    if finding.accepted is not None:
        text += f" Accepted: {finding.accepted[0]} ({finding.accepted[1]})."
    return text


def _quiet(reading: Reading) -> list[Block]:
    """The checks that are in order or do not apply, two to a row."""
    blocks: list[Block] = []
    levels: tuple[Level, ...] = ("ok", "none")
    findings = [f for level in levels for f in worst_first(reading.checked.findings) if f.level == level]
    if not findings:
        return blocks
    rows = []
    half = (len(findings) + 1) // 2
    for n in range(half):
        left, right = findings[n], findings[n + half] if n + half < len(findings) else None
        rows.append(
            (
                State(level=left.level),
                _name(left),
                State(level=right.level) if right is not None else "",
                _name(right) if right is not None else "",
            )
        )
    blocks.append(Table(head=("", "OK, or does not apply", "", ""), rows=tuple(rows), widths=(0.5, 5.5, 0.5, 5.5)))
    return blocks
