"""What the page draws of a space and of a planned pack, as plain lists for JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from generators.packfile.faults import PackFileError
from generators.packfile.resolve import parse_pack
from generators.report.limits import bar_svg, figure_text, is_at_limit, nearest, share_used
from layouts import defaults
from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.formats import cell_formats
from layouts.holders.outline import outline_points_mm
from layouts.pack import EnclosureStyle, Lattice, Pack, Side
from layouts.parts.outside import OutsidePiece, outside_pieces
from layouts.placing.place import place_most
from layouts.placing.values import Effort
from layouts.planning.parts_list import enclosure_set_parts
from layouts.planning.steps import OutsidePlan
from layouts.spaces.regions import free_region
from layouts.spaces.space import Prism, Space
from layouts.spaces.triangles import shadow
from layouts.suggesting.in_prism import QUARTERS, PlacedPlan, place_in_polygon

__all__ = [
    "cells_drawn", "check_rows", "checks_drawn", "gap_drawn", "most_row", "outside_drawn",
    "space_drawn", "space_of",
]  # fmt: skip

DIGITS = 2
OFF_MM = 0.2  # of the outline's chords
LEVELS = 5  # heights at which a pack is tried over bodies that lie on the floor
LIMITS_SHOWN = 4
SHORT_MM = 12.0  # lips, gas and floor round the shortest pack: none stands in less height


def space_of(values: Mapping[str, Any], path: str) -> Space | None:
    """The space of a file's values, whatever is wrong with the rest; None where none is given.

    ``path``: of the file. Raises PackFileError with the faults of the space alone."""
    section = values.get("space")
    if section is None:
        return None
    text = json.dumps(
        {
            "name": "space",
            "cell": {"format": "21700"},
            "series": 1,
            "parallel": 1,
            "space": section,
        }
    )
    try:
        return parse_pack(text.encode(), path).pack.space
    except PackFileError as error:
        about = [fault for fault in error.faults if fault.field.startswith("space")]
        raise PackFileError(error.file, about or error.faults) from error


def space_drawn(space: Space) -> dict[str, Any]:
    """``free``: rings of the plan that is free at the floor, holes and bodies left out;
    ``bodies``: the plan of each body to stay out of; ``low``, ``height``: mm along z."""
    low, tall = space.low_mm[2], space.box_mm[2]
    room = Space(room=space.room)
    plan = free_region(room if space.room is not None else space, low, low + min(tall, 1.0))
    return {
        "free": _rings(plan),
        "bodies": [
            {
                "name": one.name,
                "rings": _rings(shadow(one, low, low + tall)),
                "z": _rounded([one.vertices_mm[:, 2].min(), one.vertices_mm[:, 2].max()]),
            }
            for one in space.keep_out
        ],
        "low": round(low, DIGITS),
        "height": round(tall, DIGITS),
        "is_prism": isinstance(space.room, Prism),
        "notes": list(space.notes),
    }


def most_row(space: Space, size: str) -> dict[str, Any]:
    """The most cells of a built-in size that stand in the plan, held, without an enclosure."""
    form = cell_formats()[size]
    holder = defaults.holder(form)
    row = {
        "format": size, "diameter_mm": form.diameter_mm, "length_mm": form.longest_mm, "count": 0,
        "too_low": form.longest_mm + SHORT_MM > space.box_mm[2],
    }  # fmt: skip
    low = space.low_mm[2]
    if not row["too_low"]:
        region = free_region(space, low, low + form.longest_mm + SHORT_MM)
        pocket = form.diameter_mm + holder.clearance_mm
        gap = defaults.enclosure(EnclosureStyle.NONE).side_gap_mm
        if not region.is_empty:
            row["count"] = place_most(
                region,
                pitch_mm=pocket + holder.web_mm,
                reach_mm=pocket / 2 + holder.wall_mm + gap,
                lattice=Lattice.HONEYCOMB,
                effort=Effort.QUICK,
            ).count
    return row


def cells_drawn(pack: Pack, layout: CellLayout) -> dict[str, Any]:
    """Figures of the pack, and each cell's place, group and whether its plus end is up."""
    count = pack.series * pack.parallel
    cell = pack.cell
    turned = layout.positive_up.tolist()
    places = np.round(layout.xy_mm, DIGITS).tolist()
    groups = layout.group.tolist()
    return {
        "cells": [[x, y, g, up] for (x, y), g, up in zip(places, groups, turned, strict=True)],
        "diameter": cell.diameter_mm,
        "facts": {
            "cells": count,
            "series": pack.series,
            "parallel": pack.parallel,
            "format": cell.format,
            "volts": round(pack.series * cell.nominal_v, 1),
            "full": round(pack.series * cell.full_v, 1),
            "wh": round(count * cell.nominal_v * cell.capacity_ah),
            "amps": round(pack.parallel * cell.continuous_a, 1),
            "kg": round(count * cell.mass_g / 1000, 1),
        },
    }


def outside_drawn(plan: OutsidePlan) -> dict[str, Any]:
    """The pack's outside: its convex ``pieces``, their ``rings`` together, and where it stands."""
    pack = plan.pack
    if plan.enclosure_set is None:
        return _held_cells(plan)
    parts = tuple(enclosure_set_parts(plan))
    pieces = outside_pieces(plan.enclosure.shell, parts, plan.enclosure.screws)
    body = shapely.union_all([shapely.Polygon(one.corners_mm) for one in pieces])
    pose = plan.enclosure.pose
    stands: dict[str, Any] | None = None
    if pose is not None:
        stands = {
            "angle": math.degrees(math.atan2(pose[1, 0], pose[0, 0])),
            "shift": _rounded(pose[:2, 3]),
            "z": round(float(pose[2, 3]) + min(one.z0_mm for one in pieces), DIGITS),
            "gap": None,
        }
    elif pack.space is not None:
        stands = _stands(pack.space, pieces, pack.leads.side)
    return {
        "pieces": [
            [_rounded(one.corners_mm), round(one.z0_mm, 3), round(one.z1_mm, 3)] for one in pieces
        ],
        "rings": _rings(body),
        "tall": round(max(p.z1_mm for p in pieces) - min(p.z0_mm for p in pieces), DIGITS),
        "stands": stands,
        "fixed": pose is not None,
        "side": pack.leads.side.value,
        "style": pack.enclosure.style.value,
        **cells_drawn(pack, plan.cell_layout),
    }


def _held_cells(plan: OutsidePlan) -> dict[str, Any]:
    """The same of held cells alone, in the place that they were searched for."""
    pack, placed = plan.pack, plan.placed
    stands = None
    if placed is not None:
        x, y, z = placed.origin_mm
        stands = {"angle": placed.turn_deg, "shift": _rounded((x, y)), "z": z, "gap": None}
    return {
        "pieces": [],
        "rings": [_rounded(outline_points_mm(plan.cell_block.outline, OFF_MM))],
        "tall": round(pack.lip_to_lip_mm, DIGITS),
        "stands": stands,
        "fixed": True,
        "side": pack.leads.side.value,
        "style": pack.enclosure.style.value,
        **cells_drawn(pack, plan.cell_layout),
    }


def gap_drawn(space: Space, pieces: Sequence[Sequence[Any]], side: str) -> dict[str, Any]:
    """Where the last planned outside stands in a space that is being changed."""
    shapes = [
        OutsidePiece(name="", corners_mm=np.asarray(corners), z0_mm=z0, z1_mm=z1)
        for corners, z0, z1 in pieces
    ]
    return {"stands": _stands(space, shapes, Side(side)) if shapes else None}


def _stands(space: Space, pieces: Sequence[OutsidePiece], side: Side) -> dict[str, Any]:
    """The upright place with the largest gap: angle, shift, height and gap; gap None where the
    pack stands nowhere."""
    tall = max(one.z1_mm for one in pieces) - min(one.z0_mm for one in pieces)
    low, spare = space.low_mm[2], space.box_mm[2] - tall
    start = 90.0 * QUARTERS[side]
    best: tuple[PlacedPlan, float] | None = None
    if spare >= 0:
        plain = isinstance(space.room, Prism) and not space.keep_out
        for z in np.linspace(low, low + spare, 1 if plain or spare < 1 else LEVELS).tolist():
            region = free_region(space, z, z + tall)
            found = None if region.is_empty else place_in_polygon(region, pieces, start_deg=start)
            if found is not None and (best is None or found.gap_mm > best[0].gap_mm + 1e-3):
                best = found, z
    if best is None:
        return {**_in_the_middle(space, pieces, start), "gap": None, "over": round(spare, 1)}
    place, z = best
    return {
        "angle": place.angle_deg,
        "shift": _rounded(place.shift_mm),
        "z": round(z, DIGITS),
        "gap": round(place.gap_mm, 1),
        "over": round(spare, 1),
    }


def _in_the_middle(
    space: Space, pieces: Sequence[OutsidePiece], start_deg: float
) -> dict[str, Any]:
    """Where the pack is shown that stands nowhere, so that one sees what is in the way."""
    angle = math.radians(start_deg)
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    corners: NDArray[np.float64] = np.vstack([one.corners_mm for one in pieces]) @ turn
    middle = np.asarray(space.low_mm[:2]) + np.asarray(space.box_mm[:2]) / 2
    shift = middle - (corners.min(axis=0) + corners.max(axis=0)) / 2
    return {"angle": start_deg, "shift": _rounded(shift), "z": round(space.low_mm[2], DIGITS)}


def checks_drawn(checks: Sequence[Check]) -> dict[str, Any]:
    """How many there are, those that fail, and the limits that are nearest."""
    failed = [check for check in checks if not check.holds]
    near = [check for check in nearest(checks, LIMITS_SHOWN + len(failed)) if check.holds]
    return {
        "count": len(checks),
        "failed": check_rows(failed),
        "nearest": check_rows(near[:LIMITS_SHOWN]),
    }


def check_rows(checks: Sequence[Check]) -> list[dict[str, Any]]:
    """Each check in words, with the share of its limit that is used (None: a yes or no)."""
    rows = []
    for check in checks:
        used = share_used(check)
        figures = ""
        if check.value is not None and check.limit is not None:
            unit = f" {check.unit}" if check.unit else ""
            bound = "at least" if check.at_least else "at most"
            figures = f"{figure_text(check.value)}{unit}, {bound} {figure_text(check.limit)}"
        if used is not None and (is_at_limit(check) or not bar_svg(check)):
            used = None
        rows.append(
            {
                "id": check.id,
                "about": check.about,
                "figures": figures,
                "used": None if used is None else round(min(used, 9.0), 4),
                "where": check.where,
                "remedy": "" if check.holds else check.remedy,
            }
        )
    return rows


def _rings(shape: BaseGeometry) -> list[list[list[float]]]:
    rings = []
    for part in shapely.get_parts(shape):
        if isinstance(part, shapely.Polygon):
            rings += [
                _rounded(shapely.get_coordinates(ring)[:-1])
                for ring in (part.exterior, *part.interiors)
            ]
    return rings


def _rounded(values: Any) -> Any:
    return np.round(np.asarray(values, dtype=float), DIGITS).tolist()
