"""A part's mesh as it is drawn for a printer that prints holes smaller, outsides larger, the whole
smaller: the one place where printed files differ from the plan's sizes.

Each stretch of equal sections is drawn anew by ``layouts.printing.compensation``, then cones and
bores, then all is scaled. A given shape is scaled alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import manifold3d
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from generators.meshes.drilled import drilled_mesh
from generators.meshes.mesh import CrossingChordsError, Mesh, mesh
from generators.meshes.of_part import FINER_MM, part_mesh
from generators.meshes.sections import Stretch, Taper, sections_of, tapers_of
from layouts.parts.drawing import CHORD_MM, Drawing
from layouts.parts.part import Part
from layouts.printer_spec import Printer
from layouts.printing.compensation import Offsets, drawn_section, moved_ring, offsets_of
from layouts.slabs.body import Body
from layouts.slabs.bore import Bore
from layouts.slabs.errors import SolidError

__all__ = ["DrawnForPrinter", "drawn_for_printer"]

FloatArray = NDArray[np.float64]

LEAST_RING_MM2 = 1e-6  # smaller remains of an offset are noise
ABOVE_MM = 1.0  # a cone's tool goes on so far above the part, where there is air
SPECK_MM3 = 0.5  # loose pieces and closed voids that are smaller can't be printed
SHORT_MM = 1e-5  # shorter edges are noise of joining: far below any printed detail


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class DrawnForPrinter:
    """The part, then its supports, before they are scaled; ``scale`` along x, y, z of the bed."""

    bodies: tuple[Mesh, ...]
    scale: tuple[float, float, float]

    @property
    def turns_alike(self) -> bool:
        """Whether a part that lies a quarter turn round is drawn the same."""
        return self.scale[0] == self.scale[1]

    def scaled(self, *, quarter_turned: bool = False) -> tuple[Mesh, ...]:
        """The bodies as they are written; ``quarter_turned``: for a part that is laid on the bed a
        quarter turn round, so that its y runs along the bed's x."""
        x, y, z = self.scale
        factors = np.array((y, x, z) if quarter_turned else (x, y, z))
        return tuple(Mesh(one.vertices_mm * factors, one.faces) for one in self.bodies)


def drawn_for_printer(part: Part, printer: Printer) -> DrawnForPrinter:
    """A part with its supports as the printer needs it. SolidError where nothing sound is left."""
    if isinstance(part.drawing, Drawing):
        bodies = [_drawn(one, printer) for one in (part.drawing, *part.supports)]
    else:
        bodies = [part_mesh(part)]
    return DrawnForPrinter(bodies=tuple(bodies), scale=printer.drawn_scale)


def _drawn(drawing: Drawing, printer: Printer) -> Mesh:
    offsets, body = offsets_of(printer), drawing.body
    chord_mm = _chord_mm(body)
    foot_z = body.slabs_mm[0][0] + printer.layer_mm / printer.drawn_scale[2]
    stretches = []
    for one in _split(sections_of(body, chord_mm), foot_z if printer.foot_mm else None):
        low = printer.foot_mm and one.z1_mm <= foot_z
        region = drawn_section(one.rings, offsets.more(printer.foot_mm) if low else offsets)
        if not region.is_empty:
            stretches.append(_prism(region, one.z0_mm, one.z1_mm))
    solid = manifold3d.Manifold.batch_boolean(stretches, manifold3d.OpType.Add)
    tapers = tapers_of(body, chord_mm)
    if tapers:
        tools = [_frustum(one, offsets) for one in tapers]
        solid = manifold3d.Manifold.batch_boolean([solid, *tools], manifold3d.OpType.Subtract)
    solid = solid.as_original().simplify(SHORT_MM)  # as one: level walls of two stretches join
    shells = solid.decompose()
    if len(shells) > 1:
        # specks beside the part, and closed voids, whose volume is below 0
        shells = [one for one in shells if abs(one.volume()) > SPECK_MM3]
        solid = manifold3d.Manifold.compose(shells)
    if solid.status() != manifold3d.Error.NoError or solid.is_empty():
        raise SolidError(
            f"drawn for the printer it is not sound ({solid.status().name})",
            remedy="smaller printer.hole_mm, outside_mm and foot_mm",
        )
    return drilled_mesh(_mesh(solid), [_wider(one, offsets) for one in drawing.bores], CHORD_MM)


def _chord_mm(body: Body) -> float:
    """Chords as fine as the part's own mesh has them."""
    for chord_mm in FINER_MM:
        try:
            mesh(body, chord_mm)
        except CrossingChordsError:
            continue
        return chord_mm
    return FINER_MM[-1] / 4.0


def _split(sections: Sequence[Stretch], at_mm: float | None) -> list[Stretch]:
    """The same, cut at a height."""
    found = []
    for one in sections:
        if at_mm is not None and one.z0_mm < at_mm < one.z1_mm:
            found += [replace(one, z1_mm=at_mm), replace(one, z0_mm=at_mm)]
        else:
            found.append(one)
    return found


def _prism(region: BaseGeometry, z0_mm: float, z1_mm: float) -> manifold3d.Manifold:
    rings = [
        np.asarray(ring.coords)[:-1]
        for one in shapely.get_parts(shapely.orient_polygons(region))
        if one.geom_type == "Polygon" and one.area > LEAST_RING_MM2
        for ring in (one.exterior, *one.interiors)
    ]
    flat = np.vstack(rings)
    lids = np.asarray(manifold3d.triangulate(rings), np.int64)
    here = np.arange(len(flat))
    starts = np.cumsum([0, *(len(ring) for ring in rings)])
    there = np.concatenate(
        [np.roll(here[a:b], -1) for a, b in zip(starts, starts[1:], strict=False)]
    )
    top = len(flat)
    sides = [np.column_stack([here, there, there + top])]
    sides.append(np.column_stack([here, there + top, here + top]))
    faces = np.vstack([lids[:, ::-1], lids + top, *sides])
    points = np.vstack([
        np.column_stack([flat, np.full(top, z0_mm)]), np.column_stack([flat, np.full(top, z1_mm)])
    ])  # fmt: skip
    return _solid(points, faces)


def _frustum(taper: Taper, offsets: Offsets) -> manifold3d.Manifold:
    """What a hole's cone takes away, going on above the part."""
    if taper.side > 0:
        raise SolidError(
            "a post that tapers can't be drawn for a printer", remedy="draw it with straight walls"
        )
    # rings run counter-clockwise, air within: away from the material is outwards
    lower, upper = (moved_ring(ring, -offsets.hole) for ring in (taper.lower, taper.upper))
    if lower is None or upper is None:
        raise SolidError(
            "a lead-in can't be drawn for the printer", remedy="a smaller printer.hole_mm"
        )
    count = len(lower)
    heights = (taper.z0_mm, taper.z1_mm, taper.z1_mm + ABOVE_MM)
    points = np.vstack([
        np.column_stack([ring, np.full(count, z)])
        for ring, z in zip((lower, upper, upper), heights, strict=True)
    ])  # fmt: skip
    here = np.arange(count)
    there = np.roll(here, -1)
    sides = [
        np.vstack([
            np.column_stack([here, there, there + count]),
            np.column_stack([here, there + count, here + count]),
        ]) + k * count
        for k in range(2)
    ]  # fmt: skip
    lid = np.asarray(manifold3d.triangulate([lower]), np.int64)
    return _solid(points, np.vstack([lid[:, ::-1], lid + 2 * count, *sides]))


def _wider(bore: Bore, offsets: Offsets) -> Bore:
    """A bore as wide as other holes, beginning and ending in air where walls have grown."""
    grown = max(-offsets.outside, -offsets.hole, 0.0)
    past = grown if bore.past_mm > 0 else 0.0
    x, y, z = (at - grown * way for at, way in zip(bore.start, bore.direction, strict=True))
    return replace(
        bore,
        start=(x, y, z),
        radius_mm=bore.radius_mm + offsets.hole,
        depth_mm=bore.depth_mm + grown + past,
        past_mm=bore.past_mm + past,
    )


def _solid(points: FloatArray, faces: NDArray[np.int64]) -> manifold3d.Manifold:
    return manifold3d.Manifold(manifold3d.Mesh64(points, faces.astype(np.uint64)))


def _mesh(solid: manifold3d.Manifold) -> Mesh:
    out = solid.to_mesh64()
    return Mesh(
        np.array(out.vert_properties[:, :3], np.float64, order="C"),
        np.array(out.tri_verts, np.int64, order="C"),
    )
