"""A yard job: maintenance of the rig's own gear."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

from pydantic import Discriminator, Tag

from planner.inputs.chemicals import CHEMICALS, chemical_named
from planner.inputs.models.base import LIST_TAG, SOME, TEXT_TAG, Written, key, nearest
from planner.inputs.models.job import RigChoice, text_or_list
from planner.inputs.models.quantities import Length, Name, PositiveVolume, Reads, Words
from planner.inputs.models.site import Accept
from planner.inputs.strengths import Strength, read_strength
from planner.units import Unreadable

Work = Literal["descale", "rebuild", "test"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bath:
    """A descaling bath: so strong a mix of which chemical."""

    strength: Strength
    chemical: str


def _bath(text: str) -> Bath:
    words = " ".join(text.split())
    strength, _, name = words.rpartition(" ")
    found = chemical_named(name)
    if found is None and re.search(r"[A-Za-z]", name) and strength:
        near = nearest(name, CHEMICALS)
        raise Unreadable(
            "name.unknown",
            f"`{name[:60]}` is no chemical this planner knows",
            f"write `{near}` if that was meant" if near else "end with the chemical, such as `15 vol % muriatic`",
        )
    if found is None or not strength:
        raise Unreadable("strength.text", f"`{words[:60]}` does not say of what", "write it like `15 vol % muriatic`")
    return Bath(strength=read_strength(strength), chemical=found.name)


class YardJob(Written):
    """Work on one pump in the yard. `tub` in m3, `throw` in m."""

    what: ClassVar[str] = "a yard job"
    job: Name = key("What the job is called", "Booster, yearly strip-down")
    kind: Literal["yard"] = key("yard", "yard")
    like: Name | None = key("An earlier job that gives what is not written here", "2025-06-02/90-booster", None)
    rig: RigChoice | None = key("The rig's name, or a whole rig", "Heron", None)
    pump: Name = key("The pump worked on", "booster")
    work: Annotated[
        Annotated[Work, Tag(TEXT_TAG)] | Annotated[tuple[Work, ...], SOME, Tag(LIST_TAG)],
        Discriminator(text_or_list),
    ] = key("descale, rebuild, test, or several", "[descale, rebuild]")
    tub: PositiveVolume | None = key("The tub it is soaked in", "5 gal", None)
    bath: Annotated[Bath | None, Reads(_bath, (Bath,), "a bath", "`15 vol % muriatic`")] = key(
        "What it is soaked in", "15 vol % muriatic", None
    )
    replace: tuple[Words, ...] = key("Parts to replace", "[diffuser plates, shaft seal]", ())
    spacers: tuple[Words, ...] = key("What is known of the spacers, stage by stage", "[2 thin, 1 thick]", ())
    throw: Length | None = key("The throw paced out before", "38 ft", None)
    notes: Words | None = key("What to know", "left-hand thread on the outer tube", None)
    accept: tuple[Accept, ...] = key(
        "Findings someone takes on", "[{finding: mix.age, reason: tested today, by: owner}]", ()
    )

    @property
    def works(self) -> tuple[Work, ...]:
        """What is done, in order."""
        return self.work if isinstance(self.work, tuple) else (self.work,)
