"""Walls and gaps too narrow for a printer's lines; the map of a part's thickness."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.printable.finding import Look, PrintCheck, PrintFinding, Severity
from layouts.printable.layers import PartLayers
from layouts.printable.limits import GAP_MM, PRACTICE, SLIVER_LINES, SLIVER_LOW_MM, WALL_NOZZLES
from layouts.printable.measuring import Narrow, ThicknessMap, measured_gaps, measured_walls

__all__ = ["GAPS", "WALLS", "WallMap", "wall_map"]

MAP_CELL_MM = 0.6  # of a map's raster: one point in each, the thinnest


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class WallMap:
    """How thick the walls of a part are, seen from above: of all layers the thinnest.

    ``points_mm`` (n, 2), ``thickness_mm`` (n,), ``z_mm`` (n,): the layer's underside. ``outline``:
    the broadest layer. ``limit_mm``: what a wall must be on this printer."""

    part: str
    outline: BaseGeometry
    points_mm: NDArray[np.float64]
    thickness_mm: NDArray[np.float64]
    z_mm: NDArray[np.float64]
    limit_mm: float

    @property
    def thinnest(self) -> int | None:
        """Number of the thinnest point; None: no wall is thin enough to be measured."""
        return int(self.thickness_mm.argmin()) if len(self.thickness_mm) else None


def wall_map(layers: PartLayers) -> WallMap:
    """Thickness of a part's walls, over all heights."""
    mapped, _ = layers.once("walls", _measured)
    kept = _thinnest_each(mapped)
    return WallMap(
        part=layers.part.name,
        outline=max(layers.stack.sections, key=lambda one: float(one.area)),
        points_mm=mapped.points_mm[kept],
        thickness_mm=mapped.thickness_mm[kept],
        z_mm=np.array(mapped.layers[kept] * layers.layer_mm, np.float64),
        limit_mm=_wall_limit_mm(layers),
    )


def _thinnest_each(mapped: ThicknessMap) -> NDArray[np.intp]:
    """Numbers of the points that are the thinnest in their cell of the raster."""
    order = np.argsort(mapped.thickness_mm, kind="stable")
    cells = np.floor(mapped.points_mm[order] / MAP_CELL_MM).astype(np.int64)
    _, first = np.unique(cells, axis=0, return_index=True)
    return order[np.sort(first)]


def _measured(layers: PartLayers) -> tuple[ThicknessMap, tuple[Narrow, ...]]:
    return measured_walls(layers.stack, _wall_limit_mm(layers))


def _wall_limit_mm(layers: PartLayers) -> float:
    return WALL_NOZZLES * layers.printer.nozzle_mm


def _walls(layers: PartLayers) -> Look:
    limit_mm = _wall_limit_mm(layers)
    mapped, narrow = layers.once("walls", _measured)
    sliver_mm = SLIVER_LINES * layers.printer.line_wide_mm
    findings = []
    for one in narrow:
        found = _finding(layers, WALLS.id, one, limit_mm, "a wall")
        mean_mm = one.strip.region.area / one.strip.long_mm
        low = layers.floor_mm(one.layer) < SLIVER_LOW_MM
        findings.append(_sliver(found) if low and mean_mm < sliver_mm else found)
    fails = [one.value for one in findings if one.severity is Severity.FAILS]
    worst = mapped.least_mm
    if len(fails) < len(findings):  # of slivers alone the least that is printed is not known
        worst = min(fails, default=limit_mm)
    return Look(worst=worst, limit=limit_mm, findings=tuple(findings))


def _sliver(finding: PrintFinding) -> PrintFinding:
    """The rest of a lip beside a channel, too narrow for a line: nothing stands on it."""
    what = f"{finding.what}: a slicer leaves it out"
    return replace(finding, what=what, severity=Severity.WARNS)


def _gaps(layers: PartLayers) -> Look:
    mapped, narrow = measured_gaps(layers.stack, GAP_MM)
    return Look(
        worst=mapped.least_mm,
        limit=GAP_MM,
        findings=tuple(_finding(layers, GAPS.id, one, GAP_MM, "a gap") for one in narrow),
    )


def _finding(
    layers: PartLayers, kind: str, narrow: Narrow, limit_mm: float, what: str
) -> PrintFinding:
    strip = narrow.strip
    at = strip.region.representative_point()
    return PrintFinding(
        kind=kind,
        part=layers.part.name,
        what=f"{what} {narrow.strip.width_mm:.2f} mm wide, {strip.long_mm:.1f} long",
        at_mm=(at.x, at.y, layers.floor_mm(narrow.layer)),
        value=narrow.strip.width_mm,
        unit="mm",
        limit=limit_mm,
        severity=Severity.FAILS,
        region=strip.region,
        outline=narrow.section,
    )


WALLS = PrintCheck(
    id="print_walls",
    title="thin wall",
    about="least thickness of a wall, two lines of the nozzle at least",
    limit=None,
    unit="mm",
    source=PRACTICE,
    remedy="a smaller printer.nozzle_mm; in a bracket's script make it thicker",
    look=_walls,
    at_least=True,
)
GAPS = PrintCheck(
    id="print_gaps",
    title="narrow gap",
    about="least width of a gap, which lines on both sides would close",
    limit=GAP_MM,
    unit="mm",
    source=PRACTICE,
    remedy="in a bracket's script make it wider, or close it",
    look=_gaps,
    at_least=True,
)
