"""The command line. Nothing heavy is imported before it is needed, so that `--help` answers at once."""

from __future__ import annotations

import argparse
import gc
import io
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import NoReturn

from planner import __version__
from planner.exits import OK, OURS, apologise
from planner.terminal import guarded

_EXIT_CODES = (
    "exit codes: 0 no stop; 1 at least one stop; 2 mistakes in your files or on the command line; 3 a bug in planner"
)

_JOBS = "a job file, a day's folder, or a folder of days"

SCHEMAS = ("company", "rig", "stock", "surfaces", "day", "job", "yard", "record", "learned")
"""The files that have a schema; named here so that `--help` need not read the models."""


STATES = ("written", "faulty", "checked", "held", "printed", "done", "part", "cancelled", "moved")
"""Where a job can stand; named here for the same reason."""


class _Parser(argparse.ArgumentParser):
    """Without the colors that later versions of Python write: they are escapes, and of those we print none."""

    color = property(lambda self: False, lambda self, wanted: None)


def parser() -> argparse.ArgumentParser:
    """The whole command line as argparse knows it."""
    top = _Parser(
        prog="planner",
        description="Settle tomorrow's washing jobs tonight: check the numbers, print the crew's packet.",
        epilog=_EXIT_CODES,
    )
    top.add_argument("--version", action="version", version=f"planner {__version__}")
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")

    start = commands.add_parser("start", help="start a workspace from the demo, and say what to edit first")
    start.add_argument("folder", type=_path, metavar="DIR", help="a new folder, or an empty one")
    start.add_argument("--bare", action="store_true", help="without the demo's days, rig and stock")

    new = commands.add_parser(
        "new", help="ask for a job or a rig question by question, write it, and check it", epilog=_EXIT_CODES
    )
    new.add_argument(
        "file",
        type=_path,
        metavar="FILE",
        help="the file to make, such as 2026-06-11/10-alder, or its day's folder; rigs/heron for a rig",
    )
    _units(new)

    check = commands.add_parser(
        "check", help="findings and key numbers of jobs, days or a season of folders", epilog=_EXIT_CODES
    )
    check.add_argument("paths", nargs="+", type=_path, metavar="PATH", help=_JOBS)
    check.add_argument("--json", action="store_true", help="SI numbers as JSON instead of a table")
    check.add_argument("--all", action="store_true", help="also list what is ok and what does not apply")
    jet = check.add_mutually_exclusive_group()
    jet.add_argument("--jet", metavar="HEIGHT", help="how high a run's jet was measured up the wall: '36 ft'")
    jet.add_argument("--throw", metavar="HEIGHT", help="the same: what --jet was called before")
    check.add_argument("--bucket", metavar="TEST", help="a bucket filled at its tip: '5 gal in 38 s'")
    check.add_argument("--gauge", metavar="PRESSURE", help="its pump's gauge with the gun closed: '62 psi'")
    check.add_argument("--run", metavar="NAME", help="the hose run it was measured on, where there are several")
    check.add_argument("--tip", metavar="NAME", help="the tip that was on, if it was not the run's own")
    _units(check)

    packet = commands.add_parser("packet", help="print the crew's packets as PDF", epilog=_EXIT_CODES)
    packet.add_argument("paths", nargs="+", type=_path, metavar="PATH", help=_JOBS)
    packet.add_argument(
        "-o", "--output", type=_path, metavar="DIR", help="folder the packets go into, such as packets; never left out"
    )
    packet.add_argument(
        "--owner", action="store_true", help="also each job's file for the owner: summary, worksheet, every check"
    )
    packet.add_argument("--notice", action="store_true", help="also a notice for each customer, for the evening before")
    packet.add_argument(
        "--rig-card", action="store_true", help="also a card of each rig's standing rules, one page to laminate"
    )
    packet.add_argument("--html", action="store_true", help="also each packet as HTML, for screen readers")
    packet.add_argument("--paper", choices=("letter", "a4"), help="instead of the company's own")
    _units(packet)

    record = commands.add_parser("record", help="record what was done: from a filled-in packet, YAML, or questions")
    record.add_argument("job", metavar="JOB", help="the job's file")
    record.add_argument(
        "--from",
        dest="source",
        type=_path,
        metavar="F",
        help="the filled packet, or a YAML record; left out: asked one by one",
    )
    record.add_argument(
        "--add",
        nargs="*",
        metavar="KEY=TEXT",
        help="add to what is recorded and leave the rest: callbacks='streaks by the door' spent=312.50. With --from: a "
        "packet or record. Alone: asks for what is still missing",
    )
    record.add_argument(
        "--withdraw", nargs=2, metavar=("REV", "REASON"), help="take one revision out of the count, and say why"
    )
    _units(record)

    compare = commands.add_parser("compare", help="planned against done: differences, causes, trends, what to learn")
    compare.add_argument(
        "path",
        nargs="?",
        default=".",
        type=_path,
        metavar="PATH",
        help="a workspace, a day or a job; left out: where you are",
    )
    compare.add_argument("--since", metavar="DATE", help="only what was done from this day on: 2026-04-01")
    compare.add_argument("--apply", action="store_true", help="write what was learned into learned.yaml")
    compare.add_argument("--json", action="store_true", help="SI numbers as JSON instead of tables")
    compare.add_argument("-o", "--output", type=_path, metavar="DIR", help="also one page as PDF, DIR/compared.pdf")
    compare.add_argument("--paper", choices=("letter", "a4"), help="instead of the company's own")
    _units(compare)

    listing = commands.add_parser(
        "list", help="every job in a row: where it stands, what was never recorded, what is due", epilog=_EXIT_CODES
    )
    listing.add_argument(
        "path",
        nargs="?",
        default=".",
        type=_path,
        metavar="PATH",
        help="a workspace, a day or a job; left out: where you are",
    )
    listing.add_argument("--since", metavar="DATE", help="only from this day on: 2026-04-01")
    listing.add_argument("--until", metavar="DATE", help="only up to this day")
    listing.add_argument("--status", choices=STATES, metavar="STATE", help=f"only jobs that are {', '.join(STATES)}")
    listing.add_argument("--customer", metavar="TEXT", help="only where customer, address or title has this in it")
    shows = listing.add_mutually_exclusive_group()
    shows.add_argument("--due", action="store_true", help="what each rig's `service` asks for, most pressing first")
    shows.add_argument("--months", action="store_true", help="sums by month, crew and surface")
    shows.add_argument("--winter", action="store_true", help="what to drain before the frost, part by part")
    listing.add_argument("--json", action="store_true", help="SI numbers as JSON instead of tables")
    listing.add_argument("--csv", type=_path, metavar="FILE", help="also the rows as a spreadsheet")
    _units(listing)

    desk = commands.add_parser(
        "desk", help="the workspace as a page in your browser, on this machine only", epilog=_EXIT_CODES
    )
    desk.add_argument(
        "folder", nargs="?", default=".", type=_path, metavar="DIR", help="a workspace; left out: the one you are in"
    )
    desk.add_argument("--port", type=int, default=0, metavar="N", help="instead of any that is free")
    desk.add_argument("--no-open", dest="open", action="store_false", help="print the address and open no browser")

    dates = commands.add_parser("calendar", help="booked jobs as a calendar file", epilog=_EXIT_CODES)
    dates.add_argument("paths", nargs="+", type=_path, metavar="PATH", help=_JOBS)
    dates.add_argument("-o", "--output", required=True, type=_path, metavar="FILE", help="the file: day.ics")

    archive = commands.add_parser("archive", help="export, import or back up everything on file")
    actions = archive.add_subparsers(dest="action", required=True, metavar="ACTION")
    for action, target, about in (
        ("export", "DIR", "all of it as CSV and JSON into a new folder; with --office one row a job into a .csv"),
        ("import", "DIR", "take in what an export holds and the archive does not"),
        ("copy", "FILE", "a copy in one file, made while others use it"),
        ("branch", "NAME", "what was kept before company.yaml had `branch: NAME` is that branch's from now on"),
    ):
        one = actions.add_parser(action, help=about)
        one.add_argument("target", type=_path, metavar=target)
        if action == "export":
            one.add_argument("--office", action="store_true", help="one spreadsheet for the office, a row a job")
        one.add_argument(
            "--workspace", default=".", type=_path, metavar="DIR", help="a workspace; left out: the one you are in"
        )

    explain = commands.add_parser("explain", help="a finding or a topic; alone: the list of them")
    explain.add_argument(
        "code",
        nargs="?",
        metavar="CODE",
        help="for instance reach.short, gear, sources; left out: list them all",
    )
    _units(explain)

    schema = commands.add_parser("schema", help="the JSON Schema of a file, for editors")
    which = schema.add_mutually_exclusive_group(required=True)
    which.add_argument("name", nargs="?", choices=SCHEMAS, metavar="NAME", help=", ".join(SCHEMAS))
    which.add_argument("--all", type=_path, metavar="DIR", help="write all of them into a folder, NAME.json each")
    return top


def _path(text: str) -> str:
    """A path as it was written; an empty one would be taken for the folder we stand in."""
    if not text.strip():
        raise argparse.ArgumentTypeError("this names no file or folder; write its name")
    return text


def _units(command: argparse.ArgumentParser) -> None:
    command.add_argument("--units", choices=("us", "si"), help="instead of the company's own")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and give its exit code. Never raises but for SystemExit from usage and `--help`."""
    for stream in (sys.stdout, sys.stderr):
        # A pipe of another encoding gets a substitute for what it can't hold, never a traceback.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    with guarded():
        return _run(argv)


TONIGHT = """\
Wash day planner: settle tomorrow's jobs tonight.

  In your browser:   planner desk mine           forms in place of files
  First time?        planner start mine          a demo to make your own
                     planner new rigs/NAME       your rig, off its plates
  A job to add?      planner new 2026-06-11      one question at a time
  Tomorrow's day:    planner check 2026-06-11    will it work, is it safe
                     planner packet 2026-06-11 -o packets
  Today's, done?     planner record JOB --from packet.pdf
                     planner list                what is not recorded yet
  Once in a while:   planner compare             what went differently, and why

planner explain lists topics and findings; planner COMMAND --help, options.
"""
"""What one can do tonight, for whoever types the program's name alone."""


def _run(argv: Sequence[str] | None) -> int:
    if not (sys.argv[1:] if argv is None else argv):
        print(TONIGHT, end="")
        return OK
    args = parser().parse_args(argv)
    try:
        module = import_module(f"planner.commands.{args.command}")
        if not gc.isenabled():
            gc.freeze()
            gc.enable()
        return int(module.run(args))
    except BrokenPipeError:
        # Whoever read our output has seen enough; a second error at exit would only confuse.
        sys.stderr.close()
        return OK
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return 130
    except Exception:
        apologise()
        return OURS


def entry() -> NoReturn:
    """The console script."""
    gc.disable()  # what is loaded stays: `main` never looks for garbage in it
    sys.exit(main())
