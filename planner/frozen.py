"""Frozen dataclasses that are made in a fraction of the time: a command makes hundreds before it does anything.

The library writes and compiles six methods anew for each class; here all share one of each but `__init__`, which is
compiled when the first of its kind is made. In every other way they are what the library makes.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from operator import attrgetter
from typing import TYPE_CHECKING, Any, NoReturn

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(**how):
        """As the library's; one that is not frozen is the library's own."""
        if not how.get("frozen"):
            return dataclasses.dataclass(**how)
        made = dataclasses.dataclass(**{**how, "frozen": False}, init=False, repr=False, eq=False)
        return lambda cls: _finished(made(cls))


def _finished(cls: type[Any]) -> type[Any]:
    fields = dataclasses.fields(cls)
    names = [one.name for one in fields]
    state = _of(names)
    compared = _of([one.name for one in fields if one.compare])
    hashed = _of([one.name for one in fields if (one.compare if one.hash is None else one.hash)])
    shown = [one.name for one in fields if one.repr]

    def first(self: Any, *given: Any, **named: Any) -> None:
        cls.__init__ = _compiled(cls)
        cls.__init__(self, *given, **named)

    def equal(self: Any, other: Any) -> Any:
        return compared(self) == compared(other) if other.__class__ is self.__class__ else NotImplemented

    def told(self: Any) -> str:
        return f"{type(self).__qualname__}({', '.join(f'{name}={getattr(self, name)!r}' for name in shown)})"

    def restored(self: Any, state: tuple[Any, ...]) -> None:
        for name, value in zip(names, state, strict=True):
            object.__setattr__(self, name, value)

    shared = {
        "__init__": first, "__eq__": equal, "__hash__": lambda self: hash(hashed(self)), "__repr__": told,
        "__setattr__": _refused, "__delattr__": _refused,
        "__getstate__": lambda self: state(self), "__setstate__": restored,
    }  # fmt: skip
    for name, method in shared.items():
        if name not in cls.__dict__:
            setattr(cls, name, method)
    return cls


def _refused(_: Any, name: str, *value: Any) -> NoReturn:
    raise dataclasses.FrozenInstanceError(f"cannot {'assign to' if value else 'delete'} field {name!r}")


def _compiled(cls: type[Any]) -> Callable[..., None]:
    """The class's `__init__`: a parameter for each field, those that are named only after the others."""
    known: dict[str, Any] = {"_set": object.__setattr__, "_MISSING": dataclasses.MISSING}
    fields = sorted(dataclasses.fields(cls), key=lambda one: bool(one.kw_only))
    takes, sets = ["self"], []
    for one in fields:
        name, default, value = one.name, "", one.name
        if one.default_factory is not dataclasses.MISSING:
            known[f"_new_{name}"] = one.default_factory
            default, value = " = _MISSING", f"_new_{name}() if {name} is _MISSING else {name}"
        elif one.default is not dataclasses.MISSING:
            known[f"_or_{name}"] = one.default
            default = f" = _or_{name}"
        takes += ["*"] if one.kw_only and "*" not in takes else []
        takes.append(f"{name}{default}")
        sets.append(f"    _set(self, {name!r}, {value})")
    sets += ["    self.__post_init__()"] if hasattr(cls, "__post_init__") else []
    exec(f"def __init__({', '.join(takes)}):\n" + ("\n".join(sets) or "    pass"), known)
    made: Callable[..., None] = known["__init__"]
    made.__qualname__ = f"{cls.__qualname__}.__init__"
    return made


def _of(names: list[str]) -> Callable[[Any], tuple[Any, ...]]:
    """Takes these attributes of something, as a tuple."""
    if len(names) > 1:
        return attrgetter(*names)
    return lambda one: tuple(getattr(one, name) for name in names)
