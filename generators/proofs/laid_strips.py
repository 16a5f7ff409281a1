"""Strips as laid, measured on the holders' meshes: they lie in channels and on the can ends.

What is looked for is the placed strips' own outlines and the cells, in pack coordinates; what is
looked at is the mesh. The drawing's channels are not read: a channel that is drawn aside, mirrored
or too narrow meets a strip.
"""

from __future__ import annotations

from collections.abc import Sequence

import manifold3d
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from generators.proofs.faces import (
    FaceFrame,
    can_end_range_mm,
    frame_of,
    grown_mm,
    holders_of,
    rings_mm,
)
from generators.proofs.geometry_check import geometry_check
from generators.proofs.solids import first_hit_mm
from generators.proofs.together import OVERLAP_MM3, PlacedMesh
from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.holders.channels import web_line
from layouts.pack import Face, Pack
from layouts.strips.joining import Interconnect, LaidMetal
from layouts.strips.lip import balance_lead_mm, floor_most_mm, positive_end

__all__ = ["strip_proofs"]

TOUCH_MM = 0.005  # a strip with all of its play touches the channel's sides: taken off, each side
ABOVE_MM = 0.01  # what is put in from outside begins so far outside of the outer face
LEVEL_MM = 1e-6  # float noise in sums of millimetres
EDGE_MM = 0.2  # within a strip's edge: its channel's own edge is as far outside
SHORT_MM = 1.0  # of web under a strip's edge: three lines, printed without a floor of its own
SAMPLES = (-0.4, 0.0, 0.4)  # across a strip, in widths: where the webs' floors are measured


def strip_proofs(
    parts: Sequence[PlacedMesh],
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    block: BaseGeometry,
) -> tuple[Check, ...]:
    """Strips and balance leads in their channels, and the webs' floors under the strips.

    ``block``: the holders' outline."""
    return (
        _in_channels(parts, pack, cell_layout, interconnect),
        _balance_leads(parts, pack, cell_layout, interconnect),
        *_web_floors(parts, pack, cell_layout, interconnect, block),
    )


def strip_body(
    pack: Pack, strip: LaidMetal, stack_mm: float, *, put_in: bool
) -> manifold3d.Manifold:
    """All places that a strip may take: moved by its play, on cans at their least or greatest.

    ``stack_mm``: of all strips that lie over the same can ends. ``put_in``: with its way in from
    outside of the holder.
    """
    low, high = can_end_range_mm(pack)
    outside = pack.holder.lip_mm + ABOVE_MM if put_in else stack_mm - low
    grown = pack.holder.channel_play_mm / 2 - TOUCH_MM
    frame = frame_of(pack, strip.face)
    body = frame.prism(grown_mm(strip.outline_mm, grown), -outside, high - LEVEL_MM)
    for hole in strip.shape.interiors:
        for ring in rings_mm(np.asarray(hole.coords)[:-1], -grown):
            body -= frame.prism(ring, -outside - ABOVE_MM, high + ABOVE_MM)
    return body


def _in_channels(
    parts: Sequence[PlacedMesh], pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> Check:
    """Interference of strips with all parts, with holders also on their way in."""
    total, worst, where = 0.0, 0.0, ""
    for row, face in enumerate((Face.LOWER, Face.UPPER)):
        strips = interconnect.laid(face)
        if not strips:
            continue
        stacks = [float(interconnect.stack_mm[row, list(s.cells)].max()) for s in strips]
        holders = holders_of(parts, face)
        for put_in, against in ((True, holders), (False, [p for p in parts if p not in holders])):
            bodies = [
                strip_body(pack, strip, stack, put_in=put_in)
                for strip, stack in zip(strips, stacks, strict=True)
            ]
            whole = manifold3d.Manifold.batch_boolean(bodies, manifold3d.OpType.Add)
            for part in against:
                shared = (part.solid ^ whole).volume()
                total += shared
                if shared <= OVERLAP_MM3:
                    continue
                for strip, body in zip(strips, bodies, strict=True):
                    own = (part.solid ^ body).volume()
                    if own > worst:
                        worst, where = own, f"strip {strip.name} and {part.name}"
    return geometry_check(
        "strips_in_channels",
        "interference of the strips, in any place that their play leaves them, with printed parts",
        total,
        OVERLAP_MM3,
        "mm3",
        where=where,
        remedy="thinner strips or a thicker holder.lip_mm, if strip_proud_mm or strip_stack_mm "
        "fails too; else a fault of the tool: keep the file and the log",
    )


def _balance_leads(
    parts: Sequence[PlacedMesh], pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> Check:
    """Balance leads go through their notches, from the can's middle to outside of the holder."""
    wide = balance_lead_mm(pack)
    total, where, worst = 0.0, "", 0.0
    for lead in interconnect.balance_leads:
        if not lead.notch:
            continue
        holders = holders_of(parts, lead.face)
        x, y = cell_layout.xy_mm[lead.cell].tolist()
        far = _outer_face_mm(
            holders, x, y, frame_of(pack, lead.face).z_mm(pack.holder.depth_mm / 2)
        )
        half = wide / 2
        ring = np.array([(x, y - half), (far, y - half), (far, y + half), (x, y + half)])
        lip = pack.holder.lip_mm
        wire = frame_of(pack, lead.face).prism(ring, -lip - ABOVE_MM, -max(lip - wide, 0.0))
        shared = sum((part.solid ^ wire).volume() for part in holders)
        total += shared
        if shared > worst:
            worst, where = shared, f"balance lead {lead.number}, {lead.face.value} face"
    return geometry_check(
        "notches_open",
        f"interference of the balance leads ({wide:.1f} mm over their insulation) with the holders",
        total,
        OVERLAP_MM3,
        "mm3",
        where=where,
        remedy="a thinner taps.awg (a higher number)",
    )


def _outer_face_mm(holders: Sequence[PlacedMesh], x: float, y: float, z: float) -> float:
    """x of a holder's outer face towards +x from a point in a pocket."""
    hits = [
        hit.position[0]
        for part in holders
        for hit in part.solid.ray_cast([x, y, z], [float(part.box_mm[1][0]) + 1.0, y, z])
    ]
    return max(hits, default=x)


def _web_floors(
    parts: Sequence[PlacedMesh],
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    block: BaseGeometry,
) -> tuple[Check, ...]:
    """Depth of the webs' floors that each strip crosses, measured from outside.

    No floor may lift the strip off a can at its greatest depth, or leave it hollow by more than
    ``floor_most_mm`` beside a can in its place.
    """
    low, high = can_end_range_mm(pack)
    shallow, deep = np.inf, -np.inf
    shallow_at = deep_at = ""
    for strip in (one for face in (Face.LOWER, Face.UPPER) for one in interconnect.laid(face)):
        holders = holders_of(parts, strip.face)
        frame = frame_of(pack, strip.face)
        positive = positive_end(cell_layout, strip.face)
        for i, j in _webs(cell_layout, strip):
            found = _floor_depths_mm(holders, frame, pack, strip, cell_layout.xy_mm[[i, j]], block)
            if not len(found):
                continue
            sunk = -low if positive[i] or positive[j] else 0.0
            at = f"strip {strip.name} between cells {i + 1} and {j + 1}"
            if found.min() < shallow:
                shallow, shallow_at = float(found.min()), at
            if found.max() + sunk > deep:
                deep, deep_at = float(found.max()) + sunk, at
    if not np.isfinite(shallow):
        return ()
    return (
        geometry_check(
            "strips_on_cans",
            "depth of the printed webs behind the lip plane, the can pushed to the other holder",
            shallow,
            high - LEVEL_MM,
            "mm",
            at_least=True,
            where=shallow_at,
            remedy="a larger holder.web_recess_mm, or a ring nearer to the seat's depth",
        ),
        geometry_check(
            "strips_not_hollow",
            "depth of the printed webs below the can end beside them",
            deep,
            floor_most_mm(pack) + LEVEL_MM,
            "mm",
            where=deep_at,
            remedy="holder.web_recess_mm 0.4 with a seat at most 0.2 deeper than the ring",
        ),
    )


def _webs(cell_layout: CellLayout, strip: LaidMetal) -> list[tuple[int, int]]:
    """Touching cells that a strip joins, whose web it crosses."""
    near = {(int(i), int(j)) for i, j in cell_layout.neighbours.reshape(-1, 2)}
    return [pair for pair in strip.links if (min(pair), max(pair)) in near]


def _floor_depths_mm(
    holders: Sequence[PlacedMesh],
    frame: FaceFrame,
    pack: Pack,
    strip: LaidMetal,
    ends_mm: NDArray[np.float64],
    block: BaseGeometry,
) -> NDArray[np.float64]:
    """Depths at which rays from outside meet the web between two cells, beside its middle.

    Off the middle, where a seam between two tiles may run.
    """
    between = ends_mm[1] - ends_mm[0]
    apart = float(np.hypot(*between))
    along = between / apart
    beside = (apart - pack.pocket_mm) / 4
    outside = pack.holder.lip_mm + 1.0
    web = web_line(pack, ends_mm)
    within = shapely.intersection(strip.shape, block).buffer(-EDGE_MM)
    found = []
    for part in shapely.get_parts(shapely.intersection(web, within)):
        if part.length < SHORT_MM:
            continue
        for share in SAMPLES:
            middle = shapely.line_interpolate_point(part, 0.5 + share, normalized=True)
            for off in (-beside, beside):
                at = shapely.get_coordinates(middle)[0] + off * along
                if not within.contains(shapely.Point(at)):
                    continue  # a slot ends there, or the holder does
                start = np.array([*at, frame.z_mm(-outside)])
                end = np.array([*at, frame.z_mm(pack.holder.depth_mm)])
                found.append(first_hit_mm([one.solid for one in holders], start, end) - outside)
    return np.array(found)
