"""What is reported of one candidate: what to plan, how it fits, and its figures."""

from __future__ import annotations

from dataclasses import dataclass, field

from layouts.planning.steps import OutsidePlan
from layouts.suggesting.setting import Combination, Way

__all__ = ["Estimate", "Fit", "Row", "Task"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Task:
    """One pack to plan and the ways of standing to judge it in; all give the same plan."""

    candidate: Combination
    ways: tuple[Way, ...]
    miss_mm: float  # by estimate, of the best way


@dataclass(frozen=True, kw_only=True, slots=True)
class Estimate:
    """What may fit (within ``ENVELOPE_OFF_MM``), and what comes nearest where nothing may."""

    tasks: tuple[Task, ...]
    nearest: Task | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Fit:
    """A way of standing. ``gap_mm``: smallest gap to the space, negative where it sticks out.

    ``spare_mm``: the space's box less the pack's, along x, y, z as seen along the cells.
    ``angle_deg``: turn about the cells' axis beyond the way's side.
    """

    way: Way
    gap_mm: float
    spare_mm: tuple[float, float, float]
    angle_deg: float = 0.0

    @property
    def fits(self) -> bool:
        """Whether all lies within the space."""
        return self.gap_mm >= 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """A planned candidate in one way of standing.

    ``mass_kg``: cells, strips, printed parts at full infill. ``size_mm``: outside along x, y, z
    of the pack. ``by_estimate``: nothing of it is planned yet; gap and size are then 0 and the mass
    is by the cells'. ``failed``: ids of checks that do not hold; None where none was run.
    ``refused``: why it can't be planned at all; what a plan would give is then 0. ``outside``: the
    first half of its plan where it fits, which checking goes on from; dropped afterwards.
    """

    task: Task
    fit: Fit
    energy_wh: float
    nominal_v: float
    empty_v: float
    full_v: float
    current_a: float
    mass_kg: float
    size_mm: tuple[float, float, float]
    cost: float | None
    by_estimate: bool = False
    failed: tuple[str, ...] | None = None
    refused: str = ""
    outside: OutsidePlan | None = field(default=None, compare=False, repr=False)

    @property
    def candidate(self) -> Combination:
        """Cell, series, parallel and lattice."""
        return self.task.candidate

    @property
    def fits(self) -> bool:
        """It can be planned and lies within the space."""
        return not self.refused and self.fit.fits
