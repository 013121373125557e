"""How strong a liquid is, as it was written, and in which of the trade's percents.

A drum marked 12.5 % may hold 12.5 or 14.1 trade %, so a strength always keeps
its basis; what needs a density to convert is converted by chemistry.
"""

from __future__ import annotations

import re
from typing import Final, Literal

from planner.frozen import dataclass
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS
from planner.units import Unreadable

Basis = Literal["trade", "wt_naocl", "wt_cl2", "g_l_cl2", "g_l", "wt", "degbe", "vol", "normal", "bare"]
LONGEST_TEXT = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """`amount` in the percent, g/L, degree or normality that `basis` names; `text` as it was written.

    trade: g available chlorine per 100 mL.  wt_naocl, wt_cl2, wt: percent by weight.  g_l_cl2, g_l: g/L.
    degbe: degrees Baume, heavier than water.  vol: volumes of stock per 100 volumes of mix.  normal: eq/L.
    bare: a percent that does not say which.
    """

    amount: float
    basis: Basis
    text: str


# The most each basis can hold: pure substance, and for hypochlorite well over anything that keeps.
_MOST: dict[str, float] = {
    "trade": 25.0, "wt_naocl": 25.0, "wt_cl2": 25.0, "g_l_cl2": 250.0, "g_l": 2000.0, "wt": 100.0,
    "degbe": 70.0, "vol": 100.0, "normal": 40.0, "bare": 100.0,
}  # fmt: skip
_NUMBER = r"(?P<number>\d+(?:\.\d+)?|\.\d+) ?"
_PATTERNS: tuple[tuple[str, Basis], ...] = (
    (r"(?:trade ?(?:%|percent)|% ?trade)", "trade"),
    (r"(?:wt\.? ?%|% ?wt\.?|% ?w/w|% by weight) ?naocl|% ?naocl by weight", "wt_naocl"),
    (r"(?:wt\.? ?%|% ?wt\.?|% ?w/w|% by weight) ?cl2|% ?cl2 by weight", "wt_cl2"),
    (r"(?:g/l|gpl) ?(?:cl2|available cl2|available chlorine)", "g_l_cl2"),
    (r"(?:g/l|gpl)", "g_l"),
    (r"(?:wt\.? ?%|% ?wt\.?|% ?w/w|% by weight)", "wt"),
    (r"(?:deg ?|° ?)?(?:be|bé|baume|baumé)", "degbe"),
    (r"(?:vol\.? ?%|% ?vol\.?|% ?v/v|% by volume)", "vol"),
    (r"n(?:ormal)?", "normal"),
    (r"(?:%|percent)", "bare"),
)
_READERS = tuple((re.compile(_NUMBER + f"(?:{pattern})", re.ASCII), basis) for pattern, basis in _PATTERNS)
EXAMPLES = "`12.5 trade %`, `12.5 wt % NaOCl`, `31.45 wt %`, `20 degBe`, `15 vol %` or `1:10`"

OTHER_STOCK_BASES: tuple[Basis, ...] = ("wt", "g_l")
UNITS: Final = {"vol": "vol %", "wt": "wt %", "g_l": "g/L", "normal": "N", "degbe": "degBe"}
"""How each basis is written that is no percent of bleach."""


def read_strength(text: str) -> Strength:
    """The strength a text says; raises Unreadable."""
    if not isinstance(text, str) or len(text) > LONGEST_TEXT:
        raise Unreadable("strength.text", "this cannot be read as a strength", f"write it like {EXAMPLES}")
    plain = " ".join(text.split())
    low = plain.lower()
    ratio = re.fullmatch(r"1 ?: ?(\d{1,4}(?:\.\d+)?)(?: by volume)?", low, re.ASCII)
    if ratio:
        # One part of stock to so many parts of water: the share is of the whole mix.
        return Strength(amount=100.0 / (1.0 + float(ratio[1])), basis="vol", text=plain)
    for pattern, basis in _READERS:
        match = pattern.fullmatch(low)
        if match:
            return _bounded(float(match["number"]), basis, plain)
    if re.fullmatch(r"[\d.]+", plain):
        raise Unreadable("strength.bare", f"`{plain}` does not say which strength", f"write it like {EXAMPLES}")
    raise Unreadable("strength.text", f"`{plain}` cannot be read as a strength", f"write it like {EXAMPLES}")


def _bounded(amount: float, basis: Basis, plain: str) -> Strength:
    if amount <= 0:
        raise Unreadable(
            "strength.range", f"`{plain}` holds nothing", "write the strength, or `chemicals: []` for water only"
        )
    if amount > _MOST[basis]:
        raise Unreadable("strength.range", f"`{plain}` is stronger than can be", f"write it like {EXAMPLES}")
    return Strength(amount=amount, basis=basis, text=plain)


def too_strong(strength: Strength, chemical: str) -> tuple[str, str, str] | None:
    """Code, message and remedy where nothing of the chemical is so strong, else None."""
    label = CHEMICALS[chemical].label if chemical in CHEMICALS else None
    most = label.most.get(strength.basis) if label is not None else None
    if label is None or most is None or strength.amount <= most:
        return None
    return (
        "strength.range",
        f"`{strength.text}` is stronger than {chemical} can be: {most:g} {UNITS[strength.basis]} at most",
        f"write how strong it is; it is sold at `{label.example}`",
    )


def _bases(chemical: str) -> tuple[str, ...]:
    """How a container of it may say how strong it is."""
    return CHEMICALS[chemical].label.bases if chemical in CHEMICALS else OTHER_STOCK_BASES


def mix_slip(strength: Strength, chemical: str) -> tuple[str, str, str] | None:
    """Code, message and remedy where a strength does not say how much of a chemical is in a mix, else None."""
    weighed = chemical in CHEMICALS and CHEMICALS[chemical].form == "dry"
    number = f"{strength.amount:g}"
    if strength.basis == "bare":
        if chemical == BLEACH:
            return (
                "strength.bare",
                f"`{strength.text}` does not say which percent of hypochlorite",
                f"write `{number} trade %` or `{number} wt % NaOCl`",
            )
        return (
            "strength.bare",
            f"`{strength.text}` of {chemical} does not say by weight or by volume",
            f"write `{number} wt %`, or grams such as `30 g/L`"
            if weighed
            else f"write `{number} vol %`, or a ratio such as `1:10`",
        )
    allowed = _bases(chemical)
    if strength.basis not in allowed and (weighed or strength.basis != "vol"):
        example = "1.0 %" if chemical == BLEACH else "5 wt %` or `50 g/L" if weighed else "1:10"
        why = ": crystals are weighed, not poured" if weighed and strength.basis == "vol" else ""
        return (
            "strength.basis",
            f"`{strength.text}` does not say how much {chemical} is in the mix{why}",
            f"write it like `{example}`",
        )
    return too_strong(strength, chemical)


def stock_slip(strength: Strength, chemical: str) -> tuple[str, str, str] | None:
    """Code, message and remedy where a lot's strength does not say what its chemical needs, else None."""
    allowed = _bases(chemical)
    if strength.basis in allowed:
        return too_strong(strength, chemical)
    written, number = strength.text, f"{strength.amount:g}"
    if chemical == BLEACH:
        if strength.basis in ("bare", "wt"):
            return (
                "strength.bare",
                f"`{written}` does not say which percent, and each is another strength",
                f"write `{number} trade %`, `{number} wt % NaOCl` or `{number} wt % Cl2`, as its paper says. "
                "If the drum says just that, get its data sheet: guessed wrong, the mix can be a fifth too strong",
            )
        return (
            "strength.basis",
            f"`{written}` is not a strength of hypochlorite stock",
            "write it like `12.5 trade %`, `12.5 wt % NaOCl` or `120 g/L Cl2`",
        )
    if strength.basis == "bare":
        return (
            "strength.bare",
            f"`{written}` does not say whether it is by weight or by volume",
            f"write `{number} wt %`, or degrees such as `20 degBe`, whichever its paper says",
        )
    return ("strength.basis", f"`{written}` is not a strength of {chemical} stock", "write it like `31.45 wt %`")
