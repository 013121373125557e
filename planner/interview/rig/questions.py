"""The questions of a new rig, in the order an owner walks round it: what most people have first."""

from __future__ import annotations

from dataclasses import replace

from planner.inputs.models import Rig
from planner.inputs.reading.files import plain_name
from planner.interview.answers import Here, Reader, key_of, name_fault, taken
from planner.interview.asking import Question, Unfit, Walk
from planner.interview.questions import agreed
from planner.interview.rig.aboard import aboard
from planner.interview.rig.dosing import dosing
from planner.interview.rig.gear import hoses, tanks, tips
from planner.interview.rig.keys import Raw
from planner.interview.rig.pumps import pumps
from planner.interview.rig.remembered import remembered
from planner.interview.rig.setups import setups
from planner.interview.rig.text import rig_file
from planner.interview.text import Written


def whole_rig(here: Here) -> Walk[Written]:
    """All of it; then a look at what will be written."""
    usual = here.stem.replace("-", " ").replace("_", " ").title() or None
    name = yield Question(
        key="rig",
        about="What is the rig called",
        read=_called(here),
        blank=usual,
        more="The name painted on it, or the crew's word. Days and jobs name it, and its file is found by it.",
    )
    rig: Raw = {"rig": name or usual}
    for part in (tanks, pumps, hoses, tips, dosing, setups, aboard):
        yield from part(here, rig)
    made = rig_file(here, here.stem or plain_name(str(rig["rig"])), rig)
    made = replace(made, remembered=tuple((yield from remembered(here, rig))))
    yield from agreed(here, made)
    return made


def _called(here: Here) -> Reader:
    key = key_of(Rig, "rig")

    def read(text: str) -> str:
        given: str = key(text)
        stem = plain_name(given)
        if here.stem and stem != plain_name(here.stem):
            raise Unfit(
                (f"`{given[:40]}` would not be found in `{here.stem}{here.ending}`", f"start again as rigs/{stem}")
            )
        if not here.stem and (wrong := name_fault(stem)):
            raise Unfit((wrong[0], "use letters, digits, spaces, dots and dashes, such as `Heron`"))
        if not here.stem and (fault := taken(here.day, stem)) is not None:
            raise Unfit((fault.message, fault.remedy))
        return given

    return read
