"""Parts of a line: each has a name and costs head as flow goes through it."""

from __future__ import annotations

from collections.abc import Sequence

from planner.frozen import dataclass
from planner.physics import hoses
from planner.physics.hoses import Hose, minor_head


@dataclass(frozen=True, slots=True, kw_only=True)
class HosePart:
    """One hose laid straight."""

    name: str
    hose: Hose

    @property
    def bore(self) -> float | None:
        """Bore [m] whose velocity is reported."""
        return self.hose.bore

    def head(self, flow: float, kinematic_viscosity: float) -> float:
        """Head lost [m] at `flow` [m3/s]."""
        return hoses.straight_head(self.hose, flow, kinematic_viscosity)


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilPart:
    """What the reel adds: the coiled share of every hose, over and above its straight loss."""

    name: str
    coils: tuple[Hose, ...]

    @property
    def bore(self) -> float | None:
        """Bore [m] whose velocity is reported."""
        return self.coils[0].bore if self.coils else None

    def head(self, flow: float, kinematic_viscosity: float) -> float:
        """Head lost [m] at `flow` [m3/s]."""
        return sum(hoses.coil_extra_head(hose, flow, kinematic_viscosity) for hose in self.coils)


@dataclass(frozen=True, slots=True, kw_only=True)
class MinorPart:
    """Fittings on one bore with their resistance coefficients added up."""

    name: str
    k: float
    bore: float

    def head(self, flow: float, kinematic_viscosity: float) -> float:
        """Head lost [m] at `flow` [m3/s]."""
        return minor_head(self.k, self.bore, flow)


@dataclass(frozen=True, slots=True, kw_only=True)
class DevicePart:
    """A panel or injector: `rated_head` [m] at `rated_flow` [m3/s], rising with the square of flow."""

    name: str
    rated_head: float
    rated_flow: float

    @property
    def bore(self) -> float | None:
        """A device has no bore to report."""
        return None

    def head(self, flow: float, kinematic_viscosity: float) -> float:
        """Head lost [m] at `flow` [m3/s]."""
        return self.rated_head * (flow / self.rated_flow) ** 2


Part = HosePart | CoilPart | MinorPart | DevicePart


def total_head(parts: Sequence[Part], flow: float, kinematic_viscosity: float) -> float:
    """Head lost [m] in all `parts` at `flow` [m3/s]."""
    return sum(part.head(flow, kinematic_viscosity) for part in parts)
