"""Every public function of the equations says where it comes from and in which units it speaks."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import planner

ROOT = Path(planner.__file__).parent
UNIT = re.compile(r"\[[^\]]+\]|\b(Pa|m3/s)\b")
SOURCE = re.compile(
    r"[Ss]ources?\b|\([^)]*(19|20)\d\d\)|[=~]|NFPA|IAPWS|ISO|definition|[Ll]aws?\b|Darcy|Torricelli|from memory|"
    r"common practice|[Bb]alance|[Rr]oot"
)
BOOKKEEPING = {"parts"}
"""Modules that only add up what other modules compute."""


def _is_number(annotation: ast.expr | None) -> bool:
    return annotation is not None and "float" in ast.unparse(annotation)


def _functions() -> Iterator[tuple[str, str, ast.FunctionDef, str]]:
    """Package, module, function, and the words of the class and module around it."""
    for package in ("physics", "chemistry"):
        for path in sorted((ROOT / package).glob("*.py")):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            around = ast.get_docstring(tree) or ""
            for node in tree.body:
                if isinstance(node, ast.FunctionDef):
                    yield package, path.stem, node, around
                elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                    words = f"{around}\n{ast.get_docstring(node) or ''}"
                    for member in node.body:
                        if isinstance(member, ast.FunctionDef):
                            yield package, path.stem, member, words


PUBLIC = [
    (f"{package}.{module}.{node.name}", module, node, around)
    for package, module, node, around in _functions()
    if not node.name.startswith("_")
]


def test_there_are_functions_to_read() -> None:
    assert len(PUBLIC) > 40


def test_every_public_function_has_words() -> None:
    assert not [name for name, _, node, _ in PUBLIC if not ast.get_docstring(node)]


def test_a_public_function_names_its_source_or_equation() -> None:
    found = []
    for name, module, node, around in PUBLIC:
        words = f"{ast.get_docstring(node)}\n{around}"
        if module not in BOOKKEEPING and not SOURCE.search(words):
            found.append(name)
    assert not found


def test_a_public_function_of_numbers_names_their_units() -> None:
    found = []
    for name, module, node, around in PUBLIC:
        numbers = [a.annotation for a in (*node.args.args, *node.args.kwonlyargs)] + [node.returns]
        if any(_is_number(annotation) for annotation in numbers) and module != "interpolation":
            words = ast.get_docstring(node) or ""
            is_property = any(ast.unparse(decorator) == "property" for decorator in node.decorator_list)
            if not UNIT.search(f"{words}\n{around}" if is_property else words):
                found.append(name)
    assert not found
