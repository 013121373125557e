"""A small workspace of the tests' own, copied and changed the way a user would: YAML text in, result out."""

from __future__ import annotations

import shutil
from pathlib import Path

from planner.faults import Fault
from planner.inputs.joined import JobInput
from planner.inputs.workspace import Loaded, load

WORKSPACE = Path(__file__).parent / "workspace"
RIG, STOCK, DAY = "rigs/heron.yaml", "stock.yaml", "2026-06-09/day.yaml"
BOATHOUSE, ALDER, YARD = "2026-06-09/10-boathouse.yaml", "2026-06-09/20-alder-lane.yaml", "2026-06-09/90-booster.yaml"


class Desk:
    """A copy of the workspace that a test may write in."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / "workspace"
        shutil.copytree(WORKSPACE, self.folder)

    def change(self, file: str, old: str, new: str) -> Desk:
        """Replace text that must be there, once."""
        path = self.folder / file
        text = path.read_text(encoding="utf-8")
        assert text.count(old) == 1, (old, text.count(old))
        path.write_text(text.replace(old, new), encoding="utf-8")
        return self

    def write(self, file: str, text: str) -> Desk:
        """Write a file whole."""
        path = self.folder / file
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return self

    def load(self, *files: str) -> Loaded:
        """Read some paths of it."""
        return load([self.folder / file for file in files])

    def job(self, file: str) -> JobInput:
        """One job that must be sound."""
        loaded = self.load(file)
        assert not loaded.faults, [str(fault.where) + fault.message for fault in loaded.faults]
        return loaded.jobs[0]

    def faults(self, *files: str) -> list[tuple[str, int, str]]:
        """File, line and code of every fault, in order."""
        return [self.brief(fault) for fault in self.load(*files).faults]

    def brief(self, fault: Fault) -> tuple[str, int, str]:
        """File inside the workspace, line, code."""
        return (str(Path(fault.where.file).relative_to(self.folder)), fault.where.line, fault.code)
