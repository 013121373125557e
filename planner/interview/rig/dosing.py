"""How stock gets in on the way: panels and injectors of a new rig, by their bucket tests. A premix needs neither."""

from __future__ import annotations

from typing import Final

from planner.inputs.models.rig import Dosing, Loss
from planner.interview.answers import Here, choice, numbered, refuse_slips, slips_in, unit_of
from planner.interview.asking import Question, Walk
from planner.interview.rig.keys import NO_MORE, NOT_KNOWN, Raw, made_of, named, one, several_keys, together
from planner.interview.rig.panels import panel, refuse_tests

_KINDS: Final = {
    "panel": ("metered", "draws water, stock and soap by dials, before its pump"),
    "injector": ("injector", "draws stock from a jug, after the pump"),
}


def dosing(here: Here, rig: Raw) -> Walk[None]:
    """Panels and injectors, none where all is premixed."""
    found: list[Raw] = []
    premixed = any(tank["holds"] == "mix" for tank in rig["tanks"])
    while rig["pumps"]:
        at = f"dosing {len(found) + 1}"
        kind = yield Question(
            key=at,
            about="Another panel or injector" if found else "A proportioning panel, or an injector",
            read=choice(tuple(_KINDS)),
            blank=NO_MORE if found else "none, all premixed" if premixed else "none",
            before=numbered(_KINDS, {name: note for name, (_, note) in _KINDS.items()}) if not found else (),
        )
        if kind is None:
            break
        rig["dosing"] = found
        device: Raw = {"name": (yield from named(here, rig, "dosing", at, kind)), "kind": _KINDS[kind][0]}
        yield from (panel if kind == "panel" else _injector)(here, rig, device, at)
        if not device.get("dial") and not device.get("water_to_stock"):
            break  # untested: nothing can be planned through it
        if "again" not in device:  # two tests tell it better
            yield from _loss(here, device, at)
        yield from made_of(Dosing, device, "wetted", at, "What the liquid touches in it")
        found.append(device)
    if found:
        yield from together(here, rig, "dosing")
    else:
        rig.pop("dosing", None)


def _injector(here: Here, rig: Raw, device: Raw, at: str) -> Walk[None]:
    pressure, flow = unit_of("pressure", here.system), unit_of("flow", here.system)
    yield from one(
        Dosing, device, "water_to_stock", at, "Parts of water to one of stock", blank=None,
        more="As bucket-tested, or as it is sold, such as `10`. Untested it may draw half as much again, or less.",
    )  # fmt: skip
    yield from one(Dosing, device, "tested", at, "When it was bucket-tested, as `2026-05-01`", blank="not tested")
    if "tested" in device:
        yield from one(
            Dosing, device, "ratio_flow", at, "The flow at that test", unit=flow,
            more="It draws as much stock at any flow: through a bigger tip the mix gets weaker.",
        )  # fmt: skip
    yield from one(
        Dosing, device, "max_back_pressure", at, "The gauge where it stops drawing", unit=pressure,
        more="By its maker, or by gauge and jug. Left out, it is worked out from the pressure it costs.",
    )  # fmt: skip
    if "tested" in device:
        yield from one(
            Dosing, device, "full_draw", at, "The highest gauge at which it drew all of it", unit=pressure,
            blank="not read", more="Read at its outlet, by gauge and jug. Above it the draw falls off.",
        )  # fmt: skip
    yield from one(
        Dosing, device, "jug", at, "What the jug it draws from holds", unit=unit_of("volume", here.system),
        more="Such as `5 gal`. With it the packet says how much goes into one jug.",
    )  # fmt: skip


def _loss(here: Here, device: Raw, at: str) -> Walk[None]:
    pressure, flow = unit_of("pressure", here.system), unit_of("flow", here.system)
    halves = several_keys(Loss, ("pressure", "flow"), (pressure, flow), "1 psi at 8 gpm")

    def read(text: str) -> tuple[str, ...]:
        found: tuple[str, ...] = halves(text)
        loss = {"pressure": found[0], "flow": found[1]}
        slips = slips_in(Dosing, {**device, "loss": loss})
        refuse_slips(slip for slip in slips if slip.at[:1] == ("loss",))
        if "at" in device:
            refuse_tests({**device, "loss": loss})
        return found

    found = yield Question(
        key=f"{at} loss", about="The pressure it costs", unit=f"{pressure} at {flow}", read=read, blank=NOT_KNOWN,
        more="Gauge with it and without it, at one flow; such as `1 psi at 8 gpm`.",
    )  # fmt: skip
    if found is not None:
        device["loss"] = {"pressure": found[0], "flow": found[1]}
