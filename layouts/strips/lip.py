"""What the strip channels leave of the lip round each can: closed formulas on angles.

A channel of half width h that leaves a centre in one direction covers asin(h / r) to both sides of
that direction on the circle of radius r. What no channel covers are arcs of lip; an arc wide enough
to be printed and loaded counts as a tab."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.pack import STACK_LEAST_MM, Face, Pack
from layouts.ratings.wire import awg_diameter_mm
from layouts.strips.joining import Interconnect

PRACTICE = "common practice, no source"
ASSUMED = "cantilever formula; 20 MPa and the lever arm are assumptions, no source"

# Bending across few layers of printed PETG: an assumption, below the least strength across layers
# on a public filament data page (25 to 38)
STRENGTH_MPA = 20.0
CORNER_MM = 0.5  # round of a can's edge: the lip supports inside it; assumption, no source
LOAD_INSIDE_MM = 0.5  # load so far inside that round's end; assumption, no source
TAB_LEAST_MM = 1.8  # four lines of a 0.4 nozzle; narrower tabs don't count; common practice
FORCE_LEAST_N = 60.0  # the weld electrodes press with 30 to 50 N on the far end; assumption
TABS_LEAST_DEG = 45.0  # common practice, no source
GAP_LIMIT_DEG = 180.0  # a can leans out over a half circle without lip; plane geometry
FLOOR_LEAST_MM = 0.2  # a web's floor sags by about this much when printed; common practice
FLOOR_MOST_MM = 0.6  # a strip would be dented deeper than this between cells; common practice
FLOOR_MOST_LAYERS = 3  # the same in thick layers: their heights come no nearer
LEVEL_MM = 1e-6  # float noise in sums of millimetres
INSULATION_MM = 0.53  # of a balance lead, each side; common practice, no source
NOTCH_PLAY_MM = 0.5  # across a balance lead in its notch: loose fit of public printing guides


@dataclass(frozen=True, kw_only=True, slots=True)
class LipState:
    """The lip at n can ends; each field (n,).

    ``rim_deg``: all arcs left, at the can's radius - 0.5. ``tabs_deg``: those wide enough to count.
    ``tabs``: how many. ``gap_deg``: widest angle without a tab. ``force_n``: load capacity of all
    tabs. ``drop_one_mm``, ``drop_both_mm``: how far the can's edge dips on an open side with one
    holder on, with both on (0 below a half circle)."""

    rim_deg: NDArray[np.float64]
    tabs_deg: NDArray[np.float64]
    tabs: NDArray[np.int64]
    gap_deg: NDArray[np.float64]
    force_n: NDArray[np.float64]
    drop_one_mm: NDArray[np.float64]
    drop_both_mm: NDArray[np.float64]

    @property
    def holds(self) -> NDArray[np.bool_]:
        """(n,) which ends hold their can: force, degrees and no half circle without a tab."""
        return (
            (self.force_n >= FORCE_LEAST_N)
            & (self.tabs_deg >= TABS_LEAST_DEG)
            & (self.gap_deg < GAP_LIMIT_DEG)
        )


def free_arcs(
    angle_deg: NDArray[np.float64], half_mm: NDArray[np.float64], radius_mm: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Arcs of a circle that no channel covers, at n cells at once.

    ``angle_deg``, ``half_mm``: (n, k) direction and half width of each channel; a half width
    of 0 means there is none. Returns start and length [degrees], (n, k + 1) each, by rising
    start; absent arcs have length 0. No channel at all: one arc of 360.
    """
    none = ~(half_mm > 0)
    wide = np.degrees(np.arcsin(np.minimum(1.0, half_mm / radius_mm)))
    start = np.where(none, np.inf, (angle_deg - wide) % 360.0)
    base = np.min(start, axis=1, keepdims=True) if start.shape[1] else np.zeros((len(start), 1))
    base = np.where(np.isfinite(base), base, 0.0)
    start = np.where(none, 360.0, start - base)
    stop = np.where(none, -np.inf, start + 2 * wide)
    order = np.argsort(start, axis=1, kind="stable")
    start = np.take_along_axis(start, order, axis=1)
    stop = np.take_along_axis(stop, order, axis=1)
    # a channel that runs over the base covers the circle's beginning too
    over = np.max(stop, axis=1, keepdims=True, initial=-np.inf) - 360.0
    covered = np.maximum.accumulate(np.concatenate([np.maximum(over, 0.0), stop], axis=1), axis=1)
    after = np.concatenate([start, np.full((len(start), 1), 360.0)], axis=1)
    length = np.maximum(after - covered, 0.0)
    # absent channels stand at 360: all arcs that begin after the first of them are repeats
    length[:, 1:] = np.where((start >= 360.0) & (length[:, 1:] > 0), 0.0, length[:, 1:])
    return (covered + base) % 360.0, np.where(length > 1e-9, length, 0.0)


def _widest_gap(
    start: NDArray[np.float64], length: NDArray[np.float64], least_deg: float
) -> NDArray[np.float64]:
    """(n,) widest angle [degrees] without an arc of at least ``least_deg``; 360 without any."""
    n = len(start)
    first = np.full(n, np.nan)
    end = np.full(n, np.nan)
    widest = np.zeros(n)
    # arcs come by rising angle from the first channel on; undo the turn past 360
    rising = (start - start[:, :1]) % 360.0
    for column in range(start.shape[1]):
        counts = length[:, column] >= least_deg
        here = rising[:, column]
        later = counts & np.isfinite(end)
        widest = np.where(later, np.maximum(widest, here - end), widest)
        first = np.where(counts & np.isnan(first), here, first)
        end = np.where(counts, here + length[:, column], end)
    widest = np.maximum(widest, np.where(np.isnan(first), 360.0, first + 360.0 - end))
    return widest


def lip_state(
    angle_deg: NDArray[np.float64],
    half_mm: NDArray[np.float64],
    *,
    can_mm: float,
    pocket_mm: float,
    depth_mm: float,
    length_mm: float,
    lip_mm: NDArray[np.float64] | float,
) -> LipState:
    """The lip left at n can ends by channels in given directions.

    ``angle_deg``, ``half_mm`` (n, k) as in ``free_arcs``; ``lip_mm`` (n,) or one number: the
    lip's thickness behind the can's edge (less the seat on positive ends).
    Force: each tab a cantilever from the pocket's wall, F = b t² / 6 · sigma / lever, b its
    width at the root, lever = clearance / 2 + the can's edge round + 0.5 (sigma and lever
    are assumptions). Dip: chord geometry, the can leaning by its clearance over ``depth_mm``
    (one holder on) or over the length between the holders' lead-ins (both on).
    """
    can_radius = can_mm / 2
    least = np.degrees(TAB_LEAST_MM / can_radius)
    start, rim = free_arcs(angle_deg, half_mm, can_radius - CORNER_MM)
    _, root = free_arcs(angle_deg, half_mm, pocket_mm / 2)
    gap = _widest_gap(start, rim, least)
    lever = (pocket_mm - can_mm) / 2 + CORNER_MM + LOAD_INSIDE_MM
    bearing = np.where(root >= least, root, 0.0).sum(axis=1)
    force = np.radians(bearing) * pocket_mm / 2 * np.square(lip_mm) / 6 * STRENGTH_MPA / lever
    open_mm = open_edge_mm(gap, can_mm)
    play = pocket_mm - can_mm
    return LipState(
        rim_deg=rim.sum(axis=1),
        tabs_deg=np.where(rim >= least, rim, 0.0).sum(axis=1),
        tabs=(rim >= least).sum(axis=1),
        gap_deg=gap,
        force_n=force,
        drop_one_mm=open_mm * play / depth_mm,
        drop_both_mm=open_mm * play / (length_mm - 2 * 1.0),  # 1.0: lead-in and chamfer an end
    )


def open_edge_mm(gap_deg: NDArray[np.float64], can_mm: float) -> NDArray[np.float64]:
    """How deep a can's edge can dip into an open side, at full tilt: the chord's height."""
    deep = can_mm / 2 * (1 - np.cos(np.radians(gap_deg / 2)))
    return np.where(gap_deg > 180.0, deep, 0.0)


def positive_end(cell_layout: CellLayout, face: Face) -> NDArray[np.bool_]:
    """(N,) whether the cell's end on this face is the positive one."""
    return cell_layout.positive_up if face is Face.UPPER else ~cell_layout.positive_up


def lip_behind_mm(pack: Pack, positive: NDArray[np.bool_]) -> NDArray[np.float64]:
    """(n,) lip left behind each can's edge: less the ring's seat on positive ends."""
    return np.where(positive, pack.holder.lip_mm - pack.holder.seat_mm, pack.holder.lip_mm)


def balance_lead_mm(pack: Pack) -> float:
    """Diameter of a balance lead over its insulation [mm], to a tenth; 1.7 for AWG 22."""
    return round(awg_diameter_mm(pack.taps.awg) + 2 * INSULATION_MM, 1)


def notch_mm(pack: Pack) -> float:
    """Width of a balance lead's notch through the lip and the holder's wall [mm]."""
    return round(balance_lead_mm(pack) + NOTCH_PLAY_MM, 1)


def channels_at(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, face: Face
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Directions [degrees] and half widths [mm] of the channels over each cell, (N, k) each.

    Read off the strips as they lie: a strip that goes farther from a cell's centre than its
    channel's corner stays inside the window cuts the lip there. Half width 0: no channel.
    """
    count = len(cell_layout.xy_mm)
    window = pack.holder.window_mm / 2
    rows: list[NDArray[np.float64]] = []
    for strip in interconnect.strips:
        if strip.face is not face:
            continue
        a, b = np.asarray(strip.start_mm), np.asarray(strip.end_mm)
        span = float(np.hypot(*(b - a)))
        along = (b - a) / span
        half = (strip.width_mm + pack.holder.channel_play_mm) / 2
        inside = np.sqrt(max(window**2 - half**2, 0.0))
        angle = float(np.degrees(np.arctan2(along[1], along[0])))
        cells = np.asarray(strip.cells)
        at = (cell_layout.xy_mm[cells] - a) @ along
        for turn, reach in ((0.0, span - at), (180.0, at)):
            cut = cells[reach > inside + LEVEL_MM]
            rows.append(
                np.column_stack([cut, np.full(len(cut), angle + turn), np.full(len(cut), half)])
            )
    half_notch = notch_mm(pack) / 2
    notched = [
        balance_lead.cell
        for balance_lead in interconnect.balance_leads
        if balance_lead.face is face and balance_lead.notch
    ]
    rows.append(
        np.column_stack([notched, np.zeros(len(notched)), np.full(len(notched), half_notch)])
    )
    table = np.concatenate(rows)
    cell = table[:, 0].astype(np.int64)
    order = np.argsort(cell, kind="stable")
    cell, table = cell[order], table[order]
    first = np.searchsorted(cell, np.arange(count))
    column = np.arange(len(cell)) - first[cell]
    wide = int(column.max()) + 1 if len(cell) else 0
    angle_deg, half_mm = np.zeros((count, wide)), np.zeros((count, wide))
    angle_deg[cell, column] = table[:, 1]
    half_mm[cell, column] = table[:, 2]
    return angle_deg, half_mm


def end_name(cell_layout: CellLayout, face: Face, cell: int) -> str:
    """One can end in words: face, group and place."""
    x, y = cell_layout.xy_mm[cell]
    return f"{face.value} face, group {cell_layout.group[cell]}, cell at ({x:.1f}, {y:.1f})"


def seat_checks(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> tuple[Check, ...]:
    """Whether strips lie on the can ends and their stacks stay inside the holder."""
    return (_recess(pack), _proud(pack), _stack(pack, cell_layout, interconnect))


def floor_most_mm(pack: Pack) -> float:
    """How far a web's floor may lie behind a can's end beside it."""
    return max(FLOOR_MOST_MM, FLOOR_MOST_LAYERS * pack.printer.layer_mm)


def _slack_mm(pack: Pack) -> float:
    """What a positive end sinks below the lip's plane, on its ring in the seat."""
    return pack.holder.seat_mm - pack.holder.ring_mm


def _recess(pack: Pack) -> Check:
    """The can in its place: a negative end on the lip, a positive end on its ring in the seat."""
    slack = _slack_mm(pack)
    behind = (pack.holder.web_recess_mm, pack.holder.web_recess_mm + slack)
    low, high = min(behind), max(behind)
    most = floor_most_mm(pack)
    too_deep = high > most + LEVEL_MM and low >= FLOOR_LEAST_MM - LEVEL_MM
    return Check(
        id="strip_seat_mm",
        about=f"web recess behind the can ends (0.2 to {most:g}), so that strips lie flat on the "
        "cans",
        holds=low >= FLOOR_LEAST_MM - LEVEL_MM and high <= most + LEVEL_MM,
        value=high if too_deep else low,
        limit=most if too_deep else FLOOR_LEAST_MM,
        unit="mm",
        source=PRACTICE,
        remedy="holder.web_recess_mm 0.4 with a seat at most 0.2 deeper than the ring",
        at_least=not too_deep,
        where="positive ends, ring in its seat" if slack > 0 and too_deep else "all ends",
    )


def _proud(pack: Pack) -> Check:
    """Worst case: the longest can pushed to the other holder, ring sunk in its seat."""
    play = pack.lip_to_lip_mm - pack.cell.length_mm
    pushed = pack.holder.web_recess_mm - play - max(_slack_mm(pack), 0.0)
    return Check(
        id="strip_proud_mm",
        about="web recessed below the can end, with the can pushed against the other holder",
        holds=pushed >= -LEVEL_MM,
        value=pushed,
        limit=0.0,
        unit="mm",
        source="geometry",
        remedy="a larger holder.web_recess_mm, or a ring nearer to the seat's depth",
        where="ends opposite a ring",
    )


def _stack(pack: Pack, cell_layout: CellLayout, interconnect: Interconnect) -> Check:
    """The highest stack of strips over any can end, its ring counted."""
    tightest, tightest_at = np.inf, ""
    for row, face in enumerate((Face.LOWER, Face.UPPER)):
        ring = np.where(positive_end(cell_layout, face), pack.holder.ring_mm, 0.0)
        left = pack.holder.lip_mm - ring - interconnect.stack_mm[row]
        cell = int(np.argmin(left))
        if left[cell] < tightest:
            tightest, tightest_at = float(left[cell]), end_name(cell_layout, face, cell)
    return Check(
        id="strip_stack_mm",
        about="highest strip stack, ring included, below the holder's outer face",
        holds=tightest >= STACK_LEAST_MM - LEVEL_MM,
        value=tightest,
        limit=STACK_LEAST_MM,
        unit="mm",
        source=PRACTICE,
        remedy=(
            "fewer strip.layers, thinner strip, links in one diagonal instead of two, thicker lip"
        ),
        where=tightest_at,
    )
