"""Jobs drawn at random as an owner might write them: rigs, crews, walls, lines, lots and taps of many kinds."""

from __future__ import annotations

import json
from pathlib import Path
from random import Random
from typing import Any

import yaml

from tests import workspaces

_PAIRED = 0.1
"""So many of the jobs have two guns sprayed at once."""

_BARE = 0.15
"""So many of the days work bare wood with several chemistries out of one tank."""

_RUNS = ("panel", "panel", "venturi", "tankful", "tankful", "acid")


def files(random: Random) -> dict[str, Any]:
    """One workspace with one job, written as YAML would read it."""
    found = workspaces.base()
    found["rig"] = rig(random)
    found["stock"] = {"lots": _lots(random)}
    found["day"] = _day(random)
    found["job"] = _job(random)
    if random.random() < _PAIRED:
        _at_once(random, found)
    _seldom_rig(random, found["rig"])
    _seldom_job(random, found["job"])
    plain: dict[str, Any] = json.loads(json.dumps(found))  # rows are shared, and our reader takes no aliases
    return plain


def write_day(random: Random, folder: Path, *, tips: bool = False) -> Path:
    """A day of one to three such jobs for one rig, written into a folder; the day's own is given.

    `tips`: most runs have others to change to.
    """
    found = files(random)
    jobs = [found["job"], *(_job(random) for _ in range(random.choice((0, 1, 1, 2))))]
    for job in jobs[1:]:
        _seldom_job(random, job)
    if random.random() < _BARE:
        jobs = _bare(random, found, jobs)
    if tips:
        found["rig"]["hoses"] += [
            {"name": name, "bore": bore, "length": length, "rated": "4000 psi"}
            for name, bore, length in (("whip", "1/2 in", "12 ft"), ("long whip", "3/8 in", "60 ft"))
        ]
    for job in jobs if tips else ():
        _tips(random, job)
    found["day"]["drive"] = {f"{n}0-case": "15 min" for n in range(1, len(jobs) + 1)}
    first = workspaces.write(folder, json.loads(json.dumps(found)))
    for number, job in enumerate(jobs[1:], start=2):
        plain = json.loads(json.dumps({**job, "site": {"address": f"{number * 20} Case Street"}}))
        first.with_name(f"{number}0-case.yaml").write_text(yaml.safe_dump(plain, sort_keys=False), encoding="utf-8")
    return first.parent


def rig(random: Random) -> dict[str, Any]:
    cut_off = random.choice((True, True, False))
    acid_pump = {"name": "acid pump", "kind": "diaphragm", "dedicated": "muriatic",
                 "curve": [["0 gpm", "80 psi"], ["5.5 gpm", "0 psi"]], "height": "0 ft", "cut_off": "60 psi",
                 "wetted": ["plastic"], "motor": {"amps": "9 A", "volts": "12"}}  # fmt: skip
    return {
        "rig": "Case",
        "tanks": [
            {"name": "water", "floor": "1 ft", "volume": f"{random.choice((60, 100, 200, 300))} gal", "holds": "water",
             "dead_volume": random.choice(("0 gal", "2 gal", "6 gal"))},
            {"name": "mix", "floor": "1 ft", "volume": f"{random.choice((15, 30, 50, 100))} gal", "holds": "mix",
             "dead_volume": random.choice(("0 gal", "0.5 gal", "1 gal")), "wetted": ["plastic"],
             "shape": {"kind": "upright_cylinder", "diameter": "30 in"}},
            {"name": "acid tub", "floor": "0 ft", "volume": f"{random.choice((8, 15))} gal", "holds": "muriatic",
             "dead_volume": random.choice(("0 gal", "0.25 gal")), "wetted": ["plastic"]},
        ],
        "pumps": [
            {"name": "booster", "kind": "centrifugal", "height": "1 ft", "wetted": ["plastic"],
             "curve": [["0 gpm", "70 psi"], ["8 gpm", "58 psi"], ["16 gpm", "31 psi"], ["20 gpm", "12 psi"]],
             "max_pressure": "200 psi", "motor": {"power": "0.75 hp", "volts": "115"},
             **({"bypass": "yes"} if random.random() < 0.4 else {})},
            {"name": "washer", "kind": "piston", "flow": f"{random.choice((4, 5.5, 8))} gpm", "unloader": "3000 psi",
             "height": "1 ft", "wetted": ["plastic"]},
            {"name": "roof pump", "kind": "diaphragm", "curve": [["0 gpm", "80 psi"], ["5.5 gpm", "0 psi"]],
             **({"cut_off": "60 psi"} if cut_off else {}), "height": "1 ft", "wetted": ["plastic"],
             "motor": {"amps": "9 A", "volts": "12"}},
            acid_pump,
        ],
        "hoses": [
            {"name": "red", "bore": "3/4 in", "length": f"{random.choice((50, 100, 150))} ft", "rated": "200 psi"},
            {"name": "blue", "bore": "5/8 in", "length": f"{random.choice((25, 50, 75))} ft", "rated": "200 psi"},
            {"name": "roof line", "bore": "1/2 in", "length": f"{random.choice((75, 150))} ft", "rated": "150 psi"},
            {"name": "drive line", "bore": "3/8 in", "length": f"{random.choice((50, 100))} ft", "rated": "4000 psi"},
            {"name": "acid line", "bore": "1/2 in", "length": f"{random.choice((25, 50))} ft", "rated": "150 psi"},
        ],
        "tips": [
            {"name": "long throw", "pattern": "solid", "orifice": "1/4 in"},
            {"name": "roof tip", "pattern": "solid", "orifice": "1/8 in"},
            {"name": "fan", "pattern": "fan", "flow": "5 gpm", "at": "40 psi"},
            {"name": "wide fan", "pattern": "fan", "size": "60"},
            {"name": "acid fan", "pattern": "fan", "flow": "3 gpm", "at": "30 psi"},
            {"name": "spinner", "pattern": "surface_cleaner", "size": "7"},
        ],
        "dosing": [
            {"name": "panel", "kind": "metered", "pump": "booster", "dial": [["1", "2 %"], ["2", "9 %"], ["3", "22 %"]],
             "wetted_volume": "0.1 gal", "wetted": ["plastic"]},
            {"name": "venturi", "kind": "injector", "water_to_stock": str(random.choice((6, 10))), "tested": "2026-05-01",
             "max_back_pressure": "250 psi", "loss": {"pressure": "100 psi", "flow": "5.5 gpm"}, "wetted": ["plastic"]},
        ],
        "power": {"generator": "5000 W", "volts": "120", "gfci": "true", "battery": "200 Ah"},
        "carried": {"eyewash": "6 gal", "apart": ["muriatic"]},
        "supply_hose": {"bore": "3/4 in", "length": "50 ft", "backflow": "air_gap"},
    }  # fmt: skip


def _lots(random: Random) -> list[dict[str, Any]]:
    lots: list[dict[str, Any]] = []
    for number in range(random.choice((1, 2, 3))):
        lot = {"name": f"drum {number}", "chemical": "bleach", "strength": "12.5 trade %", "made": "2026-06-01",
               "kept_at": "cool", "tested": {"strength": f"{random.choice((10, 11, 12))} trade %", "on": "2026-06-09"}}  # fmt: skip
        lots.append({**lot, "on_hand": f"{random.choice((1, 3, 15, 55))} gal"})
    lots[-1]["on_hand"] = "200 gal"
    lots.append({"name": "suds", "chemical": "soap", "on_hand": "5 gal", "bleach_stable": "true"})
    lots.append({"name": "acid", "chemical": "muriatic", "strength": "31.45 wt %", "on_hand": "30 gal"})
    agents = [
        {"name": "bicarb", "chemical": "bicarbonate", "on_hand": "100 lb"},
        {"name": "thio", "chemical": "thiosulfate", "on_hand": "100 lb"},
    ]
    return lots + [one for one in agents if random.random() < 0.8]


def _day(random: Random) -> dict[str, Any]:
    day: dict[str, Any] = {
        "rig": "Case", "crew": str(random.choice((1, 2, 2, 2, 3))), "forecast": {"wind": "2 mph", "high": "70 F"},
        "leave_yard": "07:00", "drive": {"10-case": "15 min"}, "heels": {},
    }  # fmt: skip
    if random.random() < 0.3:
        day["heels"]["mix"] = {"stock": "bleach", "strength": "2 %", "volume": random.choice(("1 gal", "3 gal"))}
    if random.random() < 0.3:
        day["heels"]["water"] = {"stock": "water", "volume": random.choice(("30 gal", "55 gal"))}
    return day


def _job(random: Random) -> dict[str, Any]:
    runs: list[dict[str, Any]] = []
    surfaces: list[dict[str, Any]] = []
    chemicals: list[dict[str, Any]] = []
    source = random.choice(("tap",) * 6 + ("hydrant", "tank", "pond"))
    for number in range(random.choice((1, 1, 1, 2, 3))):
        _wall(random, number, runs, surfaces, chemicals, tap=source in ("tap", "hydrant"))
    if random.random() < 0.3:
        chemicals.append({"stock": "soap", "dose": "1 fl oz/gal"})
    near: dict[str, Any] = {}
    if random.random() < 0.5:
        near["flower_beds"] = f"{random.choice((50, 120, 400))} ft2"
    if random.random() < 0.4:
        near["storm_drain"] = "40 ft"
        near["control"] = ["drain_cover", "berm"]
    if random.random() < 0.3:
        near["downspouts"] = "2"
    water: dict[str, Any] = {"source": source, "temperature": "62 F", "backflow": "rpz"}
    if water["source"] in ("tap", "hydrant"):
        flow = random.choice((3, 5, 8, 12))
        water |= {"static": "60 psi", "flow_test": {"flow": f"{flow} gpm", "pressure": "30 psi"}}
    if water["source"] == "pond":
        water["level"] = "-1 ft"
    return {
        "job": "Case job", "site": {"address": "1 Case Street"}, "building": {"height": "9 ft"}, "surfaces": surfaces,
        "hose_runs": runs, "chemicals": chemicals, "water": water, "near": near,
        **({"access": {"roof_work": {"pitch": "6/12", "eave": "9 ft", "anchor": "true"}}}
           if any(one["kind"] == "asphalt_shingle" for one in surfaces) else {}),
    }  # fmt: skip


def _wall(
    random: Random, number: int, runs: list[dict[str, Any]], surfaces: list[dict[str, Any]],
    chemicals: list[dict[str, Any]], *, tap: bool,
) -> None:  # fmt: skip
    name = f"wall {number}"
    how = random.choice(_RUNS)
    low = {"target": "9 ft", "standoff": "5 ft", "surfaces": [name]}
    kind = random.choice(("vinyl", "painted_wood", "stucco", "concrete", "brick"))
    if how == "acid":
        kind = "brick_acid"
    elif how == "tankful":
        kind = random.choice(("asphalt_shingle", "asphalt_shingle", kind))
    area = random.choice((40, 150, 500, 1200)) if how == "acid" else random.choice((60, 250, 700, 1500, 3200))
    surface: dict[str, Any] = {"name": name, "kind": kind, "area": f"{area} ft2",
                               "soil": random.choice(("light", "medium", "heavy"))}  # fmt: skip
    if kind == "asphalt_shingle":
        surface["rinse"] = random.choice(("leave", "leave", "now"))
    surfaces.append(surface)
    strength = {"asphalt_shingle": "3.5 %", "painted_wood": "0.6 %", "brick_acid": "1:10"}.get(kind, "1 %")
    chemicals.append({"stock": "muriatic" if how == "acid" else "bleach", "strength": strength, "surfaces": [name]})
    washer = random.random() < 0.35
    if how == "panel":
        runs.append({"name": f"house {number}", "pump": "booster", "feed": "tap" if tap and random.random() < 0.2 else "water",
                     "dosing": "panel", "hoses": random.choice((["red"], ["red", "blue"], ["blue"])),
                     "tip": "long throw", **low})  # fmt: skip
    elif how == "venturi":
        runs.append({"name": f"treat {number}", "pump": "washer", "feed": "water", "dosing": "venturi",
                     "hoses": ["drive line"], "tip": "wide fan", **low})  # fmt: skip
    elif how == "tankful":
        runs.append({"name": f"roof {number}", "pump": "roof pump", "feed": "mix", "dosing": "premix",
                     "hoses": ["roof line"], "tip": "roof tip", **low})  # fmt: skip
    else:
        runs.append({"name": f"sour {number}", "pump": "acid pump", "feed": "acid tub", "dosing": "premix",
                     "hoses": ["acid line"], "tip": "acid fan", **low})  # fmt: skip
        washer = True
    if washer and kind != "asphalt_shingle":
        runs.append({"name": f"water {number}", "pump": "booster", "feed": "water",
                     "hoses": random.choice((["red"], ["blue"])), "tip": "fan", **low})  # fmt: skip
    if kind == "concrete" and random.random() < 0.5:
        runs.append({"name": f"spin {number}", "pump": "washer", "feed": "water", "hoses": ["drive line"],
                     "tip": "spinner", "surfaces": [name], "target": "0 ft", "standoff": "1 ft"})  # fmt: skip


def _at_once(random: Random, found: dict[str, Any]) -> None:
    """One of the job's guns beside another of the same pump, on a wall like its own or on the same one."""
    job, rig = found["job"], found["rig"]
    guns = [run for run in job["hose_runs"] if run["name"].split(" ")[0] in ("house", "treat", "roof", "water")]
    if not guns:
        return
    run = random.choice(guns)
    wall = next(one for one in job["surfaces"] if one["name"] == run["surfaces"][0])
    own = next(one for one in rig["hoses"] if one["name"] == run["hoses"][0])
    rig["hoses"].append({**own, "name": "second line", "length": f"{random.choice((50, 75, 100))} ft"})
    other = {**run, "name": f"{run['name']} too", "hoses": ["second line"], "same_time": [run["name"]]}
    if random.random() < 0.7:
        other["surfaces"] = [f"{wall['name']} too"]
        job["surfaces"].append(
            {**wall, "name": f"{wall['name']} too", "area": random.choice((wall["area"], "300 ft2"))}
        )
        for use in job["chemicals"]:
            if "surfaces" in use and wall["name"] in use["surfaces"]:
                use["surfaces"] = [*use["surfaces"], f"{wall['name']} too"]
    job["hose_runs"].insert(job["hose_runs"].index(run) + 1, other)
    found["day"]["crew"] = random.choice(("2", "2", "3"))


def _bare(random: Random, found: dict[str, Any], jobs: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The day's jobs on bare wood, each with a chemistry of its own, after another in the tank."""
    kinds = ("percarbonate", "oxalic", "citric")
    found["stock"]["lots"] += [{"name": f"bag of {kind}", "chemical": kind, "on_hand": "60 lb"} for kind in kinds]
    found["rig"]["carried"]["apart"] += kinds
    held = random.choice((*kinds, "bleach", None))
    if held is not None:
        strength = "2 %" if held == "bleach" else "20 g/L"
        volume = random.choice(("1 gal", "3 gal"))
        found["day"]["heels"]["mix"] = {"stock": held, "strength": strength, "volume": volume}
    near = {"target": "9 ft", "standoff": "5 ft", "surfaces": ["boards"]}
    runs = [
        {"name": "roof", "pump": "roof pump", "feed": "mix", "dosing": "premix", "hoses": ["roof line"],
         "tip": "roof tip", **near},
        {"name": "rinse", "pump": "booster", "feed": "water", "hoses": ["red"], "tip": "fan", **near},
    ]  # fmt: skip
    wooden = []
    for job in jobs:
        area = f"{random.choice((60, 250, 700))} ft2"
        runs_of = [dict(run) for run in runs[: random.choice((1, 2, 2))]]
        wooden.append({
            **job, "access": {}, "hose_runs": runs_of,
            "surfaces": [{"name": "boards", "kind": "bare_wood", "area": area}],
            "chemicals": [{"stock": random.choice(kinds), "strength": random.choice(("10 g/L", "20 g/L"))}],
        })  # fmt: skip
    found["job"] = wooden[0]
    return wooden


# ------------------------------------------------------------------------------------------- what few rigs and jobs have


def _seldom_rig(random: Random, rig: dict[str, Any]) -> None:
    """Suctions that get to some tanks only, pumps that bear a shut gun briefly, an injector that draws far."""
    by_name = {pump["name"]: pump for pump in rig["pumps"]}
    if random.random() < 0.25:
        rig["tanks"].append({"name": "spare", "floor": "1 ft", "volume": "60 gal", "holds": "water"})
        by_name["roof pump"]["draws"] = random.choice((["mix", "water"], ["mix", "spare"], ["spare", "mix", "water"]))
    elif random.random() < 0.1:
        by_name["roof pump"]["draws"] = ["mix"]
    if random.random() < 0.1:
        by_name["acid pump"]["draws"] = ["acid tub", "water"]
    if random.random() < 0.2:
        pump = by_name[random.choice(("booster", "roof pump", "acid pump"))]
        pump |= {"wetted_volume": random.choice(("0.05 gal", "0.02 gal", "0.005 gal")), "motor": {"power": "0.5 hp"}}
        pump.pop("cut_off", None)
    if random.random() < 0.6:
        by_name["washer"] |= {"flow": "4 gpm", "bypass": "yes"}
        rig["dosing"][1] |= {"max_back_pressure": "1500 psi", "loss": {"pressure": "500 psi", "flow": "4 gpm"}}


def _tips(random: Random, job: dict[str, Any]) -> None:
    """Runs with a tip to rinse through, and a surface cleaner on the gun instead of a run of its own; some with hoses."""
    together = {name for run in job["hose_runs"] if "same_time" in run for name in (run["name"], *run["same_time"])}
    for run in list(job["hose_runs"]):
        kind = run["name"].split(" ")[0]
        if run["name"] in together or kind == "spin":
            continue
        if random.random() < 0.7:
            run["rinse_tip"] = random.choice(("fan", "wide fan", "acid fan", "long throw", run["tip"]))
        if kind in ("treat", "house", "water") and random.random() < 0.7:
            run["cleaner"] = "spinner"
        for role, whip in (("rinse_tip", "whip"), ("cleaner", "long whip")):
            if role in run and random.random() < 0.5 and all(isinstance(hose, str) for hose in run["hoses"]):
                # Behind what it shares with the run its own hose lies, or none.
                stays = run["hoses"][: random.randint(1, len(run["hoses"]))]
                run[role] = {"tip": run[role], "hoses": [*stays, *([whip] if random.random() < 0.8 else [])]}
        if kind == "treat" and "cleaner" in run:
            walls = set(run["surfaces"])
            job["hose_runs"] = [
                one for one in job["hose_runs"] if one["tip"] != "spinner" or not walls & set(one["surfaces"])
            ]


def _seldom_job(random: Random, job: dict[str, Any]) -> None:
    """Soap alone, two strengths through one line, acid that is wetted and rinsed through its own, hoses without names."""
    walls = {one["name"]: one for one in job["surfaces"]}
    soaped = any(use["stock"] == "soap" for use in job["chemicals"])
    for run in list(job["hose_runs"]):
        kind, name = run["name"].split(" ")[0], run["surfaces"][0]
        if kind == "sour" and random.random() < 0.4:
            # Nobody else wets and rinses it.
            water = f"water {name.split(' ')[1]}"
            if not any(water in one.get("same_time", ()) for one in job["hose_runs"]):
                job["hose_runs"] = [one for one in job["hose_runs"] if one["name"] != water]
        own = [use for use in job["chemicals"] if name in use.get("surfaces", ())]
        if kind in ("house", "treat", "roof") and "same_time" not in run and len(own) == 1 and random.random() < 0.2:
            more = f"{name} more"
            job["surfaces"].append({**walls[name], "name": more, "area": random.choice(("80 ft2", "400 ft2"))})
            run["surfaces"] = [name, more]
            for other in job["hose_runs"]:
                if other is not run and name in other["surfaces"]:
                    other["surfaces"] = [*other["surfaces"], more]
            strength = random.choice((own[0]["strength"], "0.5 %"))
            job["chemicals"].append({**own[0], "strength": strength, "surfaces": [more]})
        elif kind in ("treat", "roof") and len(own) == 1 and not soaped and random.random() < 0.2:
            job["chemicals"].remove(own[0])
            job["chemicals"].append({"stock": "soap", "dose": "2 fl oz/gal", "surfaces": [name]})
        shared = [one for one in job["hose_runs"] if one is not run and one["name"].split(" ")[0] in ("house", "roof")]
        if kind in ("house", "roof") and shared and len(own) == 1 and random.random() < 0.05:
            # A line beside it on the same wall.
            shared[0]["surfaces"] = list(dict.fromkeys([*shared[0]["surfaces"], name]))
        if "same_time" not in run and random.random() < 0.1:
            run["hoses"] = [{"bore": "5/8 in", "length": f"{random.choice((25, 75))} ft", "rated": "4000 psi"}]
