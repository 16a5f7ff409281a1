"""The angle bracket: bolts a mounting pad to a level face of the machine's frame.

Each is an L with a gusset rib at both ends: the leg stands against a mounting pad of the tub, the
foot lies on the frame. Seen in the bracket's own plan, x runs away from the mounting pad, y up the
leg and z along the enclosure's wall. It is printed in these very coordinates, lying on its side, so
that no layer is pulled off the next one when the corner is bent.

What holds what: upwards and downwards the pad screws carry across their axis and the foot screws
along theirs; away from the wall the pad screws (or, pushed, the leg itself) carry along their axis
and the foot screws across theirs; along the wall both carry across."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from layouts.brackets.angle_card import angle_card_words, angle_plates
from layouts.brackets.angle_drawing import bracket_part
from layouts.brackets.angle_holds import place_points
from layouts.brackets.angle_ribs import INTO_MM, Gusset
from layouts.brackets.angle_screws import pad_screws
from layouts.brackets.angle_sizes import (
    EDGE_MM,
    RIB_BACK_MM,
    RIB_LONG_MM,
    RIB_MM,
    bracket_matrix,
    bracket_width_mm,
    fillet_mm,
    first_hole_mm,
)
from layouts.brackets.angle_slots import foot_lock_bearing, lock_of
from layouts.brackets.angle_strength import (
    STAND_MM,
    angle_springs_n_mm,
    bracket_root_stress,
    from_foot,
)
from layouts.brackets.frame_holes import check_frame_holes
from layouts.brackets.holding import FootPlace, FrameHold, HeldBody, LugSize
from layouts.brackets.kind import PAD_SCREWS, Bought, Hold, MountingPad, Plate, Stack
from layouts.checks import Check
from layouts.formats import screws
from layouts.pack import Pack
from layouts.parts.fasteners import Into, insert_screw_length_mm
from layouts.parts.part import Part
from layouts.parts.screw import PlacedScrew
from layouts.parts.whole_layers import layers_up_mm

# All of these are common practice, no source
# leg and foot; the least is that of a joining flange, then as the mass requires
THICKNESSES_MM = (6.0, 7.0, 8.0)
LEAST_FILLET_MM = 1.0
ROUND_MM = 2.0  # free corners of the profile
HEEL_ROUND_MM = 1.0  # corners that lie on mounting pad and frame

LOCKED = "brackets to the frame, drilled through the foot once adjusted"
MOUNTING_PAD_WIDE_MM = 34.0  # a mounting pad's width along the wall
BRACKET_OUT_MM = 13.0  # from mounting pad to the foot's end, less the frame screw's washer
LARGE_HEADS_MM = 1.5  # the foot's screws stand so much farther out past M5 heads than past M4


@dataclass(frozen=True, kw_only=True, slots=True)
class BracketDesign:
    """All sizes of a bracket; lengths in mm in the bracket's own plan (see the module).

    ``leg_holes``: (up the leg, along the wall). ``foot_holes``: (away from the mounting pad, along
    the wall). ``near_mm``: the nearest foot hole's distance from the leg's outer face.
    ``layer_mm``: of the printer; width and ribs are whole layers. ``placed``: one (4, 4) matrix a
    mounting pad, from these coordinates to the pack's. ``slot_mm``: travel of the foot's screws in
    slots, each way from ``foot_holes``; ``lock_holes``, for ``lock_screw``, take the screw that
    keeps the foot where it was adjusted, as ``foot_holes``."""

    thickness_mm: float
    width_mm: float
    foot_mm: float
    leg_mm: float
    rib_mm: float
    layer_mm: float
    fillet_mm: float
    near_mm: float
    leg_holes: tuple[tuple[float, float], ...]
    foot_holes: tuple[tuple[float, float], ...]
    leg_hole_diameter_mm: float
    foot_hole_diameter_mm: float
    pad_screw: str
    pad_screw_length_mm: float
    mount_screw: str
    placed: tuple[NDArray[np.float64], ...]
    slot_mm: float = 0.0
    lock_screw: str | None = None
    lock_holes: tuple[tuple[float, float], ...] = ()

    @property
    def profile_mm(self) -> tuple[tuple[float, float], ...]:
        """Corners of the L, counter-clockwise from the heel."""
        thick = self.thickness_mm
        return (
            (0.0, 0.0),
            (self.foot_mm, 0.0),
            (self.foot_mm, thick),
            (thick, thick),
            (thick, self.leg_mm),
            (0.0, self.leg_mm),
        )

    @property
    def profile_radii_mm(self) -> tuple[float, ...]:
        """Rounds of the L's corners in the same order; the fourth is the inside fillet."""
        heel, free = HEEL_ROUND_MM, ROUND_MM
        return (heel, heel, free, self.fillet_mm, free, heel)

    @property
    def rib(self) -> Gusset:
        """Either gusset rib: how far it reaches in the inside corner."""
        beyond = RIB_BACK_MM + self.thickness_mm
        return Gusset(
            corner_mm=self.thickness_mm,
            long_mm=min(RIB_LONG_MM, self.foot_mm - beyond),
            high_mm=min(RIB_LONG_MM, self.leg_mm - beyond),
            thick_mm=self.rib_mm, layer_mm=self.layer_mm, fillet_mm=self.fillet_mm,
        )  # fmt: skip

    @property
    def parts(self) -> tuple[Part, ...]:
        """One part, a placed copy a mounting pad."""
        return (bracket_part(self),) if self.placed else ()

    @property
    def bought(self) -> tuple[Bought, ...]:
        """Nothing."""
        return ()

    @property
    def stand_mm(self) -> float:
        """The feet lie so far below the tub."""
        return STAND_MM

    @property
    def hold(self) -> Hold:
        """By the farthest row of the foot's screws."""
        along = [z for _, z in self.foot_holes]
        return Hold(
            out_mm=max(out for out, _ in self.foot_holes) + self.slot_mm, below_mm=STAND_MM,
            apart_mm=max(along) - min(along),
        )  # fmt: skip

    @property
    def screws(self) -> tuple[PlacedScrew, ...]:
        """Every screw in its place, bracket by bracket, the leg's first."""
        return tuple(
            screw
            for number, matrix in enumerate(self.placed, start=1)
            for screw in (*self._pad_screws(number, matrix), *self._frame_screws(number, matrix))
        )

    def _pad_screws(self, number: int, matrix: NDArray[np.float64]) -> list[PlacedScrew]:
        """Through the leg into a mounting pad's inserts."""
        return pad_screws(
            number, matrix, self.leg_holes, thickness_mm=self.thickness_mm, screw=self.pad_screw,
            length_mm=self.pad_screw_length_mm,
        )  # fmt: skip

    def _frame_screws(self, number: int, matrix: NDArray[np.float64]) -> list[PlacedScrew]:
        """Through the foot into the machine's frame."""
        turn, shift = matrix[:3, :3], matrix[:3, 3]
        return [
            PlacedScrew(
                where="brackets to the frame" if hole not in self.lock_holes else LOCKED,
                name=f"frame screw of bracket {number}",
                heads=f"screw heads on bracket {number}",
                screw=screw,
                at_mm=turn @ np.array((hole[0], self.thickness_mm, hole[1])) + shift,
                out=turn @ np.array((0.0, 1.0, 0.0)),
                through_mm=self.thickness_mm,
                into=Into.FRAME,
                length_mm=None,
                washer=True,
                on=number,
                drilled_last=hole in self.lock_holes,
                travel_mm=None
                if not self.slot_mm or hole in self.lock_holes
                else turn @ np.array((self.slot_mm, 0.0, 0.0)),
            )
            for screw, hole in self._into_frame
        ]

    @property
    def _into_frame(self) -> list[tuple[str, tuple[float, float]]]:
        """Thread and hole of each screw in the foot, the locking one last."""
        found = [(self.mount_screw, hole) for hole in self.foot_holes]
        return found + [(self.lock_screw, hole) for hole in self.lock_holes if self.lock_screw]

    def checks(
        self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float
    ) -> tuple[Check, ...]:
        """Shock load on the corner, and on the locking screw; nothing without a load."""
        if pack.load is None or not pads:
            return ()
        corner = bracket_root_stress(pack, self, pads, mass_kg=mass_kg)
        if self.lock_screw is None:
            return (corner,)
        return corner, foot_lock_bearing(pack, self, pads, mass_kg=mass_kg)

    def holds(
        self, body: HeldBody, lugs: Sequence[tuple[MountingPad, LugSize]]
    ) -> tuple[FrameHold, ...]:
        """Three forces at each foot's hole."""
        return tuple(_hold(self, body, pad, lug) for pad, lug in lugs)

    def stiffness_n_mm(self, pack: Pack) -> tuple[float, float, float]:
        """By beams of leg and foot with their gussets."""
        return angle_springs_n_mm(pack, self)

    def plates(self, stack: Stack) -> tuple[Plate, ...]:
        """Foot, leg and gussets of card; the foot runs under the leg."""
        return angle_plates(self, stack)

    def card_words(self, stack: Stack) -> tuple[str, ...]:
        """How the card bracket goes together; then what is off, if anything is."""
        return angle_card_words(self, stack)


def _hold(design: BracketDesign, body: HeldBody, pad: MountingPad, lug: LugSize) -> FrameHold:
    """One of them in its place."""
    middle, slot, right = design.width_mm / 2.0, design.slot_mm, sum(pad.right)
    foot = tuple(((middle - along) * right, out + slot) for out, along in design.foot_holes)
    place = FootPlace(
        face=pad.side.value, along_mm=pad.along_mm, face_mm=pad.face_mm, foot_mm=foot,
        screw=design.mount_screw, thick_mm=design.thickness_mm,
    )  # fmt: skip
    level = pad.underside_mm - STAND_MM
    points = place_points(body, lug, place, wide_mm=design.width_mm, level_mm=level)
    return FrameHold(
        kind="angle", feature="frame", face=pad.side.value, points=points, grams=0.0,
        screws=len(foot) + 2, thick_mm=design.thickness_mm, place=place,
    )  # fmt: skip


def design_bracket(
    pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float | None = None
) -> BracketDesign:
    """One bracket that fits all mounting pads and the frame's holes.

    With ``mass_kg`` and a load in the pack it takes the least thickness at which
    ``bracket_root_stress`` holds, or the greatest there is. Raises PlanError when the frame's holes
    stand closer than their washers, ValueError when mounting pads differ."""
    if not pads:
        raise ValueError("a bracket needs at least one mounting pad on the tub's wall")
    check_frame_holes(pack.mount)
    kinds = {(pad.high_mm, pad.apart_mm, pad.up_mm, pad.screw) for pad in pads}
    if len(kinds) > 1:
        raise ValueError("all mounting pads must be equal: one bracket must fit each of them")
    of_feet = [from_foot(pad) for pad in pads]
    made = [_design(pack, of_feet, thickness) for thickness in _thicknesses(of_feet[0])]
    if mass_kg is None or pack.load is None:
        return made[0]
    held = (d for d in made if bracket_root_stress(pack, d, pads, mass_kg=mass_kg).holds)
    return next(held, made[-1])


def design_on_holes(pack: Pack, pads: Sequence[MountingPad]) -> BracketDesign:
    """One bracket for pads whose ``foot_mm`` are alike: on the frame's own holes."""
    first = pads[0]
    holes = tuple((u * sum(first.right), v) for u, v in first.foot_mm)
    mount = replace(pack.mount, screw=first.foot_screw, holes_mm=holes, slot_mm=0.0)
    made = _design(
        replace(pack, mount=mount), [from_foot(pad) for pad in pads], first.foot_thick_mm
    )
    farther = min(out for _, out in first.foot_mm) - min(out for out, _ in made.foot_holes)
    return replace(
        made,
        near_mm=made.near_mm + farther,
        foot_mm=made.foot_mm + farther,
        foot_holes=tuple((out + farther, along) for out, along in made.foot_holes),
    )


def _thicknesses(pad: MountingPad) -> list[float]:
    """Those that leave space for a fillet below the washers of the pad screws."""
    room = pad.up_mm - screws()[pad.screw].washer_diameter_mm / 2.0 - LEAST_FILLET_MM
    fitting = [thickness for thickness in THICKNESSES_MM if thickness <= room]
    if not fitting:
        raise ValueError(
            f"pad holes {pad.up_mm:.1f} mm up leave {room:.1f} mm for the bracket's foot, which "
            f"is at least {THICKNESSES_MM[0]:.1f}: move them up or use a smaller screw"
        )
    return fitting


def _design(pack: Pack, pads: Sequence[MountingPad], thickness: float) -> BracketDesign:
    pad = pads[0]
    small, large = screws()[pad.screw], screws()[pack.mount.screw]
    fillet = fillet_mm(pad.screw, up_mm=pad.up_mm, thick_mm=thickness)
    near = first_hole_mm(pad.screw, pack.mount.screw, fillet=fillet)
    # in the middle of its travel, to half a millimetre: it can be marked out
    near = math.ceil((near + pack.mount.slot_mm) * 2.0) / 2.0
    along, out = np.asarray(pack.mount.holes_mm, dtype=np.float64).T
    along = along - (along.min() + along.max()) / 2.0
    out = out - out.min() + thickness + near
    layer = pack.printer.layer_mm
    width = bracket_width_mm(pack.mount, apart_mm=pad.apart_mm, screw=pad.screw, layer_mm=layer)
    slot, lock = pack.mount.slot_mm, lock_of(pack.mount)
    middle = (min(u for u, _ in pack.mount.holes_mm) + max(u for u, _ in pack.mount.holes_mm)) / 2
    least_leg = pad.up_mm + small.washer_diameter_mm / 2.0 + EDGE_MM
    if pad.high_mm < max(least_leg, thickness + 2.0 * fillet + RIB_BACK_MM + INTO_MM):
        raise ValueError(
            f"a mounting pad {pad.high_mm:.1f} mm high is too low for its holes {pad.up_mm:.1f} "
            f"mm up: {least_leg:.1f} or more"
        )
    # the wall's direction to the right, seen from outside, runs against the plan's z
    return BracketDesign(
        thickness_mm=thickness,
        width_mm=width,
        foot_mm=float(out.max()) + slot + large.washer_diameter_mm / 2.0 + EDGE_MM,
        leg_mm=pad.high_mm,
        rib_mm=layers_up_mm(RIB_MM, layer),
        layer_mm=layer,
        fillet_mm=fillet,
        near_mm=near,
        leg_holes=tuple(
            (pad.up_mm, width / 2.0 + side * pad.apart_mm / 2.0) for side in (-1.0, 1.0)
        ),
        foot_holes=tuple(
            (float(x), width / 2.0 - float(u)) for x, u in zip(out, along, strict=True)
        ),
        leg_hole_diameter_mm=small.clearance_diameter_mm,
        foot_hole_diameter_mm=large.clearance_diameter_mm,
        pad_screw=pad.screw,
        pad_screw_length_mm=insert_screw_length_mm(
            pad.screw, grip_mm=thickness + small.washer_high_mm
        ),
        mount_screw=pack.mount.screw,
        placed=tuple(bracket_matrix(one, width_mm=width) for one in pads),
        slot_mm=slot,
        lock_screw=lock[0] if lock else None,
        lock_holes=((float(out.max()), width / 2.0 - (lock[1] - middle)),) if lock else (),
    )


@dataclass(frozen=True, slots=True)
class _Angle:
    """The kind itself."""

    name: str = "angle"

    def reach_mm(self, pack: Pack) -> tuple[float, float]:
        """Beyond the pad, and below the tub."""
        across = [v for _, v in pack.mount.holes_mm]
        out = BRACKET_OUT_MM + screws()[pack.mount.screw].washer_diameter_mm
        out += max(across, default=0.0) - min(across, default=0.0) + 2.0 * pack.mount.slot_mm
        return out, STAND_MM

    def most_out_mm(self, pack: Pack) -> float:
        """Of the thickest on the larger pad screws: the estimate is that of the thinnest."""
        thicker = THICKNESSES_MM[-1] - THICKNESSES_MM[0]
        return self.reach_mm(pack)[0] + thicker + LARGE_HEADS_MM

    def wall_mm(self, pack: Pack) -> float:
        """The bracket's own width, or a mounting pad's where that is wider."""
        return max(
            MOUNTING_PAD_WIDE_MM,
            bracket_width_mm(pack.mount, screw=PAD_SCREWS[-1], layer_mm=pack.printer.layer_mm),
        )

    def design(
        self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float | None = None
    ) -> BracketDesign:
        """One bracket for all mounting pads."""
        return design_bracket(pack, pads, mass_kg=mass_kg)


KIND = _Angle()
