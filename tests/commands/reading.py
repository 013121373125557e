"""YAML as an editor reads it (numbers and truth values by YAML 1.2), and as we do (all text)."""

from __future__ import annotations

import re
from typing import Any, ClassVar

import yaml


class _Editor(yaml.SafeLoader):
    """The core schema of YAML 1.2: `07:00`, `yes` and dates are text, `4` is a number, `true` a truth value."""

    yaml_implicit_resolvers: ClassVar[dict[str, Any]] = {}  # type: ignore[misc]


_Editor.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile(r"^(?:true|True|TRUE|false|False|FALSE)$"), None)
_Editor.add_implicit_resolver("tag:yaml.org,2002:int", re.compile(r"^[-+]?[0-9]+$"), None)
_Editor.add_implicit_resolver("tag:yaml.org,2002:float", re.compile(r"^[-+]?(?:\.[0-9]+|[0-9]+\.[0-9]*)$"), None)
_Editor.add_implicit_resolver("tag:yaml.org,2002:null", re.compile(r"^(?:~|null|Null|NULL|)$"), None)


def as_an_editor_reads(text: str) -> Any:
    """What an editor's own reader makes of a file."""
    return yaml.load(text, Loader=_Editor)


def as_we_read(text: str) -> Any:
    """The same with every scalar left as text."""
    return yaml.load(text, Loader=yaml.BaseLoader)
