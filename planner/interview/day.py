"""A day's page asked for with the first job of a day: rig, crew, leaving, weather, heels, the drive."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from planner.inputs.joining.walls import heel_strength
from planner.inputs.models import Day, Forecast, Heel
from planner.inputs.models.base import Slip
from planner.inputs.reading.files import is_day, listed_files, plain_name, read_file
from planner.inputs.reading.names import day_slips, items
from planner.inputs.reading.strengths import read_strength
from planner.inputs.tables.chemicals import chemical_named
from planner.inputs.tables.defaults import default
from planner.interview.answers import Here, Reader, choice, key_of, numbered, refuse_slips, unit_of
from planner.interview.asking import Question, Unfit, Walk, with_unit
from planner.interview.text import DAY, Written, file_text, schema_path
from planner.units import read as quantity

Raw = dict[str, Any]

_UNKNOWN: Final = "not known"
_SUN: Final = ("full", "part", "none")


def rig_of(here: Here, *, day: bool) -> Walk[str | None]:
    """The rig's name; None where the workspace has none."""
    files = here.desk.rig_files()
    names = [str(here.raw_rig(path.stem).get("rig", path.stem)) for path in files.values()]
    names = [name for name in names if here.sprays(name)]
    if not names:
        return None
    last = _last_rig(here, names)
    usual = names[0] if len(names) == 1 else last
    if len(names) == 1:
        return names[0]
    found = yield Question(
        key="rig",
        about="Which rig goes that day" if day else "Which rig is it for",
        read=choice(names, "rig of this workspace"),
        blank=f"{usual}, as last time" if usual else None,
        before=numbered(names),
    )
    return found or usual


def _last_rig(here: Here, names: Sequence[str]) -> str | None:
    for folder in reversed(listed_files(here.workspace)):
        if is_day(folder):
            node = read_file(folder / "day.yaml").mapping.get("rig")
            found = [name for name in names if node is not None and plain_name(str(node.value)) == plain_name(name)]
            if found:
                return found[0]
    return None


def day_page(here: Here, rig: str) -> Walk[Raw]:
    """The day's page but for the drive, which waits for the job's name."""
    system = here.system
    degrees, speed = unit_of("temperature", system), unit_of("speed", system)
    raw: Raw = {"rig": rig}
    crew = yield Question(
        key="crew",
        about="Who works: names with commas, or how many",
        read=_crew,
        blank=f"{default('crew'):g}",
        more="Names such as `Ana, Joe` are printed on the packet; times are planned for that many hands.",
        before=(_opening(here, rig),),
    )
    if crew is not None:
        raw["crew"] = crew
    leave = yield Question(
        key="leave yard", about="When does the rig leave the yard", read=key_of(Day, "leave_yard"), blank=_clock(),
        more="By the 24 hour clock, such as `07:00`, or `7 am`.",
    )  # fmt: skip
    if leave is not None:
        raw["leave_yard"] = leave
    forecast: Raw = {}
    asked = (
        ("low", "Forecast: the night's low", degrees, ""),
        ("high", "The day's high", degrees, ""),
        ("wind", "Sustained wind", speed, ""),
        ("gust", "Gusts", speed, ""),
        ("rain", "Rain", "", "`none`, `30 %`, `40 % from 14:00` or `40 % from 2 pm`."),
    )
    for name, about, unit, more in asked:
        answer = yield Question(
            key=f"forecast {name}",
            about=about,
            unit=unit,
            read=key_of(Forecast, name, unit),
            blank=_UNKNOWN,
            more=more or "What you leave out cannot be checked.",
        )
        if answer is not None:
            forecast[name] = answer
    sun = yield Question(
        key="forecast sun", about="Sun on the walls: full, part or none", read=choice(_SUN), blank=_UNKNOWN
    )
    if sun is not None:
        forecast["sun"] = sun
    if forecast:
        raw["forecast"] = forecast
    heels = yield from _heels(here, rig)
    return raw | ({"heels": heels} if heels else {})


def new_day(here: Here) -> Walk[Written]:
    """A day before it has a job: its page alone."""
    rig = yield from rig_of(here, day=True)
    page = {} if rig is None else (yield from day_page(here, rig))
    return Written(file=here.page, text=file_text(page, DAY, schema_path(here.workspace, here.day, "day")))


def _clock() -> str:
    minutes = round(default("leave_yard") / 60.0)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _opening(here: Here, rig: str) -> str:
    return f"{here.day.name} has no day.yaml yet: first the day itself, for {rig}."


def _crew(text: str) -> str | list[str]:
    names = [" ".join(name.split()) for name in text.split(",") if name.strip()]
    given: Any = names[0] if len(names) == 1 else names
    try:
        key_of(Day, "crew")(given)
    except Unfit:
        raise Unfit(("this is not a crew", "write a number such as `2`, or names such as `Ana, Joe`")) from None
    return given  # type: ignore[no-any-return]


def _heels(here: Here, rig: str) -> Walk[Raw]:
    """What is left in each tank that holds a mix."""
    raw = here.raw_rig(rig)
    heels: Raw = {}
    for tank in items(raw, "tanks"):
        if not isinstance(tank, dict) or not isinstance(tank.get("name"), str) or tank.get("holds", "water") == "water":
            continue
        name = " ".join(tank["name"].split())
        left = yield Question(
            key=f"heel {name}",
            about=f"Left in `{name}` tonight",
            unit=unit_of("volume", here.system),
            read=_left(raw, name, unit_of("volume", here.system)),
            blank="nothing, it is dry",
            more="What the stick says. What is left meets what is mixed into it.",
        )
        if left is None:
            continue
        holds = str(tank.get("holds"))
        usual = holds if chemical_named(holds) is not None else "bleach"
        stock = yield Question(
            key=f"heel {name} of", about="Of what (`water` for plain water)", read=_stock(here), blank=usual
        )
        heels[name] = {"stock": stock or usual, "volume": left}
        if (stock or usual) != "water":
            strength = yield Question(
                key=f"heel {name} strength", about="How strong", read=_strength(here, stock or usual),
                more="Such as `3 %`.",
            )  # fmt: skip
            heels[name] = {"stock": stock or usual, "strength": strength, "volume": left}
    return heels


def _left(rig: Mapping[str, Any], tank: str, unit: str) -> Reader:
    key = key_of(Heel, "volume", unit)

    def read(text: str) -> str:
        given: str = key(text)
        if quantity(given, "volume") <= 0.0:
            raise Unfit((f"`{text[:40]}` must be more than zero", "leave it empty if the tank is dry"))
        slips = day_slips({"heels": {tank: {"stock": "water", "volume": given}}}, rig, None, ())
        refuse_slips(slip for slip in slips if slip.at[-1:] == ("volume",))
        return given

    return read


def _stock(here: Here) -> Reader:
    def read(text: str) -> str:
        name = " ".join(text.split())
        slips = day_slips({"heels": {"": {"stock": name, "strength": "1 %"}}}, None, here.desk.stock.raw, ())
        refuse_slips(slip for slip in slips if slip.at[-1:] == ("stock",))
        return name

    return read


def _strength(here: Here, stock: str) -> Reader:
    key = key_of(Heel, "strength", "%")
    lots = here.desk.stock.value.lots if here.desk.stock.value is not None else ()
    company = here.desk.company.value

    def read(text: str) -> str:
        given: str = key(text)
        strength, slips = read_strength(given), list[Slip]()
        if company is not None:
            heel_strength(Heel.model_construct(stock=stock, strength=strength, volume=1.0), lots, company, (), slips)
        refuse_slips(slips)
        return given

    return read


def drive() -> Walk[str | None]:
    """The drive to the job."""
    answer: str | None = yield Question(
        key="drive",
        about="Drive to it from the yard, or from the job before",
        unit="min",
        read=_drive,
        blank=_UNKNOWN,
    )
    return answer


def _drive(text: str) -> str:
    given = with_unit(text, "min")
    try:
        quantity(given, "time")
    except ValueError as fault:
        raise Unfit(
            (getattr(fault, "message", str(fault)), getattr(fault, "remedy", "write it like `25 min`"))
        ) from None
    return given
