"""The chemicals a lot can hold, by name and alias: data/chemicals.yaml, one record a chemical.

A record says everything of its chemical, or that there is no such thing (`none`), or that nobody knows (`none found`).
What is left out is a mistake in the table, told by its name. What nobody knows is a None here, or an empty block, and
stands in `unknown`: who needs it stops, says so, or takes the worst.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from planner.frozen import dataclass
from planner.inputs.tables.rows import rows
from planner.units import read

NONE, NOT_FOUND = "none", "none found"
_LETTERS: Final = re.compile(r"[a-z0-9]+")

_PLAIN: Final = ("name", "aliases", "kind", "form", "formula", "active", "source")
_BLOCKS: Final[Mapping[str, str]] = {
    "called": "words short active",
    "molar": "value source",
    "label": "bases most example asked sold_to source",
    "solution": "by rows water_free heaviest source",
    "dissolves": "rows source",
    "acid": "protons pk lime spent_ph with_lime source",
    "base": "hydroxide carbonate peroxide gas in_acid with_weak source",
    "lawn": "value source",
    "touches": "as but source",
    "people": "burns aid fumes spill source",
    "bath": "how above usual most least range source",
    "transport": "listed source",
    "groups": "of source",
}
_LISTS: Final[Mapping[str, str]] = {
    "neutralised": "name stoichiometric source",
    "hazards": "form from says signs wear does source",
    "brought": "meets gives covers source",
    "limits": "name finding level value dimension looser source",
    "meets": "with outcome gives source",
    "gases": "with takes gas gives equation",
}
_LISTED: Final = "un wording class from reported reported_molar"
_DOSED: Final = "dose"
FIELDS: Final = (*_PLAIN, *_BLOCKS, *_LISTS)
_SURE: Final = frozenset({*_PLAIN, "called", "label"})
"""What nobody can work without: a record has to say it."""
_ALWAYS: Final = frozenset({*_SURE, "solution", "lawn", "touches", "people", "transport", "groups"})
"""What is there of every chemical: it may be not found, and is never none."""
KINDS: Final = ("bleach", "acid", "alkali", "peroxide", "reducer", "soap", "disinfectant", "solvent")


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """How a container says how strong it is: the `bases` that tell, the `most` of each there can be, an `example`.

    `asked`: a lot has to say it. `sold_to` [kg/m3] is the strongest there is to buy, None where nobody knows.
    """

    bases: tuple[str, ...]
    most: Mapping[str, float]
    example: str
    asked: bool
    sold_to: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """What it weighs in water: `rows` (kg water-free per kg, kg/m3 at 20 C), `thickness` beside them over water's.

    `by` names an equation of its own. `water_free` [kg/kg] is of what is sold; `heaviest` [kg/m3] holds where no
    strength is known.
    """

    by: str
    rows: tuple[tuple[float, float], ...] = ()
    thickness: tuple[float, ...] = ()
    water_free: float = 1.0
    heaviest: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Acid:
    """What an acid is: `protons` a base takes of a mole, `pk` of each step (none: a strong one), `lime` [mol CaCO3].

    `with_lime` [J per mol of protons] is the heat of its calcium salt falling out. A bath is spent at `spent_ph`.
    """

    protons: float
    pk: tuple[float, ...]
    lime: float
    spent_ph: float
    with_lime: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """What a mole of a base brings: OH-, CO3-- and H2O2 [mol], CO2 for each proton it takes, and heat.

    `in_acid` [J per mol of protons] is given to an acid, `with_weak` [J per mol of the base] to a weak one; None: it is
    not used so.
    """

    hydroxide: float | None
    carbonate: float | None
    peroxide: float | None
    gas: float | None
    in_acid: float | None
    with_weak: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class People:
    """What it does to people: `burns` strong, mild or no; groups of first `aid`; `fumes` and `spill` by their keys."""

    burns: str
    aid: tuple[str, ...]
    fumes: str
    spill: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BathRow:
    """How strong a descaling bath of it may be written, by basis: `most`, `least`, the `range` that is meant."""

    how: tuple[str, ...]
    above: str
    usual: str
    most: Mapping[str, float]
    least: Mapping[str, float]
    range: Mapping[str, tuple[float, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """What the road calls it: UN number, proper `wording`, hazard `kind` (the class).

    Weaker than `least` [kg/m3 of the active] it is not counted; a spill counts as `reported`, `times` the active.
    """

    un: str
    wording: str
    kind: str
    least: float
    reported: str
    times: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Chemical:
    """One record. `active` is what its strength in g/L counts, `molar` [kg/mol] of that, `form` liquid or dry.

    `words` is its name in a sentence, `short` its word on crew pages, `counted` the word for its active. `dissolves`
    pairs C with g of what is sold in a litre of water. A block is None where there is none of it or nobody knows;
    `unknown` names those nobody knows.
    """

    name: str
    aliases: tuple[str, ...]
    words: str
    short: str
    counted: str
    kind: str
    form: str
    active: str
    molar: float | None
    label: Label
    solution: Solution
    dissolves: tuple[tuple[float, float], ...]
    acid: Acid | None
    base: Base | None
    lawn: str
    touches: str | None
    touches_but: Mapping[str, str]
    people: People
    bath: BathRow | None
    listed: Listed | None
    groups: tuple[str, ...]
    groups_source: str
    neutralised: tuple[Mapping[str, Any], ...]
    hazards: tuple[Mapping[str, Any], ...]
    brought: tuple[Mapping[str, Any], ...]
    limits: tuple[Mapping[str, Any], ...]
    meets: tuple[Mapping[str, Any], ...]
    gases: tuple[Mapping[str, Any], ...]
    unknown: frozenset[str]

    @property
    def equivalent(self) -> float | None:
        """kg of the active in a mole of acid hydrogen, or of hydroxide."""
        gives = self.acid.protons if self.acid is not None else self.base.hydroxide if self.base is not None else None
        return self.molar / gives if self.molar is not None and gives else None


def lacks(record: Mapping[str, Any]) -> Iterator[str]:
    """What is wrong with a record, each with what to do."""
    of = f"data/chemicals.yaml: `{record.get('name', 'a record without a name')}`"
    for field in FIELDS:
        value = record.get(field)
        if value is None:
            yield f"{of} has no `{field}`: write it with its source, or `none found`"
        elif value == NOT_FOUND and field in _SURE:
            yield f"{of}: `{field}` cannot be left at `none found`: nothing works without it"
        elif value == NONE and field in _ALWAYS:
            yield f"{of}: there is `{field}` of every chemical: write it, or `none found`"
        elif isinstance(value, str) and field not in _PLAIN and value not in (NONE, NOT_FOUND):
            yield f"{of}: `{field}: {value}` says nothing: write it with its source, `none` or `none found`"
        elif isinstance(value, Mapping):
            wanted = f"{_BLOCKS.get(field, '')} {_LISTED if value.get('listed') == 'yes' else ''}".split()
            yield from (f"{of} has no `{field}.{key}`" for key in wanted if key not in value)
        elif isinstance(value, list) and field in _LISTS:
            for number, row in enumerate(value, start=1):
                wanted = _LISTS[field].replace("stoichiometric ", "" if _DOSED in row else "stoichiometric ").split()
                yield from (f"{of} has no `{key}` in row {number} of `{field}`" for key in wanted if key not in row)
    if record.get("kind", KINDS[0]) not in KINDS:
        yield f"{of}: `kind: {record['kind']}` is not one of {', '.join(KINDS)}"
    solution, sure = record.get("solution"), [record.get("acid"), record.get("molar")]
    if record.get("form") == "liquid" and (
        solution == NOT_FOUND or (isinstance(solution, Mapping) and solution.get("heaviest") in (NONE, NOT_FOUND))
    ):
        yield f"{of}: a liquid has to say `solution.heaviest`: no load is weighed without it"
    if record.get("form") == "dry" and not isinstance(record.get("dissolves"), Mapping):
        yield f"{of}: what is dry has to say `dissolves`: no crystals are weighed without it"
    if isinstance(record.get("bath"), Mapping) and not all(isinstance(one, Mapping) for one in sure):
        yield f"{of}: a `bath` asks for its `acid` and its `molar`"


def chemical_of(record: Mapping[str, Any]) -> Chemical:
    """A record as a row in SI. Raises RuntimeError that says what the record lacks: our own table, our own error."""
    wrong = list(lacks(record))
    if wrong:
        raise RuntimeError("\n".join(wrong))
    blocks = {field: record[field] if isinstance(record[field], Mapping) else None for field in _BLOCKS}
    lists = {field: tuple(record[field]) if isinstance(record[field], list) else () for field in _LISTS}
    molar, dissolves, groups, touches = (blocks[field] for field in ("molar", "dissolves", "groups", "touches"))
    per_mole = _grams(molar["value"]) if molar is not None else None
    return Chemical(
        name=record["name"],
        aliases=tuple(record["aliases"]),
        words=record["called"]["words"],
        short=record["called"]["short"],
        counted=record["called"]["active"],
        kind=record["kind"],
        form=record["form"],
        active=record["active"],
        molar=per_mole,
        label=_label(record["label"]),
        solution=_solution(blocks["solution"]),
        dissolves=tuple((float(c), float(g)) for c, g in dissolves["rows"]) if dissolves is not None else (),
        acid=_acid(blocks["acid"]),
        base=_base(blocks["base"]),
        lawn=blocks["lawn"]["value"] if blocks["lawn"] is not None else "never",
        touches=touches["as"] if touches is not None else None,
        touches_but=touches["but"] if touches is not None and touches["but"] != NONE else {},
        people=_people(blocks["people"]),
        bath=_bath(blocks["bath"]),
        listed=_listed(blocks["transport"], per_mole),
        groups=tuple(groups["of"]) if groups is not None else (),
        groups_source=groups["source"] if groups is not None else NOT_FOUND,
        unknown=frozenset(field for field in FIELDS if record[field] == NOT_FOUND),
        **lists,
    )


def _number(text: str) -> float | None:
    return None if text in (NONE, NOT_FOUND) else float(text)


def _grams(text: str) -> float | None:
    """g as kg, to the last digit."""
    return None if text in (NONE, NOT_FOUND) else float(f"{text}e-3")


def _heat(text: str) -> float | None:
    return None if text in (NONE, NOT_FOUND) else float(text.removesuffix(" kJ")) * 1e3


def _by_basis(written: Mapping[str, str] | str) -> Mapping[str, float]:
    return {basis: float(text) for basis, text in written.items()} if isinstance(written, Mapping) else {}


def _dense(text: str) -> float | None:
    return None if text in (NONE, NOT_FOUND) else read(text, "concentration")


def _label(row: Mapping[str, Any]) -> Label:
    return Label(
        bases=tuple(row["bases"]), most=_by_basis(row["most"]),
        example=row["example"] if row["example"] != NONE else "", asked=row["asked"] == "yes",
        sold_to=_dense(row["sold_to"]),
    )  # fmt: skip


def _solution(row: Mapping[str, Any] | None) -> Solution:
    if row is None:
        return Solution(by=NONE)
    found = row["rows"] if isinstance(row["rows"], list) else []
    return Solution(
        by=row["by"],
        rows=tuple((float(one[0]), float(one[1])) for one in found),
        thickness=tuple(float(one[2]) for one in found if len(one) > 2),
        water_free=float(row["water_free"]),
        heaviest=_dense(row["heaviest"]),
    )


def _acid(row: Mapping[str, Any] | None) -> Acid | None:
    if row is None:
        return None
    pk = () if row["pk"] == "strong" else tuple(float(one) for one in row["pk"])
    return Acid(
        protons=float(row["protons"]), pk=pk, lime=float(row["lime"]), spent_ph=float(row["spent_ph"]),
        with_lime=_heat(row["with_lime"]) or 0.0,
    )  # fmt: skip


def _base(row: Mapping[str, Any] | None) -> Base | None:
    if row is None:
        return None
    parts = {name: _number(row[name]) for name in ("hydroxide", "carbonate", "peroxide", "gas")}
    return Base(**parts, in_acid=_heat(row["in_acid"]), with_weak=_heat(row["with_weak"]))


def _people(row: Mapping[str, Any] | None) -> People:
    if row is None:  # the worst there is
        return People(burns="strong", aid=("alkali", "gas", "dust"), fumes="unknown_fumes", spill="unknown_spill")
    fumes, spill = (row[name] if row[name] != NONE else "" for name in ("fumes", "spill"))
    return People(burns=row["burns"], aid=tuple(row["aid"]), fumes=fumes, spill=spill)


def _bath(row: Mapping[str, Any] | None) -> BathRow | None:
    if row is None:
        return None
    spans = {basis: (float(low), float(high)) for basis, (low, high) in row["range"].items()}
    return BathRow(
        how=tuple(row["how"]), above=row["above"], usual=row["usual"], most=_by_basis(row["most"]),
        least=_by_basis(row["least"]), range=spans,
    )  # fmt: skip


def _listed(row: Mapping[str, Any] | None, molar: float | None) -> Listed | None:
    if row is None:  # counted, whatever of it there is
        return Listed(un="", wording="nothing known here: its paper says", kind="not known", least=0.0, reported="",
                      times=1.0, source=NOT_FOUND)  # fmt: skip
    if row["listed"] != "yes":
        return None
    pure = _grams(row["reported_molar"])
    return Listed(
        un=row["un"], wording=row["wording"], kind=row["class"], least=read(row["from"], "concentration"),
        reported=row["reported"] if row["reported"] != NONE else "",
        times=pure / molar if pure is not None and molar is not None else 1.0, source=row["source"],
    )  # fmt: skip


CHEMICALS: Mapping[str, Chemical] = {row["name"]: chemical_of(row) for row in rows("chemicals")}
_BY_ANY_NAME = {name: chemical for chemical in CHEMICALS.values() for name in (chemical.name, *chemical.aliases)}


def chemical_named(text: str) -> Chemical | None:
    """The chemical of a name or an alias, however its words are joined; None where there is none."""
    return _BY_ANY_NAME.get("_".join(text.casefold().replace("-", " ").replace("_", " ").split()))


def refused_name(text: str, *, anywhere: bool = False) -> tuple[str, str] | None:
    """What is wrong with a word people write for a chemical, and what to do; `anywhere`: in any name, a lot's too."""
    said = f" {' '.join(_LETTERS.findall(text.casefold()))} "
    for row in rows("chemicals", "refused"):
        words = row.get("always", ()) if anywhere else row["words"]
        if any(f" {word} " in said or f"{word}s " in said for word in words):
            return f"`{text[:60]}` {row['message']}", row["remedy"]
    return None


def kind_of(chemical: str | None) -> str:
    """What a chemical is on a job; empty for water and what no record tells of."""
    return CHEMICALS[chemical].kind if chemical is not None and chemical in CHEMICALS else ""


def of_kind(kind: str) -> tuple[str, ...]:
    """The chemicals of a kind, in the table's order."""
    return tuple(chemical.name for chemical in CHEMICALS.values() if chemical.kind == kind)


def words_of(chemical: str) -> str:
    """A chemical's name in a sentence."""
    return CHEMICALS[chemical].words if chemical in CHEMICALS else chemical.replace("_", " ")


def short_of(chemical: str) -> str:
    """Its word on crew pages: bleach as people call it."""
    return CHEMICALS[chemical].short if chemical in CHEMICALS else chemical.replace("_", " ")


ACIDS: Final = of_kind("acid")
ALKALIS: Final = of_kind("alkali")
DRY: Final = tuple(chemical.name for chemical in CHEMICALS.values() if chemical.form == "dry")
(BLEACH,) = of_kind("bleach")
(SOAP,) = of_kind("soap")
"""The one bleach and the one soap there is: ageing, strips for chlorine and doses on top are theirs alone."""
NO_STRIP: Final[Mapping[str, str]] = {"disinfectant": "no foam in a shaken bottle", "solvent": "no smell and no film"}
"""Kinds that no chlorine or pH strip shows, and what their last water is looked at for (common practice, no source)."""
LASTS: Final = frozenset(chemical.name for chemical in CHEMICALS.values() if chemical.kind in NO_STRIP)
"""What may reach no drain, ground or water thin or not, as nothing here is known to end it: quat and solvents."""
BURNS: Final = frozenset(chemical.name for chemical in CHEMICALS.values() if chemical.people.burns != "no")
"""What burns skin: gloves and a face shield to pour it, and its flush is caught."""


def by_equation(chemical: str) -> str:
    """The equation that tells what a chemical weighs in water, where it has one of its own; else `rows` or `none`."""
    return CHEMICALS[chemical].solution.by if chemical in CHEMICALS else NONE


def foams(chemical: str) -> bool:
    """Whether it gives off carbon dioxide where it meets an acid; of one nobody knows it is taken so."""
    row = CHEMICALS.get(chemical)
    return row is None or "base" in row.unknown or (row.base is not None and bool(row.base.gas))


def ended_by(chemical: str) -> tuple[str, ...]:
    """What may end a leftover of a chemical, the best first."""
    return tuple(row["name"] for row in CHEMICALS[chemical].neutralised)


def covered_by(names: Iterable[str]) -> tuple[str, ...]:
    """Chemicals and other substances that `covers` of a record names, each kind by all that are of it."""
    return tuple(one for name in names for one in (of_kind(name) if name in KINDS else (name,)))


def overshoots(chemical: str) -> bool:
    """Whether a little too much of it stands at pH 12: a hydroxide."""
    base = CHEMICALS[chemical].base if chemical in CHEMICALS else None
    return base is not None and bool(base.hydroxide)


def unseen_of(chemicals: Iterable[str]) -> str:
    """What the last water of a flush of these is looked at for beside its strips; nothing where strips show it all."""
    return " and ".join(dict.fromkeys(NO_STRIP[kind] for kind in map(kind_of, chemicals) if kind in NO_STRIP))


def lawn_of(chemical: str) -> str:
    """What of a chemical may go to the lawn; of one nobody knows, nothing."""
    return CHEMICALS[chemical].lawn if chemical in CHEMICALS else "never"
