"""The table of one job's record: each figure with what was planned, its box, its band drawn, and what is said of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from markupsafe import Markup, escape

from planner.archive.compare.causes import words
from planner.archive.compare.comparison import compared
from planner.archive.compare.differences import Difference
from planner.archive.compare.pairs import Pair, pair_of
from planner.contract.recordable import parts_of, rows_of
from planner.desk.done.sitting import Sitting
from planner.desk.told import sentence
from planner.frozen import dataclass
from planner.interview.record import explained
from planner.office.compare_words import figure_row, some

if TYPE_CHECKING:
    from planner.recording.questions import Question

_GROUPS: Final = (
    ("readings", "The line"), ("mixes", "The mix"), ("sides", "The walls"), ("pump", "The pump"),
    ("water flush times", "Water, flush and times"), ("", "Words"),
)  # fmt: skip
_OF: Final = {"run": "readings", "mix": "mixes", "side": "sides", "pump": "pump", "job": "water flush times"}
_LONG: Final = frozenset({"deviations", "after", "callbacks"})
_OPTIONS: Final = {"status": ("done", "part", "cancelled", "moved"), "callback": ("yes", "no")}
_SIGNS: Final = {"low": "LOW", "high": "HIGH"}
_WIDE, _PAD = 132.0, 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One figure: `path` empty where it is worked out of others and nobody types it; `done` as it is read.

    `level` and `text` are of the fault or the doubt at its box; `tick` what a tick of its doubt says yes to, `ticked`
    whether it was. `off` is how far it is from what was planned, `side` LOW or HIGH.
    """

    path: str = ""
    label: str
    planned: str
    unit: str = ""
    more: str = ""
    text: str = ""
    long: bool = False
    options: tuple[str, ...] = ()
    done: str
    band: Markup
    off: str
    side: str
    cause: str | None = None
    level: str = ""
    said: str = ""
    tick: str = ""
    ticked: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Rows under one heading: those typed in, and those `worked` out of them."""

    title: str
    rows: tuple[Row, ...]
    worked: tuple[Row, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """All groups, and how many figures were judged, lie outside their band and are blank."""

    groups: tuple[Group, ...]
    judged: int
    outside: int
    blank: int

    @property
    def rows(self) -> Iterator[Row]:
        """Every row that is typed in."""
        for group in self.groups:
            yield from group.rows

    @property
    def causes(self) -> list[tuple[str, str]]:
        """Each likely cause once: the rows it explains, and what it says."""
        found: dict[str, list[str]] = {}
        for row in (row for group in self.groups for row in (*group.rows, *group.worked)):
            if row.cause is not None:
                found.setdefault(row.cause, []).append(row.label)
        return [(some(labels), sentence(words()[cause])) for cause, labels in found.items()]


def pair_now(now: Sitting) -> Pair | None:
    """The record as it is typed in beside its plan; None where nothing can be read or nothing was done."""
    record = now.reading.record
    if record is None:
        return None
    number = str(now.asked.plan["plan"])
    return pair_of(now.job.id, record, now.asked.plan, number, now.asked.revision)


def table(now: Sitting) -> Table:
    """The table as it is now."""
    pair = pair_now(now)
    found = compared([pair]) if pair is not None else None
    one = found.jobs[0] if found is not None and found.jobs else None
    told = {_key(row): row for row in one.found} if one is not None else {}
    places = _places(now)
    groups = []
    for names, title in _GROUPS:
        questions = sorted(
            (one for one in now.questions.values() if _in(one.path, names)),
            key=lambda one: names.split().index(one.path.partition(".")[0]) if names else 0,
        )
        differences = [told.get(places.get(question.path, ("", "", ""))) for question in questions]
        rows = [_row(now, question, row) for question, row in zip(questions, differences, strict=True)]
        known = set(places.values())
        others = [row for key, row in told.items() if key not in known and _OF.get(_of(row), "") == names]
        worked = [_row(now, None, row) for row in others]
        if rows or worked:
            groups.append(Group(title=_titled(now, names, title), rows=tuple(rows), worked=tuple(worked)))
    judged = [row for row in told.values() if row.sign is not None]
    figures = [path for path in now.questions if "." in path]
    return Table(
        groups=tuple(groups), judged=len(judged), outside=sum(row.outside for row in judged),
        blank=sum(path not in now.texts for path in figures),
    )  # fmt: skip


def _in(path: str, names: str) -> bool:
    group = path.partition(".")[0] if "." in path else ""
    return group in names.split() if names else not group


def _titled(now: Sitting, names: str, title: str) -> str:
    """A heading, with the run's or the mix's name where there is but one."""
    parts = [name for _, _, name in parts_of(now.asked.plan, names)] if names in ("readings", "mixes") else []
    return f"{title}, {parts[0].removesuffix(': ')}" if len(parts) == 1 else title


@lru_cache(maxsize=1)
def _figures() -> Mapping[str, str]:
    from planner.archive.compare.figures import figures

    return {name: one.of for name, one in figures().items()}


def _of(row: Difference) -> str:
    return _figures()[row.figure]


def _key(row: Difference) -> tuple[str, str, str]:
    return row.figure, row.about if row.about else "", row.run


def _places(now: Sitting) -> dict[str, tuple[str, str, str]]:
    """Each question's compared figure, as a comparison calls it."""
    plan, found = now.asked.plan, dict[str, tuple[str, str, str]]()
    for group in ("readings", "mixes", "sides", "water", "flush", "pump"):
        for path, part, name in parts_of(plan, group):
            about, run = "", ""
            if group == "readings":
                about = run = part["name"]
            elif group == "mixes":
                about, run = name.removesuffix(": "), part["run"]
            elif group == "sides":
                about, run = part["surface"], part["run"]
            elif group == "pump":
                about = plan.get("yard_pump") or ""
            for row in rows_of(group):
                if figures := row.compared.split():
                    dry = row.kind == "amount" and part.get("stock_kg") is not None
                    found[f"{path}.{row.key}"] = (figures[-1 if dry else 0], about, run)
    return found


def _row(now: Sitting, question: Question | None, row: Difference | None) -> Row:
    columns = figure_row(row, now.asked.system, now.asked.percent) if row is not None else ("",) * 7
    about, figure, planned, done, off, band, _ = columns
    found = Row(
        label=f"{about}: {figure}" if about else figure, planned=planned or band, done=done, off=off,
        side=_SIGNS.get(row.sign or "", "") if row is not None else "",
        band=_band(row, planned, done, band) if row is not None else Markup(""),
        cause=row.cause if row is not None else None,
    )  # fmt: skip
    if question is None:
        return replace(found, label=f"{found.label[:1].upper()}{found.label[1:]}")
    path = question.path
    faults, doubts = now.reading.faults.get(path, ()), now.reading.doubts_at(path)
    told = [(one.message, one.remedy) for one in faults] or [(one.message, one.remedy) for one in doubts]
    found = replace(
        found, path=path, label=_label(now, question), planned=question.planned, unit=question.unit.replace("{}", "…"),
        more=question.more or explained(path), text=now.texts.get(path, ""), long=path in _LONG,
        options=_options(path, now.texts.get(path, "")),
        level="fault" if faults else "caution" if doubts else "",
        said=f"{sentence('; '.join(one for one, _ in told))} {sentence(told[0][1])}" if told else "",
        tick=now.token(path) if doubts and not faults else "", ticked=path in now.sure,
    )  # fmt: skip
    return replace(found, off="", side="", band=Markup(""), cause=None) if faults else found


def _options(path: str, text: str) -> tuple[str, ...]:
    """What may be chosen, with what was written otherwise."""
    options = _OPTIONS.get(path, ())
    return (*options, text) if options and text and text not in options else options


def _label(now: Sitting, question: Question) -> str:
    """What a row is called: without its run or mix where the heading has it."""
    group = question.path.partition(".")[0] if "." in question.path else ""
    about = question.about
    if group in ("readings", "mixes") and len(list(parts_of(now.asked.plan, group))) == 1:
        about = about.rpartition(": ")[2]
    elif group == "sides" and len({side["run"] for side in now.asked.plan["work"]}) == 1:
        name, _, asked = about.rpartition(": ")
        about = f"{name.rpartition(', ')[0]}, {asked}"
    return about if about[1:2].isupper() else f"{about[:1].upper()}{about[1:]}"


def verdict(now: Sitting, found: Table) -> tuple[str, str, str]:
    """A mark's level, what there is of it in words, and what is still to come."""
    rest = f"{found.blank} not typed in yet." if found.blank else "All of them are typed in."
    slips = len(now.reading.faults)
    if slips or now.reading.general:
        return "fault", f"{slips} {'entry' if slips == 1 else 'entries'} cannot be read.", rest
    doubts = len(now.open_doubts())
    if doubts:
        return "fault", f"{doubts} {'figure is' if doubts == 1 else 'figures are'} to be looked at again.", rest
    if found.outside:
        figures = "figure" if found.judged == 1 else "figures"
        return "caution", f"{found.outside} of {found.judged} {figures} outside the band.", rest
    if found.judged:
        return "ok", f"All {found.judged} figures are as planned." if found.judged > 1 else "As planned.", rest
    return "fault", "Nothing to compare yet.", rest


# ------------------------------------------------------------ band


def _band(row: Difference, planned: str, done: str, band: str) -> Markup:
    """The band that counts as planned, a tick at what was planned, and where it came to: a circle inside, a square
    outside."""
    if row.sign is None:
        return Markup("")
    ends = [one for one in (row.low, row.high, row.planned, row.done) if one is not None]
    least, most = min(ends), max(ends)
    if row.low is None and row.high is not None:
        least = min(0.0, least)
    apart = (most - least) or 1.0

    def at(value: float) -> float:
        return _PAD + (value - least) / apart * (_WIDE - 2 * _PAD) if most > least else _WIDE / 2.0

    left = at(row.low) if row.low is not None else _PAD
    right = at(row.high) if row.high is not None else _WIDE - _PAD
    left, right = (left - 4.0, right + 4.0) if right - left < 8.0 else (left, right)
    x = at(row.done)
    mark = (
        f'<rect x="{x - 4:.1f}" y="7" width="8" height="8" fill="currentColor"/>'
        if row.outside
        else f'<circle class="paper" cx="{x:.1f}" cy="11" r="4.2" stroke="currentColor" stroke-width="2"/>'
    )
    tick = (
        f'<path d="M{at(row.planned):.1f} 3v16" stroke="currentColor" stroke-width="2"/>'
        if row.planned is not None
        else ""
    )
    side = {"low": "below it", "high": "above it"}.get(row.sign, "within it")
    told = f"As planned is {band}{f', planned {planned}' if row.planned is not None else ''}; {done} is {side}."
    return Markup(
        f'<svg class="band" viewBox="0 0 {_WIDE:g} 22" role="img"><title>{escape(told)}</title>'
        f'<path d="M2 11h{_WIDE - 4:g}" stroke="currentColor" stroke-opacity="0.35"/>'
        f'<rect class="{"paper" if row.outside else "grey"}" x="{left:.1f}" y="5.5" width="{right - left:.1f}" '
        f'height="11" stroke="currentColor" stroke-opacity="0.6"/>{tick}{mark}</svg>'
    )
