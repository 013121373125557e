"""`planner new`: a job or a rig asked for question by question, written, and checked as `planner check` would."""

from __future__ import annotations

import argparse
import sys
import textwrap
from collections.abc import Mapping
from pathlib import Path

from planner.exits import FAULTY, OK
from planner.faults import Fault, printed
from planner.inputs.reading.files import shown
from planner.inputs.shelf import Desk
from planner.interview.answers import Here, command, here_of, yes
from planner.interview.asking import BACK, HELP, STOP, Asking, Ended, Question, Walk, ready, typed
from planner.interview.draft import answers_in, draft_of, draft_text, keep, places, put, put_aside
from planner.interview.questions import nothing_to_go_by, whole
from planner.interview.text import Written


def run(args: argparse.Namespace) -> int:
    """Ask for one job, or one rig, and write it."""
    here = here_of(args.file, args.units)
    if isinstance(here, list):
        return _faulty(here)
    if faults := nothing_to_go_by(here):
        return _faulty(faults)
    ready()
    kept = _Kept(here)
    asking = Asking(keep=kept.keep)
    try:
        _open(here, asking)
        made = asking.through(lambda: _walk(here))
    except Ended as ended:
        if ended.how != "input" or typed():
            return kept.told(asking, OK)
        return kept.told(asking, FAULTY if asking.answers else OK)
    if fault := put(here, made):
        _faulty([fault])
        return kept.told(asking, FAULTY)
    kept.drop()
    return _rig_told(here, made) if here.of_rig else _checked(here, made, args)


def _rig_told(here: Here, made: Written) -> int:
    """Say what was written, how a house goes with it, and how to go on."""
    from planner.commands.check import print_job
    from planner.interview.rig.told import told

    code = told(here, made, lambda job: print_job(job, here.system, everything=False))
    if code != FAULTY:
        print(
            f"\nThen a job for it, in a folder named by its date:\n\n  {command('new', shown(here.workspace / 'DATE'))}"
        )
    return code


def _walk(here: Here) -> Walk[Written]:
    if here.of_rig:
        from planner.interview.rig.questions import whole_rig

        return whole_rig(here)
    return whole(here)


def workspace_faults(desk: Desk) -> list[Fault]:
    """What is wrong with what all jobs share, every rig among it."""
    desk.read_rigs()
    return desk.faults


def _open(here: Here, asking: Asking) -> None:
    """Say how it goes, and take up a draft where one lies here."""
    for_day = f" for {here.day.name}," if here.dated else ","
    if here.of_rig:
        print("A rig off its plates and prints: have pump plates, hoses and a tape at hand.")
    how = (
        f"A {here.what}{for_day} asked question by question. A number alone takes the unit in brackets; Enter takes "
        f"the answer shown after it. `{HELP}` explains, `{BACK}` goes to the question before, `{STOP}` keeps the "
        "answers."
    )
    print(textwrap.fill(how, 80))
    if faults := workspace_faults(here.desk):
        count = len(faults)
        print(f"{count} fault{'s' if count > 1 else ''} in the workspace's own files, best fixed first:")
        print(printed(faults))
    draft = draft_of(here)
    if draft is None:
        print()
        return
    answers = answers_in(draft)
    if answers is None:
        aside = _aside(draft)
        print(f"The draft here cannot be read; it is kept as {shown(aside)}.\n")
        return
    many = f"{len(answers)} answer{'s' if len(answers) > 1 else ''}"
    if Asking().through(lambda: _go_on(shown(draft), many)):
        asking.answers = answers
    else:
        print(f"Started over; the old draft is kept as {shown(_aside(draft))}.")
    print()


def _aside(draft: Path) -> Path:
    try:
        return put_aside(draft)
    except OSError:
        return draft


def _go_on(draft: str, count: str) -> Walk[bool]:
    answer = yield Question(key="go on", about=f"{draft} holds {count}. Go on from there", read=yes, blank="yes")
    return answer is not False


class _Kept:
    """The draft of one call: written after each answer, taken away once the job is."""

    def __init__(self, here: Here) -> None:
        self._here = here
        self._paths = [*places(here), Path.cwd() / places(here)[-1].name]
        self._draft: Path | None = None

    def keep(self, answers: Mapping[str, str]) -> None:
        """Keep the answers so far, where something can be written."""
        text = draft_text(answers, command("new", self._here.written), self._here.what)
        for path in [self._draft] if self._draft is not None else self._paths:
            try:
                keep(path, text)
            except OSError:
                continue
            self._draft = path
            return
        self._draft = None

    def drop(self) -> None:
        """All is written: its draft goes."""
        for path in {draft_of(self._here), self._draft} - {None}:
            assert path is not None
            try:
                path.unlink(missing_ok=True)
            except OSError:
                print(f"The draft {shown(path)} could not be taken away; it is no longer needed.")

    def told(self, asking: Asking, code: int) -> int:
        """Say where the answers are and how to go on."""
        if not asking.answers:
            draft = draft_of(self._here)
            left = f"the draft {shown(draft)} stays as it is" if draft is not None else "nothing is kept"
            print(f"Nothing was answered, so {left}.")
            return code
        kept = asking.answers | {key: text for key, text in asking.ahead.items() if key not in asking.answers}
        if self._draft is None:
            self.keep(kept)
        count = f"{len(kept)} answer{'s are' if len(kept) > 1 else ' is'}"
        call = command("new", self._here.written)
        if self._draft is None:
            print("The draft could not be written. These are the answers; keep them:", file=sys.stderr)
            print(draft_text(kept, call, self._here.what), file=sys.stderr)
        else:
            so_far = f"{count} kept in {shown(self._draft)}"
            print(f"No {self._here.what} has been written yet; {so_far}. To go on:\n\n  {call}")
        return code


def _checked(here: Here, made: Written, args: argparse.Namespace) -> int:
    """Say what was written, then what `planner check` says of it."""
    from planner.commands import check

    if made.page is not None:
        print(f"Written: {shown(here.page)}")
    print(f"Written: {shown(made.file)}\n")
    if here.dated and made.page is None:
        stem = made.file.stem
        print(f"day.yaml is there already: add the drive to it by hand, as `drive: {{{stem}: 25 min}}`.\n")
    code = check.run(
        argparse.Namespace(
            paths=[shown(made.file)],
            json=False,
            all=False,
            jet=None,
            throw=None,
            bucket=None,
            gauge=None,
            run=None,
            tip=None,
            units=args.units,
        )
    )
    where = shown(here.day if here.dated else made.file)
    if code == FAULTY:
        print(f"\nFix that, then:\n\n  {command('check', shown(made.file))}")
    elif code == OK:
        print(f"\nTo print it:\n\n  {command('packet', where)} -o packets")
    else:
        print(f"\nIt is held. Edit {shown(made.file)}, and look again:\n\n  {command('check', shown(made.file))}")
    return code


def _faulty(faults: list[Fault]) -> int:
    print(printed(faults), file=sys.stderr)
    return FAULTY
