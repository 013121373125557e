"""Pumps: head a centrifugal or diaphragm pump adds at a flow; a piston pump's constant flow.

A centrifugal pump gives the same head in any liquid, so its pressure scales with density; a piston pump
gives the same flow.  Affinity: Q ~ n, H ~ n^2.  `condition` scales head: scale and worn plates show there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from planner.physics.interpolation import MonotoneCurve, monotone_cubic, straight


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadPump:
    """A centrifugal or diaphragm pump: `curve` gives head [m] at flow [m3/s] as it runs today.

    `cut_off` [Pa gauge at its outlet] is where its switch opens; None: it has none.
    """

    curve: MonotoneCurve
    cut_off: float | None = None

    @property
    def last_flow(self) -> float:
        """Flow [m3/s] of the curve's last measured point; beyond it the curve is a guess."""
        return self.curve.x[-1]


@dataclass(frozen=True, slots=True, kw_only=True)
class PistonPump:
    """A piston pump: `flow` [m3/s] whatever the pressure, until `unloader` [Pa gauge at its outlet]."""

    flow: float
    unloader: float | None


def centrifugal(
    points: Sequence[tuple[float, float]],
    *,
    cut_off: float | None = None,
    speed_ratio: float = 1.0,
    condition: float = 1.0,
) -> HeadPump:
    """A centrifugal pump from (flow [m3/s], head [m]) points, first at zero flow, heads never rising.

    `speed_ratio` is its speed over the curve's, `condition` [-] scales head, `cut_off` [Pa gauge] is its switch's.
    Source: affinity laws; monotone cubic through the points, its end slope carried on beyond the last.
    """
    flows = [q * speed_ratio for q, _ in points]
    heads = [h * speed_ratio**2 * condition for _, h in points]
    return HeadPump(curve=monotone_cubic(flows, heads), cut_off=cut_off)


def diaphragm(
    points: Sequence[tuple[float, float]],
    *,
    cut_off: float | None = None,
    speed_ratio: float = 1.0,
    condition: float = 1.0,
) -> HeadPump:
    """A diaphragm pump from (flow [m3/s], head [m]) points, straight between them; `cut_off` [Pa gauge]."""
    flows = [q * speed_ratio for q, _ in points]
    heads = [h * condition for _, h in points]
    return HeadPump(curve=straight(flows, heads), cut_off=cut_off)
