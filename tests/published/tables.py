"""Reads the tables of printed values beside this file."""

from __future__ import annotations

from pathlib import Path


def rows(name: str) -> list[dict[str, str]]:
    """Rows of a table as text, by the column names in its last comment line."""
    lines = (Path(__file__).parent / name).read_text(encoding="utf-8").splitlines()
    columns = [line for line in lines if line.startswith("#")][-1].lstrip("# ").split("\t")
    return [
        dict(zip(columns, line.split("\t"), strict=True)) for line in lines if line.strip() and not line.startswith("#")
    ]


def half_last_digit(printed: str) -> float:
    """Half a unit of the last digit printed: `26.5` is good to 0.05."""
    decimals = len(printed.split(".")[1]) if "." in printed else 0
    return 0.5 * 10.0**-decimals
