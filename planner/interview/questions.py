"""The questions of a new job, in the order of the walk: what and where, the walls, the line, the site."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from planner.faults import Fault
from planner.frozen import dataclass
from planner.inputs.models import Building, Job
from planner.inputs.models.site import Site
from planner.inputs.reading.files import file_fault, shown
from planner.inputs.reading.names import items
from planner.interview.answers import (
    Here,
    bare,
    choice,
    command,
    key_of,
    name_fault,
    next_number,
    slug,
    taken,
    unit_of,
    yes,
)
from planner.interview.asking import Question, Unfit, Walk
from planner.interview.day import day_page, drive, rig_of
from planner.interview.setup import feeds_of, setup
from planner.interview.site import access, kept_or_new, near, water
from planner.interview.surfaces import soap, strength, surfaces, tallest, told
from planner.interview.text import Earlier, Written, at_address, written
from planner.interview.trial import tried
from planner.interview.yard import yard

Raw = dict[str, Any]

_KINDS: Final = ("wash", "yard")
_WRITE: Final = "write"
NO_RIG: Final = "there is no rig here that can be read, with setups or hoses"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """A job as it was answered, and the earlier one it starts from."""

    job: Raw
    earlier: Earlier | None = None


def whole(here: Here) -> Walk[Written]:
    """All of it, then a look at what will be written."""
    made = yield from answered(here)
    yield from agreed(here, made)
    return made


def answered(here: Here) -> Walk[Written]:
    """The day where it has no page, the job, its file's name."""
    rig = _days_rig(here)
    page: Raw | None = None
    if rig is None:
        rig = yield from rig_of(here, day=here.dated)
        if rig is not None and here.asks_day:
            page = yield from day_page(here, rig)
    raw_rig = here.raw_rig(rig) if rig is not None else {}
    asked = yield from _job(here, raw_rig, None if here.dated else rig)
    stem = yield from _stem(here, asked.job)
    if page is not None:
        minutes = yield from drive()
        page |= {"drive": {stem: minutes}} if minutes is not None else {}
    return written(here, stem, asked.job, asked.earlier, page)


def nothing_to_go_by(here: Here) -> list[Fault]:
    """What keeps any job from being asked for: without a rig there is nothing to spray with."""
    desk = here.desk
    if here.of_rig:
        return []
    if desk.rows is None or not any(map(here.sprays, desk.rig_files())):
        remedy = (
            f"start with the rig, question by question: `{command('new', shown(here.workspace / 'rigs' / 'NAME'))}`"
        )
        return [*desk.faults, file_fault("new.rig", here.workspace / "rigs", NO_RIG, remedy)]
    if here.dated and not here.asks_day:
        tree = desk.tree(here.page)
        node = tree.mapping.get("rig")
        if node is None or not isinstance(node.value, str) or not here.sprays(node.value):
            remedy = "write `rig: ` and the name of a file in the folder rigs, one with setups or hoses, then ask again"
            return [*desk.faults, file_fault("new.rig", here.page, "day.yaml names no rig that is here", remedy)]
    return []


def _days_rig(here: Here) -> str | None:
    """The rig the day's page names."""
    if not here.dated or here.asks_day:
        return None
    name = here.desk.tree(here.page).mapping.get("rig")
    return name.value if name is not None and isinstance(name.value, str) else None


def _job(here: Here, rig: Mapping[str, Any], own_rig: str | None) -> Walk[_Asked]:
    title = yield Question(
        key="job",
        about="What is the job called",
        read=key_of(Job, "job"),
        more="Such as `Alder Lane, front and gable`.",
    )
    kind = yield Question(
        key="kind",
        about="Wash, or yard for work on the rig's own gear",
        read=choice(_KINDS),
        blank="wash",
    )
    head: Raw = {"job": title}
    named = {"rig": own_rig} if own_rig is not None else {}
    if kind == "yard":
        return _Asked(job={**head, "kind": "yard", **named, **(yield from yard(here, rig))})
    address = yield Question(
        key="address",
        about="The address, as you would say it on the phone",
        read=key_of(Site, "address"),
        more="Such as `14 Alder Lane`. An earlier job at the same address is found by it.",
    )
    earlier = yield from _earlier(here, address)
    then = earlier.raw if earlier is not None else {}
    like = {"like": earlier.name} if earlier is not None else {}
    site = yield from _site(then, address)
    wash = yield from _wash(here, rig, then)
    site |= {name: wash.pop(name) for name in ("altitude",) if name in wash}
    return _Asked(job={**head, **like, **named, "site": site, **wash}, earlier=earlier)


def _earlier(here: Here, address: str) -> Walk[Earlier | None]:
    earlier = at_address(here, address)
    if earlier is None:
        return None
    answer = yield Question(
        key="like",
        about=f"{earlier.name} was at this address: {earlier.title}. Start from it",
        read=yes,
        blank="yes",
        more="Whatever you do not change comes from that job. What was accepted back then never carries over.",
    )
    return None if answer is False else earlier


def _site(then: Mapping[str, Any], address: str) -> Walk[Raw]:
    was = then.get("site")
    old = {name: text for name, text in was.items() if isinstance(text, str)} if isinstance(was, dict) else {}
    site: Raw = {"address": address}
    for name, about, more in (
        ("contact", "Who to ask for", "Such as `Mrs Hale, 555 0142`."),
        ("notes", "What to know about the site", "Such as `gate code at the desk`."),
    ):
        blank = f"{old[name]}, as last time" if name in old else "nobody" if name == "contact" else "nothing"
        answer = yield Question(key=f"site {name}", about=about, read=key_of(Site, name), blank=blank, more=more)
        if answer is not None or name in old:
            site[name] = answer if answer is not None else old[name]
    return site | ({"altitude": old["altitude"]} if "altitude" in old else {})


def _wash(here: Here, rig: Mapping[str, Any], then: Mapping[str, Any]) -> Walk[Raw]:
    job: Raw = {}
    length = unit_of("length", here.system)
    was = then.get("building")
    height = was.get("height") if isinstance(was, dict) else None
    answer = yield Question(
        key="height",
        about="Building height, the highest point to wash",
        unit=length,
        read=_height(length),
        blank=f"{height}, as last time" if height else "the tallest wall below",
        more="Above the ground below it: a gable's peak, a ridge. A drive has none.",
    )
    if answer is not None:
        job["building"] = {"height": answer}
    of_then = items(then, "surfaces")
    kept = bool(of_then) and (
        yield from kept_or_new("surfaces as then", "Surfaces", "; ".join(told(one) for one in of_then))
    )
    if not kept:
        job["surfaces"] = yield from surfaces(here)
    walls = of_then if kept else job["surfaces"]
    if answer is None and not height and not _height_tells(here, walls):
        high, why = tallest(walls, here.system)
        again = yield Question(
            key="height after all", about="How high must the mix reach", unit=length, read=_height(length),
            blank=f"{high}, {why}" if high else None,
            more="Not every surface says: a gable, a roof or an area has no height of its own.",
        )  # fmt: skip
        job = {"building": {"height": again or high}, **job}
    rows = here.desk.rows or {}
    roof = any(one.get("kind") in rows and rows[one["kind"]].family == "roof" for one in walls if isinstance(one, dict))
    job |= yield from soap(here, then, walls, (yield from strength(here, then, walls)))
    job |= yield from setup(here, rig, then if kept or not _names_surfaces(then) else None, roof=roof)
    job |= yield from water(here, then, feeds_of({**then, **job}, rig))
    if "altitude" not in then.get("site", {}) and _lifts({**then, **job}, rig):
        job |= yield from _altitude(here)
    job |= yield from access(here, then, sloping="uphill" in job)
    job |= yield from near(here, then)
    return job


def _lifts(job: Mapping[str, Any], rig: Mapping[str, Any]) -> bool:
    """Whether thinner air may keep a pump from drawing: one whose maker says what its inlet needs, or out of a pond."""
    named = job.get("setup")
    setups = [one for one in items(rig, "setups") if one.get("name") in (named if isinstance(named, list) else [named])]
    runs = [*setups, *items(job, "hose_runs")]
    pumps = {str(run.get("pump")) for run in runs if isinstance(run, dict)}
    needs = any("npsh_required" in pump and pump.get("name") in pumps for pump in items(rig, "pumps"))
    return needs or any(isinstance(run, dict) and run.get("feed") == "pond" for run in runs)


def _altitude(here: Here) -> Walk[Raw]:
    length = unit_of("length", here.system)
    answer = yield Question(
        key="site altitude", about="Height above sea level", unit=length, read=key_of(Site, "altitude", length),
        blank="near sea level",
        more="Thinner air lifts less: at 5,000 ft a pump draws from 5 ft less deep.",
    )  # fmt: skip
    return {"altitude": answer} if answer is not None else {}


def _height(unit: str) -> Any:
    key = key_of(Building, "height", unit)

    def read(text: str) -> str:
        given: str = key(text)
        if re.fullmatch(r"0*\.?0* ?\S*", given):
            raise Unfit((f"`{text[:40]}` is not a height", "write how high the mix must reach, or leave it empty"))
        return given

    return read


def _height_tells(here: Here, walls: list[Any]) -> bool:
    """Whether the surfaces alone say how high the mix must reach."""
    rows = here.desk.rows or {}
    flat = [isinstance(one, dict) and one.get("kind") in rows and rows[one["kind"]].family == "flat" for one in walls]
    return all(ground or "height" in one for ground, one in zip(flat, walls, strict=True))


def _names_surfaces(then: Mapping[str, Any]) -> bool:
    """Whether the earlier job's hose runs are for surfaces by name."""
    return any(isinstance(run, dict) and "surfaces" in run for run in items(then, "hose_runs"))


def _stem(here: Here, job: Raw) -> Walk[str]:
    if here.numbered:
        return here.stem
    usual = bare(here.stem) if here.stem else slug(job["job"])
    usual = f"{next_number(here.day, yard=job.get('kind') == 'yard')}-{usual}" if here.dated else usual
    answer = yield Question(
        key="file",
        about="Its file; the number is its place in the day",
        read=lambda text: _file(here, text),
        blank=usual,
    )
    return answer or usual


def _file(here: Here, text: str) -> str:
    stem = re.sub(r"\.ya?ml$", "", text)
    wrong = name_fault(stem)
    if wrong is None and here.dated and not re.match(r"[0-9]+-\w", stem):
        wrong = (
            f"`{stem[:60]}` has no place in the day",
            f"begin with a number, such as `{next_number(here.day)}-{stem}`",
        )
    if wrong is None and (fault := taken(here.day, stem)) is not None:
        wrong = (fault.message, fault.remedy)
    if wrong is not None:
        raise Unfit(wrong)
    return stem


def agreed(here: Here, made: Written) -> Walk[None]:
    """A look at the whole before it is written. What does not go together is told while one may still go back."""
    faults = tried(here, made)
    lines = ["", *made.text.rstrip("\n").splitlines(), ""]
    lines += [f"  {fault.message}; {fault.remedy}" for fault in faults]

    def read(text: str) -> bool:
        if text.casefold() == _WRITE or (not faults and text.casefold() in ("y", "yes")):
            return True
        raise Unfit(
            (f"the file is not saved yet: `{_WRITE}` saves it", "`back` goes to the question before, `stop` ends")
        )

    yield Question(
        key="write",
        about=f"This does not fit together yet; `back` changes an answer, `{_WRITE}` saves it to fix in an editor"
        if faults
        else "Write it",
        read=read,
        blank=None if faults else "yes",
        before=tuple(lines),
        more=f"`{_WRITE}` writes the file as shown above.",
        last=True,
    )
