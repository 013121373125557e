"""The answers as YAML: what fits on one line stands on one, what might be taken for a mark is quoted."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

WIDEST: Final = 112

_SAFE: Final = re.compile(r"(?:-(?=[0-9]))?[^\W_](?:[\w ./%'()+;°²³-]*[\w./%'()+;°²³])?")
_MEANT_OTHERWISE: Final = re.compile(r"(y|n|yes|no|on|off|true|false|null|nan|inf)", re.I)

_COMMENTS: Final = {
    "like": "what is not written here is taken from it",
    "building": "the highest point the mix must reach",
    "uphill": "the ground at the tip lies this far above the ground at the rig",
    "standoff": "from the tip to the wall",
    "past_eave": "from the wall line to where the mix must land",
    "tap": "a bucket under the open tap",
    "access": "`power_line` is the closest any wall, ladder, wand or jet comes to one",
    "tub": "how much bath is made; the tub itself holds more",
    "throw": "paced out before, to hold against the throw after",
    "heels": "what is left in a tank tonight; a mix tank without a line here is dry",
}

JOB: Final = "# Written question by question. Everything left out has a default, and the packet says which."
DAY: Final = "# A day: one rig, one crew, the jobs in this folder in the order of their leading numbers."


def file_text(raw: Mapping[str, Any], head: str, schema: str | None) -> str:
    """A whole file; `schema` is its schema's path from the file."""
    lines = [head, *([f"# yaml-language-server: $schema={schema}"] if schema else [])]
    for name, value in raw.items():
        lines += _key(name, value)
    return "\n".join(lines) + "\n"


def schema_path(workspace: Path, folder: Path, name: str) -> str | None:
    """A schema's path as a file in `folder` names it, None where the workspace has none."""
    schema = workspace / ".schema" / f"{name}.json"
    return Path(os.path.relpath(schema, folder)).as_posix() if schema.is_file() else None


def _key(name: str, value: Any) -> list[str]:
    if isinstance(value, list) and any(isinstance(item, Mapping) for item in value):
        return [f"{name}:", *(line for item in value for line in _item(item))]
    one = f"{name}: {_flow(value)}"
    if isinstance(value, Mapping) and value and len(one) > WIDEST:
        return [f"{name}:", *(f"  {_text(key)}: {_flow(inner)}" for key, inner in value.items())]
    note = _COMMENTS.get(name)
    if note is None or (name == "access" and "power_line" not in value):
        return [one]
    return [f"{one:<34} # {note}"]


def _item(value: Any) -> list[str]:
    one = f"  - {_flow(value)}"
    if isinstance(value, Mapping) and len(one) > WIDEST:
        lines = [f"    {_text(key)}: {_flow(inner)}" for key, inner in value.items()]
        return [f"  - {lines[0].strip()}", *lines[1:]]
    return [one]


def _flow(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_text(name)}: {_flow(inner)}" for name, inner in value.items()) + "}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return _text(str(value))


def _text(text: str) -> str:
    # Our own reader takes every scalar as text; an editor would see a truth or nothing in some words.
    safe = _SAFE.fullmatch(text) and not (_MEANT_OTHERWISE.fullmatch(text) and text not in ("true", "false"))
    return text if safe else json.dumps(text, ensure_ascii=False)
