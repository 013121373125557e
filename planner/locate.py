"""Where the planner's own files are: inside the installed package, else in the checkout it runs from."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def data_file(name: str) -> Path:
    """A file of planner/data, such as `surfaces.yaml`."""
    return _PACKAGE / "data" / name


def topic_file(name: str) -> Path:
    """A page of planner/topics, such as `gear`."""
    return _PACKAGE / "topics" / f"{name}.md"


def _outside(name: str) -> Path:
    installed = _PACKAGE / f"_{name}"
    return installed if installed.is_dir() else _PACKAGE.parent / name


def templates() -> Path:
    """The folder of the packet's wording."""
    return _outside("templates")


def jobs() -> Path:
    """The demo workspace."""
    return _outside("jobs")
