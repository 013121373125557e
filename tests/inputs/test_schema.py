"""Every key of every file says what it means, so that an editor can."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from pydantic import ValidationError

from planner.inputs import models
from planner.inputs.models import Company, Day, Job, Rig, Stock, SurfaceTable, Written, YardJob, record
from planner.inputs.reading.tree import parse_tree

NAMED = [getattr(models, name) for name in models.__all__] + list(vars(record).values())
EVERY = list(dict.fromkeys(one for one in NAMED if isinstance(one, type) and issubclass(one, Written)))


def keys() -> Iterator[tuple[str, str, str | None, list[object] | None]]:
    for model in EVERY:
        for name, field in model.model_fields.items():
            yield model.__name__, name, field.description, field.examples


def test_every_key_has_a_description_with_an_example() -> None:
    found = list(keys())
    assert len(found) > 150
    for model, name, description, examples in found:
        assert description, (model, name)
        assert examples, (model, name)
        assert f"`{examples[0]}`" in description, (model, name)


@pytest.mark.parametrize("model", [Company, Stock, SurfaceTable, Rig, Day, Job, YardJob])
def test_a_json_schema_can_be_made_and_quantities_are_text_in_it(model: type[Written]) -> None:
    schema = model.model_json_schema()
    assert schema["additionalProperties"] is False
    assert "number" not in {part.get("type") for part in schema["properties"].values()}


def test_a_rigs_schema_offers_its_words() -> None:
    pump = Rig.model_json_schema()["$defs"]["Pump"]["properties"]
    assert pump["kind"]["enum"] == ["centrifugal", "piston", "diaphragm"]
    assert pump["max_pressure"]["anyOf"][0]["type"] == "string"
    assert "centrifugal" in pump["kind"]["examples"]


EXAMPLE_KEYS = [(model, name) for model in EVERY for name, field in model.model_fields.items() if field.examples]


def test_every_keys_own_example_can_be_written_as_it_stands() -> None:
    """A remedy shows these: following one must not make the next fault."""
    found = [slip for model, name in EXAMPLE_KEYS for slip in _slips(model, name)]
    assert not found, "\n".join(found)


def _slips(model: type[Written], name: str) -> Iterator[str]:
    """What is wrong with a key's own example but that other keys are missing."""
    example = model.model_fields[name].examples[0]
    told = f"{model.__name__}.{name}: {example}"
    tree = parse_tree(f"{name}: {example}\n".encode(), "f")
    if tree.faults or tree.root is None:
        yield f"{told}: {tree.faults}"
        return
    try:
        model.model_validate(tree.root.plain())
    except ValidationError as error:
        for slip in error.errors():
            at = slip["loc"]
            other = slip["type"] in ("key.missing", "key.clash") and (not at or at[0] != name or len(at) == 1)
            if not other:
                yield f"{told}: {at} {slip['type']} {slip['msg']}"
