"""The printer on the bench: its bed, its speeds, what its filament and its power cost."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

__all__ = [
    "Filament",
    "PrintSpeeds",
    "PrintSpread",
    "Printer",
    "filament_mm2",
    "square_in_round_mm",
]

LINE_OF_NOZZLE = 1.125  # width of a printed line; common practice, no source
# Above one of these corners set the time of a line rather than straight runs, and an estimate that
# looks no further than the next corner is less true. Judged on sliced parts.
FAST_MM_S = 90.0
FAST_MM_S2 = 2500.0


@dataclass(frozen=True, kw_only=True, slots=True)
class PrintSpeeds:
    """Speeds of the nozzle [mm/s], by what it prints; ``small``: loops round holes and posts of
    up to 13 mm. Careful ones, for PETG; common practice, no source."""

    outer: float = 30.0
    inner: float = 45.0
    small: float = 15.0
    solid: float = 60.0
    sparse: float = 80.0
    top: float = 40.0
    bridge: float = 30.0
    first: float = 20.0
    travel: float = 150.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Filament:
    """What is printed with; ``density_g_cm3`` None: the material's. Prices in any currency."""

    diameter_mm: float = 1.75  # the usual one
    density_g_cm3: float | None = None
    price_per_kg: float = 25.0  # judged, no source


@dataclass(frozen=True, kw_only=True, slots=True)
class PrintSpread:
    """By how much prints of one part differ: one standard deviation each, all judged.

    ``scale_percent``: of a print, along each axis; ``skew_percent``: of x to y; ``place_mm``: a
    hole's centre against its neighbours', each axis; ``pocket_mm``: a hole's diameter.
    ``out_of_square_percent``: the printer's own, the same in every print. ``measured``: names of
    those that the pack file gives."""

    scale_percent: float = 0.05
    skew_percent: float = 0.03
    place_mm: float = 0.03
    pocket_mm: float = 0.04
    out_of_square_percent: float = 0.0
    measured: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Printer:
    """``bed_mm``: build volume along x, y, z; of a round bed the largest square upon it.

    ``bed_round_mm``: diameter and height of a round bed. ``edge_mm`` of the bed stays free round
    parts and their brim of ``brim_mm``.
    ``hole_mm``: by how much less holes come out in diameter than drawn; ``outside_mm``: by how much
    outsides grow on each side; ``shrink_percent``: shrinkage along x, y and z; ``foot_mm``: how far
    the first layer bulges on each side. ``measured``: the day on which these were, None: assumed;
    ``profile``: the file that they stand in, None: the pack file.
    ``line_mm``: width of a line, None: ``LINE_OF_NOZZLE``. ``wall_lines``, ``infill_percent``,
    ``top_layers``, ``bottom_layers``: of every part, None: as suggested for each.
    """

    bed_mm: tuple[float, float, float]
    nozzle_mm: float
    layer_mm: float
    material: str
    bed_round_mm: tuple[float, float] | None = None
    edge_mm: float = 3.0  # where a bed is flat and warm; common practice, no source
    brim_mm: float = 0.0  # parts stand on broad faces
    hole_mm: float = 0.0
    outside_mm: float = 0.0
    shrink_percent: tuple[float, float, float] = (0.0, 0.0, 0.0)
    foot_mm: float = 0.0
    measured: str | None = None
    profile: str | None = None
    line_mm: float | None = None
    wall_lines: int | None = None
    infill_percent: float | None = None
    top_layers: int | None = None
    bottom_layers: int | None = None
    speeds_mm_s: PrintSpeeds = PrintSpeeds()
    acceleration_mm_s2: float = 1500.0  # of printing moves; common practice, no source
    jerk_mm_s: float = 10.0  # step in speed on one axis without a stop; common practice, no source
    filament: Filament = Filament()
    power_w: float = 100.0  # heated bed and nozzle, mean over a print; judged
    tariff_per_kwh: float = 0.30  # judged, no source
    spread: PrintSpread = PrintSpread()

    @property
    def line_wide_mm(self) -> float:
        """Width of a printed line."""
        return LINE_OF_NOZZLE * self.nozzle_mm if self.line_mm is None else self.line_mm

    @property
    def prints_off_size(self) -> bool:
        """Whether parts are drawn otherwise than they shall become."""
        own = (self.hole_mm, self.outside_mm, self.foot_mm, *self.shrink_percent)
        return any(value != 0.0 for value in own)

    @property
    def bed_for_parts_mm(self) -> tuple[float, float, float]:
        """The build volume by parts' own sizes, which are drawn larger; either way round."""
        x, y, z = self.drawn_scale
        grown = 2.0 * max(-self.outside_mm, 0.0)
        wide, long, high = self.bed_mm
        return wide / max(x, y, 1.0) - grown, long / max(x, y, 1.0) - grown, high / max(z, 1.0)

    @property
    def drawn_scale(self) -> tuple[float, float, float]:
        """By how much a part is drawn larger along x, y and z, so that it shrinks to its size."""
        x, y, z = (1.0 / (1.0 - percent / 100.0) for percent in self.shrink_percent)
        return x, y, z

    @property
    def is_fast(self) -> bool:
        """Whether an estimate of time is within 20 % only, not within 10."""
        return self.speeds_mm_s.inner > FAST_MM_S or self.acceleration_mm_s2 > FAST_MM_S2


def square_in_round_mm(diameter_mm: float) -> float:
    """Side of the largest square on a round bed."""
    return diameter_mm / sqrt(2.0)


def filament_mm2(diameter_mm: float) -> float:
    """Cross-section of filament."""
    return pi / 4.0 * diameter_mm**2
