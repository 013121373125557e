"""The tables of what may meet what, read once: any pair's answer, the gas it could give, the air that spoils."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any, Final

from planner.chemistry.gases import Exposure, GasReaction, Released, air_spoiled, released
from planner.chemistry.reactions import Answer, Matrix, Pair, Rule, Substance, answer, answers_among, matrix_of
from planner.frozen import dataclass
from planner.inputs.tables.chemicals import CHEMICALS
from planner.inputs.tables.rows import rows, table

_GRAMS: Final = 1e-3
_SHARES: Final = {"ppm": 1e-6, "%": 1e-2}
_SPEAKS: Final = ("IDLH", "LEL")
"""The limit a finding speaks of: what threatens life or burns, rather than what a shift may breathe."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gas:
    """What a meeting could give at the most: `air` [m3] is brought to `limit`; None where no limit of it is known."""

    released: Released
    air: float | None
    limit: Exposure | None
    equation: str


@lru_cache(maxsize=1)
def matrix() -> Matrix:
    """The matrix: what each chemical's record says of it, and the groups of data/reactions.yaml.

    A chemical whose groups nobody found is none of it, and may meet nothing.
    """
    written = table("reactions")
    chemicals = [chemical for chemical in CHEMICALS.values() if "groups" not in chemical.unknown]
    return matrix_of(
        [
            *(
                Substance(
                    name=chemical.name,
                    groups=chemical.groups,
                    molar=chemical.molar,
                    site=False,
                    source=chemical.groups_source,
                )
                for chemical in chemicals
            ),
            *(
                Substance(
                    name=row["name"],
                    groups=tuple(row["groups"]),
                    molar=float(row["molar"]) * _GRAMS if "molar" in row else None,
                    site=row.get("site") == "true",
                    source=row["source"],
                )
                for row in written["substances"]
            ),
        ],
        [
            _rule({**row, "first": chemical.name, "second": row["with"]})
            for chemical in chemicals
            for row in chemical.meets
        ],
        [_rule(row) for row in written["group_pairs"]],
    )


def _rule(row: Mapping[str, Any]) -> Rule:
    return Rule(
        first=row["first"],
        second=row["second"],
        outcome=row["outcome"],
        gives=row["gives"],
        codes=tuple(row.get("codes", ())),
        source=row["source"],
    )


@lru_cache(maxsize=1)
def gas_reactions() -> Mapping[frozenset[str], GasReaction]:
    """The gas reaction of each pair that has one."""
    molar = {row["name"]: float(row["molar"]) * _GRAMS for row in rows("reactions", "gases")}
    return {
        frozenset((chemical.name, row["with"])): GasReaction(
            first=chemical.name,
            second=row["with"],
            takes_first=float(row["takes"][0]),
            takes_second=float(row["takes"][1]),
            gas=row["gas"],
            gives=float(row["gives"]),
            gas_molar=molar[row["gas"]],
            equation=row["equation"],
        )
        for chemical in CHEMICALS.values()
        for row in chemical.gases
    }


@lru_cache(maxsize=1)
def exposures() -> tuple[Exposure, ...]:
    """Limits of gases in air as shares of it; those written as a mass in air are dusts and are left out."""
    found = []
    for row in rows("hazards", "exposure"):
        amount, _, unit = str(row["level"]).partition(" ")
        if unit in _SHARES:
            share = float(amount) * _SHARES[unit]
            found.append(
                Exposure(
                    gas=row["gas"], kind=row["kind"], share=share, level=row["level"], means=row["means"],
                    source=row["source"],
                )
            )  # fmt: skip
    return tuple(found)


def limit_of(gas: str) -> Exposure | None:
    """The limit of a gas that threatens life or burns, None where the table has none."""
    return next((exposure for exposure in exposures() if exposure.gas == gas and exposure.kind in _SPEAKS), None)


def meets(first: str, second: str) -> Answer:
    """What comes of two substances meeting."""
    return answer(first, second, matrix())


def forbidden_pairs(chemicals: Iterable[str]) -> tuple[Pair, ...]:
    """Every two of these chemicals that must never meet, each pair once, in the order they are named."""
    return tuple(pair for one in answers_among(chemicals, matrix()) if (pair := one.pair) is not None)


def gas_of(first: str, first_mass: float | None, second: str, second_mass: float | None) -> Gas | None:
    """The most gas two actives [kg] could give; None mass: as much as it takes. None: no gas, or no end to it."""
    reaction = gas_reactions().get(frozenset((first, second)))
    if reaction is None:
        return None
    masses = {first: first_mass, second: second_mass}
    substances = matrix().substances
    substance, other = substances[reaction.first], substances[reaction.second]
    if substance.molar is None or other.molar is None:
        return None
    most = released(reaction, masses[reaction.first], masses[reaction.second], substance.molar, other.molar)
    if most is None or not most.mass > 0.0:
        return None
    limit = limit_of(most.gas)
    air = air_spoiled(most.volume, limit.share) if limit is not None else None
    return Gas(released=most, air=air, limit=limit, equation=reaction.equation)
