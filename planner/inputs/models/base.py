"""The base of every model: all slips of a mapping at once, in our own words.

pydantic stops before a model's own rules when one field is wrong, so one slip
would hide another.  Here the rules always run, on the mapping as written, and
both sets are given back together.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, Final, Self

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetJsonSchemaHandler,
    ModelWrapValidatorHandler,
    ValidationError,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    field_validator,
    model_validator,
)
from pydantic_core import CoreSchema, ErrorDetails, InitErrorDetails, PydanticCustomError

from planner.inputs.models.bounds import Off, is_stamp, of_stamp, off
from planner.inputs.reading.letters import alike
from planner.inputs.tables.defaults import default

Location = tuple[int | str, ...]
BOUNDS: Final = "quantity.bounds"
"""The code of a figure that cannot be meant; where a rule of its own says more of it, that is told alone."""
# Tags of text-or-mapping unions: no YAML key starts like this, so they can be told from keys and dropped.
TEXT_TAG, KEYS_TAG, LIST_TAG = "<text>", "<keys>", "<list>"
TAGS = frozenset({TEXT_TAG, KEYS_TAG, LIST_TAG})


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """Something wrong below a mapping, before its place in a file is known; `at` is the path from here.

    `cured_by` names the keys of which any one, written, would cure it.
    """

    code: str
    message: str
    remedy: str
    at: Location = ()
    cured_by: tuple[str, ...] = ()

    def error(self) -> PydanticCustomError:
        """The slip as pydantic carries it."""
        # The words go in as values, never as the template: a brace someone wrote is no placeholder.
        return PydanticCustomError(self.code, "{message}", {"message": self.message, "remedy": self.remedy})

    def details(self) -> InitErrorDetails:
        """The slip with its path, as one line of a ValidationError."""
        return InitErrorDetails(type=self.error(), loc=self.at, input="")


def refuse(title: str, slips: Sequence[Slip]) -> ValidationError:
    """One ValidationError that holds them all."""
    return ValidationError.from_exception_data(title, [slip.details() for slip in slips])


def key(description: str, example: str, default: Any = ...) -> Any:
    """A key of a file: what it means and how it is written, required unless it has a default."""
    return Field(default, description=f"{description}, such as `{example}`", examples=[example])


def key_from(description: str, example: str, factory: Any) -> Any:
    """A key whose default stands in a table of planner/data."""
    return Field(default_factory=factory, description=f"{description}, such as `{example}`", examples=[example])


def _at_least_one(written: Any) -> Any:
    # pydantic's own min_length counts what could be read, so one slip inside would make two faults.
    if isinstance(written, list | tuple) and not written:
        raise Slip(code="value.few", message="this list is empty", remedy="write at least one item in it").error()
    return written


@dataclass(frozen=True, slots=True)
class _Some(BeforeValidator):
    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return handler(schema) | {"minItems": 1}


SOME = _Some(_at_least_one)
"""On a list that must hold something."""


def at_most(row: str) -> BeforeValidator:
    """On a list of no more than this row of data/defaults.yaml says."""

    def few_enough(written: Any) -> Any:
        most = int(default(row))
        if isinstance(written, list | tuple) and len(written) > most:
            message = f"this list has {len(written):,} items, and one job takes at most {most}"
            raise Slip(code="value.many", message=message, remedy="split the job into several files").error()
        return written

    return BeforeValidator(few_enough)


def nearest(written: str, known: Iterable[str], cutoff: float = 0.55) -> str | None:
    """The known name most like what was written, or None."""
    names = {name.casefold(): name for name in known}
    found = difflib.get_close_matches(written.casefold()[:60], names, 1, cutoff)
    return names[found[0]] if found else None


def listed(names: Iterable[str], most: int = 14) -> str:
    """`a`, `b` and `c`, for a remedy."""
    shown = [f"`{name}`" for name in names]
    if len(shown) > most:
        return ", ".join(shown[:most]) + " and so on"
    return " or ".join([", ".join(shown[:-1]), shown[-1]] if len(shown) > 1 else shown) or "nothing"


class Written(BaseModel):
    """A mapping someone wrote."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)
    what: ClassVar[str] = "this"
    also_written: ClassVar[Mapping[str, str]] = {}
    """Words people write for a key that are not like it."""
    bounded_by: ClassVar[str] = ""
    """A key whose word has rows of its own in data/bounds.yaml, such as a pump's kind."""

    @classmethod
    def bound_names(cls, values: Mapping[str, Any]) -> tuple[str, ...]:
        """What rows of data/bounds.yaml may call it."""
        word = values.get(cls.bounded_by) if cls.bounded_by else None
        return (word, cls.what) if isinstance(word, str) else (cls.what,)

    @field_validator("*", mode="wrap")
    @classmethod
    def _within_bounds(cls, raw: Any, handler: ValidatorFunctionWrapHandler, info: ValidationInfo) -> Any:
        value, name = handler(raw), info.field_name or ""
        if cls.__module__.endswith(".record") and name != "date":
            return value  # what was done is held against its plan, see recording/doubts.py
        slips = [_impossible(name, figure) for figure in off(name, value, raw, cls.bound_names(info.data), "possible")]
        if slips and any(slip.at for slip in slips):
            raise refuse(name, slips)
        if slips:
            raise slips[0].error()
        return value

    @classmethod
    def spelled_out(cls, raw: dict[Any, Any]) -> dict[Any, Any]:
        """The same with what one key says by another one, such as `yes`, in figures; its faults are those of `raw`."""
        return raw

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """What must hold between keys; `raw` is as written, and what cannot be read there is not judged again."""
        yield from ()

    @model_validator(mode="wrap")
    @classmethod
    def _all_at_once(cls, raw: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        slips = list(cls.rules(raw)) if isinstance(raw, dict) else []
        try:
            made = handler(cls.spelled_out(raw) if isinstance(raw, dict) else raw)
        except ValidationError as error:
            slips = [cls._in_words(found) for found in error.errors(include_url=False)] + slips
        # A key misspelt is one slip: what its right name would cure is not told as well.
        near = {nearest(str(slip.at[0]), cls.model_fields) for slip in slips if _is_unknown_here(slip)}
        said = {slip.at for slip in slips if slip.code != BOUNDS}
        slips = [slip for slip in slips if slip.code != BOUNDS or slip.at not in said]
        slips = [slip for slip in slips if not near.intersection(slip.cured_by)]
        if slips:
            raise refuse(cls.__name__, slips)
        return made

    @classmethod
    def _in_words(cls, error: ErrorDetails) -> Slip:
        at, kind, context = error["loc"], error["type"], error.get("ctx", {})
        if "remedy" in context:
            return Slip(code=kind, message=context["message"], remedy=context["remedy"], at=at)
        name = str(at[-1]) if at else ""
        if kind == "missing":
            remedy = f"add `{_example(cls, name)}`"
            return Slip(code="key.missing", message=f"`{name}` is missing", remedy=remedy, at=at, cured_by=(name,))
        if kind == "extra_forbidden":
            return _unknown_key(name, cls, at)
        if kind == "literal_error":
            return _choice(error, at)
        shape = {
            "tuple_type": "a list is needed here",
            "list_type": "a list is needed here",
            "dict_type": "keys are needed here",
            "model_type": "keys are needed here",
            "model_attributes_type": "keys are needed here",
            "string_type": "text is needed here",
            "union_tag_not_found": "text or keys are needed here",
        }.get(kind)
        if shape:
            return Slip(code="key.shape", message=shape, remedy=f"write it like `{_example(cls, name)}`", at=at)
        return Slip(
            code="value.odd", message=f"`{name}` cannot be read", remedy=f"write it like `{_example(cls, name)}`", at=at
        )


def _impossible(name: str, one: Off) -> Slip:
    if is_stamp(name, one.text):
        message, remedy = of_stamp(one.text)
        return Slip(code=BOUNDS, message=message, remedy=remedy, at=one.steps)
    least, most = one.bound.texts["possible"]
    if one.bound.dimension == "flow" and " in " in one.text:
        least, most = f"a flow of {least}", most
    return Slip(
        code=BOUNDS,
        message=f"`{one.text}` cannot be right: `{name}` is from {least} to {most} here",
        remedy=f"write `{one.meant}` if that was meant"
        if one.meant is not None
        else "check the decimal point and the unit",
        at=one.steps,
    )


def _is_unknown_here(slip: Slip) -> bool:
    return slip.code == "key.unknown" and len(slip.at) == 1


def _example(model: type[BaseModel], name: str) -> str:
    field = model.model_fields.get(name)
    if field is None or not field.examples:
        # What is asked for is the mapping itself, so show its first key, a required one if it has any.
        fields = model.model_fields
        first = next((n for n, f in fields.items() if f.is_required()), next(iter(fields)))
        return f"{first}: {(fields[first].examples or ['...'])[0]}"
    return f"{name}: {field.examples[0]}"


def _unknown_key(name: str, model: type[BaseModel], at: Location) -> Slip:
    near = getattr(model, "also_written", {}).get(name.casefold()) or nearest(name, model.model_fields)
    remedy = f"write `{near}` if that was meant" if near else f"known here: {listed(model.model_fields, 40)}"
    return Slip(
        code="key.unknown",
        message=f"`{name[:60]}` is not a key of {getattr(model, 'what', 'this')}",
        remedy=remedy,
        at=at,
    )


def _choice(error: ErrorDetails, at: Location) -> Slip:
    expected = str(error.get("ctx", {}).get("expected", ""))
    choices = [word for word in expected.replace(" or ", ", ").replace("'", "").split(", ") if word]
    return not_one_of(error["input"], choices, at)


def not_one_of(written: Any, choices: Sequence[str], at: Location = ()) -> Slip:
    """A word that is none of the words a key takes."""
    if not isinstance(written, str):
        return Slip(code="key.shape", message="one word is needed here", remedy=f"write {listed(choices)}", at=at)
    near = nearest(written, choices)
    meant = f"write `{near}` if that was meant; known here: " if near else "write "
    return Slip(
        code="value.choice",
        message=f"`{written[:60]}` is not one of the choices for this key",
        remedy=f"{meant}{listed(choices)}",
        at=at,
    )


def only_one(
    raw: Mapping[str, Any], names: Sequence[str], what: str, example: str, required: bool = True
) -> Iterator[Slip]:
    """Exactly one of some keys, or at most one."""
    written = [name for name in names if name in raw]
    if len(written) > 1:
        yield Slip(
            code="key.clash",
            message=f"{listed(written).replace(' or ', ' and ')} {'both' if len(written) == 2 else 'all'} give {what}",
            remedy="keep one of them",
            at=(written[1],),
        )
    elif not written and required:
        message, remedy = f"{what} is missing", f"add `{example}`"
        yield Slip(code="key.missing", message=message, remedy=remedy, at=("",), cured_by=tuple(names))


def needs(raw: Mapping[str, Any], names: Sequence[str], because: str, examples: Mapping[str, str]) -> Iterator[Slip]:
    """Keys that another key makes necessary."""
    for name in names:
        if name not in raw:
            yield Slip(
                code="key.missing",
                message=f"`{name}` is missing: {because}",
                remedy=f"add `{name}: {examples[name]}`",
                at=(name,),
                cured_by=(name,),
            )


_PLACES: Final = frozenset(
    ("air", "bed", "carried_home", "ground", "hydrant", "lawn", "pond", "sanitary", "section", "tap")
)
"""What water goes to or comes from in a job's steps, each by this one word."""

_CARRIED: Final = frozenset(("bucket", "tub"))
"""What a crew brings for a test or a bath; a tank may be called so too, and is meant then."""


def name_of_place(name: Any, what: str, remedy: str, at: Location) -> Iterator[Slip]:
    """A `what` under a name that a job's steps have for a place: `pail 1` and `jug house` are pails and jugs there."""
    plain = alike(name) if isinstance(name, str) else ""
    if plain in _PLACES or (plain in _CARRIED and what != "tank") or plain.startswith(("pail ", "jug ")):
        yield Slip(
            code="name.reserved",
            message=f"`{name[:60]}` has a meaning of its own in a job's steps, so no {what} can be called that",
            remedy=remedy,
            at=at,
        )


def twice(raw: Mapping[str, Any], name: str, what: str, by: str = "name") -> Iterator[Slip]:
    """Two items of a list under one name, or under two that look alike on paper."""
    seen: set[str] = set()
    items = raw.get(name)
    for place, item in enumerate(items if isinstance(items, list) else []):
        own = item.get(by) if isinstance(item, dict) else None
        if isinstance(own, str):
            plain = alike(own)
            if plain in seen:
                yield Slip(
                    code="name.twice",
                    message=f"two {what} are called `{own[:60]}`",
                    remedy="give one another name",
                    at=(name, place, by),
                )
            seen.add(plain)
