"""A remedy as what to write into the job's own file: key paths with the text that goes there, None for a key to drop.

A run that is written out takes its changed keys. A job that names a setup takes the other setup's name, or a key of its
own over the setup's; else its setups are written out under `hose_runs`, a block of several lines, and `setup` and the
keys beside it are dropped. What `like:` gives is laid over in the job's own file, never changed where it was written.
What is told is joined first as it would be read, and told only where the run that was tried comes of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from pydantic import ValidationError

from planner.checks.model import Remedy
from planner.inputs.joined import ROLES, JobInput, Role, RunInput
from planner.inputs.joining.runs import runs_of
from planner.inputs.models import HoseRun, Job, RoleTip, Setup
from planner.inputs.models.job import RunKeys
from planner.inputs.reading.spans import scalar
from planner.inputs.reading.tree import parse_tree
from planner.units import read, show

Edits = list[tuple[str, str | None]]
_Way = tuple[Edits, Mapping[str, Any]]
"""Edits, and the fields of the job's model as they are then."""


def edits_of(job: JobInput, remedy: Remedy) -> Edits:
    """Paths and texts that make the remedy; none for what is not on the rig, or cannot be said in the job's file.

    None as a text drops the key; a text of several lines is a block.
    """
    if not remedy.on_rig or remedy.run is None:
        return []
    now = remedy.run.input
    ways = _of_runs(job, now) if job.job.hose_runs is not None else _of_setups(job, now, remedy)
    try:
        return next((edits for edits, fields in ways if _comes_to(job, fields, now)), [])
    except ValidationError:
        return []


def _comes_to(job: JobInput, fields: Mapping[str, Any], now: RunInput) -> bool:
    """Whether the job with these fields is joined to the run as it was tried, and to its other runs as they are."""
    model = job.job.model_copy(update=dict(fields))
    if not all(_on_rig(job, run) for run in model.hose_runs or ()):
        return False
    written: Iterable[RunKeys] = job.job.hose_runs or [job.job for _ in job.runs]
    height = next((run.target for run, keys in zip(job.runs, written, strict=True) if keys.target is None), None)
    runs, slips, _ = runs_of(model, job.rig, job.surfaces, height, lambda at: job.where)
    if slips or len(runs) != len(job.runs):
        return False
    for was, made in zip(job.runs, runs, strict=True):
        wanted, found = _texts(job, now if was.name == now.name else was), _texts(job, made)
        if was.name != now.name:  # its group may have lost one
            wanted["same_time"] = found["same_time"]
        if wanted != found:
            return False
    return True


def _on_rig(job: JobInput, run: HoseRun) -> bool:
    """Whether each hose a run names is one of the rig's, or of those it has in its own words."""
    own = {hose.name for hose in run.hoses if not isinstance(hose, str)} | {hose.name for hose in job.rig.hoses}
    named = [hose for hose in run.hoses if isinstance(hose, str)]
    for role in (run.rinse_tip, run.cleaner):
        named += role.hoses if isinstance(role, RoleTip) else ()
    return own.issuperset(named)


# ------------------------------------------------------------ ways


def _of_runs(job: JobInput, now: RunInput) -> Iterator[_Way]:
    """Changed keys of a run that is written out; all runs where `like:` gave them."""
    written = job.job.hose_runs or ()
    place = next(n for n, run in enumerate(written) if run.name == now.name)
    changed = _changed(job, now)
    for keys in (changed, {**changed, **_roles(job, written[place], now)}):
        by_run: dict[int, dict[str, str | None]] = {place: keys}
        for n, other in enumerate(job.runs):
            if job.runs[place].same_time and not now.same_time and now.name in other.same_time:
                by_run[n] = {"same_time": _listed(name for name in other.same_time if name != now.name)}
        fields = {"hose_runs": tuple(_laid_over(run, by_run.get(n, {})) for n, run in enumerate(written))}
        if _own(job, "hose_runs"):
            yield [(f"hose_runs[{n}].{key}", text) for n, keys in by_run.items() for key, text in keys.items()], fields
            continue
        texts: list[dict[str, str | None]] = []
        for n, run in enumerate(written):
            texts.append({**_written(job, run, run), **by_run.get(n, {})})
        yield _written_out(job, texts), fields


def _of_setups(job: JobInput, now: RunInput, remedy: Remedy) -> Iterator[_Way]:
    """Another setup's name, a key over the setup's, or the setups written out."""
    names, changed = list(job.job.setups), _changed(job, now)
    place, single = names.index(now.name), len(names) == 1
    keys = {key: text for key, text in changed.items() if key in RunKeys.model_fields and text is not None}
    if single and len(keys) == len(changed):
        yield list(keys.items()), _fields(keys)
    for name in [str(change.values["setup"]) for change in remedy.changes if change.kind == "setup"]:
        others = [*names[:place], name, *names[place + 1 :]]
        choice: str | tuple[str, ...] = name if isinstance(job.job.setup, str) else tuple(others)
        at = "setup" if isinstance(choice, str) or not _own(job, "setup") else f"setup[{place}]"
        text = scalar(name, flow=True) if at != "setup" or isinstance(choice, str) else _listed(choice)
        yield [(at, text)], {"setup": choice}
        if single:
            over = {key: text for key, text in _texts(job, now).items() if key in _OVER and text}
            yield [(at, text), *over.items()], {"setup": choice, **_fields(over)}
    setups = {setup.name: setup for setup in job.rig.setups}
    texts: list[dict[str, str | None]] = []
    for name in names:
        written = _written(job, setups[name], _Over(job.job, setups[name]))
        texts.append({**written, **(changed if name == now.name else {})})
    runs = tuple(_laid_over(_ANY, one) for one in texts)
    yield _written_out(job, texts), {"hose_runs": runs, "setup": None, **dict.fromkeys(RunKeys.model_fields)}


_ANY = HoseRun(name="any", feed="water", hoses=("any",), tip="any")
_OVER = ("tip_height", "standoff", "on_reel", "fittings", "hot")
"""Keys of a short job over those of its setup."""


class _Over:
    """A short job's keys over its setup's."""

    def __init__(self, job: Job, setup: Setup) -> None:
        self._job, self._setup = job, setup

    def __getattr__(self, key: str) -> Any:
        over = getattr(self._job, key)
        return over if over is not None else getattr(self._setup, key, None)


def _written_out(job: JobInput, runs: Iterable[Mapping[str, str | None]]) -> Edits:
    """All runs as a block under `hose_runs`; what they take the place of in the job's own file is dropped."""
    lines = ["\n  ".join(f"{key}: {text}" for key, text in run.items() if text is not None) for run in runs]
    gone = [key for key in ("setup", *RunKeys.model_fields) if _own(job, key)]
    return [("hose_runs", "".join(f"- {run}\n" for run in lines)), *((key, None) for key in gone)]


def _own(job: JobInput, key: str) -> bool:
    """Whether the job's own file has a key, and not one that it is like."""
    place = job.places.get(key)
    return place is not None and place.file == job.where.file


def _fields(texts: Mapping[str, str | None]) -> dict[str, Any]:
    """Keys of a run as its model has them. Raises pydantic.ValidationError."""
    written = {key: _plain(text) for key, text in texts.items() if text is not None}
    run = HoseRun.model_validate({**_ANY.model_dump(exclude_unset=True), **written})
    return {key: getattr(run, key) for key in texts}


def _laid_over(run: HoseRun, texts: Mapping[str, str | None]) -> HoseRun:
    return run.model_copy(update=_fields(texts))


def _plain(text: str) -> Any:
    return parse_tree(f"it: {text}\n".encode(), "").mapping["it"].plain()


# ------------------------------------------------------------ texts


def _changed(job: JobInput, now: RunInput) -> dict[str, str | None]:
    """The keys of a run that a remedy changes, None for one that goes."""
    before, after = _texts(job, next(run for run in job.runs if run.name == now.name)), _texts(job, now)
    if before["rinse_tip"] and not after["rinse_tip"]:
        after["rinse_tip"] = after["tip"]  # it rinses through its own
    return {key: text or None for key, text in after.items() if text != before[key]}


def _roles(job: JobInput, run: HoseRun, now: RunInput) -> dict[str, str | None]:
    """Tips for a role, where what is written is not what was planned: one like the run's own was none to change to."""
    wanted, written = _texts(job, now), _written(job, run, run)
    return {
        role: wanted[role] or None
        for role in ("rinse_tip", "cleaner")
        if wanted[role] != written.get(role, "")
    }  # fmt: skip


def _texts(job: JobInput, run: RunInput) -> dict[str, str]:
    """What the keys of a run would say, `""` where it has none."""
    fittings = {one.kind: one.k if one.k is not None and one.kind == "k" else one.count for one in run.fittings}
    return {
        "pump": _quoted(run.pump.name) if run.pump is not None else "",
        "feed": _quoted(run.feed_tank.name) if run.feed_tank is not None else run.feed,
        "dosing": "premix" if run.premix else _quoted(run.dosing.name) if run.dosing is not None else "",
        "hoses": _listed(hose.name for hose in run.hoses),
        "fittings": _counted(fittings),
        "on_reel": _amount(job, run.on_reel, "length"),
        **{role: _role(run, role) if role in run.tips else "" for role in ROLES},
        "standoff": _amount(job, run.standoff, "length"),
        "same_time": _listed(run.same_time),
        "tip_height": _amount(job, run.tip_height, "length"),
        "hot": _amount(job, run.hot, "temperature") if run.hot is not None else "",
    }


def _written(job: JobInput, gear: HoseRun | Setup, keys: Any) -> dict[str, str]:
    """A run as it is written, or a setup as it would be; `keys` gives what a short job may say beside it."""
    found = {key: getattr(gear, key) for key in ("name", "pump", "feed", "dosing")}
    texts = {key: _quoted(name) for key, name in found.items() if name is not None}
    texts["hoses"] = _listed(hose if isinstance(hose, str) else hose.name or "" for hose in gear.hoses)
    roles = {"tip": gear.tip, "rinse_tip": gear.rinse_tip, "cleaner": gear.cleaner}
    for role, tip in roles.items():
        if isinstance(tip, RoleTip):
            texts[role] = f"{{tip: {_quoted(tip.tip)}, hoses: {_listed(tip.hoses)}}}"
        elif tip is not None:
            texts[role] = _quoted(tip)
    for key in RunKeys.model_fields:
        value = getattr(keys, key)
        if isinstance(value, Mapping):
            texts |= {key: _counted(value)} if value else {}
        elif value is not None:
            texts[key] = _amount(job, value, "temperature" if key == "hot" else "length")
    if isinstance(gear, HoseRun):
        texts |= {"same_time": _listed(gear.same_time)} if gear.same_time else {}
        texts |= {"surfaces": _listed(gear.surfaces)} if gear.surfaces is not None else {}
        texts |= {"share": f"{gear.share * 100.0:.12g} %"} if gear.share is not None else {}
    return texts


def _role(run: RunInput, role: Role) -> str:
    """A tip, with its hoses where its line is another than the run's."""
    name = _quoted(run.tips[role].name)
    if role not in run.role_hoses:
        return name
    return f"{{tip: {name}, hoses: {_listed(hose.name for hose in run.role_hoses[role])}}}"


def _counted(fittings: Mapping[str, float]) -> str:
    return f"{{{', '.join(f'{kind}: {count:.12g}' for kind, count in fittings.items())}}}"


def _amount(job: JobInput, amount: float, dimension: str) -> str:
    """A length [m] or a temperature [K] in the company's units, in as many figures as it takes."""
    plain = show(amount, dimension, job.company.units)
    near = abs(read(plain, dimension) - amount) < 1e-9
    return plain if near else show(amount, dimension, job.company.units, digits=12)


def _quoted(name: str) -> str:
    return scalar(name, flow=True)


def _listed(names: Iterable[str]) -> str:
    return f"[{', '.join(_quoted(name) for name in names)}]"
