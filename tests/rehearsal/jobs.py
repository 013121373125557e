"""Small jobs that are right: a pump in the yard, acid on a plinth, a drive treated through an injector, two guns."""

from __future__ import annotations

from dataclasses import replace

from planner.plan.procedure import acts as of
from planner.plan.procedure.acts import Draw, Held, Procedure
from planner.rehearsal.setting import Mix, Setting, Work
from tests.rehearsal.script import BASE, FLOW, TAP, Script, run, state, water

Job = tuple[Setting, Procedure]


def _test(script: Script, name: str) -> None:
    """A line joined, primed, powered and tried on clean water, at the rig."""
    script.do(of.Join(run=name), "rig", 60.0)
    script.do(of.DrawFrom(run=name, feed="water"), "rig", 10.0)
    script.do(of.Prime(run=name), "rig", 30.0)
    script.tick("look", f"breaker {name}", f"gun {name}")
    stop = script.stop("power", name, "primed", f"gun {name}", f"breaker {name}")
    script.do(of.Power(pump="booster", on=True), "rig", 5.0, stop=stop)
    script.spray(name, 0.01, "lawn", "line", at="rig")
    script.spray(name, 0.015, "lawn", "test", at="rig")
    script.shut(name, at="rig")
    script.read("gauge_closed", "pa", 4e5)


def _off(script: Script, name: str) -> None:
    script.do(of.Power(pump="booster", on=False), "rig", 5.0)
    script.do(of.Relieve(run=name), "rig", 5.0, run=name)


def yard() -> Job:
    """The booster tested, flushed, opened, its stages bathed in acid, rinsed, built up, tested again."""
    setting = replace(BASE, kind="yard", runs={"bench": run("bench")}, soak=900.0, rinse=0.012)
    script = Script(setting, "test")
    _test(script, "bench")
    script.spray("bench", 0.02, "lawn", "flush", at="rig")
    script.shut("bench", at="rig")
    script.read("strip_chlorine", "mg_per_l", 1.0)
    _off(script, "bench")
    script.phase = "take_down"
    script.tick("look", "locked", "no_aluminium", at="bench")
    script.stop("open", None, "residual", "power_off", "no_pressure", "locked", at="bench")
    script.tick("write", "photographs", "spacers_written", at="bench")
    script.tick("lay_out", "stages", at="bench")
    script.phase = "mix"
    script.tick("wear", "acid_gloves", "face_shield", at="bench")
    script.tick("look", "eyewash", "lot_read", at="bench")
    script.tick("ask", "office_knows", at="bench")
    stop = script.stop(
        "acid", None, "no_aluminium", "acid_gloves", "face_shield", "eyewash", "lot_read", "office_knows", at="bench"
    )
    script.do(of.Fill(into="tub", source="tap", volume=0.017), "bench", 0.017 / TAP)
    script.do(of.Pour(lot="M-1", into="tub", volume=0.003, mass=None, order=2), "bench", 60.0, stop=stop)
    script.do(of.Stir(tank="tub", seconds=30.0), "bench", 30.0)
    script.phase = "soak"
    script.do(of.Soak(what="stages", into="tub", seconds=900.0), "bench", 900.0)
    script.do(of.Fill(into="pail 1", source="tap", volume=0.012), "bench", 0.012 / TAP)
    script.do(of.Soak(what="stages", into="pail 1", seconds=60.0), "bench", 60.0)
    mass = 0.003 * 360.0 * 2.304
    script.do(of.Neutralise(what="tub", lot="bicarb", mass=mass), "bench", 300.0)
    script.do(of.Drain(source="tub", to="lawn", volume=0.02), "bench", 60.0)
    script.do(of.Drain(source="pail 1", to="lawn", volume=0.012), "bench", 60.0)
    script.phase = "build_up"
    script.tick("look", "spacers", at="bench")
    script.phase = "test"
    script.do(of.Prime(run="bench"), "rig", 30.0)
    script.tick("look", "breaker bench", "gun bench")
    stop = script.stop("power", "bench", "primed", "gun bench", "breaker bench")
    script.do(of.Power(pump="booster", on=True), "rig", 5.0, stop=stop)
    script.spray("bench", 0.015, "lawn", "test", at="rig")
    script.shut("bench", at="rig")
    script.phase = "leave"
    _off(script, "bench")
    script.stop("coil", None, "residual", "power_off", "no_pressure")
    script.do(of.Parting(run="bench"), "rig", 30.0)
    script.do(of.Drain(source="red", to="lawn", volume=0.01), "rig", 30.0)
    script.tick("coil", "red")
    lots = {"M-1": 0.02, "bicarb": 20.0}
    begin = state({"water": water(1.0)}, {"red": "air"}, lots)
    used = 0.01 + 0.015 + 0.02 + 0.015
    end = state({"water": water(1.0 - used)}, {"red": "air"}, {"M-1": 0.017, "bicarb": 20.0 - mass})
    return script.clocked(), script.done(begin, end)


def _opening(script: Script) -> None:
    script.tick("look", "vents_shut", at="grounds")
    script.phase = "set_up"
    script.tick("lay_out", "hoses")


def _ready(script: Script, name: str, pump: str, feed: str = "water") -> int:
    script.do(of.DrawFrom(run=name, feed=feed), "rig", 10.0, run=name)
    script.do(of.Prime(run=name), "rig", 30.0, run=name)
    script.tick("look", f"gun {name}", at="rig")
    stop = script.stop("power", name, "primed", f"gun {name}")
    script.do(of.Power(pump=pump, on=True), "rig", 5.0, stop=stop)
    return stop


def _stock(script: Script, name: str, *worn: str) -> int:
    script.phase = "mix"
    script.tick("wear", *worn, at="drums")
    script.tick("look", "eyewash", "lot_read", at="drums")
    script.tick("ask", "office_knows", at="drums")
    return script.stop("stock", name, *worn, "eyewash", "lot_read", "office_knows", at="drums")


def _before_mix(script: Script, name: str) -> int:
    script.phase = "wash"
    script.tick("look", "people_clear", at="rig")
    script.read("wind", "m_per_s", 2.0)
    return script.stop("mix", name, "vents_shut", "people_clear", "wind")


def _leave(script: Script, hoses: dict[str, tuple[str, ...]]) -> None:
    script.stop("coil", None, "residual", "power_off", "no_pressure", at="reel")
    script.phase = "leave"
    for name, own in hoses.items():
        script.do(of.Parting(run=name), "reel", 30.0, run=name)
        for hose in own:
            script.do(of.Drain(source=hose, to="lawn", volume=script.setting.hoses[hose].volume), "reel", 30.0)
            script.tick("coil", hose, at="reel")
    script.tick("strap", "drums", at="drums")


def acid() -> Job:
    """A plinth in two sections: wetted and rinsed by the booster, acid by its own pump out of its own tank."""
    plinth_mix, wet, rinse = 0.012, 0.05, 0.06
    runs = {
        "rinse": run("rinse", shut_off=400.0),
        "acid": run("acid", hoses=("green",), pump="acid pump", dosing="premix"),
    }
    work = (
        Work(surface="plinth", run="acid", wet=0.0, rinse=0.0, dwell_least=100.0, dwell_most=300.0),
        Work(surface="plinth", run="rinse", wet=wet, rinse=rinse),
    )
    stock = 0.0016
    mixes = (Mix(chemical="muriatic", run="acid", strength=36.0, parts={"plinth": plinth_mix}, stock=stock),)
    setting = replace(BASE, runs=runs, work=work, mixes=mixes, flushes={"acid": 0.01})
    script = Script(setting)
    _opening(script)
    script.do(of.Fill(into="pail 1", source="tap", volume=0.0161), "rig", 0.0161 / TAP)
    script.do(of.Join(run="rinse"), "rig", 60.0, run="rinse")
    script.do(of.Join(run="acid"), "rig", 60.0, run="acid")
    _ready(script, "rinse", "booster")
    script.spray("rinse", 0.01, "ground", "line")
    script.shut("rinse")
    script.do(of.Power(pump="booster", on=False), "rig", 5.0)
    power = _ready(script, "acid", "acid pump", "pail 1")
    script.spray("acid", 0.002, "ground", "line")
    script.shut("acid")
    stop = _stock(script, "acid", "acid_gloves", "face_shield", "gloves_goggles")
    script.do(of.Fill(into="acid", source="tap", volume=0.0144), "drums", 0.0144 / TAP)
    script.do(of.Pour(lot="M-1", into="acid", volume=stock, mass=None, order=2), "drums", 60.0, stop=stop)
    script.do(of.Stir(tank="acid", seconds=60.0), "drums", 60.0)
    stop = _before_mix(script, "acid")
    script.do(of.Power(pump="acid pump", on=False), "rig", 5.0)
    script.do(of.DrawFrom(run="acid", feed="acid"), "rig", 10.0, stop=stop)
    script.do(of.Power(pump="acid pump", on=True), "rig", 5.0, stop=power)
    script.spray("acid", 0.002, "pail 2", "line")
    script.shut("acid")
    for number in (1, 2):
        script.do(of.Power(pump="booster", on=True), "rig", 5.0, stop=1)
        script.spray("rinse", wet / 2, "section", "wet", section=("plinth", number, 2))
        script.shut("rinse")
        script.do(of.Power(pump="booster", on=False), "rig", 5.0)
        script.spray("acid", plinth_mix / 2 - (0.002 if number == 2 else 0.0), "section", "mix",
                     section=("plinth", number, 2))  # fmt: skip
        script.shut("acid")
        if number == 2:
            script.do(of.DrawFrom(run="acid", feed="pail 1"), "rig", 10.0, run="acid")
            script.spray("acid", 0.002, "section", "mix", section=("plinth", 2, 2))
            script.shut("acid")
        script.do(of.Wait(seconds=125.0), "wall", 125.0)
        script.do(of.Power(pump="booster", on=True), "rig", 5.0, stop=1)
        script.spray("rinse", rinse / 2, "section", "rinse", section=("plinth", number, 2))
        script.shut("rinse")
        script.do(of.Power(pump="booster", on=False), "rig", 5.0)
    script.phase = "flush"
    script.spray("acid", 0.01, "lawn", "flush")
    script.shut("acid")
    script.read("strip_ph", "ph", 7.0, at="wall")
    script.do(of.Power(pump="acid pump", on=False), "rig", 5.0)
    for name in ("acid", "rinse"):
        script.do(of.Relieve(run=name), "wall", 5.0, run=name)
    script.do(of.Drain(source="pail 1", to="lawn", volume=0.0161 - 0.014), "rig", 20.0)
    script.do(of.Drain(source="pail 2", to="lawn", volume=0.002), "rig", 20.0)
    script.do(of.Fill(into="pail 3", source="tap", volume=0.003), "drums", 0.003 / TAP)
    left = 0.016 - plinth_mix - 0.001
    script.do(of.Drain(source="acid", to="pail 3", volume=left), "drums", 30.0)
    mass = left * 36.0 * 2.304 * 1.2
    script.do(of.Neutralise(what="pail 3", lot="bicarb", mass=mass), "drums", 60.0)
    script.do(of.Drain(source="pail 3", to="lawn", volume=left + 0.003), "drums", 30.0)
    _leave(script, {"acid": ("green",), "rinse": ("red",)})
    need = 0.0161 + 0.0144 + 0.003 + 0.01 + wet + rinse
    hoses = {"red": "air", "green": "air"}
    begin = state({"water": water(0.5), "acid": water(0.0)}, hoses, {"M-1": 0.02, "bicarb": 20.0})
    end = state(
        {"water": water(0.5 - 0.01 - wet - rinse), "acid": Held(stock="muriatic", strength=36.0, volume=0.001)},
        hoses, {"M-1": 0.02 - stock, "bicarb": 20.0 - mass},
    )  # fmt: skip
    script.setting = replace(script.setting, water_need=need)
    return script.clocked(), script.done(begin, end)


def injector() -> Job:
    """A drive treated through an injector: its jug mixed like a tank, tested once, the rest made harmless."""
    ratio, mix, wet, rinse = 9.0, 0.04, 0.012, 0.06
    runs = {
        "treat": run("treat", pump="washer", dosing="injector", device="venturi", ratio=ratio, pump_flow=0.9 * FLOW)
    }
    jug, stock = 0.006, 0.003
    work = (Work(surface="drive", run="treat", wet=wet, rinse=rinse, dwell_least=60.0, dwell_most=1200.0),)
    mixes = (Mix(chemical="hypochlorite", run="treat", strength=5.0, parts={"drive": mix}, stock=stock),)
    setting = replace(BASE, runs=runs, work=work, mixes=mixes, flushes={"treat": 0.02})
    script = Script(setting)
    share = 1.0 / (ratio + 1.0)
    shut, on = of.SetDosing(run="treat", to="water"), of.SetDosing(
        run="treat", to="jug", draws=(Draw(source="jug treat", share=share),)
    )  # fmt: skip
    _opening(script)
    script.do(of.Join(run="treat"), "rig", 60.0, run="treat")
    script.do(shut, "rig", 5.0)
    _ready(script, "treat", "washer")
    plain = 0.9 * FLOW

    def spray(volume: float, flow: float, onto: str, use: of.Use, section: int = 0) -> None:
        detail = of.Spray(run="treat", seconds=volume / flow, volume=volume, onto=onto, use=use)
        script.do(detail, "wall", volume / flow, run="treat", section=("drive", 1, 1) if section else None)

    spray(0.01, plain, "ground", "line")
    script.shut("treat")
    stop = _stock(script, "treat", "gloves_goggles")
    script.do(of.Fill(into="jug treat", source="tap", volume=jug - stock), "drums", (jug - stock) / TAP)
    script.do(of.Pour(lot="B-1", into="jug treat", volume=stock, mass=None, order=2), "drums", 60.0, stop=stop)
    script.do(of.Stir(tank="jug treat", seconds=60.0), "drums", 60.0)
    stop = _before_mix(script, "treat")
    spray(wet - 0.01, plain, "section", "wet", 1)
    script.shut("treat")
    script.do(on, "rig", 5.0, stop=stop)
    spray(0.0075, FLOW, "section", "wet", 1)
    script.shut("treat")
    script.read("jug_down", "m3", 0.0075 * share)
    spray(0.0025, FLOW, "section", "wet", 1)
    spray(mix - 0.01, FLOW, "section", "mix", 1)
    script.shut("treat")
    script.do(shut, "rig", 5.0)
    spray(0.01, plain, "section", "mix", 1)
    script.shut("treat")
    script.do(of.Wait(seconds=100.0), "wall", 100.0)
    spray(rinse, plain, "section", "rinse", 1)
    script.phase = "flush"
    spray(0.02, plain, "lawn", "flush")
    script.shut("treat")
    script.read("strip_chlorine", "mg_per_l", 2.0, at="wall")
    script.do(of.Power(pump="washer", on=False), "rig", 5.0)
    script.do(of.Relieve(run="treat"), "wall", 5.0, run="treat")
    left = jug - mix * share
    script.do(of.Fill(into="pail 1", source="tap", volume=0.01), "drums", 0.01 / TAP)
    script.do(of.Drain(source="jug treat", to="pail 1", volume=left), "drums", 30.0)
    mass = left * 50.0 * 1.9
    script.do(of.Neutralise(what="pail 1", lot="thio", mass=mass), "drums", 300.0)
    script.do(of.Drain(source="pail 1", to="lawn", volume=left + 0.01), "drums", 30.0)
    _leave(script, {"treat": ("red",)})
    drawn = 0.01 + wet + mix * (1.0 - share) + rinse + 0.02 - 0.01 * share + 0.01 * share
    begin = state({"water": water(0.5)}, {"red": "air"}, {"B-1": 0.05, "thio": 5.0})
    end = state({"water": water(0.5 - drawn)}, {"red": "air"}, {"B-1": 0.05 - stock, "thio": 5.0 - mass})
    script.setting = replace(script.setting, water_need=drawn + (jug - stock) + 0.01)
    return script.clocked(), script.done(begin, end)


def two_guns() -> Job:
    """A wall rinsed by two guns of one pump, opened at once by two people."""
    runs = {
        "left": run("left", same_time=("right",), shut_off=400.0),
        "right": run("right", hoses=("green",), same_time=("left",), shut_off=400.0),
    }
    work = (
        Work(surface="front", run="left", wet=0.0, rinse=0.05),
        Work(surface="back", run="right", wet=0.0, rinse=0.05),
    )
    setting = replace(BASE, runs=runs, work=work, crew=2)
    script = Script(setting)
    _opening(script)
    for name in runs:
        script.do(of.Join(run=name), "rig", 60.0, run=name)
        script.do(of.DrawFrom(run=name, feed="water"), "rig", 10.0)
        script.do(of.Prime(run=name), "rig", 30.0)
        script.tick("look", f"gun {name}", at="rig")
        script.stop("power", name, "primed", f"gun {name}")
    script.do(of.Power(pump="booster", on=True), "rig", 5.0, stop=2)
    script.phase = "test"

    def both(volume: float, onto: str, use: of.Use, surfaces: tuple[str, str] | None = None) -> None:
        seconds = volume / FLOW
        sections = [(surface, 1, 1) for surface in surfaces] if surfaces else [None, None]
        left, right = (of.Spray(run=name, seconds=seconds, volume=volume, onto=onto, use=use) for name in runs)
        act = script.do(left, "wall", seconds, run="left", section=sections[0])
        # Whose way is shorter sets out later.
        mine = script.do(right, "wall", seconds, who="second", run="right", section=sections[1])
        script.acts[-1] = replace(mine, start=act.end - mine.lasts)

    both(0.01, "ground", "line")
    script.phase = "wash"
    both(0.05, "section", "rinse", ("front", "back"))
    at = script.now
    script.shut("left")
    script.do(of.Shut(run="right"), "wall", 2.0, who="second", run="right", start=at)
    script.phase = "flush"
    script.do(of.Power(pump="booster", on=False), "rig", 5.0)
    for name in runs:
        script.do(of.Relieve(run=name), "wall", 5.0, run=name)
    script.stop("coil", None, "power_off", "no_pressure", at="reel")
    script.phase = "leave"
    for name, hose in (("left", "red"), ("right", "green")):
        script.do(of.Parting(run=name), "reel", 30.0, run=name)
        script.do(of.Drain(source=hose, to="lawn", volume=setting.hoses[hose].volume), "reel", 30.0)
        script.tick("coil", hose, at="reel")
    hoses = {"red": "air", "green": "air"}
    begin = state({"water": water(0.5)}, hoses, {})
    end = state({"water": water(0.5 - 0.12)}, hoses, {})
    script.setting = replace(script.setting, water_need=0.12)
    return script.clocked(), script.done(begin, end)


JOBS = {"yard": yard, "acid": acid, "injector": injector, "two guns": two_guns}
