"""A frozen class of ours is the library's in all but how it is made."""

from __future__ import annotations

import copy
import dataclasses
import pickle

import pytest

from planner.frozen import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Ours:
    """Two figures and a note nobody compares."""

    first: float
    second: tuple[str, ...] = ()
    note: str = dataclasses.field(default="", compare=False)


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class Theirs:
    """The same, made by the library."""

    first: float
    second: tuple[str, ...] = ()
    note: str = dataclasses.field(default="", compare=False)


@dataclass(frozen=True)
class Alone:
    """One figure."""

    first: float


@dataclass(slots=True)
class Open:
    """Not frozen."""

    first: float


def test_it_compares_hashes_and_tells_as_the_librarys_does() -> None:
    made = [
        (ours(first=1.0, note="a"), ours(first=1.0, note="b"), ours(first=2.0), ours(first=1.0, second=("x",)))
        for ours in (Ours, Theirs)
    ]
    for one, same, *others in made:
        assert one == same
        assert hash(one) == hash(same)
        assert all(one != other for other in others)
    assert hash(made[0][3]) == hash(made[1][3])
    assert repr(made[0][0]) == repr(made[1][0]).replace("Theirs", "Ours")
    assert made[0][0] != made[1][0]
    assert Alone(first=1.0) == Alone(first=1.0) != Alone(first=2.0)
    assert hash(Alone(first=1.0)) == hash((1.0,))
    with pytest.raises(TypeError):
        hash(Open(first=1.0))
    assert Open(first=1.0) == Open(first=1.0)


def test_it_is_frozen_replaced_and_sent() -> None:
    one = Ours(first=1.0, note="a")
    with pytest.raises(dataclasses.FrozenInstanceError):
        one.first = 2.0  # type: ignore[misc]
    assert dataclasses.replace(one, first=2.0) == Ours(first=2.0)
    assert pickle.loads(pickle.dumps(one)) == one
    assert [row.name for row in dataclasses.fields(Ours)] == ["first", "second", "note"]


@dataclass(frozen=True, slots=True)
class Mixed:
    """A place, a figure that is only named, and a list of its own."""

    place: str
    figure: float = dataclasses.field(default=2.0, kw_only=True)
    listed: list[str] = dataclasses.field(default_factory=list)

    def __post_init__(self) -> None:
        if self.figure < 0.0:
            raise ValueError(self.figure)


@dataclass(frozen=True, slots=True)
class More(Mixed):
    """With one field more."""

    note: str = ""


def test_its_first_and_every_other_takes_what_the_librarys_takes() -> None:
    for _ in range(2):
        assert (Mixed("a").figure, Mixed("a", ["x"], figure=1.0).listed) == (2.0, ["x"])
        assert More("a", ["x"], "n").note == "n"
        assert Mixed("a").listed is not Mixed("a").listed
        with pytest.raises(TypeError, match="place"):
            Mixed()  # type: ignore[call-arg]
        with pytest.raises(TypeError, match="positional"):
            Mixed("a", [], 1.0)  # type: ignore[call-arg]
        with pytest.raises(ValueError, match=r"-1\.0"):
            More("a", figure=-1.0)
    assert More("a") != Mixed("a")
    assert copy.deepcopy(More("a", ["x"])) == More("a", ["x"])
    with pytest.raises(dataclasses.FrozenInstanceError):
        del More("a").place
