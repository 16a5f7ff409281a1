"""Strips, plates and copper in place: layers, bars with bent ends, lugs and what screws them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from generators.exports.bill import LUG_SCREW_LONG_MM
from generators.meshes.mesh import Mesh, joined_mesh
from generators.shaded.bought import lug_body, nut_body, screw_body, washer_body
from generators.shaded.palette import Paint
from generators.shaded.shapes import prism
from layouts.cells.arrangement import CellLayout
from layouts.formats import screws
from layouts.pack import Face, Pack
from layouts.strips.joining import BUS_SLOT_MM, Interconnect, Strip, StripKind
from layouts.strips.plate import BusPlate, LugEnd

__all__ = ["LUG_FLAT_MM", "LugPlace", "MetalBody", "lug_bodies", "lug_places", "metal_bodies"]

FAR_MM = 1e4  # beyond any pack
LUG_FLAT_MM = 1.2  # of a ring lug; usual, no source
CROSSING_MM = 0.03  # strips of one kind that lie over each other do not share a plane
CROSSINGS = 5


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class MetalBody:
    """One piece of metal on a face: the bill's item (its beginning) and size."""

    name: str
    item: str
    size: str
    face: Face
    paint: Paint
    mesh: Mesh
    place: NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class LugPlace:
    """Where a screw goes through a bar: the lug's underside there, ``outward`` -1 or 1 along z.

    ``bridged``: the screw holds a bridge, no lead; ``minus``: of pack minus."""

    lug: LugEnd
    face: Face
    z_mm: float
    outward: float
    bar_mm: float
    bridged: bool
    minus: bool

    @property
    def at_mm(self) -> tuple[float, float, float]:
        """Its screw's axis on the lug's underside."""
        return (*self.lug.at_mm, self.z_mm)


def metal_bodies(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> tuple[MetalBody, ...]:
    """All sheets, bars and strips as they lie."""
    return (
        *(body for plate in interconnect.plates for body in _plate(pack, plate)),
        *_strips(pack, cell_layout, interconnect),
    )


def _face_z(pack: Pack, face: Face) -> tuple[float, float]:
    """z of the plane that metal lies on, and which way is outward."""
    return (pack.lip_to_lip_mm, 1.0) if face is Face.UPPER else (0.0, -1.0)


def _between(plan: BaseGeometry, z_mm: float, outward: float, thick_mm: float) -> Mesh:
    """A plan from a height outward."""
    far = z_mm + outward * thick_mm
    return prism(plan, min(z_mm, far), max(z_mm, far))


def _plate(pack: Pack, plate: BusPlate) -> Iterator[MetalBody]:
    z, out = _face_z(pack, plate.face)
    tail = [] if plate.folded is None else [plate.folded]
    for layer, sheet in zip(plate.layers, plate.sheets, strict=True):
        lies = shapely.union_all([sheet.intersection(plate.body), *tail])
        for piece in shapely.get_parts(lies) if plate.is_bridged else [lies]:
            yield MetalBody(
                name="plates",
                item=f"{layer.material} sheet",
                size=f"{layer.thickness_mm:g} mm",
                face=plate.face,
                paint=Paint.COPPER if layer.material == "copper" else Paint.SHEET_METAL,
                mesh=_between(piece, z, out, layer.thickness_mm),
                place=np.eye(4),
            )
        z += out * layer.thickness_mm
    bar = plate.bar
    if bar is None:
        return
    for k, (piece, stock_mm) in enumerate(zip(bar.pieces, bar.stock_mm, strict=True)):
        if plate.is_bridged and k == len(bar.pieces) - 1:
            top = z + out * (bar.thickness_mm - bar.lugs[0].drop_mm)
            mesh = _between(piece, top, out, bar.thickness_mm)
        else:
            lug = bar.lugs[k] if k < len(bar.lugs) else None
            mesh = _bent(piece, lug, z, out, bar.thickness_mm)
        yield MetalBody(
            name="copper bars", item="flat copper on plates",
            size=f"{stock_mm:g} x {bar.thickness_mm:g} mm", face=plate.face, paint=Paint.COPPER,
            mesh=mesh, place=np.eye(4),
        )  # fmt: skip


def _bent(
    piece: shapely.Polygon, lug: LugEnd | None, z_mm: float, out: float, thick_mm: float
) -> Mesh:
    """A bar whose end for the lug lies nearer to the other face."""
    if lug is None or lug.drop_mm <= 0.0:
        return _between(piece, z_mm, out, thick_mm)
    right = lug.at_mm[0] > lug.bend_mm
    beyond = shapely.box(lug.bend_mm, -FAR_MM, FAR_MM, FAR_MM)
    if not right:
        beyond = shapely.box(-FAR_MM, -FAR_MM, lug.bend_mm, FAR_MM)
    low = z_mm - out * lug.drop_mm
    end = piece.intersection(beyond)
    x0, x1 = (lug.bend_mm, lug.bend_mm + thick_mm) if right else (
        lug.bend_mm - thick_mm, lug.bend_mm
    )  # fmt: skip
    step = end.intersection(shapely.box(x0, -FAR_MM, x1, FAR_MM))
    return joined_mesh(
        (
            _between(piece.difference(beyond), z_mm, out, thick_mm),
            _between(step, low + out * thick_mm, out, lug.drop_mm),
            _between(end, low, out, thick_mm),
        )
    )


def _strips(pack: Pack, cell_layout: CellLayout, interconnect: Interconnect) -> Iterator[MetalBody]:
    order = (StripKind.ROW, StripKind.LEAD, StripKind.LINK)
    level = dict.fromkeys(order, 0.0)
    rows = [s for s in interconnect.strips if s.kind is not StripKind.LINK]
    level[StripKind.LINK] = max((s.thickness_mm * s.layers for s in rows), default=0.0)
    for number, strip in enumerate(interconnect.strips):
        z, out = _face_z(pack, strip.face)
        lift = level[strip.kind] + CROSSING_MM * (order.index(strip.kind) + number % CROSSINGS)
        z += out * lift
        thick = strip.thickness_mm * strip.layers
        plan = shapely.Polygon(strip.outline_mm)
        yield MetalBody(
            name=f"{strip.kind.value} strips", item=f"{strip.kind.value} strips",
            size=f"{strip.width_mm:g} x {strip.thickness_mm:g} mm", face=strip.face,
            paint=Paint.COPPER if pack.strip.material == "copper" else Paint.SHEET_METAL,
            mesh=_between(plan, z, out, thick), place=np.eye(4),
        )  # fmt: skip
        if strip.bus_mm:
            yield MetalBody(
                name="copper on the end rows", item="flat copper on the rows",
                size=f"{strip.width_mm:g} x {strip.bus_mm:g} mm", face=strip.face,
                paint=Paint.COPPER,
                mesh=_between(_slotted(cell_layout, strip), z + out * thick, out, strip.bus_mm),
                place=np.eye(4),
            )  # fmt: skip


def _slotted(cell_layout: CellLayout, strip: Strip) -> BaseGeometry:
    """Flat copper with a slot over each can end, for the weld electrodes."""
    slots = [
        shapely.Point(*cell_layout.xy_mm[cell]).buffer(BUS_SLOT_MM / 2) for cell in strip.cells
    ]
    return shapely.Polygon(strip.outline_mm).difference(shapely.union_all(slots))


def lug_places(pack: Pack, interconnect: Interconnect) -> tuple[LugPlace, ...]:
    """Where lugs, and a bridge, are screwed to bars."""
    found = []
    for plate in interconnect.plates:
        if plate.bar is None:
            continue
        face_z, out = _face_z(pack, plate.face)
        for lug in plate.bar.lugs:
            top = plate.thickness_mm + plate.bar.thickness_mm - lug.drop_mm
            top += plate.bar.thickness_mm if plate.is_bridged else 0.0
            found.append(
                LugPlace(
                    lug=lug,
                    face=plate.face,
                    z_mm=face_z + out * top,
                    outward=out,
                    bar_mm=plate.bar.thickness_mm * (2.0 if plate.is_bridged else 1.0),
                    bridged=plate.is_bridged,
                    minus=plate.is_minus,
                )
            )
    return tuple(found)


def lug_bodies(
    pack: Pack, place: LugPlace, towards: tuple[float, float]
) -> dict[str, tuple[Mesh, NDArray[np.float64]]]:
    """The ring lug, its crimp ``towards`` (x, y), and its screw with washers and nut, by the
    beginning of the bill's item, each with its place."""
    size, out = screws()[place.lug.screw], place.outward
    thread = float(place.lug.screw.removeprefix("M"))
    thin = size.washer_high_mm
    lug_mm = 0.0 if place.bridged else LUG_FLAT_MM
    turn = np.eye(4)
    x, y = towards
    turn[:3, 0] = x, y, 0.0
    turn[:3, 2] = 0.0, 0.0, out
    turn[:3, 1] = np.cross(turn[:3, 2], turn[:3, 0])
    turn[:3, 3] = place.at_mm
    washer = washer_body(thread, size.washer_diameter_mm, thin)
    head = screw_body(
        thread, LUG_SCREW_LONG_MM[place.lug.screw], size.head_diameter_mm, size.head_high_mm,
        size.key_mm,
    )  # fmt: skip
    parts = [
        (washer, lug_mm),
        (head, lug_mm + thin),
        (washer, -place.bar_mm - thin),
        (nut_body(thread, size.nut_flats_mm, size.nut_high_mm),
         -place.bar_mm - thin - size.nut_high_mm),
    ]  # fmt: skip
    screw = joined_mesh(
        tuple(Mesh(mesh.vertices_mm + (0.0, 0.0, z), mesh.faces) for mesh, z in parts)
    )
    purpose = "the bridge" if place.bridged else "a main lead's lug"
    found = {f"screw with two washers and a locking nut, for {purpose}": (screw, turn)}
    if not place.bridged:
        lug = lug_body(place.lug.hole_mm, place.lug.washer_mm, pack.leads.outside_mm)
        found["ring lug on a main lead"] = (lug, turn)
    return found
