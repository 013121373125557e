"""Quantities: text to an SI float, and an SI float to text in the reader's units."""

from planner.units.grammar import (
    Bucket,
    HeadOrPressure,
    Unreadable,
    read,
    read_bucket,
    read_head_or_pressure,
    read_rectangle,
)
from planner.units.printing import Toward, show, show_number
from planner.units.table import DIMENSIONS, System

__all__ = [
    "DIMENSIONS",
    "Bucket",
    "HeadOrPressure",
    "System",
    "Toward",
    "Unreadable",
    "read",
    "read_bucket",
    "read_head_or_pressure",
    "read_rectangle",
    "show",
    "show_number",
]
