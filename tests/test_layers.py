"""The layers hold: imports point left only, and a module stays small enough to read."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import planner

ROOT = Path(planner.__file__).parent
MOST_LINES = 550
MOST_MODULES = 14

# frozen, light <- terminal <- faults, units, exits, writing, processes <- inputs | physics | chemistry <- plan <- rehearsal | checks
#   <- remedies <- words <- contract <- packet | archive <- days <- recording <- office <- interview <- desk <- commands <- cli
RANK = {
    name: rank
    for rank, names in enumerate(
        (
            "frozen locate light __init__",
            "terminal",
            "faults units exits writing processes",
            "inputs physics chemistry",
            "plan",
            "rehearsal checks",
            "remedies",
            "words",
            "contract",
            "packet archive",
            "days",
            "recording",
            "office",
            "interview",
            "desk",
            "commands",
            "cli",
            "__main__",
        )
    )
    for name in names.split()
}
BARE = {"physics": {"physics", "frozen", "light"}, "chemistry": {"chemistry", "frozen", "light"}}
"""Equations know no files, no faults and no units library: they import only their own package, fluids
lightly, and how a frozen class is made."""

REHEARSED = {
    "planner.plan.procedure.acts", "planner.plan.model", "planner.plan.mix.model", "planner.plan.water.model",
    "planner.plan.yard.model", "planner.plan.between.model", "planner.inputs.tables.chemicals",
}  # fmt: skip
"""What the rehearsal may know of the plan: frozen figures and the acts, nothing of what made them. And what is written of
each chemical: facts, which it holds against the acts by rules of its own."""

MODULES = sorted(path for path in ROOT.rglob("*.py") if not {"_templates", "_jobs"} & set(path.parts))


def _layer(path: Path) -> str:
    return path.relative_to(ROOT).with_suffix("").parts[0]


@cache
def _imports(path: Path) -> list[ast.Import | ast.ImportFrom]:
    nodes = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
    return [node for node in nodes if isinstance(node, ast.Import | ast.ImportFrom)]


def _imported(path: Path) -> Iterator[tuple[int, str]]:
    """Line and layer of every import from our own package, inside functions and TYPE_CHECKING too."""
    inside = ("planner", *path.relative_to(ROOT).parent.parts)
    for node in _imports(path):
        names = [alias.name for alias in node.names]
        if isinstance(node, ast.ImportFrom):
            parts = [*inside[: len(inside) - node.level + 1]] if node.level else []
            base = ".".join([*parts, *((node.module,) if node.module else ())])
            names = [f"{base}.{name}" for name in names]
        for name in names:
            words = name.split(".")
            if words[0] == "planner" and len(words) > 1:
                yield node.lineno, words[1] if words[1] in RANK else "__init__"


def test_every_layer_has_its_place() -> None:
    found = {_layer(path) for path in MODULES} - set(RANK)
    assert not found, f"{found} have no place among the layers: give them one here and in DEVELOPERS.md"


def test_imports_point_left_only() -> None:
    found = []
    for path in MODULES:
        layer = _layer(path)
        for line, other in _imported(path):
            left = other in BARE[layer] if layer in BARE else other == layer or RANK[other] < RANK[layer]
            if not left:
                found.append(f"{path.relative_to(ROOT)}:{line}: {layer} may not import {other}")
    assert not found, "\n".join(found)


def _modules(path: Path) -> Iterator[tuple[int, str]]:
    """Line and name of every module that is imported, whether whole or a name out of it."""
    for node in _imports(path):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        else:
            base = node.module or ""
            folder = ROOT.parent.joinpath(*base.split("."))
            yield from ((node.lineno, f"{base}.{a.name}" if folder.is_dir() else base) for a in node.names)


@pytest.mark.parametrize("path", [path for path in MODULES if _layer(path) == "rehearsal"], ids=lambda path: path.stem)
def test_the_rehearsal_knows_nothing_of_what_made_the_acts(path: Path) -> None:
    for line, name in _modules(path):
        room = name.split(".")[1] if name.startswith("planner.") else ""
        allowed = name in REHEARSED or room in {"", "rehearsal", "chemistry", "units", "faults", "frozen"}
        assert allowed, f"{path.name}:{line}: the rehearsal may not import {name}"


def test_modules_are_short_enough_to_read() -> None:
    lengths = {str(path.relative_to(ROOT)): path.read_text(encoding="utf-8").count("\n") for path in MODULES}
    long = {path: length for path, length in lengths.items() if length > MOST_LINES}
    assert not long, f"{long} lines: split them by what they are about"


@pytest.mark.parametrize("folder", sorted({path.parent for path in MODULES} - {ROOT}), ids=str)
def test_a_folder_answers_one_question(folder: Path) -> None:
    count = len(list(folder.glob("*.py")))
    assert count <= MOST_MODULES, f"{count} modules: bring together what was only split to stay short"


def test_tests_are_short_enough_to_read() -> None:
    lengths = {path: path.read_text(encoding="utf-8").count("\n") for path in Path(__file__).parent.rglob("*.py")}
    assert not {path.name: lines for path, lines in lengths.items() if lines > 500}
