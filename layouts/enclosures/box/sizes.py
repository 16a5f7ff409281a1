"""The enclosure's design: every number that tub and lid are made from, in pack coordinates."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.brackets.kind import MountingPad
from layouts.enclosures.board_seat import BoardSeat
from layouts.enclosures.support_pads import SupportPad
from layouts.pack import Face, Side
from layouts.parts.outlet import GlandSize
from layouts.parts.shell import Rect
from layouts.wiring.ways import WireWay


@dataclass(frozen=True, kw_only=True, slots=True)
class Boss:
    """A round boss of the tub from floor to rim.

    ``screw``: carries an insert for a lid screw (else it only locates the cell block). ``seat``:
    stands in a hollow of the cell block's outline. ``web``: straight rib that joins it to a wall;
    None where the boss itself merges with the wall."""

    x_mm: float
    y_mm: float
    radius_mm: float
    screw: bool
    seat: bool
    web: Rect | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Slot:
    """A gap in the top edge of a wall; ``side`` +1: the +x wall, -1: the -x wall."""

    side: int
    y0_mm: float
    y1_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class DripSkirt:
    """One stretch of the lid's drip skirt, outside the wall at ``side``, with closed ends."""

    side: int
    y0_mm: float
    y1_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Gland:
    """A cable gland in the +x wall, and the outside diameter of its wire."""

    gland: GlandSize
    purpose: str
    y_mm: float
    z_mm: float
    wire_mm: float

    @property
    def hole_radius_mm(self) -> float:
        """Radius of its hole."""
        return self.gland.hole_radius_mm

    @property
    def keep_radius_mm(self) -> float:
        """Radius kept free for nut and cap."""
        return self.gland.keep_radius_mm


@dataclass(frozen=True, kw_only=True, slots=True)
class TiePost:
    """A post that a lead is tied to before its gland, from the floor to ``z1_mm`` under the lead.

    ``block``: its plan; a hole for a cable tie runs along y through its middle at ``hole_z_mm``.
    ``foot``: a lower block from it into the wall, up to ``foot_z1_mm``; None where the board stands
    there. Heights in pack coordinates."""

    name: str
    block: Rect
    z1_mm: float
    hole_z_mm: float
    hole_radius_mm: float
    foot: Rect | None
    foot_z1_mm: float

    @property
    def rects(self) -> tuple[Rect, ...]:
        """Its plan and its foot's."""
        return (self.block,) if self.foot is None else (self.block, self.foot)


@dataclass(frozen=True, kw_only=True, slots=True)
class Drain:
    """A round hole through the floor."""

    x_mm: float
    y_mm: float
    radius_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class FlangeScrew:
    """Where a screw enters a joining flange; it runs along its axis, away from the origin."""

    x_mm: float
    y_mm: float
    z_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class JoiningFlange:
    """An upright joining flange outside a wall, beside a seam.

    ``axis``: along which its screws run (0: x, 1: y). ``insert``: holds heat-set inserts, else the
    screws pass it. ``rect``: its plan; ``plate``: the same with what joins a lid's joining flange
    to its plate. ``thick_mm``: along its screws, the seam's half gap taken off."""

    axis: int
    insert: bool
    rect: Rect
    plate: Rect
    z0_mm: float
    z1_mm: float
    thick_mm: float
    screws: tuple[FlangeScrew, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class SeamDesign:
    """Seams of tub or lid: places on x and on y; nothing where the part stays whole.

    ``ahead_mm``: free way kept before the passing joining flanges, along which their screws are put
    in."""

    x_mm: tuple[float, ...] = ()
    y_mm: tuple[float, ...] = ()
    flanges: tuple[JoiningFlange, ...] = ()
    ahead_mm: float = 0.0

    @property
    def pieces(self) -> int:
        """How many pieces the part is printed in."""
        return (len(self.x_mm) + 1) * (len(self.y_mm) + 1)


@dataclass(frozen=True, kw_only=True, slots=True)
class EnclosureDesign:
    """Tub and lid, every number decided. Plan and z in pack coordinates, lengths in mm.

    ``cavity``: inside of the walls, ``outer``: outside of the walls (boss ribs, mounting pads and
    the lid's drip skirts stand out from it). ``compartment``: the part of the cavity right of the
    cell block, for board, wires and glands. z levels: ``z_under_mm`` floor's underside,
    ``z_floor_mm`` its top, ``z_rim_mm`` top of the walls = underside of the lid.
    ``support_pad_floor_mm``, ``support_pad_lid_mm``: heights of the pads. ``block_top_mm``: z where
    blocks above mounting pads end. ``layer_mm``: of the printer, for the seams' laps.
    ``ways``: of all wires inside, where they are decided; ``tie_posts``: what leads are tied to
    before their glands."""

    cavity: Rect
    outer: Rect
    compartment: Rect
    layer_mm: float
    wall_mm: float
    floor_mm: float
    lid_mm: float
    outer_corner_mm: float
    z_under_mm: float
    z_floor_mm: float
    z_rim_mm: float
    bosses: tuple[Boss, ...]
    insert_radius_mm: float  # radius of a lid screw's insert hole
    insert_deep_mm: float
    lid_hole_radius_mm: float  # radius
    lid_screw: str
    lid_screw_long_mm: float
    support_pads_floor: tuple[SupportPad, ...]
    support_pads_lid: tuple[SupportPad, ...]
    support_pad_floor_mm: float
    support_pad_lid_mm: float
    slots: tuple[Slot, ...]
    slot_z0_mm: float
    skirts: tuple[DripSkirt, ...]
    skirt_gap_mm: float
    skirt_mm: float
    skirt_deep_mm: float
    pads: tuple[MountingPad, ...]
    pad_width_mm: float
    block_top_mm: float
    pad_hole_radius_mm: float  # radius of the insert holes bored into a mounting pad's face
    pad_hole_deep_mm: float
    glands: tuple[Gland, ...]
    drains: tuple[Drain, ...]
    bay: BoardSeat
    bend_room_mm: float
    tub_seams: SeamDesign = SeamDesign()
    lid_seams: SeamDesign = SeamDesign()
    notes: tuple[str, ...] = ()
    ways: tuple[WireWay, ...] = ()
    tie_posts: tuple[TiePost, ...] = ()

    @property
    def support_pads(self) -> dict[Face, tuple[SupportPad, ...]]:
        """Those on the floor and those on the lid, by the face that they meet."""
        return {Face.LOWER: self.support_pads_floor, Face.UPPER: self.support_pads_lid}

    @property
    def z_lid_mm(self) -> float:
        """Outer face of the lid."""
        return self.z_rim_mm + self.lid_mm

    @property
    def wall_x_mm(self) -> dict[int, float]:
        """Outer face of the wall at each side: {+1: right, -1: left}."""
        return {1: self.outer.x1, -1: self.outer.x0}

    @property
    def tub_box(self) -> Rect:
        """The uncut tub's plan with bosses, mounting pads and joining flanges that stand out."""
        return _around(
            [self.outer, *(self.pad_rect(pad) for pad in self.pads),
             *(_disc_box(b) for b in self.bosses), *(e.rect for e in self.tub_seams.flanges)]
        )  # fmt: skip

    @property
    def lid_box(self) -> Rect:
        """The uncut lid's plan with shelves, bosses' rounds and joining flanges."""
        return _around(
            [self.outer, *self.shelves, *(_disc_box(b) for b in self.bosses),
             *(e.rect for e in self.lid_seams.flanges)]
        )  # fmt: skip

    @property
    def shelves(self) -> tuple[Rect, ...]:
        """The lid's plate over the drip skirts, one stretch a side, past boss ribs too.

        It begins half a wall inside, so that it overlaps the plate over the tub.
        """
        reach = self.skirt_gap_mm + self.skirt_mm
        found = []
        for side, x in self.wall_x_mm.items():
            here = [s for s in self.skirts if s.side == side]
            if here:
                near, far = x - side * self.wall_mm / 2, x + side * reach
                y0, y1 = min(s.y0_mm for s in here), max(s.y1_mm for s in here)
                found.append(Rect(x0=min(near, far), x1=max(near, far), y0=y0, y1=y1))
        return tuple(found)

    def skirt_rects(self, skirt: DripSkirt) -> tuple[Rect, Rect, Rect]:
        """A drip skirt in the plan: its long side, then its two closed ends."""
        s, x, t = skirt.side, self.wall_x_mm[skirt.side], self.skirt_mm
        back, end = x + s * self.skirt_gap_mm, x + s * SKIRT_PLAY_MM
        far = back + s * t
        long = Rect(x0=min(back, far), x1=max(back, far), y0=skirt.y0_mm, y1=skirt.y1_mm)
        low = Rect(x0=min(end, far), x1=max(end, far), y0=skirt.y0_mm, y1=skirt.y0_mm + t)
        high = Rect(x0=min(end, far), x1=max(end, far), y0=skirt.y1_mm - t, y1=skirt.y1_mm)
        return long, low, high

    def pad_rect(self, pad: MountingPad) -> Rect:
        """A mounting pad in the plan, begun half a wall inside so that it overlaps the wall."""
        return self._out_to_face(pad, self.pad_width_mm)

    def block_rect(self, pad: MountingPad) -> Rect:
        """The block above a pad in the plan, as deep as the pad."""
        return self._out_to_face(pad, pad.block_mm)

    def _out_to_face(self, pad: MountingPad, wide_mm: float) -> Rect:
        wall_mm = {
            Side.PLUS_X: self.outer.x1,
            Side.MINUS_X: -self.outer.x0,
            Side.PLUS_Y: self.outer.y1,
            Side.MINUS_Y: -self.outer.y0,
        }[pad.side]
        half = wide_mm / 2
        xa, ya = pad.at_mm(pad.along_mm - half, wall_mm - self.wall_mm / 2)
        xb, yb = pad.at_mm(pad.along_mm + half, pad.face_mm)
        return Rect(x0=min(xa, xb), x1=max(xa, xb), y0=min(ya, yb), y1=max(ya, yb))

    def slot_rect(self, slot: Slot) -> Rect:
        """A slot in the plan, past both faces of its wall."""
        outside = self.wall_x_mm[slot.side] + slot.side
        inside = self.wall_x_mm[slot.side] - slot.side * (self.wall_mm + 1)
        return Rect(x0=min(inside, outside), x1=max(inside, outside), y0=slot.y0_mm, y1=slot.y1_mm)


SKIRT_PLAY_MM = 0.4  # between the drip skirt's ends and the wall


def _disc_box(boss: Boss) -> Rect:
    r = boss.radius_mm
    return Rect(x0=boss.x_mm - r, x1=boss.x_mm + r, y0=boss.y_mm - r, y1=boss.y_mm + r)


def _around(rects: list[Rect]) -> Rect:
    return Rect(
        x0=min(r.x0 for r in rects), y0=min(r.y0 for r in rects),
        x1=max(r.x1 for r in rects), y1=max(r.y1 for r in rects),
    )  # fmt: skip
