"""Whether the lip that strips or plates leave holds every can."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.pack import Face, Pack
from layouts.strips.joining import Interconnect
from layouts.strips.lip import (
    ASSUMED,
    FORCE_LEAST_N,
    GAP_LIMIT_DEG,
    PRACTICE,
    TAB_LEAST_MM,
    TABS_LEAST_DEG,
    LipState,
    channels_at,
    end_name,
    lip_behind_mm,
    lip_state,
    open_edge_mm,
    positive_end,
)
from layouts.strips.lip_left import LipLeft, lips_left
from layouts.strips.plate import PLATES_REMEDY

__all__ = ["lip_checks", "lip_states"]


def lip_states(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> dict[Face, LipState]:
    """The lip at every cell's lower and upper end, fields (N,) in the arrangement's order."""
    states = {}
    for face in (Face.LOWER, Face.UPPER):
        if interconnect.plates:
            states[face] = _beside_plates(pack, cell_layout, interconnect, face)
            continue
        angle_deg, half_mm = channels_at(pack, cell_layout, interconnect, face)
        states[face] = lip_state(
            angle_deg,
            half_mm,
            can_mm=pack.cell.diameter_mm,
            pocket_mm=pack.pocket_mm,
            depth_mm=pack.holder.depth_mm,
            length_mm=pack.cell.length_mm,
            lip_mm=lip_behind_mm(pack, positive_end(cell_layout, face)),
        )
    return states


def _beside_plates(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, face: Face
) -> LipState:
    """The lip beside plates, read off their outlines; a cell without a plate has all of it."""
    beside_mm = pack.holder.channel_play_mm / 2.0
    found: dict[int, LipLeft] = {}
    for plate in interconnect.plates:
        if plate.face is face:
            found |= lips_left(pack, cell_layout, plate.cells, plate.shape, face, play_mm=beside_mm)
    left = [found[cell] for cell in range(len(cell_layout.xy_mm))]
    gap = np.array([one.gap_deg for one in left])
    open_mm = open_edge_mm(gap, pack.cell.diameter_mm)
    play = pack.pocket_mm - pack.cell.diameter_mm
    tabs = np.array([one.tabs_deg for one in left])
    return LipState(
        rim_deg=tabs,
        tabs_deg=tabs,
        tabs=np.array([one.tabs for one in left]),
        gap_deg=gap,
        force_n=np.array([one.force_n for one in left]),
        drop_one_mm=open_mm * play / pack.holder.depth_mm,
        drop_both_mm=open_mm * play / (pack.cell.length_mm - 2.0),
    )


NARROWER = (
    "narrower row strips, then narrower links, then links in one diagonal instead of two, then "
    "diagonals on opposite sides"
)


def lip_checks(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> tuple[Check, ...]:
    """Whether the lip left by the channels holds every can.

    A half circle without a tab fails; where the other two hold, the can can't pass and the remedy
    says so: both holders must be fitted before the pack is turned."""
    states = lip_states(pack, cell_layout, interconnect)
    force, force_at = _worst(cell_layout, {f: s.force_n for f, s in states.items()}, 1.0)
    tabs, tabs_at = _worst(cell_layout, {f: s.tabs_deg for f, s in states.items()}, 1.0)
    gap, gap_at = _worst(cell_layout, {f: s.gap_deg for f, s in states.items()}, -1.0)
    narrower = PLATES_REMEDY if interconnect.plates else NARROWER
    borne = force >= FORCE_LEAST_N and tabs >= TABS_LEAST_DEG
    return (
        Check(
            id="lip_force_n",
            about=f"lip withstands the weld-electrode force (tabs of {TAB_LEAST_MM:g} mm or more)",
            holds=force >= FORCE_LEAST_N,
            value=force,
            limit=FORCE_LEAST_N,
            unit="N",
            source=ASSUMED,
            remedy=narrower + "; a thicker holder.lip_mm (force grows with its square)",
            where=force_at,
        ),
        Check(
            id="lip_rim_deg",
            about=f"total angle of lip tabs of {TAB_LEAST_MM:g} mm or more around a can",
            holds=tabs >= TABS_LEAST_DEG,
            value=tabs,
            limit=TABS_LEAST_DEG,
            unit="deg",
            source=PRACTICE,
            remedy=narrower,
            where=tabs_at,
        ),
        Check(
            id="lip_gap_deg",
            about="largest angle around a can without lip, below a half circle",
            holds=gap < GAP_LIMIT_DEG,
            value=gap,
            limit=GAP_LIMIT_DEG,
            unit="deg",
            source="geometry: a can tilts out over a half circle without lip",
            remedy=narrower
            + (
                "; the lip still holds the can if both holders are fitted before the pack is "
                "turned over"
                if borne
                else ""
            ),
            at_least=False,
            where=gap_at,
        ),
    )


def _worst(
    cell_layout: CellLayout, values: dict[Face, NDArray[np.float64]], sign: float
) -> tuple[float, str]:
    """The least of ``sign`` times (N,) values of both faces, and the can end that has it."""
    face = min(values, key=lambda f: float((sign * values[f]).min()))
    cell = int(np.argmin(sign * values[face]))
    return float(values[face][cell]), end_name(cell_layout, face, cell)
