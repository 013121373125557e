"""What the workspace has today, and what learned.yaml says in it, for `planner compare` to learn beside."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Final

from planner.archive.compare.comparison import Comparison, compared
from planner.archive.compare.figures import learning
from planner.archive.compare.kept import keep_corrections
from planner.archive.compare.learn import (
    Before,
    Correction,
    Known,
    learned_text,
    place_of,
    remembered_in,
    with_remembered,
)  # fmt: skip
from planner.archive.compare.pairs import Unread, pairs, recorded
from planner.archive.compare.trends import Forecast, forecasts
from planner.archive.kept.opening import Opened
from planner.days.booked import needs_of
from planner.faults import Fault, Where
from planner.inputs.joining.learned import NAME as LEARNED
from planner.inputs.joining.learned import OWN_REACH, own_paces
from planner.inputs.models import Company
from planner.inputs.reading.files import file_fault, shown
from planner.inputs.shelf import Desk
from planner.office import compare_words as words
from planner.packet.compared import ComparedPage, compared_pdf
from planner.packet.drawings.charts import Falls
from planner.packet.pages.pages import Paper
from planner.units import System
from planner.writing import write_whole


def known(desk: Desk) -> Known:
    """What the workspace has today, for the learning to keep to."""
    rigs = [desk.rig_named(name) for name in desk.rig_files()]
    sound = [rig.value for rig in rigs if rig is not None and rig.value is not None]
    own = desk.surfaces.value.surfaces if desk.surfaces.value is not None else ()
    lots = desk.stock.value.lots if desk.stock.value is not None else ()
    return Known(
        pumps={(rig.rig, pump.name) for rig in sound for pump in rig.pumps},
        kinds=desk.kinds(),
        lots={lot.name for lot in lots},
        own_covers={row.kind for row in own if row.cover is not None},
        own_paces=own_paces(desk.surfaces.value),
        tips={(rig.rig, tip.name) for rig in sound for tip in rig.tips},
        own_reach=desk.company.value is not None and OWN_REACH in desk.company.value.limits,
        before=_before(desk),
    )


def _before(desk: Desk) -> dict[tuple[str, ...], Before]:
    """What learned.yaml has before this call, by its place there; nothing of a file that cannot be read."""
    now = desk.learned.value
    if now is None:
        return {}
    raw = desk.learned.raw or {}
    return {
        **{
            place_of("pumps", rig, pump): Before(value=one.condition)
            for rig, pumps in now.pumps.items()
            for pump, one in pumps.items()
        },
        **{
            place_of("jets", rig, tip): Before(value=one.low)
            for rig, tips in now.jets.items()
            for tip, one in tips.items()
        },
        **{place_of("surfaces", kind): Before(value=one.cover) for kind, one in now.surfaces.items()},
        **{place_of("paces", kind): Before(value=one.minutes) for kind, one in now.paces.items()},
        **{
            place_of("lots", lot): Before(text=str(raw["lots"][lot]["strength"]), on=one.on)
            for lot, one in now.lots.items()
        },
        **{
            place_of("taps", name): Before(value=one.flow, text=str(raw["taps"][name]["flow"]))
            for name, one in now.taps.items()
        },
    }


def learned_file(desk: Desk, learned: Sequence[Correction]) -> str:
    """The text of learned.yaml with what was learned, and what it had that is only remembered."""
    told = {(one.kind, one.about[-1]) for one in learned}
    return with_remembered(learned_text(learned), remembered_in(desk.learned.value), told)


def apply_learned(archive: Opened, folder: Path, desk: Desk, learned: Sequence[Correction]) -> Fault | None:
    """Keep what was learned and write its file; the fault that kept it from being written. Raises ArchiveRefused."""
    keep_corrections(archive, learned)
    target = folder / LEARNED
    try:
        write_whole(target, learned_file(desk, learned).encode("utf-8"))
    except OSError as error:
        reason = error.strerror or str(error)
        return file_fault(
            "learned.unwritable", target, f"what was learned could not be written: {reason}",
            "make the workspace writable, and call this again",
        )  # fmt: skip
    return None


# ------------------------------------------------------------ compare faults
# What in the archive could not be compared, as faults: named one by one, while all the rest is told.


_SAID: Final = {
    "plan": "the archived plan of its record is not one this program wrote: this job is left out",
    "record": "its archived record is not one this program wrote: this job is left out",
}
_REMEDIES: Final = {
    "plan": "print the job's packet again and then record the job again, or import a good export into a new workspace",
    "record": "record the job again with `planner record`, or import a good export into a new workspace",
}


def unread_faults(archive: Opened, found: Comparison, corrections: Iterable[str] = ()) -> list[Fault]:
    """A fault for each job nothing could be said of, and for each of the `corrections` that cannot be read."""
    rows = [unread_fault(archive, one) for one in found.unread]
    return rows + [
        Fault(
            code="compare.correction",
            message="this archived correction is not one this program wrote: it is left out",
            remedy="go on as before, it is history only; or import a good export into a new workspace",
            where=Where(file=named(archive), path=about, lines=False),
        )
        for about in corrections
    ]


def nothing_kept(archive: Opened) -> Fault:
    """The fault where no record is kept of what was asked for."""
    return Fault(
        code="compare.nothing",
        message="there is no record of what you asked for",
        remedy="record a job with `planner record`, or name another job, day or --since",
        where=Where(file=named(archive), lines=False),
    )


def named(archive: Opened) -> str:
    """An archive as faults call it: its file, or its address without the password."""
    return shown(archive.path) if archive.path is not None else archive.where


def unread_fault(archive: Opened, one: Unread) -> Fault:
    """The fault of a job whose archived plan or record cannot be read."""
    return Fault(
        code=f"compare.{one.what}",
        message=_SAID[one.what],
        remedy=_REMEDIES[one.what],
        where=Where(file=named(archive), path=one.job, lines=False),
    )


def ahead_of(archive: Opened, folder: Path, found: Comparison) -> tuple[list[Forecast], list[Fault]]:
    """Booked runs against the pumps that records tell of; and what is faulty in their days. Raises ArchiveRefused."""
    least = learning("pump", "least")
    told = [one for one in found.trends if one.subject == "pump" and one.what == "condition" and one.count >= least]
    after = max((day.date for day in found.days if day.date is not None), default=None)
    if after is None or not told:
        return [], []
    pumps = {(one.name[0], one.name[1]) for one in told}
    needs, faults = needs_of(folder, after, recorded(archive), pumps)
    return forecasts(told, needs), faults


def pumps_told(archive: Opened, folder: Path) -> list[str]:
    """What all records say of pumps that fall and of the booked jobs they fail. Raises ArchiveRefused."""
    found = compared(pairs(archive))
    ahead, _ = ahead_of(archive, folder, found)
    return words.lead_lines(found, [one for one in ahead if one.short or one.falls is not None])


# ------------------------------------------------------------ compare paper
# A comparison on paper: the figures in words, what matters first.


_LONGEST = 300
"""Characters of what was written as cost; more is a list of its own."""


def _falls(found: Comparison, ahead: Sequence[Forecast]) -> Iterator[Falls]:
    """The pumps that fall, each with the booked jobs that it fails."""
    for one in found.trends:
        if one.below and one.first is not None and one.last is not None and one.per_year is not None:
            needs = [row.need for row in ahead if (row.need.rig, row.need.pump) == one.name and row.short]
            yield Falls(
                name=f"{one.name[1]} of {one.name[0]}", first=one.first, last=one.last, now=one.now,
                per_year=one.per_year, below=tuple((mark.share, mark.date) for mark in one.below),
                needs=tuple((need.date, need.share) for need in needs[:2]),
            )  # fmt: skip


def page_of(
    found: Comparison, ahead: Sequence[Forecast], learned: Sequence[Correction], company: Company, *,
    system: System, paper: Paper, applied: bool = False,
) -> bytes:  # fmt: skip
    """The page as a PDF, two where one has no room. Raises TemplateRefused."""
    one = found.count == 1
    latest = list(reversed(found.jobs))
    head: tuple[str, ...] = words.FIGURE_HEAD
    if one:
        figures = [words.figure_row(row, system, company.percent) for row in found.jobs[0].found]
    else:
        head, figures = ("job", *head), words.outside_rows(latest, system, company.percent)
    dates = [day.date for day in found.days if day.date is not None]
    days = f"{dates[0].isoformat()} to {dates[-1].isoformat()}" if len(dates) > 1 else "".join(map(str, dates))
    costs = words.written_costs(found.days)
    causes = words.cause_lines(found.jobs[0]) if one else words.season_causes(found.jobs)
    return compared_pdf(
        ComparedPage(
            company=company.name,
            line=f"{found.jobs[0].job}  {found.jobs[0].title}" if one else f"{found.count:,} jobs",
            period=days or "no date",
            jobs="1 job" if one else f"{found.count:,} jobs",
            one=one,
            judged=sum(day.figures for day in found.days),
            outside=sum(day.outside for day in found.days),
            planless=found.planless,
            callbacks=sum(day.callbacks for day in found.days),
            date=dates[-1] if dates else None,
            head=head,
            figures=tuple(figures),
            season_head=words.SEASON_HEAD,
            season=tuple(words.season_row(row) for row in found.season),
            trend_head=words.TREND_HEAD,
            trends=tuple(words.trend_row(row) for row in words.told_trends(found)),
            tally_head=words.TALLY_HEAD,
            tallies=tuple(words.tally_row(row) for row in words.told_tallies(found)),
            causes=tuple(causes),
            forecasts=tuple(words.lead_lines(found, ahead)),
            falls=tuple(_falls(found, ahead)),
            learned=tuple(words.correction_line(row) for row in learned),
            applied=applied,
            costs=costs if len(costs) <= _LONGEST else f"{costs[:_LONGEST].rstrip()} ...",
        ),
        paper,
    )
