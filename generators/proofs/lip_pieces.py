"""The printed lip against what it has to leave open: no channel and no window is wider than meant.

What is wanted is drawn up from cells, strips, leads and posts, and from the pack file's window and
play; what is there is a section of the holders' meshes through the lip.
"""

from __future__ import annotations

from collections.abc import Sequence

import manifold3d
import numpy as np
import shapely
from numpy.typing import NDArray

from generators.proofs.faces import frame_of, grown_mm, holders_of, rings_mm
from generators.proofs.geometry_check import geometry_check
from generators.proofs.together import PlacedMesh
from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.formats import screws
from layouts.holders.fastening import CellBlock
from layouts.holders.outline import outline_points_mm
from layouts.holders.tile_plan import ISLAND_MM2
from layouts.pack import Face, Pack
from layouts.parts.drawing import CHORD_MM
from layouts.strips.joining import Interconnect, Strip
from layouts.strips.lip import notch_mm
from layouts.strips.plate import BusPlate

__all__ = ["lip_proof"]

OFF_MM = 0.05  # an opening may be wider by so much, each side
BEHIND_MM = 0.05  # the section lies so far behind the floor of the ring seats, in the lip
THIN_MM = 0.15  # half of what a seam between two tiles leaves open is less than this
RECESS_MM = 0.5  # round a tie screw's head or nut: its recess
LEAST_MM2 = 1.0  # of lip: chords and corners lose less
FACETS = 96
FAR_MM = 1e4  # beyond any pack


def lip_proof(
    parts: Sequence[PlacedMesh],
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    cell_block: CellBlock,
) -> Check:
    """The largest area of lip that is missing on the meshes.

    Pieces left out on purpose, too small to stay on the printer's bed, are not counted, nor is
    what is thinner than seams between tiles.
    """
    worst, where = 0.0, ""
    rim = manifold3d.CrossSection([outline_points_mm(cell_block.outline, CHORD_MM)])
    for face in Face:
        rest = rim.offset(-OFF_MM, manifold3d.JoinType.Miter) - _open(
            pack, cell_layout, interconnect, cell_block, face
        )
        frame = frame_of(pack, face)
        level = frame.z_mm(-pack.holder.seat_mm - BEHIND_MM)
        middle = frame.z_mm(pack.holder.depth_mm / 2)
        missing = manifold3d.CrossSection()
        for part in holders_of(parts, face):
            # a seam between two tiles parts a piece of lip in two
            tile, there = _filled(part.solid.slice(middle)), part.solid.slice(level)
            for piece in (rest ^ tile).decompose():
                if piece.area() >= ISLAND_MM2 or not (piece ^ there).is_empty():
                    missing += piece - there
            rest -= tile
        for gap in _without_thin(missing + rest).decompose():
            if gap.area() > worst:
                x0, y0, x1, y1 = gap.bounds()
                worst = gap.area()
                where = f"{face.value} face, near ({(x0 + x1) / 2:.1f}, {(y0 + y1) / 2:.1f})"
    return geometry_check(
        "lip_as_planned",
        "largest area of the lip between windows and channels that is not printed",
        worst,
        LEAST_MM2,
        "mm2",
        where=where,
    )


def _open(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    cell_block: CellBlock,
    face: Face,
) -> manifold3d.CrossSection:
    """All that is open through the lip of a face: windows, channels, notches, recesses."""
    holder, size = pack.holder, screws()[pack.holder.screw]
    beside = holder.channel_play_mm / 2 + OFF_MM
    found = [
        manifold3d.CrossSection([grown_mm(_with_exit_mm(strip), beside)])
        for strip in interconnect.strips
        if strip.face is face
    ]
    found += [_plate_opening(plate, beside) for plate in interconnect.plates if plate.face is face]
    window = manifold3d.CrossSection.circle(holder.window_mm / 2 + OFF_MM, FACETS)
    found += [window.translate(at) for at in cell_layout.xy_mm.tolist()]
    across = size.head_diameter_mm if face is Face.UPPER else size.nut_flats_mm / np.cos(np.pi / 6)
    recess = manifold3d.CrossSection.circle(float(across) / 2 + RECESS_MM, FACETS)
    found += [recess.translate([post.x_mm, post.y_mm]) for post in cell_block.posts]
    far, half = cell_block.box_mm[2] + 1.0, notch_mm(pack) / 2 + OFF_MM
    for lead in interconnect.balance_leads:
        if lead.notch and lead.face is face:
            x, y = cell_layout.xy_mm[lead.cell].tolist()
            found.append(
                manifold3d.CrossSection(
                    [[(x, y - half), (far, y - half), (far, y + half), (x, y + half)]]
                )
            )
    return manifold3d.CrossSection.batch_boolean(found, manifold3d.OpType.Add)


def _plate_opening(plate: BusPlate, beside_mm: float) -> manifold3d.CrossSection:
    """A plate's outline grown, its holes shrunk: lip stands in them."""
    whole = manifold3d.CrossSection(
        [grown_mm(shapely.get_coordinates(plate.shape.exterior)[:-1], beside_mm)]
    )
    for ring in plate.shape.interiors:
        for peg in rings_mm(shapely.get_coordinates(ring)[:-1], -beside_mm):
            whole -= manifold3d.CrossSection([peg])
    return whole


def _with_exit_mm(strip: Strip) -> NDArray[np.float64]:
    """(4, 2) a strip's outline; where it runs out of the holder, on to far beyond it."""
    outline = strip.outline_mm.copy()
    if strip.runs_out:
        way = np.asarray(strip.end_mm) - np.asarray(strip.start_mm)
        outline[1:3] += FAR_MM * way / np.hypot(*way)
    return outline


def _filled(section: manifold3d.CrossSection) -> manifold3d.CrossSection:
    """A section without its holes: a tile's plan, where pockets are its holes."""
    rings = [np.asarray(ring) for ring in section.to_polygons()]
    following = [np.roll(ring, -1, axis=0) for ring in rings]
    return manifold3d.CrossSection(
        [
            ring
            for ring, after in zip(rings, following, strict=True)
            if float((ring[:, 0] * after[:, 1] - after[:, 0] * ring[:, 1]).sum()) > 0.0
        ]
    )


def _without_thin(shape: manifold3d.CrossSection) -> manifold3d.CrossSection:
    """A shape without its parts thinner than twice ``THIN_MM``."""
    join = manifold3d.JoinType.Miter
    opened: manifold3d.CrossSection = shape.offset(-THIN_MM, join).offset(THIN_MM, join)
    return opened
