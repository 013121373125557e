"""How stock gets in on the way: panels and injectors of a new rig, by their bucket tests. A premix needs neither."""

from __future__ import annotations

from typing import Final

from planner.inputs.models.rig import Dosing, Loss, PanelLevels
from planner.interview.answers import Here, Reader, choice, numbered, refuse_slips, slips_in, unit_of
from planner.interview.asking import Question, Unfit, Walk, with_unit
from planner.interview.rig.keys import NO_MORE, NOT_KNOWN, Raw, made_of, named, one, several_keys, together

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
        yield from (_panel if kind == "panel" else _injector)(here, rig, device, at)
        if not device.get("dial") and not device.get("water_to_stock"):
            break  # untested: nothing can be planned through it
        yield from _loss(here, device, at)
        yield from made_of(Dosing, device, "wetted", at, "What the liquid touches in it")
        found.append(device)
    if found:
        yield from together(here, rig, "dosing")
    else:
        rig.pop("dosing", None)


def _panel(here: Here, rig: Raw, device: Raw, at: str) -> Walk[None]:
    names = [pump["name"] for pump in rig["pumps"]]
    device["pump"] = names[0]
    if len(names) > 1:
        about = f"Its pump: {', '.join(names)}"
        yield from one(Dosing, device, "pump", at, about, blank=names[0], read=choice(names))
    dial = yield Question(
        key=f"{at} dial", about="Its tested dial marks, as `1 at 4 %, 2 at 9 %`", read=_dial(),
        blank="not tested; the panel is left out",
        more="Two or more, with the tank full: run it into a bucket, and note how much of that came out of the\n"
        "stock jug. Nothing can be planned by a dial nobody tested.",
    )  # fmt: skip
    if dial is None:
        return
    device["dial"] = [point.split(" at ") for point in dial]
    length, flow = unit_of("length", here.system), unit_of("flow", here.system)
    levels = yield Question(
        key=f"{at} levels", about="At the test: water and stock over the panel, flow",
        unit=f"{length}, {length}, {flow}",
        read=several_keys(PanelLevels, ("water", "stock", "flow"), (length, length, flow), "3 ft, 1 ft, 8 gpm"),
        blank=NOT_KNOWN,
        more="How high water and stock were over the panel, such as `3 ft, 1 ft, 8 gpm`. A panel draws stronger\n"
        "as its water tank falls: with them paper says how much, and a second test near empty says it best.",
    )  # fmt: skip
    if levels is not None:
        device["at"] = dict(zip(("water", "stock", "flow"), levels, strict=True))


def _dial() -> Reader:
    def read(text: str) -> tuple[str, ...]:
        points = []
        for part in text.split(","):
            halves = [half.strip() for half in part.replace("@", " at ").split(" at ")]
            if len(halves) != 2:
                raise Unfit((f"`{part.strip()[:40]}` is no mark and its share", "write them like `1 at 4 %, 2 at 9 %`"))
            points.append([halves[0], with_unit(halves[1], "%")])
        refuse_slips(slip for slip in slips_in(Dosing, {"dial": points}) if slip.at[:1] == ("dial",))
        return tuple(" at ".join(point) for point in points)

    return read


def _injector(here: Here, rig: Raw, device: Raw, at: str) -> Walk[None]:
    pressure = unit_of("pressure", here.system)
    yield from one(
        Dosing, device, "water_to_stock", at, "Parts of water to one of stock", blank=None,
        more="As bucket-tested; else as it is sold, such as `10`. Untested it may draw half as much again, or less.",
    )  # fmt: skip
    yield from one(Dosing, device, "tested", at, "When it was bucket-tested, as `2026-05-01`", blank="not tested")
    yield from one(
        Dosing, device, "max_back_pressure", at, "The gauge where it stops drawing", unit=pressure,
        more="By its maker, or by gauge and jug. Left out it is taken from what it costs.",
    )  # fmt: skip


def _loss(here: Here, device: Raw, at: str) -> Walk[None]:
    pressure, flow = unit_of("pressure", here.system), unit_of("flow", here.system)
    halves = several_keys(Loss, ("pressure", "flow"), (pressure, flow), "1 psi at 8 gpm")

    def read(text: str) -> tuple[str, ...]:
        found: tuple[str, ...] = halves(text)
        loss = {"pressure": found[0], "flow": found[1]}
        slips = slips_in(Dosing, {**device, "loss": loss})
        refuse_slips(slip for slip in slips if slip.at[:1] == ("loss",))
        return found

    found = yield Question(
        key=f"{at} loss", about="The pressure it costs", unit=f"{pressure} at {flow}", read=read, blank=NOT_KNOWN,
        more="Gauge with it and without it, at one flow; such as `1 psi at 8 gpm`.",
    )  # fmt: skip
    if found is not None:
        device["loss"] = {"pressure": found[0], "flow": found[1]}
