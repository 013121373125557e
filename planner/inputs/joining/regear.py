"""A joined run with other gear of the same rig: what a search for remedies tries instead of what was written.

Each function gives a new run or None where the gear does not go together; nothing here reads a file.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from planner.inputs.joined import Fitting, HosePiece, Role, RunInput
from planner.inputs.joining.runs import fittings_of, hose_piece, hoses_of, suction_of, tips_of
from planner.inputs.models import Dosing, Hose, Pump, Rig, Setup, Tank, Tip


def with_hoses(run: RunInput, hoses: Sequence[HosePiece]) -> RunInput:
    """The run through other hoses: its fittings move to their smallest bore, a joint more takes a coupling more."""
    if not hoses:
        raise ValueError("a run has at least one hose")
    bore = min(hose.bore for hose in hoses)
    more = len(hoses) - len(run.hoses)
    fittings = tuple(
        replace(fitting, bore=bore, count=max(fitting.count + more, 0.0))
        if fitting.kind == "coupling"
        else replace(fitting, bore=bore)
        for fitting in run.fittings
    )
    reel = min(run.on_reel, sum(hose.length for hose in hoses))
    return replace(run, hoses=tuple(hoses), fittings=fittings, on_reel=reel, role_hoses=_with_theirs(run, tuple(hoses)))


def _with_theirs(run: RunInput, hoses: tuple[HosePiece, ...]) -> Mapping[Role, tuple[HosePiece, ...]]:
    """The lines of its roles behind other hoses: what they share with the run's is the new one's, the rest stays.

    A role that puts hoses on behind all of the run's goes on behind all of the new.
    """
    lines: dict[Role, tuple[HosePiece, ...]] = {}
    for role, line in run.role_hoses.items():
        shared = next((n for n, (a, b) in enumerate(zip(line, run.hoses, strict=False)) if a != b), None)
        shared = min(len(line), len(run.hoses)) if shared is None else shared
        kept = hoses if shared == len(run.hoses) else hoses[: max(min(shared, len(hoses) - 1), 1)]
        names = {hose.name for hose in kept}
        lines[role] = (*kept, *(hose for hose in line[shared:] if hose.name not in names))
    return MappingProxyType(lines)


def piece_of(hose: Hose) -> HosePiece:
    """A hose of the rig as a run takes it."""
    return hose_piece(hose.name, hose)


def with_tip(run: RunInput, tip: Tip, role: Role = "tip") -> RunInput:
    """The run with another tip for a role. Its own tip is none to change to, but behind another line."""
    if role != "tip" and tip == run.tip and role not in run.role_hoses:
        return replace(run, **{role: None})  # type: ignore[arg-type]
    return replace(run, **{role: tip})  # type: ignore[arg-type]


def with_pump(run: RunInput, pump: Pump, rig: Rig) -> RunInput | None:
    """The run on another pump with that pump's own suction; None where its panel is plumbed to one."""
    dosing = run.dosing
    if dosing is not None and dosing.kind == "metered" and dosing.pump not in (None, pump.name):
        return None
    suction, fittings = suction_of(pump, rig.supply_hose, run.feed)
    moved = replace(run, pump=pump, suction=suction, suction_fittings=fittings)
    return _on_feed(moved, run.feed, run.feed_tank, run.feed_head if run.feed == "pond" else 0.0)


def with_feed(run: RunInput, feed: str, tank: Tank | None, rig: Rig, level: float = 0.0) -> RunInput | None:
    """The run fed from a `tank`, the `tap` or the `pond`; None where nothing would lift it or a premix has no tank."""
    if feed != "tap" and run.pump is None:
        return None
    if run.premix and feed != "tank":
        return None
    suction: tuple[HosePiece, ...]
    fittings: tuple[Fitting, ...]
    suction, fittings = suction_of(run.pump, rig.supply_hose, feed)
    return _on_feed(replace(run, suction=suction, suction_fittings=fittings), feed, tank, level)


def with_dosing(run: RunInput, dosing: Dosing) -> RunInput | None:
    """The run dosed by a panel or an injector instead; None where that sits on another pump."""
    if run.pump is None or run.premix:
        return None
    if dosing.kind == "metered" and dosing.pump not in (None, run.pump.name):
        return None
    return replace(run, dosing=dosing)


def with_premix(run: RunInput, tank: Tank, rig: Rig) -> RunInput | None:
    """The run drawing ready mix from a mix `tank`."""
    return with_feed(replace(run, dosing=None, premix=True), "tank", tank, rig)


def with_setup(run: RunInput, setup: Setup, rig: Rig, level: float = 0.0) -> RunInput | None:
    """The run with a ready combination of the rig, at the place and for the work it was written for.

    None where the combination itself does not go together, which is told only of setups that a job uses.
    """
    pump = next((pump for pump in rig.pumps if pump.name == setup.pump), None)
    tank = next((tank for tank in rig.tanks if tank.name == setup.feed), None)
    feed = "tank" if tank is not None else setup.feed
    dosing = next((dosing for dosing in rig.dosing if dosing.name == setup.dosing), None)
    if (pump is None and feed != "tap") or (setup.dosing == "premix" and tank is None):
        return None
    if dosing is not None and dosing.kind == "metered" and (pump is None or dosing.pump not in (None, pump.name)):
        return None
    hoses, tips = hoses_of(setup, rig), tips_of(setup, rig)
    if any(line[0] != hoses[0] for line in tips["role_hoses"].values()):
        return None
    if (setup.on_reel or 0.0) > sum(hose.length for hose in hoses) * (1 + 1e-9):
        return None
    suction, suction_fittings = suction_of(pump, rig.supply_hose, feed)
    moved = replace(
        run,
        pump=pump,
        dosing=dosing,
        premix=setup.dosing == "premix",
        hoses=hoses,
        fittings=fittings_of(setup.fittings, min(hose.bore for hose in hoses)),
        suction=suction,
        suction_fittings=suction_fittings,
        on_reel=setup.on_reel or 0.0,
        **tips,
    )
    return _on_feed(moved, feed, tank, level)


def _on_feed(run: RunInput, feed: str, tank: Tank | None, level: float) -> RunInput | None:
    """The head the feed stands at: a tank's floor, else the pump's height; a pond's level; a tap gives its own.

    None where the pump's suction does not get to the tank.
    """
    if feed == "tank" and tank is not None:
        if run.pump is not None and run.pump.draws is not None and tank.name not in run.pump.draws:
            return None
        floor = tank.floor if tank.floor is not None else run.pump.height if run.pump is not None else 0.0
        return replace(run, feed=feed, feed_tank=tank, feed_head=floor)
    return replace(run, feed=feed, feed_tank=None, feed_head=level if feed == "pond" else 0.0)
