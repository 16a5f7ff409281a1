"""All sizes of a tube clamp, from the tube, the screws and the mounting pad."""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from layouts.brackets.kind import MountingPad
from layouts.errors import PlanError
from layouts.formats import screws
from layouts.pack import Pack
from layouts.parts.fasteners import USUAL_LENGTHS_MM, insert_screw_length_mm
from layouts.parts.whole_layers import layers_up_mm

__all__ = ["FILLET_MM", "GAP_MM", "LINER_OVER", "THICKNESSES_MM", "ClampSizes", "clamp_sizes"]

# All of these are common practice, no source
THICKNESSES_MM = (6.0, 8.0, 10.0, 12.0)  # of the leg: the least first, as the load asks
CROWN_MM = 6.0  # of the cap before the tube: fifteen lines of a 0.4 nozzle
FLAT_MM = 0.3  # of a round trough's wall flattened where the cross bolt comes through
GAP_MM = 1.5  # between block and cap, so that the screws clamp the tube
FILLET_MM = 3.0  # between leg and block
WEB_MM = 2.0  # between the trough and a nut's pocket
UNDER_NUT_MM = 3.5  # plastic between the cross bolt's nut and the tube
TIP_MM = 1.0  # of a screw past its nut
BEHIND_MM = 0.5  # and from there to the block's back
NUT_PLAY_MM = 0.2  # of a nut in its pocket, on each side
EDGE_MM = 1.0  # between a washer and the block's end
SIDE_MM = 4.0  # between a pad screw's washer and the leg's side
TOOL_MM = 6.5  # over a pad screw's axis: a tool 12 mm broad passes the block
LEAST_WIDE_MM = 34.0  # a pad's width
TUBE_OVER_BOLT = 3.0  # a tube's size over the thread that goes through it, at least
LINER_OVER = 2.0  # a strip of rubber ends so far before the gap


@dataclass(frozen=True, kw_only=True, slots=True)
class ClampSizes:
    """Lengths in mm in the clamp's own plan (see ``tube_clamp``).

    ``thick_mm``: of the leg. ``crown_mm``: of the cap before the tube. ``back_mm``: from the pad's
    face to the trough. ``hollow_mm``: half the trough's size. ``nut_mm``: depth of the nuts'
    pockets in the back. ``below_mm``: from the block's lowest edge to the tub's underside.
    ``block_y_mm``: its upper end, ``top_mm``: the leg's. ``clamp_off_mm``: of the clamp screws from
    the tube's middle."""

    square: bool
    tube_mm: float
    liner_mm: float
    cross_bolt: bool
    thick_mm: float
    crown_mm: float
    back_mm: float
    hollow_mm: float
    wide_mm: float
    layer_mm: float
    nut_mm: float
    below_mm: float
    top_mm: float
    block_y_mm: float
    clamp_off_mm: float
    screw: str
    screw_long_mm: float
    pad_screw: str
    pad_screw_long_mm: float
    pad_y_mm: float
    apart_mm: float

    @property
    def tube_x_mm(self) -> float:
        """From the pad's face to the tube's middle."""
        return self.back_mm + self.hollow_mm

    @property
    def tube_y_mm(self) -> float:
        """The tube's middle above the lowest edge."""
        return self.block_y_mm / 2

    @property
    def face_mm(self) -> float:
        """From the pad's face to the cap's outer one."""
        return self.tube_x_mm + self.hollow_mm + self.crown_mm

    @property
    def cap_mm(self) -> float:
        """The cap's depth, over its screws."""
        return self.hollow_mm + self.crown_mm - GAP_MM / 2

    @property
    def flat_mm(self) -> float:
        """Depth of the flats in the trough beside the cross bolt."""
        return FLAT_MM if self.cross_bolt and not self.square else 0.0

    @property
    def clamp_ys_mm(self) -> tuple[float, float]:
        """Heights of the clamp screws."""
        return self.tube_y_mm - self.clamp_off_mm, self.tube_y_mm + self.clamp_off_mm

    @property
    def block_mm(self) -> tuple[tuple[float, float], ...]:
        """Corners of block and leg, trough not cut, from the lowest at the pad."""
        split = self.tube_x_mm - GAP_MM / 2
        return (
            (0.0, 0.0), (split, 0.0), (split, self.block_y_mm), (self.thick_mm, self.block_y_mm),
            (self.thick_mm, self.top_mm), (0.0, self.top_mm),
        )  # fmt: skip

    @property
    def cap_outline_mm(self) -> tuple[tuple[float, float], ...]:
        """Corners of the cap, trough not cut."""
        split = self.tube_x_mm + GAP_MM / 2
        return (
            (split, 0.0), (self.face_mm, 0.0), (self.face_mm, self.block_y_mm),
            (split, self.block_y_mm),
        )  # fmt: skip

    @property
    def block_with_trough_mm(self) -> tuple[tuple[float, float], ...]:
        """Corners of the block as it is seen from its side."""
        return self._less_trough(self.block_mm)

    @property
    def cap_with_trough_mm(self) -> tuple[tuple[float, float], ...]:
        """Corners of the cap as it is seen from its side."""
        return self._less_trough(self.cap_outline_mm)

    def _less_trough(
        self, corners: tuple[tuple[float, float], ...]
    ) -> tuple[tuple[float, float], ...]:
        middle = shapely.Point(self.tube_x_mm, self.tube_y_mm)
        hole = middle.buffer(self.hollow_mm, quad_segs=16)
        if self.square:
            hole = shapely.box(*hole.bounds)
        left = shapely.orient_polygons(shapely.Polygon(corners).difference(hole))
        return tuple((float(x), float(y)) for x, y in left.exterior.coords[:-1])


def clamp_sizes(pack: Pack, pad: MountingPad, *, thick_mm: float, square: bool) -> ClampSizes:
    """Sizes for a pad. Raises PlanError where tube, screw and liner do not go together."""
    mount = pack.mount
    large, small = screws()[mount.screw], screws()[pad.screw]
    if mount.tube_mm is None:
        raise PlanError(
            field="mount.tube_mm", why="is not given",
            remedy="give the tube's outside diameter, or the side of a square one, in mm",
        )  # fmt: skip
    thread = float(mount.screw.removeprefix("M"))
    if mount.cross_bolt and mount.tube_mm < TUBE_OVER_BOLT * thread:
        raise PlanError(
            field="mount.tube_mm", value=f"{mount.tube_mm:g}",
            why=f"is too thin for an {mount.screw} screw through it, which takes a third of it at "
                "most",
            remedy=f"use {TUBE_OVER_BOLT * thread:g} or more, a smaller mount.screw, or "
                   "cross_bolt: false",
        )  # fmt: skip
    hollow = mount.tube_mm / 2 + mount.liner_mm
    nut = large.nut_high_mm + TIP_MM + BEHIND_MM
    least_back = max(thick_mm, nut + UNDER_NUT_MM)
    # back, trough, cap and washer are as long as a screw that there is, which ends behind its nut
    over = large.washer_high_mm - BEHIND_MM
    least = least_back + 2 * hollow + CROWN_MM + over
    long = next((one for one in USUAL_LENGTHS_MM if one >= least - 1e-9), None)
    if long is None:
        raise PlanError(
            field="mount.tube_mm", value=f"{mount.tube_mm:g}",
            why=f"needs clamp screws of {least:.0f} mm, longer than usual ones",
            remedy=f"use {mount.tube_mm - (least - USUAL_LENGTHS_MM[-1]):.0f} or less",
        )  # fmt: skip
    off = hollow + WEB_MM + large.nut_flats_mm / 2 + NUT_PLAY_MM
    end = off + large.washer_diameter_mm / 2 + EDGE_MM
    under = pad.up_mm - max(TOOL_MM, small.washer_diameter_mm / 2 + FILLET_MM)
    below = 2 * end - under
    wide = max(LEAST_WIDE_MM, pad.apart_mm + small.washer_diameter_mm + 2 * SIDE_MM)
    return ClampSizes(
        square=square, tube_mm=mount.tube_mm, liner_mm=mount.liner_mm, cross_bolt=mount.cross_bolt,
        thick_mm=thick_mm, crown_mm=CROWN_MM, back_mm=least_back + long - least, hollow_mm=hollow,
        wide_mm=layers_up_mm(wide, pack.printer.layer_mm), layer_mm=pack.printer.layer_mm,
        nut_mm=nut, below_mm=below, top_mm=below + pad.high_mm, block_y_mm=2 * end,
        clamp_off_mm=off, screw=mount.screw, screw_long_mm=float(long), pad_screw=pad.screw,
        pad_screw_long_mm=insert_screw_length_mm(
            pad.screw, grip_mm=thick_mm + small.washer_high_mm
        ),
        pad_y_mm=below + pad.up_mm, apart_mm=pad.apart_mm,
    )  # fmt: skip
