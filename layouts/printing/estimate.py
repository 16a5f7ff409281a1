"""Hours and grams of one printed part, from its lines."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from layouts.formats import materials
from layouts.printer_spec import Printer, filament_mm2
from layouts.printing.lines import FillAreas, PartLines, WallLines
from layouts.printing.seconds import closed_lines_s, fill_s, run_s

__all__ = ["PrintEffort", "cost_of", "effort_of"]

# Sparse lines are waves: a nozzle goes along them at no more than so many times the jerk at 25 %
# infill and 1500 mm/s2, faster where the waves are longer or the acceleration is greater; fitted on
# sliced parts of 15, 25 and 50 %
WAVY_OF_JERK, WAVY_SHARE, WAVY_MM_S2 = 3.5, 0.25, 1500.0
WAVY_BY_SHARE, WAVY_BY_ACCELERATION = 0.4, 0.25  # powers
# length of sparse lines: so much of share x area / distance, and so much of the rim, along which
# their ends are joined; fitted on seven sliced parts
SPARSE_OF_AREA, SPARSE_OF_RIM = 0.93, 0.35
# moves without printing: so many to a closed line and to an island, fitted on sliced parts; each
# as long as this share of a section's size, with this long a pull of the filament
MOVES_A_LINE, MOVES_AN_ISLAND, MOVE_SHARE, MOVE_PULL_S = 1.6, 1.7, 0.35, 0.06
MOST_INNER = 2  # inner lines that take a move: further ones follow the one beside them
LAYER_CHANGE_S = 0.3
LEAST_LAYER_S = 5.0  # a layer cools for so long before the next; common practice, no source
LEAST_SPEED_MM_S = 10.0  # but no line is printed slower for it; common practice, no source
LEAST_SOLID_MM2 = 0.5
BRIDGE_APART_MM = 0.05  # bridges are lines as thick as the nozzle, with so much air between


@dataclass(frozen=True, kw_only=True, slots=True)
class PrintEffort:
    """One copy: hours, filament in grams and metres."""

    hours: float
    filament_g: float
    filament_m: float


def cost_of(effort: PrintEffort, printer: Printer) -> float:
    """Filament and power, in the currency of their prices."""
    power = effort.hours * printer.power_w / 1000.0 * printer.tariff_per_kwh
    return effort.filament_g / 1000.0 * printer.filament.price_per_kg + power


def effort_of(lines: PartLines, printer: Printer) -> PrintEffort:
    """Hours and filament of a part's lines on a printer."""
    counted: dict[tuple[int, int, bool], int] = {}
    for k, (wall, fill) in enumerate(lines.of):
        key = (wall, fill, k == 0)
        counted[key] = counted.get(key, 0) + 1
    layer = _LayerEffort(lines, printer)
    seconds = math.fsum(
        count * layer.seconds(wall, lines.fills[fill], first=first)
        for (wall, fill, first), count in counted.items()
    )
    volume = math.fsum(
        count * layer.volume_mm3(lines.walls[wall], lines.fills[fill])
        for (wall, fill, _), count in counted.items()
    )
    density = printer.filament.density_g_cm3 or materials()[printer.material].density_g_cm3
    return PrintEffort(
        hours=seconds / 3600.0,
        filament_g=volume / 1000.0 * density,
        filament_m=volume / filament_mm2(printer.filament.diameter_mm) / 1000.0,
    )


class _LayerEffort:
    """Seconds and volume of single layers; seconds of walls are computed once for each section."""

    def __init__(self, lines: PartLines, printer: Printer) -> None:
        self._settings, self._printer = lines.settings, printer
        self._walls = [self._wall_seconds(one) for one in lines.walls]
        self._lines = lines.walls

    def _wall_seconds(self, wall: WallLines) -> tuple[float, float]:
        """Seconds of the first line, and of all others, at their own speeds."""
        printer, speeds = self._printer, self._printer.speeds_mm_s
        first, second = (
            closed_lines_s(
                lines,
                speed_mm_s=speed,
                small_mm_s=speeds.small,
                jerk_mm_s=printer.jerk_mm_s,
                acceleration_mm_s2=printer.acceleration_mm_s2,
            )
            for lines, speed in ((wall.outer, speeds.outer), (wall.second, speeds.inner))
        )
        share = wall.inner_mm / second_mm if (second_mm := wall.second.length_mm) else 0.0
        return first, second * share

    def seconds(self, number: int, fill: FillAreas, *, first: bool) -> float:
        """One layer with the walls of that number."""
        speeds, wall = self._printer.speeds_mm_s, self._lines[number]
        outer, inner = self._walls[number]
        if first:
            outer, inner = outer * speeds.outer / speeds.first, inner * speeds.inner / speeds.first
        total = outer + inner + self._filled_s(fill, speeds.first if first else math.inf)
        total += self._moves_s(wall, fill)
        if total < LEAST_LAYER_S:
            total = min(LEAST_LAYER_S, wall.outer.length_mm / LEAST_SPEED_MM_S + total)
        return total

    def _filled_s(self, fill: FillAreas, most_mm_s: float) -> float:
        settings, printer, speeds = self._settings, self._printer, self._printer.speeds_mm_s
        apart = settings.apart_mm

        def solid_s(speed: float) -> float:
            return fill_s(
                fill.solid_mm2, fill.rim_mm, apart_mm=apart, speed_mm_s=min(speed, most_mm_s),
                jerk_mm_s=printer.jerk_mm_s, acceleration_mm_s2=printer.acceleration_mm_s2,
            )  # fmt: skip

        seconds = 0.0
        if (sparse_mm := self._sparse_mm(fill)) > 0.0:
            waves = WAVY_OF_JERK * (WAVY_SHARE / settings.infill_share) ** WAVY_BY_SHARE
            waves *= (printer.acceleration_mm_s2 / WAVY_MM_S2) ** WAVY_BY_ACCELERATION
            seconds = sparse_mm / min(speeds.sparse, waves * printer.jerk_mm_s, most_mm_s)
        if fill.solid_mm2 > 0.0:
            top, hang = fill.top_mm2 / fill.solid_mm2, fill.hanging_mm2 / fill.solid_mm2
            lines = apart / (printer.nozzle_mm + BRIDGE_APART_MM)
            seconds += solid_s(speeds.top) * top + solid_s(speeds.bridge) * hang * lines
            seconds += solid_s(speeds.solid) * (1.0 - top - hang)
        return seconds

    def _moves_s(self, wall: WallLines, fill: FillAreas) -> float:
        """Moves from line to line, and to the next layer."""
        outer = len(wall.outer.begins)
        inner = min(self._settings.wall_lines - 1, MOST_INNER)
        lines = outer + inner * max(len(wall.second.begins), 1)
        islands = max(outer, 1) if fill.solid_mm2 > LEAST_SOLID_MM2 else 0
        way = run_s(
            MOVE_SHARE * wall.across_mm,
            self._printer.speeds_mm_s.travel,
            0.0,
            self._printer.acceleration_mm_s2,
        )
        moves = MOVES_A_LINE * lines + MOVES_AN_ISLAND * islands
        return moves * (MOVE_PULL_S + float(way)) + LAYER_CHANGE_S

    def _sparse_mm(self, fill: FillAreas) -> float:
        """Length of the sparse lines."""
        share, apart = self._settings.infill_share, self._settings.apart_mm
        if not share:
            return 0.0
        return SPARSE_OF_AREA * share * fill.sparse_mm2 / apart + SPARSE_OF_RIM * fill.sparse_rim_mm

    def volume_mm3(self, wall: WallLines, fill: FillAreas) -> float:
        """Plastic of one layer."""
        settings, nozzle = self._settings, self._printer.nozzle_mm
        # bridges: lines of the nozzle's own diameter
        bridge_mm = np.pi / 4.0 * nozzle**2 / (nozzle + BRIDGE_APART_MM)
        sparse_mm2 = self._sparse_mm(fill) * settings.apart_mm
        flat_mm2 = wall.wall_mm2 + fill.solid_mm2 - fill.hanging_mm2 + sparse_mm2
        return settings.layer_mm * flat_mm2 + float(bridge_mm) * fill.hanging_mm2
