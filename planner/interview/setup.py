"""How it is sprayed: one of the rig's setups, several of them, or a hose run put together from the rig's gear."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from planner.inputs.models.job import HoseRun, Job
from planner.inputs.reading.names import items, known_on
from planner.inputs.tables.defaults import default
from planner.inputs.tables.pumps import pump_kinds
from planner.interview.answers import Here, choice, key_of, numbered, pick, several, unit_of
from planner.interview.asking import Question, Unfit, Walk
from planner.units import show

Raw = dict[str, Any]

_OWN: Final = "own"
_PLAIN: Final = "plain water"
_NO_TIP: Final = "none"
_SAME_TIP: Final = "the same tip"
_LEVEL: Final = "0, level ground"


def setup(here: Here, rig: Mapping[str, Any], then: Mapping[str, Any] | None, *, roof: bool) -> Walk[Raw]:
    """The setup or the hose run, and where it stands. `then` is the earlier job whose way of spraying may be kept."""
    names = _in_order(rig, "setups")
    notes = {str(one.get("name")): gear_of(one) for one in items(rig, "setups") if isinstance(one, dict)}
    kept = _kept(then)
    if not names and kept is None:
        run = yield from _hose_run(here, rig, roof=roof)
        return {"hose_runs": [run]}
    alone = names[0] if len(names) == 1 else None
    blank = f"{kept}, as last time" if kept else alone
    found = yield Question(
        key="setup",
        about=f"Setup of {rig.get('rig', 'the rig')}; several with commas, or `{_OWN}` for a hose run of its own",
        read=_setups(names, str(rig.get("rig", "this rig"))),
        blank=blank,
        before=numbered(names, notes),
        more="A setup is a ready combination of pump, dosing, hoses and tip; it is in the rig's file.",
    )
    if found == (_OWN,):
        run = yield from _hose_run(here, rig, roof=roof)
        return {"hose_runs": [run]}
    if found is None and kept is not None:
        assert then is not None
        # Written-out runs each have their own place to stand; keys beside them would reach none.
        return {} if "hose_runs" in then else (yield from _stand(here, then, roof=roof))
    chosen = found or (str(alone),)
    keys = yield from _stand(here, then or {}, roof=roof)
    return {"setup": chosen[0] if len(chosen) == 1 else list(chosen), **keys}


def _in_order(rig: Mapping[str, Any], name: str) -> list[str]:
    known = {
        " ".join(one["name"].split()): None
        for one in items(rig, name)
        if isinstance(one, dict) and isinstance(one.get("name"), str)
    }
    return list(known)


def _setups(names: Sequence[str], rig: str) -> Any:
    read = several(names, f"setup of rig {rig}")

    def either(text: str) -> tuple[str, ...]:
        return (_OWN,) if text.casefold() == _OWN and pick(text, names) is None else read(text)

    return either


def _kept(then: Mapping[str, Any] | None) -> str | None:
    if then is None:
        return None
    written = then.get("setup")
    if isinstance(written, list):
        return ", ".join(map(str, written))
    if written is not None:
        return str(written)
    runs = [str(run.get("name")) for run in items(then, "hose_runs") if isinstance(run, dict)]
    return f"its own hose run{'s' if len(runs) > 1 else ''} {', '.join(runs)}" if runs else None


def gear_of(one: Mapping[str, Any]) -> str:
    """A setup's gear in one line."""
    hoses = [hose if isinstance(hose, str) else "a hose" for hose in items(one, "hoses")]
    parts = [one.get("pump") or one.get("feed"), one.get("dosing") or _PLAIN, " + ".join(hoses), one.get("tip")]
    own = (("rinse_tip", "rinse with"), ("cleaner", "clean with"))
    roles = [f"{words} {one[role]}" for role, words in own if one.get(role)]
    return ", ".join(str(part) for part in (*parts, *roles) if part)


def _stand(here: Here, then: Mapping[str, Any], *, roof: bool) -> Walk[Raw]:
    """Where the tip stands."""
    length = unit_of("length", here.system)
    keys: Raw = {}
    asked = [
        ("uphill", "Ground at the tip above the ground at the rig", _LEVEL, "Below it is written with a minus: `-4`."),
        (
            "standoff",
            "Standoff, tip to wall",
            "the setup's, or half the height",
            f"Half is {_least_most(here)}. A jet reaches highest from close by; too close, it splashes back.",
        ),
    ]
    if roof:
        about = "How far beyond the wall line the mix must land"
        asked.append(("past_eave", about, "0, at the wall", "From the wall to the ridge, along the ground."))
    for name, about, usual, more in asked:
        blank = f"{then[name]}, as last time" if isinstance(then.get(name), str) else usual
        answer = yield Question(
            key=name, about=about, unit=length, read=key_of(Job, name, length), blank=blank, more=more
        )
        if answer is not None:
            keys[name] = answer
    return keys


def _least_most(here: Here) -> str:
    least, most = (show(default(f"standoff_{end}"), "length", here.system) for end in ("least", "most"))
    return f"{least} to {most}"


def _hose_run(here: Here, rig: Mapping[str, Any], *, roof: bool) -> Walk[Raw]:
    """One hose run, from what draws the water to the tip, and where it stands."""
    name = yield Question(key="run name", about="What the crew calls the run", read=key_of(HoseRun, "name"))
    run = {"name": name, **(yield from line(here, rig, "run"))}
    return run | (yield from _stand(here, {}, roof=roof))


def line(here: Here, rig: Mapping[str, Any], at: str) -> Walk[Raw]:
    """What draws the water, how the chemical gets in, hoses and tip, each by its name on the rig."""
    known = known_on(rig)
    pumps, tanks, tips = (_in_order(rig, name) for name in ("pumps", "tanks", "tips"))
    hoses, dosing = _in_order(rig, "hoses"), [*_in_order(rig, "dosing"), "premix"]
    of = f"of rig {known.rig}"
    run: Raw = {}
    pump = yield Question(
        key=f"{at} pump",
        about="Its pump",
        read=choice(pumps, f"pump {of}"),
        blank="none, the tap's own pressure",
        before=numbered(pumps),
    )
    if pump is not None:
        run["pump"] = pump
    feeds = [*tanks, "tap", "pond"] if pump is not None else ["tap"]
    run["feed"] = yield Question(
        key=f"{at} feed", about="What it draws from", read=choice(feeds, f"tank {of}"), before=numbered(feeds)
    )
    mixes = yield Question(
        key=f"{at} dosing",
        about="How the chemical gets in",
        read=_dosing(rig, dosing, pump, str(run["feed"]), of),
        blank=_PLAIN,
        before=numbered(dosing),
        more="`premix` is a mix in the tank it draws from. The other choices are a panel or an injector of the rig.",
    )
    if mixes is not None:
        run["dosing"] = mixes
    run["hoses"] = list(
        (
            yield Question(
                key=f"{at} hoses",
                about="Its hoses in order from the pump, with commas",
                read=several(hoses, f"hose {of}"),
                before=numbered(hoses),
            )
        )
    )
    run["tip"] = yield Question(key=f"{at} tip", about="Its tip", read=choice(tips, f"tip {of}"), before=numbered(tips))
    return run


def roles(rig: Mapping[str, Any], run: Mapping[str, Any], at: str) -> Walk[Raw]:
    """Tips of a run's own to rinse and to clean, where the rig has any and the pump can turn a surface cleaner."""
    flat = {str(tip.get("name")) for tip in items(rig, "tips") if tip.get("pattern") == "surface_cleaner"}
    kinds = {pump.get("name"): pump_kinds().get(str(pump.get("kind"))) for pump in items(rig, "pumps")}
    kind = kinds.get(run.get("pump"))
    own: Raw = {}
    asked = (
        ("rinse_tip", "Tip it rinses through", False, "Change tips with the pressure let out, as the packet says."),
        ("cleaner", "Surface cleaner it cleans flat work with", True, "With plain water, before or after the mix."),
    )
    for role, about, cleans, more in asked:
        names = [name for name in _in_order(rig, "tips") if (name in flat) == cleans and name != run["tip"]]
        if not names or (cleans and (run["tip"] in flat or kind is None or not kind.pierces)):
            continue
        usual = run.get(role)
        answer = yield Question(
            key=f"{at} {role.replace('_', ' ')}", about=f"{about}: {', '.join(names)}", more=more,
            read=_role(names, _NO_TIP), blank=str(usual) if usual else _SAME_TIP if not cleans else "none",
        )  # fmt: skip
        if answer != _NO_TIP and (answer or usual):
            own[role] = answer or usual
    return own


def _role(names: Sequence[str], none: str) -> Any:
    read = choice(names)
    return lambda text: none if text.casefold() == none and pick(text, names) is None else read(text)


def _dosing(rig: Mapping[str, Any], names: Sequence[str], pump: str | None, feed: str, of: str) -> Any:
    read = choice(names, f"dosing {of}")
    rows = {one.get("name"): one for one in items(rig, "dosing") if isinstance(one, dict)}

    def fits(text: str) -> str:
        name: str = read(text)
        if name == "premix" and feed in ("tap", "pond"):
            raise Unfit((f"a premix is in a tank, and this draws from the {feed}", "go `back` and name the mix tank"))
        row = rows.get(name, {})
        own = row.get("pump")
        if row.get("kind") == "metered" and (pump is None or own not in (None, pump)):
            raise Unfit(
                (
                    f"`{name}` is plumbed to {f'`{own}`' if own else 'a pump'}",
                    "go `back` and name it, or another dosing",
                )
            )
        return name

    return fits


def feeds_of(job: Mapping[str, Any], rig: Mapping[str, Any]) -> set[str]:
    """What a job's runs draw from, as far as it is written."""
    setup = job.get("setup")
    named = setup if isinstance(setup, list) else [setup]
    runs = [one for one in items(rig, "setups") if isinstance(one, dict) and one.get("name") in named]
    runs += [one for one in items(job, "hose_runs") if isinstance(one, dict)]
    return {str(one.get("feed")) for one in runs}
