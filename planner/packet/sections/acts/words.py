"""A row's words as spans, and what a vessel holds when an act begins."""

from __future__ import annotations

from collections.abc import Mapping

from planner.packet.blocks import Span, Spans
from planner.plan.procedure.acts import Act, Drain, Fill, Pour, Procedure

_DROP = 1e-6  # m3; less than a teaspoon is an empty vessel


def spoken_spans(text: str, values: Mapping[str, str]) -> Spans:
    """Words of a row as spans: what stands between ** is strong. Values are data and are put in last."""
    parts = text.split("**")
    spans = (Span(text=part.format(**values), strong=bool(n % 2)) for n, part in enumerate(parts))
    return tuple(span for span in spans if span.text)


def holds_before(procedure: Procedure, act: Act, vessel: str) -> bool:
    """Whether something is in a vessel when an act begins: what it came with, and what went in and was not emptied."""
    begun = procedure.begin.tanks.get(vessel)
    held = (begun.volume or 0.0) if begun is not None else 0.0
    for one in procedure.acts:
        if one.start >= act.start:
            break
        match one.detail:
            case Fill(into=into, volume=volume) | Pour(into=into, volume=volume) if into == vessel:
                held += volume or 0.0
            case Drain(source=source, to=to, volume=volume) if vessel in (source, to):
                held += volume if to == vessel else -volume
    return held > _DROP
