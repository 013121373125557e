"""A job whose file was renamed after its packet was printed: paper and plan carry the name it had.

A packet is taken in where kind, title and address are still the same; a job recorded under both names is compared under
the newer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from planner.faults import Fault, Where
from planner.frozen import dataclass
from planner.inputs.reading.addresses import same_place
from planner.inputs.reading.files import is_there, read_file, shown
from planner.inputs.record import same_job
from planner.inputs.workspace import date_of
from planner.recording.packet_plan import is_plan, is_sound

if TYPE_CHECKING:
    from planner.archive.kept.opening import Opened
    from planner.contract.plan import PlanJson


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The job asked for (`id`, `file`), and the one (`written`) and plan `number` that its record, `source`, names;
    `inside` is the plan within a packet."""

    id: str
    file: Path
    workspace: Path
    source: str
    written: str
    number: str | None
    inside: Mapping[str, object] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """What the job was called when its packet was printed, and the plan of then."""

    id: str
    plan: PlanJson


def renamed(archive: Opened, asked: Asked, now: Callable[[], PlanJson | None]) -> Before | Fault | None:
    """The job under the name on its paper, where only its name has changed since; None where no other name is meant.

    `now` plans the job as it is today. A fault where the record is another job's. Raises ArchiveRefused.
    """
    from planner.archive.kept import store

    other = _other_name(asked)
    if asked.number is None:
        return None if other is None else _another(asked, other, "")
    kept = store.plan_of(archive, asked.id, asked.number) if other is None else None
    if kept is not None:
        return _changed(asked, kept.content)
    names = [other] if other is not None else store.jobs_of_number(archive, asked.number)
    if other is not None and is_there(_file(asked, other)):
        return _another(asked, other, "whose file is there as well")
    for name in names:
        if name == asked.id or is_there(_file(asked, name)):
            continue
        plan = _plan_of(archive, asked, name)
        if plan is None:
            continue
        today = now()
        if today is not None and _site(plan) == _site(today):
            return Before(id=name, plan=plan)
        if other is not None:
            return _another(
                asked,
                name,
                f"{_titled(plan)}, not {_titled(today)}" if today is not None else _titled(plan),
            )
    return _another(asked, other, "of which no plan is kept") if other is not None else None


def elsewhere(file: Path, job: str, plan: Mapping[str, object]) -> Fault | None:
    """That the job's file says another address than the plan printed last; None where it may be the same."""
    from planner.archive.kept.identity import another_place

    tree = read_file(file)
    site = (tree.root.plain() if tree.root is not None else {}).get("site")
    address = site.get("address") if isinstance(site, Mapping) else None
    if not another_place(address, plan.get("address")):
        return None
    return Fault(
        code="record.site",
        message=f"the archive knows `{job}` as {_titled(plan)}, and its file is at `{str(address)[:60]}` now",
        remedy="give this job's file another name and print it again; or name the plan worked from with `plan:`",
        where=Where(file=shown(file), path="site.address", lines=False),
    )


def _changed(asked: Asked, plan: Mapping[str, object]) -> Fault | None:
    """That another job lies under this name now, by its title and its address both; None where it may be the same."""
    tree = read_file(asked.file)
    raw = tree.root.plain() if tree.root is not None else {}
    site = raw.get("site")
    today = {"kind": plan.get("kind"), "title": raw.get("job"), "address": site.get("address") if site else None}
    (_, title, address), (_, was, at) = _site(today), _site(plan)
    if not (title and address and was and at) or title == was or address == at:
        return None
    return Fault(
        code="record.site",
        message=f"plan {asked.number} is of {_titled(plan)}, and `{asked.id}` is {_titled(today)} now",
        remedy="name the file that job has now; or take `plan:` out of a YAML record if it is this one's",
        where=Where(file=asked.source, path="plan", lines=False),
    )


def _other_name(asked: Asked) -> str | None:
    """The job a record names, with its day, where that is not the one asked for."""
    if same_job(asked.written, asked.id):
        return None
    day = asked.file.absolute().parent
    return f"{day.name}/{asked.written}" if date_of(day) is not None and "/" not in asked.written else asked.written


def _plan_of(archive: Opened, asked: Asked, name: str) -> PlanJson | None:
    from planner.archive.kept import store

    kept = store.plan_of(archive, name, asked.number)
    if kept is not None and is_sound(kept.content):
        return kept.content
    return asked.inside if asked.number is not None and is_plan(asked.inside, name, asked.number) else None


def _file(asked: Asked, name: str) -> Path:
    return asked.workspace / f"{name}.yaml"


def _site(plan: Mapping[str, object]) -> tuple[str, str, str]:
    """What says that two plans are of one job: kind and title without case and spaces, and the place."""
    kind, title = (" ".join(str(plan.get(key) or "").casefold().split()) for key in ("kind", "title"))
    return kind, title, same_place(str(plan.get("address") or ""))


def _titled(plan: Mapping[str, object]) -> str:
    return ", ".join(
        f"`{' '.join(str(word).split())[:60]}`" for word in (plan.get("title"), plan.get("address")) if word
    )


def _another(asked: Asked, other: str, why: str) -> Fault:
    about = f" ({why})" if why else ""
    return Fault(
        code="record.job",
        message=f"this is the record of `{other[:120]}`{about}, not of `{asked.id}`",
        remedy=f"name that job, `planner record {shown(_file(asked, other))[:200]}`, even if its file is gone. "
        f"Or write `job: {asked.id}` into a YAML record without `plan:` if it is this one's",
        where=Where(file=asked.source, path="job", lines=False),
    )
