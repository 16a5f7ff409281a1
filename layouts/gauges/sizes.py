"""Sizes of the fit gauge: from the can, the honeycomb's pitch and the printer.

Seen from above it is an L of two bars, x along the lower one, y up the left one, with five pockets
in its corner. The lengths for the calliper lie between its outer faces.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from layouts.errors import PlanError
from layouts.formats import screws
from layouts.pack import Pack, Printer
from layouts.printing.settings import PrintSettings, settings_of

__all__ = [
    "BAR_MM",
    "RELIEF_MM",
    "STEPS_MM",
    "WALLS",
    "GaugeHole",
    "GaugeLengths",
    "GaugeSizes",
    "GaugeSlot",
    "GaugeWall",
    "gauge_settings",
    "gauge_sizes",
    "hundredths_words",
    "wall_mm",
]

STEPS_MM = (0.0, 0.1, 0.2, 0.3, 0.4)  # of the pockets' diameters over the can's
BAR_MM = 8.6  # width of both bars: a hole of 4.3 with a figure beside it
SHORT_MM = 20.0  # the short lengths
LONG_MM = 100.0  # the long ones, at least: 80 more than the short ones
HIGH_MM = 3.6  # of the plate: jaws that reach in from above by half of it stay off the foot
POST_MM, POST_HIGH_MM, POST_IN_MM = 6.0, 24.0, 1.0  # side, height, distance from the faces
WALLS = (1, 2, 3, 4)  # lines
WALL_RISE_MM, WALL_LONG_MM, WALL_APART_MM, WALL_FREE_MM = 3.0, 4.0, 4.4, 2.6
RIM_LINES = 3  # of plastic round the pockets where no neighbour is
# A can's rim may not lie on the bar's edge, where two curves would touch without crossing: no sum
# of hundredths is this
ASIDE_MM = 0.1275
SLOTS_MM = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6)
SLOT_LONG_MM = 4.0
HOLE_STEPS_MM = (0.0, 0.1, 0.2, 0.3)
SCREW = "M3"
SCREW_HOLES_MM = (3.1, 3.2, 3.3, 3.4)  # least play to the medium hole of ISO 273
NOTCH_STEPS_MM = (0.0, 0.2, 0.4)
NOTCH_DEEP_MM, TOOTH_MM, LEAST_NOTCHES = 4.6, 2.0, 2
TAB_WIDE_MM, TAB_HIGH_MM = 10.0, 5.4  # a land for a figure above an upper pocket
FIGURE_DEEP_MM = 0.4
FIGURES_MM = 4.7  # half of three figures with a sign, and a line's width
FIGURE_LOW_MM, FIGURE_LEFT_MM = 2.2, 1.9  # middle of a figure from the outer side of either bar
HOLE_AT_MM, HOLE_APART_MM = 5.7, 2.0  # middle from the bar's outer side, plastic between two
SLOT_LOW_MM, SLOT_PITCH_MM, SLOTS_BETWEEN_MM = 4.3, 4.4, 20.0
# Openings are wider near the bed, so that the foot of the first layer decides nothing
RELIEF_MM, RELIEF_HIGH_MM = 0.2, 0.6
FREE_MM = 2.0  # between the pockets and the heads of the bars: the calliper's jaws go in there
ROUND_UP_MM = 5.0


@dataclass(frozen=True, kw_only=True, slots=True)
class GaugeLengths:
    """What the calliper measures, as drawn [mm]: x, y, z of each."""

    long_mm: tuple[float, float, float]
    short_mm: tuple[float, float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class GaugeHole:
    """An upright hole: its middle, its diameter, and the figure that stands beside it."""

    at_mm: tuple[float, float]
    diameter_mm: float
    says: str
    says_at_mm: tuple[float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class GaugeSlot:
    """An upright slot or notch: its least and greatest corner; ``wide_mm`` is its width."""

    low_mm: tuple[float, float]
    high_mm: tuple[float, float]
    wide_mm: float
    says: str
    says_at_mm: tuple[float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class GaugeWall:
    """A wall of ``lines`` printed lines, ``wide_mm`` thick along x, on top of the plate."""

    lines: int
    low_mm: tuple[float, float]
    wide_mm: float
    says_at_mm: tuple[float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class GaugeSizes:
    """All that the gauge is drawn from. Lengths in mm, x and y from its outer corner.

    ``can_mm``: diameter that ``steps_mm`` are added to. ``pockets``: from the narrowest.
    ``rim_mm``: radius of the outline about the outermost pockets' middles. ``notches``: for the
    strip, two at least. ``high_mm`` and all other heights are whole
    layers.
    """

    can_mm: float
    steps_mm: tuple[float, ...]
    pitch_mm: float
    rim_mm: float
    lengths: GaugeLengths
    high_mm: float
    wall_top_mm: float
    figure_deep_mm: float
    relief_mm: tuple[float, ...]
    layer_mm: float
    pockets: tuple[GaugeHole, ...]
    inserts: tuple[GaugeHole, ...]
    screws: tuple[GaugeHole, ...]
    slots: tuple[GaugeSlot, ...]
    notches: tuple[GaugeSlot, ...]
    walls: tuple[GaugeWall, ...]

    @property
    def post_top_mm(self) -> float:
        """Top of the post in the corner."""
        return self.lengths.long_mm[2]


def gauge_settings(printer: Printer) -> PrintSettings:
    """It is printed as holders are, whose pockets it stands for."""
    return settings_of("holder_lower", printer)


def wall_mm(lines: int, settings: PrintSettings) -> float:
    """Thickness of a wall of whole lines."""
    return settings.line_mm + (lines - 1) * settings.apart_mm


def gauge_sizes(
    pack: Pack, *, can_mm: float | None = None, steps_mm: Sequence[float] = STEPS_MM
) -> GaugeSizes:
    """The gauge of a pack's cell and printer.

    ``can_mm``: the can as measured, None: the pack file's diameter. ``steps_mm``: five, rising.
    Raises PlanError where the bed is too small for it.
    """
    printer, holder = pack.printer, pack.holder
    settings = gauge_settings(printer)
    layer = settings.layer_mm
    can = pack.cell.diameter_mm if can_mm is None else can_mm
    widest = can + max(steps_mm) + 2 * RELIEF_MM
    # the honeycomb's own pitch, but two lines between the widest pockets at their foot
    pitch = max(can + holder.clearance_mm + holder.web_mm, widest + 2 * settings.line_mm)
    rim = widest / 2 + wall_mm(RIM_LINES, settings) - RELIEF_MM
    x, y = (BAR_MM + can / 2 + ASIDE_MM,) * 2
    up = pitch * math.sqrt(0.75)
    middles = [(x + k * pitch / 2, y + (k % 2) * up) for k in range(len(steps_mm))]
    high = _layers(HIGH_MM, layer)
    inserts, through = _holes()
    strip = pack.strip.row_width_mm
    notches_from = max(
        middles[1][1] + rim + FREE_MM, through[-1].at_mm[1] + through[-1].diameter_mm / 2
    )
    slots_x, figures_to = _slots_x([at[0] for at in middles[::2]])
    walls_apart = max(WALL_APART_MM, wall_mm(WALLS[-1], settings) + WALL_FREE_MM)
    lengths = GaugeLengths(
        long_mm=(
            _long(max(middles[-1][0] + rim + FREE_MM, figures_to + len(WALLS) * walls_apart)),
            _long(notches_from + _notches_mm(strip, LEAST_NOTCHES)),
            _layers(POST_HIGH_MM, layer),
        ),
        short_mm=(SHORT_MM, SHORT_MM, high),
    )
    _refuse_small_bed(pack, lengths)
    relief_layers = max(2, round(RELIEF_HIGH_MM / layer))
    return GaugeSizes(
        can_mm=can,
        steps_mm=tuple(steps_mm),
        pitch_mm=pitch,
        rim_mm=rim,
        lengths=lengths,
        high_mm=high,
        wall_top_mm=high + _layers(WALL_RISE_MM, layer),
        figure_deep_mm=_layers(FIGURE_DEEP_MM, layer),
        relief_mm=tuple(RELIEF_MM * (1 - k / relief_layers) for k in range(relief_layers)),
        layer_mm=layer,
        pockets=_pockets(can, steps_mm, middles, rim),
        inserts=inserts,
        screws=through,
        slots=tuple(
            _slot(k, x, wide)
            for k, (x, wide) in enumerate(zip(slots_x, SLOTS_MM, strict=True), start=1)
        ),
        notches=_notches(strip, low_mm=notches_from, high_mm=lengths.long_mm[1] - BAR_MM),
        walls=_walls(lengths.long_mm[0] - BAR_MM, walls_apart, settings),
    )


def _layers(length_mm: float, layer_mm: float) -> float:
    """The nearest height of whole layers, at least one."""
    return max(1, round(length_mm / layer_mm)) * layer_mm


def _long(needed_mm: float) -> float:
    """A long length with so much before the head at its end."""
    return max(LONG_MM, math.ceil((needed_mm + BAR_MM) / ROUND_UP_MM - 1e-9) * ROUND_UP_MM)


def _notches_mm(strip_mm: float, count: int) -> float:
    """What the widest notches and their teeth take up the bar."""
    return sum(strip_mm + step + TOOTH_MM for step in NOTCH_STEPS_MM[-count:]) + TOOTH_MM


def _refuse_small_bed(pack: Pack, lengths: GaugeLengths) -> None:
    printer = pack.printer
    (long_x, long_y, high), free = lengths.long_mm, 2 * (printer.edge_mm + printer.brim_mm)
    bed = printer.bed_mm
    if long_x + free <= bed[0] and long_y + free <= bed[1] and high <= bed[2]:
        return
    round_bed = printer.bed_round_mm
    raise PlanError(
        field="printer.bed_mm" if round_bed is None else "printer.bed_round_mm",
        value=" x ".join(f"{side:g}" for side in round_bed or bed),
        why=f"is too small for the fit gauge of {long_x:g} x {long_y:g} x {high:g} mm, "
        f"with {free / 2:g} mm free round it",
        remedy="print it on a larger bed: the pockets and lengths to measure need as much",
    )


def hundredths_words(step_mm: float) -> str:
    """A pocket's step as it stands on the gauge."""
    return f"{round(100 * step_mm):d}"


def _pockets(
    can: float,
    steps_mm: Sequence[float],
    middles: Sequence[tuple[float, float]],
    rim: float,
) -> tuple[GaugeHole, ...]:
    """Figures of the lower ones on the bar, of the upper ones on a tab above them."""
    return tuple(
        GaugeHole(
            at_mm=at,
            diameter_mm=can + step,
            says=hundredths_words(step),
            says_at_mm=(at[0], at[1] + rim + TAB_HIGH_MM / 2 - 0.3 if k % 2 else BAR_MM / 2 - 0.6),
        )
        for k, (at, step) in enumerate(zip(middles, steps_mm, strict=True))
    )


def _holes() -> tuple[tuple[GaugeHole, ...], tuple[GaugeHole, ...]]:
    """Holes of inserts, then of screws, up the left bar from beside the post."""
    table = screws()[SCREW]
    y = POST_IN_MM + POST_MM + 1.0
    rows: list[GaugeHole] = []
    sizes = [table.insert_hole_diameter_mm + step for step in HOLE_STEPS_MM]
    for k, diameter in enumerate((*sizes, *SCREW_HOLES_MM)):
        gap = HOLE_APART_MM if k != len(sizes) else 2 * HOLE_APART_MM
        y += gap + diameter / 2
        rows.append(
            GaugeHole(
                at_mm=(HOLE_AT_MM, y),
                diameter_mm=diameter,
                says=str(k % len(sizes) + 1),
                says_at_mm=(FIGURE_LEFT_MM, y),
            )
        )
        y += diameter / 2
    return tuple(rows[: len(sizes)]), tuple(rows[len(sizes) :])


def _slots_x(pockets_x_mm: Sequence[float]) -> tuple[list[float], float]:
    """Middles of the slots along the lower bar, half of them in each gap between its pockets'
    figures, or all beyond these where gaps are too narrow; and where the bar is free from there."""
    each = len(SLOTS_MM) // 2
    end = pockets_x_mm[-1] + FIGURES_MM
    if pockets_x_mm[1] - pockets_x_mm[0] < SLOTS_BETWEEN_MM:
        beyond = [end + (k + 0.5) * SLOT_PITCH_MM for k in range(len(SLOTS_MM))]
        return beyond, end + len(SLOTS_MM) * SLOT_PITCH_MM
    middles = [(one + other) / 2 for one, other in pairwise(pockets_x_mm)]
    steps = [(k - (each - 1) / 2) * SLOT_PITCH_MM for k in range(each)]
    return [middle + step for middle in middles for step in steps], end


def _slot(number: int, x_mm: float, wide_mm: float) -> GaugeSlot:
    return GaugeSlot(
        low_mm=(x_mm - wide_mm / 2, SLOT_LOW_MM),
        high_mm=(x_mm + wide_mm / 2, SLOT_LOW_MM + SLOT_LONG_MM),
        wide_mm=wide_mm,
        says=str(number),
        says_at_mm=(x_mm, FIGURE_LOW_MM),
    )


def _notches(strip_mm: float, *, low_mm: float, high_mm: float) -> tuple[GaugeSlot, ...]:
    """Notches in the left bar's inner side, as many as there is room for; the wider ones first,
    which more likely take the strip."""
    found: list[tuple[float, float]] = []
    y = high_mm
    for step in reversed(NOTCH_STEPS_MM):
        wide = strip_mm + step
        y -= TOOTH_MM + wide
        if y - TOOTH_MM < low_mm:
            break
        found.append((y, wide))
    return tuple(
        GaugeSlot(
            low_mm=(BAR_MM - NOTCH_DEEP_MM, y),
            high_mm=(BAR_MM, y + wide),
            wide_mm=wide,
            says=str(number),
            says_at_mm=(FIGURE_LEFT_MM, y + wide / 2),
        )
        for number, (y, wide) in enumerate(reversed(found), start=1)
    )


def _walls(end_mm: float, apart_mm: float, settings: PrintSettings) -> tuple[GaugeWall, ...]:
    """Walls of one to four lines at the lower bar's far end."""
    rows = []
    for lines in WALLS:
        x = end_mm - (len(WALLS) + 0.4 - lines) * apart_mm
        wide = wall_mm(lines, settings)
        rows.append(
            GaugeWall(
                lines=lines,
                low_mm=(x - wide / 2, BAR_MM - 0.5 - WALL_LONG_MM),
                wide_mm=wide,
                says_at_mm=(x, FIGURE_LOW_MM),
            )
        )
    return tuple(rows)
