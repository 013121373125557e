"""`planner desk`: the workspace as a page in the browser, on this machine only; what it writes are the same files."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from planner.exits import FAULTY
from planner.faults import printed
from planner.inputs.reading.files import file_fault, is_there, no_workspace


def run(args: argparse.Namespace) -> int:
    """Serve a workspace until somebody stops it."""
    try:
        from planner.desk.server import serve
    except ModuleNotFoundError as error:
        print(f"The desk needs {error.name}, which is not installed: pip install flask", file=sys.stderr)
        return FAULTY
    path = Path(args.folder)
    inside = (path.resolve(), *path.resolve().parents)
    folder = next((one for one in inside if is_there(one / "company.yaml")), None)
    if folder is None:
        remedy = "name a workspace, such as `jobs`; `planner start DIR` makes one"
        print(printed([no_workspace(path, remedy)]), file=sys.stderr)
        return FAULTY
    if not 0 <= args.port < 1 << 16:
        fault = file_fault(
            "desk.port", path, f"there is no port {args.port}", "leave `--port` out, or write one to 65535"
        )
        print(printed([fault]), file=sys.stderr)
        return FAULTY
    try:
        return serve(folder, args.port, opens=args.open)
    except OSError as error:
        fault = file_fault("desk.port", path, f"the desk cannot listen there: {error.strerror}", "leave `--port` out")
        print(printed([fault]), file=sys.stderr)
        return FAULTY
