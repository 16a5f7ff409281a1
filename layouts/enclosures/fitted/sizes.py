"""The fitted enclosure's design: all that tub and lid are drawn from, in pack coordinates [mm]."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.brackets.kind import MountingPad
from layouts.enclosures.board_seat import BoardSeat
from layouts.enclosures.fitted.clamp_springs import DISC_MM
from layouts.enclosures.fitted.cord import ClampCord
from layouts.enclosures.fitted.gasket_vent import VentPlace
from layouts.enclosures.fitted.shell import ShellPlan
from layouts.enclosures.fitted.splices import NO_SPLICES, Splices
from layouts.enclosures.support_pads import SupportPad
from layouts.fitting.box_fit import quarter_turn
from layouts.pack import Face, Side
from layouts.parts.glands import GlandSize
from layouts.parts.shell import Rect
from layouts.place_spec import Matrix3

__all__ = [
    "BoardSeat",
    "Clamp",
    "Duct",
    "FittedSizes",
    "FloorDrain",
    "FuseSeat",
    "GasSlot",
    "Notch",
    "TieLug",
    "WallHole",
]  # fmt: skip

Point = tuple[float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class GasSlot:
    """A cut through the wall's top edge for gas: a rectangle across the wall.

    ``at_mm``: on the wall; ``out`` (unit): away from the cells; ``wide_mm`` along the wall,
    ``long_mm`` across it."""

    at_mm: Point
    out: Point
    wide_mm: float
    long_mm: float

    @property
    def corners_mm(self) -> tuple[Point, ...]:
        """Corners of the cut, counter-clockwise."""
        (x, y), (u, v) = self.at_mm, self.out
        a, b = self.long_mm / 2, self.wide_mm / 2
        return tuple(
            (x + s * a * u - t * b * v, y + s * a * v + t * b * u)
            for s, t in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class Duct:
    """A space between wall and lip through which gas leaves downwards. ``section_mm2``: level;
    ``slots``: the cuts through the wall that open into it."""

    side: Side
    section_mm2: float
    slots: tuple[GasSlot, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class TieLug:
    """A block on the floor with a round hole for a cable tie.

    The hole runs along ``axis`` (0: x, 1: y) through the block's middle, ``hole_z_mm`` high in
    pack coordinates; the block reaches from the floor to ``z1_mm``."""

    block: Rect
    axis: int
    hole_z_mm: float
    hole_radius_mm: float
    z1_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class FuseSeat:
    """Two low walls on the floor that a bought fuse holder stands between, on blocks for ties.

    ``plan``: of the fuse holder; ``walls`` reach from the floor to ``wall_z1_mm``."""

    plan: Rect
    walls: tuple[Rect, ...]
    wall_z1_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class WallHole:
    """A cable gland in the outer wall.

    ``side``: outward direction; ``face_mm``: the wall's outer face along it; ``along_mm``,
    ``z_mm``: axis of its hole; ``wire_mm``: outside diameter of its wire."""

    gland: GlandSize
    purpose: str
    side: Side
    face_mm: float
    along_mm: float
    z_mm: float
    wire_mm: float

    @property
    def at_mm(self) -> tuple[float, float, float]:
        """The axis in the wall's outer face."""
        sign = 1.0 if self.side in (Side.PLUS_X, Side.PLUS_Y) else -1.0
        if self.side in (Side.PLUS_X, Side.MINUS_X):
            return sign * self.face_mm, self.along_mm, self.z_mm
        return self.along_mm, sign * self.face_mm, self.z_mm

    @property
    def out(self) -> Point:
        """Outward direction."""
        return {
            Side.PLUS_X: (1.0, 0.0), Side.MINUS_X: (-1.0, 0.0),
            Side.PLUS_Y: (0.0, 1.0), Side.MINUS_Y: (0.0, -1.0),
        }[self.side]  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class Notch:
    """A cut through the partition from ``z0_mm`` up to its top, for the balance leads."""

    rect: Rect
    z0_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class FloorDrain:
    """A round hole through the floor."""

    x_mm: float
    y_mm: float
    radius_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Stand:
    """How the pack stands in its space: turned about its origin, which then lies at ``at_mm``.

    ``turn``: from those axes to the space's, where the pack file turns the pack."""

    turn_deg: int
    at_mm: tuple[float, float, float]
    turn: Matrix3 | None = None

    @property
    def pose(self) -> NDArray[np.float64]:
        """(4, 4) from the pack's coordinates to the space's."""
        pose = quarter_turn(self.turn_deg // 90)
        pose[:3, 3] = self.at_mm
        if self.turn is not None:
            pose[:3] = np.array(self.turn) @ pose[:3]
        return pose


@dataclass(frozen=True, kw_only=True, slots=True)
class Clamp:
    """Silicone under the lid that presses on the upper holder where no posts stand.

    ``discs``: their middles; ``plinth_mm``: how far cords' plinths and discs' saddles stand out of
    the lid. ``bought``: items and their counts."""

    cords: tuple[ClampCord, ...]
    discs: tuple[Point, ...]
    plinth_mm: float
    bought: tuple[tuple[str, int], ...] = ()

    @property
    def at_mm(self) -> tuple[Point, ...]:
        """Middles of all cords and discs."""
        return (*(cord.middle_mm for cord in self.cords), *self.discs)

    @property
    def places_mm(self) -> tuple[tuple[Point, ...], ...]:
        """What it presses on: both ends of each cord, each disc."""
        return (*(cord.ends_mm for cord in self.cords), *((at,) for at in self.discs))

    @property
    def disc_pads(self) -> tuple[SupportPad, ...]:
        """Discs as pads."""
        return tuple(
            SupportPad(x_mm=x, y_mm=y, radius_mm=DISC_MM / 2, hole_radius_mm=0.0)
            for x, y in self.discs
        )


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FittedSizes:
    """Tub and lid, every number decided.

    ``openings``: in the plan, where the partition is left out over its whole height (the main
    leads pass). ``stops``: ribs that the lower holder meets before it slides
    too far, from the floor to ``stop_z1_mm``. ``gas_side``: where gas leaves, by ``ducts``.
    ``support_pad_floor_mm``, ``support_pad_lid_mm``: heights of the pads. ``insert_deep_mm``: of
    the holes in bosses that take an insert. ``pads`` stand on straight or scalloped walls;
    ``pad_width_mm`` along these. ``stand``: in the space, None where none is given. ``clamp``: None
    where posts alone set the holders' distance. ``vent``: where there is a gasket, in place of
    ducts. ``splices``: of tub and lid in pieces.
    """

    shell: ShellPlan
    insert_deep_mm: float
    lid_hole_radius_mm: float
    support_pads_floor: tuple[SupportPad, ...]
    support_pads_lid: tuple[SupportPad, ...]
    support_pad_floor_mm: float
    support_pad_lid_mm: float
    openings: tuple[Rect, ...]
    notches: tuple[Notch, ...]
    stops: tuple[Rect, ...]
    stop_z1_mm: float
    gas_side: Side | None
    ducts: tuple[Duct, ...]
    drains: tuple[FloorDrain, ...]
    board: BoardSeat
    fuse: FuseSeat
    tie_lugs: tuple[TieLug, ...]
    holes: tuple[WallHole, ...]
    pads: tuple[MountingPad, ...]
    pad_width_mm: float
    pad_hole_radius_mm: float
    pad_hole_deep_mm: float
    notes: tuple[str, ...] = ()
    stand: Stand | None = None
    clamp: Clamp | None = None
    vent: VentPlace | None = None
    splices: Splices = NO_SPLICES

    @property
    def support_pads(self) -> dict[Face, tuple[SupportPad, ...]]:
        """Those on the floor and those on the lid, discs of a clamp too, by the face that they
        meet."""
        discs = () if self.clamp is None else self.clamp.disc_pads
        return {Face.LOWER: self.support_pads_floor, Face.UPPER: (*self.support_pads_lid, *discs)}

    @property
    def slots(self) -> tuple[GasSlot, ...]:
        """All cuts for gas through the wall's top edge."""
        return tuple(slot for duct in self.ducts for slot in duct.slots)
