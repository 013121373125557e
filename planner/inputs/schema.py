"""The JSON Schema of each file people write, for editors: what a key means, how it is written, which words it takes.

Everything comes from the models and the tables.  An editor reads YAML by itself and takes `4` for a number and `true`
for a truth value, where our own reader keeps both as text; the schemas let either pass, and nothing that we refuse
for being bare, such as `height: 27`.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Final

from planner.inputs import models
from planner.inputs.models import Company, Day, Job, Learned, Rig, Stock, SurfaceTable, Written, YardJob, record
from planner.inputs.reading.tree import parse_tree
from planner.inputs.tables.chemicals import CHEMICALS
from planner.inputs.tables.defaults import minutes
from planner.inputs.tables.materials import materials
from planner.inputs.tables.spelled import american_kinds
from planner.inputs.tables.whole import accept_rows, fitting_rows, limit_rows, surface_rows

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
FILES: Final[Mapping[str, tuple[type[Written], str]]] = {
    "company": (Company, "company.yaml: the company"),
    "rig": (Rig, "rigs/<name>.yaml: a rig"),
    "stock": (Stock, "stock.yaml: the shelf"),
    "surfaces": (SurfaceTable, "surfaces.yaml: the company's own rates"),
    "day": (Day, "day.yaml: one day of one rig"),
    "job": (Job, "a wash job: one visit to one site"),
    "yard": (YardJob, "a yard job: work on the rig's own gear"),
    "record": (record.Record, "a record: what was done on one job"),
    "learned": (Learned, "learned.yaml: what records say"),
}
"""The files by the name `planner schema` takes, with a title each."""

Schema = dict[str, Any]


def schema_of(name: str) -> Schema:
    """The schema of one file. Raises KeyError for a name that is not in FILES."""
    model, title = FILES[name]
    made = model.model_json_schema()
    parts = made.pop("$defs", {})
    whole = _mapping(model, made)
    for key in ("title", "description"):
        whole.pop(key, None)
    about = {"$schema": DIALECT, "title": title, "description": _first_sentence(model)}
    # An earlier job may give whatever is not written here, so with `like` nothing is asked for.
    if "like" in whole["properties"]:
        asked: Schema = {"required": whole.pop("required")}
        if {"setup", "hose_runs"} <= whole["properties"].keys():
            asked["oneOf"] = [{"required": ["setup"]}, {"required": ["hose_runs"]}]
            whole["not"] = {"required": ["setup", "hose_runs"]}
        whole |= {"if": {"not": {"required": ["like"]}}, "then": asked}
    defs = {key: _part(key, parts[key]) for key in sorted(parts)}
    return {**about, **whole, **({"$defs": defs} if defs else {})}


def schema_text(name: str) -> str:
    """The schema as the text of a file."""
    return json.dumps(schema_of(name), indent=2, ensure_ascii=False) + "\n"


def file_name(name: str) -> str:
    """The file a schema is written to."""
    return f"{name}.json"


def _part(name: str, made: Schema) -> Schema:
    model = getattr(models, name, None) or getattr(record, name)
    part = _mapping(model, made)
    part.pop("title", None)
    part["description"] = _first_sentence(model)
    return part


def _first_sentence(model: type[Written]) -> str:
    """What the model's docstring begins with: what follows is about SI, which no file is written in."""
    first, stop, _ = (model.__doc__ or "").strip().partition(". ")
    return (first if stop else first.partition("\n")[0]).rstrip(".") + "."


def _mapping(model: type[Written], made: Schema) -> Schema:
    made["properties"] = {name: _key(model, name, made["properties"][name]) for name in model.model_fields}
    return made


def _key(model: type[Written], name: str, made: Schema) -> Schema:
    field = model.model_fields[name]
    default = made.pop("default", None)
    made.pop("examples", None)
    key = _tidy(made)
    _offer(model.__name__, name, key)
    key = {"description": field.description} | {name: value for name, value in key.items() if name != "description"}
    key["examples"] = [_as_written(name, str(example)) for example in field.examples or ()]
    # A default in SI would mislead: only words and bare numbers are the same in the file.
    if isinstance(default, bool | str) or (isinstance(default, int | float) and _takes_numbers(key)):
        key["default"] = default
    return key


def _as_written(name: str, example: str) -> Any:
    root = parse_tree(f"{name}: {example}\n".encode(), name).root
    return root.plain()[name] if root is not None else example


def _takes_numbers(key: Schema) -> bool:
    kinds = key.get("type", ())
    return bool({"number", "integer"} & set([kinds] if isinstance(kinds, str) else kinds))


def _tidy(node: Any) -> Any:
    """No titles, no nulls (an empty value is a fault), no unions inside unions, several plain types as a list."""
    if isinstance(node, list):
        return [_tidy(one) for one in node]
    if not isinstance(node, dict):
        return node
    tidy = {key: _tidy(value) for key, value in node.items() if key not in ("title", "anyOf", "oneOf", "default")}
    options = [option for union in ("anyOf", "oneOf") for one in node.get(union, ()) for option in _options(_tidy(one))]
    options = [option for option in options if option != {"type": "null"}]
    if len(options) == 1:
        return options[0] | tidy
    if options and all(set(option) <= {"type", "description"} for option in options):
        return options[0] | tidy | {"type": list(dict.fromkeys(_types(options)))}
    return tidy | ({"anyOf": options} if options else {})


def _types(options: list[Schema]) -> list[str]:
    return [
        kind for option in options for kind in ([option["type"]] if isinstance(option["type"], str) else option["type"])
    ]


def _options(option: Schema) -> list[Schema]:
    return option["anyOf"] if set(option) <= {"anyOf", "description"} and "anyOf" in option else [option]


def _offer(model: str, name: str, key: Schema) -> None:
    """The words a table knows: an editor offers them, and refuses others where we do."""
    words = _words(model, name)
    if words is None:
        return
    names, closed = words
    if name in ("limits", "fittings", "minutes"):
        key["propertyNames"] = {"enum": names}
        return
    place = key.setdefault("items", {}) if key.get("type") == "array" else key
    plain = {"type": place.pop("type", "string")}
    if closed:
        place["enum"] = names
    else:
        place["anyOf"] = [{"enum": names}, plain]


def _words(model: str, name: str) -> tuple[list[str], bool] | None:
    """Words for a key, and whether it takes no others."""
    match model, name:
        case "Company", "limits":
            return sorted(limit_rows()), True
        case "Company", "minutes":
            return list(minutes()), True
        case _, "fittings":
            return [*fitting_rows(), "k"], True
        case "Accept", "finding":
            return sorted(code for code, who in accept_rows().items() if who != "never"), True
        case "SurfaceInput" | "SurfaceRow", "kind":
            return [*surface_rows(), *american_kinds()], False
        case ("Lot" | "SurfaceRow", "chemical") | ("ChemicalUse", "stock"):
            return _chemicals(), False
        case "Heel", "stock":
            return [*_chemicals(), "water"], False
        case "Pump", "dedicated":
            return _chemicals(), False
        case _, "trim" | "wetted" | "couplings" | "kept_out":
            return sorted(materials()), False
        case "SurfaceRow", "material":
            return sorted(materials()), False
    return None


def _chemicals() -> list[str]:
    return list(dict.fromkeys(name for row in CHEMICALS.values() for name in (*row.aliases[:1], row.name)))
