"""The kinds of text a record takes: as crews write them in a box, see `inputs/handwriting.py`, each read to SI."""

from __future__ import annotations

import re
from typing import Annotated

from planner.inputs.handwriting import (
    Residual,
    plain,
    read_bucket_done,
    read_count,
    read_gauge,
    read_money,
    read_number,
    read_residual,
    read_time,
    read_volume,
)
from planner.inputs.models.quantities import Amount, Reads
from planner.inputs.strengths import EXAMPLES, Strength, read_strength
from planner.units import DIMENSIONS, Bucket, Unreadable, read

HIGHEST_PH = 14.0
"""The end of the pH strips; stronger acids and lyes pass it only on paper."""


def _length(text: str) -> float:
    return read(plain(text, "a length"), "length")


def _above_zero(text: str) -> float:
    value = _length(text)
    if value <= 0.0:
        raise Unreadable("quantity.range", f"`{text[:40]}` is nothing", "write a length above zero, such as `31 ft`")
    return value


def _amount(text: str) -> Amount:
    """A volume, or a weight; ounces by themselves are a weight where no box has said otherwise."""
    told = re.sub(r"(?<=[0-9.½⅓¼¾⅛⅔⅜⅝⅞]) ?#$", " lb", plain(text, "a volume or a mass", parts=True))
    if re.search(r"[0-9.½⅓¼¾⅛⅔⅜⅝⅞] ?(?:lbs?|pounds?|oz|ounces?)\b", told, re.IGNORECASE) and not re.search(
        r"fl|gal", told, re.I
    ):
        return Amount(volume=None, mass=read(told, "mass"))
    try:
        return Amount(volume=read_volume(told), mass=None)
    except Unreadable as slip:
        if slip.code == "quantity.dimension" and " is a mass" in slip.message:
            return Amount(volume=None, mass=read(told, "mass"))
        raise


def _strength(text: str) -> Strength:
    told = plain(text, "a strength")
    return read_strength(f"{told} %" if re.search(r"[0-9] ?(?:trade|wt|vol)$", told, re.IGNORECASE) else told)


def _ph(text: str) -> float:
    value = read_number(re.sub(r"^ph\s*[:=]?\s*", "", text.strip(), flags=re.IGNORECASE), parts=False)
    if value > HIGHEST_PH:
        raise Unreadable(
            "quantity.range", f"`{text[:40]}` is no pH a strip shows", "write a number from 0 to 14, such as `7`"
        )
    return value


def _bath(text: str) -> float:
    return read_time(text, watch=False)


def _article(dimension: str) -> tuple[str, str]:
    return DIMENSIONS[dimension].article, DIMENSIONS[dimension].example


GaugeDone = Annotated[float, Reads(read_gauge, (float, int), *_article("pressure"))]
LengthDone = Annotated[float, Reads(_length, (float, int), *_article("length"))]
PositiveLengthDone = Annotated[float, Reads(_above_zero, (float, int), *_article("length"))]
VolumeDone = Annotated[float, Reads(read_volume, (float, int), *_article("volume"))]
DwellDone = Annotated[float, Reads(read_time, (float, int), *_article("time"))]
BathDone = Annotated[float, Reads(_bath, (float, int), *_article("time"))]
BucketDone = Annotated[Bucket, Reads(read_bucket_done, (Bucket,), "a bucket test", "`5 gal in 50 s`")]
DialDone = Annotated[float, Reads(read_number, (float, int), "a number", "`0.95`", ("number",))]
PhDone = Annotated[float, Reads(_ph, (float, int), "a number", "`0.95`", ("number",))]
MoneyDone = Annotated[float, Reads(read_money, (float, int), "a sum of money", "`62.50`", ("number",))]
CountDone = Annotated[int, Reads(read_count, (int,), "a whole number", "`3`", ("integer",))]
AmountDone = Annotated[Amount, Reads(_amount, (Amount,), "a volume or a mass", "`12 gal` or `50 lb`")]
StrengthDone = Annotated[Strength, Reads(_strength, (Strength,), "a strength", EXAMPLES)]
ResidualDone = Annotated[Residual, Reads(read_residual, (Residual,), *_article("concentration"))]
