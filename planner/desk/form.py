"""A file as a form: its keys by parts, each with its value, its place in the text and what is said of it.

The form is a view. It is made from the file's own schema and data/form.yaml, so that every key a file may have can be
written here, and whatever the form cannot show stays in the text.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Final, TypeAlias

from planner.frozen import dataclass
from planner.inputs.reading.tree import Node
from planner.inputs.schema import schema_of
from planner.inputs.tables.chemicals import DRY
from planner.inputs.tables.rows import table
from planner.interview.answers import unit_of
from planner.interview.asking import is_bare, with_unit
from planner.interview.text import flow_text
from planner.units import System

Schema: TypeAlias = Mapping[str, Any]
Options: TypeAlias = Mapping[str, Sequence[tuple[str, str]]]
"""Names that may stand at a key, each with what is told beside it."""

_YES: Final = (("true", "yes"), ("false", "no"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One key to type, choose or pick. `raw`: its text is YAML and goes into the file as it is.

    `taken` is what it is taken as where it is left empty; nothing where that does not fit in a box.
    """

    path: str
    key: str
    label: str
    value: str
    control: str
    hint: str
    example: str
    taken: str = ""
    options: tuple[tuple[str, str], ...] = ()
    chosen: tuple[tuple[str, str, str], ...] = ()
    raw: bool = False
    lines: tuple[int, int] = (0, 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Keys under one: a mapping, or one thing of a list, which may be taken out."""

    path: str
    key: str
    label: str
    items: tuple[Item, ...]
    more: tuple[Item, ...]
    removable: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """Things alike; `blank` holds the keys a new one is asked for."""

    path: str
    key: str
    label: str
    one: str
    items: tuple[Group, ...]
    blank: tuple[Field, ...]


Item: TypeAlias = Field | Group | Listed


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part of the form."""

    part: str
    title: str
    hint: str
    items: tuple[Item, ...]
    more: tuple[Item, ...] = ()


Ends: TypeAlias = Callable[[str], tuple[int, int]]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Maker:
    """What every field of one form needs: the schema, the names there are, where a path's lines are."""

    schema: Schema
    options: Options
    lines: Ends
    typed: Mapping[str, str]

    def resolved(self, schema: Schema, node: Node | None) -> Schema:
        """The schema of what was written there; where nothing was, of the plainest way."""
        description = schema.get("description", "")
        while "$ref" in schema:
            schema = self.schema["$defs"][schema["$ref"].rpartition("/")[2]]
        if "anyOf" in schema:
            ways = [self.resolved(one, node) for one in schema["anyOf"]]
            schema = next((one for one in ways if _fits(one, node)), ways[0])
        return {**schema, "description": description or schema.get("description", "")}

    def item(self, key: str, schema: Schema, node: Node | None, path: str, parent: str) -> Item:
        """One key as the form shows it."""
        found = self.resolved(schema, node)
        label = _label(key)
        if (node is None or isinstance(node.value, Mapping)) and "properties" in found:
            items, more = self.items(found, node, path, key)
            return Group(path=path, key=key, label=label, items=items, more=more)
        if (group := self._mapping(key, found, node, path)) is not None:
            return group
        inner = self.resolved(found["items"], None) if found.get("type") == "array" else {}
        many = node.value if node is not None and isinstance(node.value, tuple) else ()
        if (
            "properties" in inner
            and (node is None or isinstance(node.value, tuple))
            and all(isinstance(one.value, Mapping) for one in many)
        ):
            return self._listed(key, found, many, path)
        return self._field(key, schema, found, node, path, parent)

    def items(self, schema: Schema, node: Node | None, path: str, of: str) -> tuple[tuple[Item, ...], tuple[Item, ...]]:
        """The keys of a mapping: those written or usual, and the rest."""
        written = node.value if node is not None and isinstance(node.value, Mapping) else {}
        usual = table("form")["usual"].get(of, ())
        names = [*usual, *(name for name in schema["properties"] if name not in usual)]
        first: list[Item] = []
        rest: list[Item] = []
        for name in names:
            if name not in schema["properties"]:
                continue
            at = f"{path}.{name}" if path else name
            made = self.item(name, schema["properties"][name], written.get(name), at, of)
            (first if name in written or name in usual else rest).append(made)
        return tuple(first), tuple(rest)

    def _mapping(self, key: str, found: Schema, node: Node | None, path: str) -> Group | None:
        """Keys that nobody fixed, such as phones, each in a box of its own: those written and those usual there.

        None where neither is known, or a name is not plain: then the whole is one box.
        """
        written = node.value if node is not None else {}
        if not isinstance(found.get("additionalProperties"), Mapping) or not isinstance(written, Mapping):
            return None
        own = table("form")["keys"].get(key)
        known = own.items() if own is not None else self.options.get(_named(key), ())
        named = {**{str(name): "" for name in written}, **dict(known)}
        if not named or not all(re.fullmatch(r"[\w -]+", name) for name in named):
            return None
        items: list[Item] = []
        for name in sorted(named, key=[*dict(known), *written].index):
            schema = {**found["additionalProperties"], "examples": [""]}
            if own is not None:
                schema["description"] = named[name]
            made = self.item(name, schema, written.get(name), f"{path}.{name}", key)
            titled = named[name] and own is None and isinstance(made, Field)
            items.append(replace(made, label=named[name]) if titled else made)
        whole = replace(self._field(key, {}, found, node, path, ""), label="All of it in braces")
        return Group(path=path, key=key, label=_label(key), items=tuple(items), more=() if known else (whole,))

    def _listed(self, key: str, schema: Schema, many: Sequence[Node], path: str) -> Listed:
        one = table("form")["ones"].get(key, "one")
        groups = []
        for n, node in enumerate(many):
            inner = self.resolved(schema["items"], node)
            items, more = self.items(inner, node, f"{path}[{n}]", key)
            name = node.value.get("name") if isinstance(node.value, Mapping) else None
            told = name.value if name is not None and isinstance(name.value, str) else f"{one} {n + 1}"
            groups.append(Group(path=f"{path}[{n}]", key=key, label=told, items=items, more=more, removable=True))
        inner = self.resolved(schema["items"], None)
        asked = [*inner.get("required", ()), *table("form")["usual"].get(key, ())]
        blank = tuple(
            made
            for name in dict.fromkeys(asked)
            if name in inner["properties"]
            and isinstance(made := self.item(name, inner["properties"][name], None, f"{path}[+].{name}", key), Field)
        )
        return Listed(path=path, key=key, label=_label(key), one=one, items=tuple(groups), blank=blank)

    def _field(self, key: str, schema: Schema, found: Schema, node: Node | None, path: str, parent: str) -> Field:
        text = node.value if node is not None and isinstance(node.value, str) else ""
        plain = node is None or isinstance(node.value, str)
        names = self.options.get(table("form")["options"].get(f"{parent}.{key}") or _named(key), ())
        control, options = "text", list(names)
        chosen: tuple[tuple[str, str, str], ...] = ()
        examples = schema.get("examples") or found.get("examples") or [""]
        raw = not plain
        if found.get("type") == "array" and names and (node is None or isinstance(node.value, tuple)):
            many = node.value if node is not None and isinstance(node.value, tuple) else ()
            if all(isinstance(one.value, str) for one in many):
                told = dict(names)
                chosen = tuple(
                    (f"{path}[{n}]", str(one.value), told.get(str(one.value), "")) for n, one in enumerate(many)
                )
                control, raw = "picks", False
        elif plain and "enum" in found:
            control, options = "choice", [(str(one), "") for one in found["enum"]]
        elif plain and "boolean" in _types(found):
            control, options = "choice", list(_YES)
        elif plain and names:
            control = "choice"
        elif found.get("type") in ("array", "object"):
            raw = True
        if control == "choice" and text and text not in dict(options):
            options.insert(0, (text, "not known here"))
        hint = _hint(found)
        return Field(
            path=path, key=key, label=_label(key),
            value=self.typed.get(path, text if plain else flow_text(node.plain()) if node else ""),
            control=control, hint=hint if hint != _label(key) else "", example=_example(examples[0]),
            taken=_taken(hint), options=tuple(options), chosen=chosen,
            raw=raw, lines=self.lines(path) if node is not None else (0, 0),
        )  # fmt: skip


def parts_of(
    kind: str, root: Node | None, options: Options, lines: Ends, typed: Mapping[str, str] = MappingProxyType({})
) -> list[Part]:
    """A file's form, part by part; `typed` is what stays in a box though the file could not take it."""
    schema = _schema(kind)
    maker = _Maker(schema=schema, options=options, lines=lines, typed=typed)
    written = root.value if root is not None and isinstance(root.value, Mapping) else {}
    usual, left = table("form")["usual"].get(kind, ()), dict(schema["properties"])
    left.pop("kind", None)
    parts = []
    for row in table("form")["form"].get(kind, ()):
        items: list[Item] = []
        more: list[Item] = []
        for key in row["keys"]:
            if key not in left:
                continue
            made = maker.item(key, left.pop(key), written.get(key), key, kind)
            shown = key in written or key in usual or not isinstance(made, Field)
            (items if shown else more).append(made)
        parts.append(Part(part=row["part"], title=row["title"], hint=row["hint"], items=tuple(items), more=tuple(more)))
    if left:
        made_rest = [(key, maker.item(key, one, written.get(key), key, kind)) for key, one in left.items()]
        parts.append(
            Part(
                part="more", title="More", hint="what else this file may say",
                items=tuple(item for key, item in made_rest if key in written),
                more=tuple(item for key, item in made_rest if key not in written),
            )
        )  # fmt: skip
    return parts


@lru_cache(maxsize=16)
def _schema(kind: str) -> Schema:
    return schema_of(kind)


def _types(schema: Schema) -> Sequence[str]:
    found = schema.get("type", ())
    return (found,) if isinstance(found, str) else found


def _fits(schema: Schema, node: Node | None) -> bool:
    if node is None or isinstance(node.value, str):
        return "properties" not in schema and schema.get("type") != "array"
    if isinstance(node.value, tuple):
        return schema.get("type") == "array"
    return schema.get("type") == "object"


def _label(key: str) -> str:
    return str(table("form")["labels"].get(key, key.replace("_", " ").capitalize()))


def _named(key: str) -> str:
    return str(table("form")["options"].get(key, ""))


def _hint(schema: Schema) -> str:
    """What a key means, without its example, which comes after it."""
    return re.sub(r", such as `.*`$", "", str(schema.get("description", "")), flags=re.DOTALL)


def _taken(hint: str) -> str:
    """What a key that is left empty is taken as, by its hint; nothing where that does not fit in a box."""
    found = re.search(r"; (?:default|left out,) ([^;]{1,26})$", hint)
    return found[1] if found is not None else ""


def _example(example: Any) -> str:
    return example if isinstance(example, str) else flow_text(example)


# ------------------------------------------------------------ bare numbers


_UNITS: Final = {
    "ft": "length", "in": "bore", "gal": "volume", "gpm": "flow", "psi": "pressure", "F": "temperature", "lb": "mass",
    "ft2": "area", "mph": "speed",
}  # fmt: skip
_ALIKE: Final = frozenset({"A", "Ah", "rpm", "W"})
"""Units that are the same for everybody."""

_BUCKET: Final = {"us": "5 gal in {} s", "si": "20 L in {} s"}


def with_usual_unit(kind: str, root: Node | None, path: str, text: str, system: System, chemical: str = "") -> str:
    """A bare number with the unit its key has in this file already, else the one it usually has; other text as it is.

    A key that is read in more than one way, such as a strength or a time, has no usual unit: it is asked for.
    `chemical`: of a container that is added; what is dry is weighed.
    """
    if not is_bare(text):
        return text
    schema, node = _schema(kind), root
    maker = _Maker(schema=schema, options={}, lines=lambda _: (0, 0), typed={})
    steps = re.findall(r"[^.\[\]]+|\[[^\]]*\]", path)
    for step in steps:
        schema = maker.resolved(schema, node)
        inner = node.value if node is not None else None
        if step.startswith("["):
            place = int(step[1:-1]) if step[1:-1].isdigit() else -1
            node = inner[place] if isinstance(inner, tuple) and 0 <= place < len(inner) else None
            schema = schema.get("items", {})
            continue
        if step == "on_hand" and isinstance(inner, Mapping) and "chemical" in inner:
            chemical = str(inner["chemical"].value)
        node = inner.get(step) if isinstance(inner, Mapping) else None
        schema = schema.get("properties", {}).get(step, {})
    examples = [*schema.get("examples", ()), ""]
    was = node.value if node is not None and isinstance(node.value, str) else ""
    if maker.resolved(schema, None).get("type") != "string" or not isinstance(examples[0], str):
        return text
    if re.fullmatch(r"\S+ gal in \S+ s", examples[0]):
        return with_unit(text, _BUCKET[system])
    number, _, unit = examples[0].partition(" ")
    own = was.rpartition(" ")
    if not is_bare(number) or unit not in (*_UNITS, *_ALIKE):
        return text
    if is_bare(own[0].strip()) and own[2]:
        return with_unit(text, own[2])
    if steps[-1] in ("on_hand", "container") and chemical in DRY:
        unit = "lb"
    return with_unit(text, unit if unit in _ALIKE else unit_of(_UNITS[unit], system) if system == "si" else unit)


def fields_in(items: Sequence[Item]) -> list[Field]:
    """Every field below some items, in order."""
    found: list[Field] = []
    for item in items:
        if isinstance(item, Field):
            found.append(item)
        elif isinstance(item, Group):
            found += [*fields_in(item.items), *fields_in(item.more)]
        else:
            found += fields_in(item.items)
    return found
