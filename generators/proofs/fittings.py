"""Board and cable glands as solids in the printed enclosure, and the glands' holes.

Their places come from the plan, their sizes from the pack file and from the table of glands; a
gland's thread is read from its name. Guides, walls and holes are looked for on the meshes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import manifold3d
import numpy as np
from numpy.typing import NDArray

from generators.proofs.geometry_check import geometry_check
from generators.proofs.holes import BEARS_MM, HOLE_OFF_MM, HoleAxis, flat_share, hole_radii_mm
from generators.proofs.laid_strips import strip_body
from generators.proofs.solids import cans_solid, first_hit_mm
from generators.proofs.together import OVERLAP_MM3, PlacedMesh
from layouts.cells.arrangement import CellLayout
from layouts.checks import Check, worst_of
from layouts.pack import Face, Pack
from layouts.parts.drawing import CHORD_MM
from layouts.parts.outlet import CableOutlet
from layouts.parts.shell import BoardPlace
from layouts.strips.joining import Interconnect

__all__ = ["board_proofs", "gland_proofs"]

TOUCH_MM = 0.005  # a board that stands on its rests touches them: taken off, each side
LOOSE_MM = 2.5  # moved by so much along the wall or off it, a board must meet its guides
NUT_MM = 8.0  # inside of the wall, for a gland's nut; common practice, no source
THREAD_PLAY_MM = (0.05, 0.5)  # of a gland's thread in its hole; common practice, no source
RING_MM = 0.3  # a gland's flange and nut are looked at so far outside of the hole's edge
BLOCKED = "a smaller bms.board_mm, or a fault of the tool: keep the file and the log"


def _board(pack: Pack, place: BoardPlace, step: Sequence[float] = (0, 0, 0)) -> manifold3d.Manifold:
    """The board, of the pack file's size, about the middle of its place, moved by a step."""
    sides = sorted(pack.bms.board_mm)
    # as large as the pack file says, lying as its place lies
    order = np.argsort(np.argsort([*place.plan.size_mm, place.z1_mm - place.z0_mm]))
    size = [sides[k] - 2 * TOUCH_MM for k in order.tolist()]
    middle = [a + b for a, b in zip(place.centre_mm, step, strict=True)]
    return manifold3d.Manifold.cube(size, True).translate(middle)


def board_proofs(
    parts: Sequence[PlacedMesh],
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    place: BoardPlace,
) -> tuple[Check, ...]:
    """The protection board in its place, on its way down to it, and held there."""
    tub = [part for part in parts if part.role == "tub"]
    lid = [part for part in parts if part.role == "lid"]
    board = _board(pack, place)
    rim = max(float(part.box_mm[1][2]) for part in tub)
    above = max(rim - board.bounding_box()[2], 0.0)
    way = manifold3d.Manifold.batch_hull([board, _board(pack, place, (0.0, 0.0, above))])
    inside = _inside(pack, cell_layout, interconnect)
    shared = {
        **{part.name: float((part.solid ^ way).volume()) for part in tub},
        **{
            part.name: float((part.solid ^ board).volume())
            for part in (*lid, *(p for p in parts if p.role.startswith("holder")))
        },
        "cells and strips": float((inside ^ way).volume()),
    }
    worst = max(shared, key=lambda name: shared[name])
    steps = {"-x": (-LOOSE_MM, 0, 0), "+x": (LOOSE_MM, 0, 0), "-y": (0, -LOOSE_MM, 0),
             "+y": (0, LOOSE_MM, 0), "down": (0, 0, -LOOSE_MM)}  # fmt: skip
    held = {
        name: any((part.solid ^ _board(pack, place, step)).volume() > OVERLAP_MM3 for part in tub)
        for name, step in steps.items()
    }
    return (
        geometry_check(
            "board_fits",
            "interference of the protection board, in place and on its way in from above",
            sum(shared.values()),
            OVERLAP_MM3,
            "mm3",
            where=worst if shared[worst] > OVERLAP_MM3 else "",
            remedy=BLOCKED,
        ),
        geometry_check(
            "board_held",
            f"ways in which the board can't be moved by {LOOSE_MM:g} mm",
            float(sum(held.values())),
            float(len(steps)),
            "",
            at_least=True,
            where=", ".join(f"free towards {name}" for name, holds in held.items() if not holds),
        ),
    )


def _inside(pack: Pack, cell_layout: CellLayout, interconnect: Interconnect) -> manifold3d.Manifold:
    """All cans and strips."""
    cans = cans_solid(
        cell_layout.xy_mm,
        diameter_mm=pack.cell.diameter_mm,
        z0_mm=0.0,
        z1_mm=pack.lip_to_lip_mm,
        chord_mm=CHORD_MM,
    )
    strips = [
        strip_body(pack, one, float(interconnect.stack_mm.max()), put_in=False)
        for face in (Face.LOWER, Face.UPPER)
        for one in interconnect.laid(face)
    ]
    return manifold3d.Manifold.batch_boolean([cans, *strips], manifold3d.OpType.Add)


def gland_proofs(
    parts: Sequence[PlacedMesh],
    pack: Pack,
    outlets: Sequence[CableOutlet],
    place: BoardPlace,
) -> tuple[Check, ...]:
    """Every gland's hole, the wall that it clamps, and its room on both sides; the worst gland."""
    solids = [part.solid for part in parts]
    found: list[Check] = []
    for outlet in outlets:
        x, y, z = outlet.at_mm
        where = f"gland {outlet.gland.size}, {outlet.purpose}, at ({x:.1f}, {y:.1f}, {z:.1f})"
        found += [*_gland_hole(solids, outlet, where), *_gland_room(solids, outlet, where)]
    board = _board(pack, place)
    return (*worst_of(found), *_nuts_off_board(board, outlets))


def _gland_hole(
    solids: Sequence[manifold3d.Manifold], outlet: CableOutlet, where: str
) -> list[Check]:
    """The hole against the thread and the table, and the wire through it."""
    axis = HoleAxis(at_mm=outlet.at_mm, into=-outlet.out)
    radii = hole_radii_mm(solids, axis, 0.0, outlet.wall_mm)
    narrow, wide = 2.0 * float(radii.min()), 2.0 * float(radii.max())
    thread = float(outlet.gland.size.removeprefix("M"))
    table = 2.0 * outlet.gland.hole_radius_mm
    return [
        geometry_check(
            "gland_holes",
            "holes of the cable glands as printed, off their table or axis, diameter",
            max(abs(narrow - table), abs(wide - table)),
            HOLE_OFF_MM,
            "mm",
            where=where,
        ),
        geometry_check(
            "glands_go_in",
            "play of a cable gland's thread in its hole as printed",
            narrow - thread,
            THREAD_PLAY_MM[0],
            "mm",
            at_least=True,
            where=where,
        ),
        geometry_check(
            "glands_held",
            "play of a cable gland's thread in its hole as printed, at most",
            wide - thread,
            THREAD_PLAY_MM[1],
            "mm",
            where=where,
        ),
    ]


def _gland_room(
    solids: Sequence[manifold3d.Manifold], outlet: CableOutlet, where: str
) -> list[Check]:
    """Flat wall for cap and nut on both sides, nothing else in their space."""
    gland, hole = outlet.gland, 2 * outlet.gland.hole_radius_mm
    outside = HoleAxis(at_mm=outlet.at_mm, into=-outlet.out)
    inside = HoleAxis(at_mm=outlet.at_mm - outlet.wall_mm * outlet.out, into=outlet.out)
    flat, above = math.inf, 0.0
    for axis, free in ((outside, gland.long_mm), (inside, NUT_MM)):
        share, high = flat_share(
            solids, axis, hole + 2 * RING_MM, 2 * gland.keep_radius_mm, free_mm=free
        )
        flat, above = min(flat, share), max(above, high)
    wire = first_hit_mm(solids, outside.point(-gland.long_mm), outside.point(NUT_MM))
    return [
        geometry_check(
            "gland_seats",
            "share of a cable gland's ring, to both sides of the wall, that lies on flat wall",
            flat,
            1.0,
            "share",
            at_least=True,
            where=where,
        ),
        geometry_check(
            "glands_free",
            "height of printed material in the space of a cable gland's cap or nut",
            above if math.isinf(wire) else max(above, gland.long_mm),
            BEARS_MM,
            "mm",
            where=where,
        ),
    ]


def _nuts_off_board(
    board: manifold3d.Manifold, outlets: Sequence[CableOutlet]
) -> tuple[Check, ...]:
    """Nuts inside of the wall stay clear of the board in its place."""
    worst, where = 0.0, ""
    for outlet in outlets:
        radius = outlet.gland.keep_radius_mm
        nut = manifold3d.Manifold.cylinder(NUT_MM, radius, radius, 48)
        turned = nut.transform(_along(-outlet.out, outlet.at_mm - outlet.wall_mm * outlet.out))
        shared = float((turned ^ board).volume())
        if shared > worst:
            worst, where = shared, f"gland {outlet.gland.size}, {outlet.purpose}"
    return (
        geometry_check(
            "gland_nuts_clear",
            "interference of the cable glands' nuts with the protection board",
            worst,
            OVERLAP_MM3,
            "mm3",
            where=where,
            remedy=BLOCKED,
        ),
    )


def _along(way: NDArray[np.float64], start: NDArray[np.float64]) -> NDArray[np.float64]:
    """(3, 4) placement that takes +z to a direction and 0 to a point."""
    spoke = HoleAxis(at_mm=start, into=way).spokes(4)
    return np.column_stack([spoke[0], np.cross(way, spoke[0]), way, start])
