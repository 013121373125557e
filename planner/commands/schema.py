"""`planner schema`: the JSON Schema of a file, for editors."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from planner.exits import FAULTY, OK
from planner.faults import Fault, Where, printed
from planner.inputs.schema import FILES, file_name, schema_text
from planner.writing import write_whole


def run(args: argparse.Namespace) -> int:
    """Print one schema, or write all of them into a folder."""
    if args.all is None:
        sys.stdout.write(schema_text(args.name))
        return OK
    folder = Path(args.all)
    try:
        for path in write_all(folder):
            print(path)
    except OSError as error:
        fault = Fault(
            code="schema.unwritable",
            message=f"the schemas could not be written: {error.strerror or error}",
            remedy="name a folder you may write to, such as `.schema` in the workspace",
            where=Where(file=str(folder)),
        )
        print(printed([fault]), file=sys.stderr)
        return FAULTY
    return OK


def write_all(folder: Path) -> list[Path]:
    """Write every schema into its place, each of them whole. Raises OSError."""
    written = {folder / file_name(name): schema_text(name).encode("utf-8") for name in FILES}
    for path, text in written.items():
        write_whole(path, text)
    return list(written)
