"""Chemistry knows no files, no printing and no other layer, and every public name says its units and its source."""

from __future__ import annotations

import ast
import importlib
import inspect
from pathlib import Path
from types import ModuleType

import pytest

import planner.chemistry

FOLDER = Path(planner.chemistry.__file__).parent
MODULES = sorted(path.stem for path in FOLDER.glob("*.py") if path.stem != "__init__")
ALLOWED = {"__future__", "bisect", "collections", "dataclasses", "itertools", "math", "typing", "fluids"}
OURS = ("planner.chemistry.", "planner.frozen")


def module(name: str) -> ModuleType:
    return importlib.import_module(f"planner.chemistry.{name}")


def public_functions() -> list[tuple[str, str]]:
    return [
        (name, function)
        for name in MODULES
        for function, value in vars(module(name)).items()
        if inspect.isfunction(value) and value.__module__.endswith(f".{name}") and not function.startswith("_")
    ]


@pytest.mark.parametrize("name", MODULES)
def test_chemistry_imports_only_itself_and_plain_python(name: str) -> None:
    for node in ast.walk(ast.parse((FOLDER / f"{name}.py").read_text("utf-8"))):
        names = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
        names += [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        for imported in names:
            assert imported.split(".")[0] in ALLOWED or imported.startswith(OURS), imported


@pytest.mark.parametrize(("name", "function"), public_functions())
def test_every_function_names_its_inputs_with_their_units(name: str, function: str) -> None:
    code = getattr(module(name), function)
    text = inspect.getdoc(code) or ""
    for parameter, about in inspect.signature(code).parameters.items():
        at = text.find(f"`{parameter}`")
        assert at >= 0, f"{function} does not say what {parameter} is"
        if "float" in str(about.annotation) and "Sequence" not in str(about.annotation):
            assert "[" in text[at : at + 80], f"{function} gives no unit for {parameter}"


@pytest.mark.parametrize(("name", "function"), public_functions())
def test_every_function_says_where_it_comes_from(name: str, function: str) -> None:
    assert "Source" in (inspect.getdoc(getattr(module(name), function)) or "")
