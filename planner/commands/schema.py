"""`planner schema`: the JSON Schema of a file, for editors."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from planner.exits import FAULTY, OK
from planner.faults import Fault, Where, printed
from planner.inputs.schema import FILES, file_name, schema_text


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
    """Write every schema beside its place and rename them there once all are whole. Raises OSError."""
    folder.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory(dir=folder, prefix=".planner-schema-") as stage:
        for name in FILES:
            (Path(stage) / file_name(name)).write_text(schema_text(name), encoding="utf-8", newline="\n")
        return [(Path(stage) / file_name(name)).replace(folder / file_name(name)) for name in FILES]
