"""A bracket of sheet metal: an L, cut, drilled and bent by a shop, for packs that are too heavy or
too strongly shaken for printed ones.

Its leg stands against a mounting pad, its foot lies on a level face of the frame, as those of the
printed angle do. Being thinner and without gussets it lets the frame's screws stand nearer to the
wall, which relieves the printed pad and wall too: they bear by the distance of those screws. Seen
in the bracket's own plan, x runs away from the pad, y up the leg and z along the wall."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.brackets.angle import MOUNTING_PAD_WIDE_MM
from layouts.brackets.angle_card import SAME_CARD_MM
from layouts.brackets.angle_drawing import VIEW
from layouts.brackets.angle_screws import frame_screws, pad_screws
from layouts.brackets.angle_sizes import EDGE_MM, bracket_matrix, first_hole_mm
from layouts.brackets.angle_strength import STAND_MM, from_foot
from layouts.brackets.frame_holes import check_frame_holes
from layouts.brackets.frequency import angle_stiffness_n_mm
from layouts.brackets.holding import FrameHold, HeldBody, HoldPoint, LugSize
from layouts.brackets.kind import PAD_SCREWS, Bought, Bracket, Hold, MountingPad, Plate, Stack
from layouts.brackets.lug_caps import least_caps_n, lug_shares
from layouts.brackets.sheet_flat import flat_bracket
from layouts.brackets.sheet_strength import (
    HOLE_THICKNESSES,
    FoldSizes,
    allowed_mpa,
    bend_mm2,
    sheet_bend,
    sheet_stress,
)
from layouts.checks import Check
from layouts.errors import PlanError
from layouts.formats import screws
from layouts.pack import Mount, Pack
from layouts.parts.drawing import drawing_of
from layouts.parts.fasteners import insert_screw_length_mm
from layouts.parts.feature import Feature
from layouts.parts.part import Part
from layouts.parts.screw import PlacedScrew
from layouts.slabs.bore import through
from layouts.slabs.profile import rounded_polygon

__all__ = ["KIND", "SheetBracket"]

LEAST_MM = 1.5  # thinner sheet is not chosen for a bracket; common practice, no source
# Beside a washer: holes two thicknesses off the edge, and the wall's block as wide as behind a
# printed bracket; common practice, no source
BESIDE_MM = 5.0
RADIUS_STEP_MM = 0.5  # inside radii of bending tools; common practice, no source

FIELD = "mount"
COLOURS = {
    "steel": (0.40, 0.43, 0.47), "stainless": (0.60, 0.62, 0.64), "aluminium": (0.75, 0.76, 0.78),
}  # fmt: skip
NOTE = "not printed: cut and bent from sheet by the files in metal/"


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetBracket:
    """All sizes of equal brackets [mm], in their own plan (see the module).

    ``leg_holes``: (up the leg, along the wall). ``foot_holes``: (away from the pad, along the
    wall). ``kerf_mm``: 0 where the shop allows for it itself. ``placed``: one (4, 4) matrix a
    pad, from these coordinates to the pack's."""

    sizes: FoldSizes
    k_factor: float
    kerf_mm: float
    leg_holes: tuple[tuple[float, float], ...]
    foot_holes: tuple[tuple[float, float], ...]
    pad_screw_length_mm: float
    placed: tuple[NDArray[np.float64], ...]

    @property
    def parts(self) -> tuple[Part, ...]:
        """One part with its flat pattern, a placed copy a pad."""
        if not self.placed:
            return ()
        sizes, thick = self.sizes, self.sizes.thickness_mm
        inner, outer = sizes.radius_mm, sizes.radius_mm + thick
        corners = (
            (0.0, 0.0), (sizes.foot_mm, 0.0), (sizes.foot_mm, thick), (thick, thick),
            (thick, sizes.leg_mm), (0.0, sizes.leg_mm),
        )  # fmt: skip
        profile = rounded_polygon(corners, (outer, 0.0, 0.0, inner, 0.0, 0.0))
        small, large = screws()[sizes.pad_screw], screws()[sizes.mount_screw]
        bores = [
            through((0.0, up, along), (1.0, 0.0, 0.0), small.clearance_diameter_mm / 2.0, thick)
            for up, along in self.leg_holes
        ]
        bores += [
            through((out, 0.0, along), (0.0, 1.0, 0.0), large.clearance_diameter_mm / 2.0, thick)
            for out, along in self.foot_holes
        ]
        drawing = drawing_of(
            (Feature(name="profile", loops=(profile,), z0_mm=0.0, z1_mm=sizes.wide_mm),),
            part="bracket",
            field=FIELD,
            bores=tuple(bores),
        )
        return (
            Part(
                name="bracket", role="bracket", field=FIELD, drawing=drawing, placed=self.placed,
                colour=COLOURS[sizes.metal.kind], print_note=NOTE, view=VIEW,
                sheet=flat_bracket(
                    sizes, leg_holes=self.leg_holes, foot_holes=self.foot_holes,
                    k_factor=self.k_factor, kerf_mm=self.kerf_mm, count=len(self.placed),
                ),
            ),
        )  # fmt: skip

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
            out_mm=max(out for out, _ in self.foot_holes), below_mm=STAND_MM,
            apart_mm=max(along) - min(along),
        )  # fmt: skip

    @property
    def screws(self) -> tuple[PlacedScrew, ...]:
        """Every screw in its place, bracket by bracket, the leg's first."""
        sizes, found = self.sizes, []
        for number, matrix in enumerate(self.placed, start=1):
            found += pad_screws(
                number, matrix, self.leg_holes, thickness_mm=sizes.thickness_mm,
                screw=sizes.pad_screw, length_mm=self.pad_screw_length_mm,
            )  # fmt: skip
            found += frame_screws(
                number, matrix, self.foot_holes, thickness_mm=sizes.thickness_mm,
                screw=sizes.mount_screw,
            )  # fmt: skip
        return tuple(found)

    def checks(
        self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float
    ) -> tuple[Check, ...]:
        """That it can be bent, and its stress; nothing without a load."""
        if pack.load is None or not pads:
            return ()
        return (
            sheet_bend(self.sizes),
            sheet_stress(pack, self.sizes, pads, self.hold, mass_kg=mass_kg),
        )

    def holds(
        self, body: HeldBody, lugs: Sequence[tuple[MountingPad, LugSize]]
    ) -> tuple[FrameHold, ...]:
        """Three forces at each foot's hole."""
        return tuple(self._hold(pad, lug) for pad, lug in lugs)

    def _hold(self, pad: MountingPad, lug: LugSize) -> FrameHold:
        """One of them in its place: its screws share its stiffness and what it bears."""
        sizes, hold, count = self.sizes, self.hold, len(self.foot_holes)
        off, along, up = (one / allowed_mpa(sizes.metal) for one in bend_mm2(sizes, pad))
        shares = lug_shares(lug, out_mm=hold.out_mm, below_mm=hold.below_mm, apart_mm=hold.apart_mm)
        caps = least_caps_n((off, along, up), *shares)
        ways = ((*pad.normal, 0.0), (*pad.right, 0.0), (0.0, 0.0, 1.0))
        points = []
        for out, z in self.foot_holes:
            # z runs to the left as seen from outside
            step = (sizes.wide_mm / 2.0 - z) * sum(pad.right)
            x, y = pad.at_mm(pad.along_mm + step, pad.face_mm + out)
            points += [
                HoldPoint(
                    at_mm=(x, y, pad.underside_mm - STAND_MM), way=way,
                    stiffness_n_mm=spring / count, along_n=cap / count, against_n=cap / count,
                )
                for way, spring, cap in zip(ways, self._springs_n_mm, caps, strict=True)
            ]  # fmt: skip
        return FrameHold(
            kind="sheet", feature="frame", face=pad.side.value, points=tuple(points), grams=0.0,
            screws=count + 2, thick_mm=sizes.thickness_mm,
        )  # fmt: skip

    def stiffness_n_mm(self, pack: Pack) -> tuple[float, float, float]:
        """By beams of leg and foot."""
        return self._springs_n_mm

    @property
    def _springs_n_mm(self) -> tuple[float, float, float]:
        """Off the wall, along it and upright, clamped where the foot's washers begin."""
        sizes = self.sizes
        return angle_stiffness_n_mm(
            thick_mm=sizes.thickness_mm,
            wide_mm=sizes.wide_mm,
            near_mm=sizes.thickness_mm
            + sizes.near_mm
            - screws()[sizes.mount_screw].washer_diameter_mm / 2.0,
            up_mm=sizes.pad_up_mm,
            rib_mm=0.0,
            rib_reach_mm=0.0,
            modulus_mpa=sizes.metal.modulus_mpa,
        )

    def plates(self, stack: Stack) -> tuple[Plate, ...]:
        """Foot and leg of card; the foot runs under the leg."""
        sizes, count = self.sizes, len(self.placed)
        if not count:
            return ()
        layers, thick = stack(sizes.thickness_mm)
        wide, each = sizes.wide_mm, f"{layers} layers, {count} brackets"
        small, large = screws()[sizes.pad_screw], screws()[sizes.mount_screw]
        return (
            Plate(
                name="bracket-foot", title=f"bracket foot, {each}",
                outline_mm=_upright(wide, sizes.foot_mm), places=(((0.0, thick), (wide, thick)),),
                holes=tuple((z, x, large.clearance_diameter_mm) for x, z in self.foot_holes),
                words=((wide / 2, sizes.foot_mm - 2.0, f"drill {sizes.mount_screw}", 2.0),),
                count=layers * count,
            ),
            Plate(
                name="bracket-leg", title=f"bracket leg, {each}",
                outline_mm=_upright(wide, sizes.leg_mm - thick),
                holes=tuple((z, up - thick, small.clearance_diameter_mm)
                            for up, z in self.leg_holes),
                words=((wide / 2, 2.5, f"leg: {sizes.pad_screw} to the mounting pad", 2.0),),
                count=layers * count,
            ),
        )  # fmt: skip

    def card_words(self, stack: Stack) -> tuple[str, ...]:
        """How the card bracket goes together; then what is off, if anything is."""
        layers, thick = stack(self.sizes.thickness_mm)
        how = (
            f"Brackets: {layers} layers each for foot and leg. The leg stands on the foot, flush "
            "with its back. Glue the leg on the block of its mounting pad, the foot "
            f"{STAND_MM:g} mm below the floor."
        )
        if abs(thick - self.sizes.thickness_mm) <= SAME_CARD_MM:
            return (how,)
        return (
            how,
            f"Legs and feet are {thick:g} mm thick instead of {self.sizes.thickness_mm:g}; the "
            "feet's far ends and holes are to size.",
        )


def _thicknesses_mm(mount: Mount) -> tuple[float, ...]:
    """Those that are tried: the file's, else what shops keep."""
    if mount.thickness_mm is not None:
        return (mount.thickness_mm,)
    return tuple(one for one in mount.sheet_metal.stock_mm if one >= LEAST_MM)


def _radius_mm(mount: Mount, thickness_mm: float) -> float:
    """Inside radius: the file's, else no less than the thickness and than the metal asks."""
    if mount.bend_radius_mm is not None:
        return mount.bend_radius_mm
    least = max(1.0, mount.sheet_metal.least_radius_ratio) * thickness_mm
    return math.ceil(least / RADIUS_STEP_MM - 1e-9) * RADIUS_STEP_MM


def _near_mm(mount: Mount, thickness_mm: float, pad_screw: str) -> float:
    """The nearest row of the foot's holes, from the leg's inside face: off the bend, washers on the
    flat, the driver past the heads of the pad screws; to half a millimetre."""
    radius, hole = _radius_mm(mount, thickness_mm), screws()[mount.screw].clearance_diameter_mm
    off_bend = HOLE_THICKNESSES * thickness_mm + radius + hole / 2.0
    on_flat = first_hole_mm(pad_screw, mount.screw, fillet=radius)
    return max(on_flat, math.ceil(off_bend * 2.0 - 1e-9) / 2.0)


def _wide_mm(mount: Mount, pad_screw: str, apart_mm: float = 20.0) -> float:
    """The wider row of washers, and an edge beside them."""
    along = [u for u, _ in mount.holes_mm]
    pad_row = apart_mm + screws()[pad_screw].washer_diameter_mm
    foot_row = max(along) - min(along) + screws()[mount.screw].washer_diameter_mm
    return math.ceil(max(pad_row, foot_row) + 2.0 * BESIDE_MM)


def _made(pack: Pack, pads: Sequence[MountingPad], thickness_mm: float) -> SheetBracket:
    """The brackets in one thickness. Raises PlanError where a bend would reach into its holes."""
    mount, pad = pack.mount, pads[0]
    small, large = screws()[pad.screw], screws()[mount.screw]
    radius, near = _radius_mm(mount, thickness_mm), _near_mm(mount, thickness_mm, pad.screw)
    room = pad.up_mm - small.clearance_diameter_mm / 2.0
    if thickness_mm + radius > room:
        raise PlanError(
            field="mount.bend_radius_mm" if mount.bend_radius_mm else "mount.thickness_mm",
            value=f"{radius:g} mm inside, {thickness_mm:g} mm thick",
            why=f"bends the sheet up to {thickness_mm + radius:.1f} mm above the foot, where the "
            f"leg's holes begin at {room:.1f}",
            remedy="a smaller mount.bend_radius_mm, or a thinner mount.thickness_mm",
        )
    along, out = np.asarray(mount.holes_mm, dtype=np.float64).T
    along = along - (along.min() + along.max()) / 2.0
    out = out - out.min() + thickness_mm + near
    wide = _wide_mm(mount, pad.screw, pad.apart_mm)
    return SheetBracket(
        sizes=FoldSizes(
            metal=mount.sheet_metal, thickness_mm=thickness_mm, radius_mm=radius, wide_mm=wide,
            leg_mm=pad.high_mm,
            foot_mm=float(out.max()) + large.washer_diameter_mm / 2.0 + EDGE_MM,
            pad_up_mm=pad.up_mm, near_mm=near, pad_screw=pad.screw, mount_screw=mount.screw,
        ),
        k_factor=mount.sheet_metal.k_factor if mount.k_factor is None else mount.k_factor,
        kerf_mm=mount.kerf_mm or 0.0,
        leg_holes=tuple(
            (pad.up_mm, wide / 2.0 + side * pad.apart_mm / 2.0) for side in (-1.0, 1.0)
        ),
        foot_holes=tuple(
            (float(x), wide / 2.0 - float(u)) for x, u in zip(out, along, strict=True)
        ),
        pad_screw_length_mm=insert_screw_length_mm(
            pad.screw, grip_mm=thickness_mm + small.washer_high_mm
        ),
        placed=tuple(bracket_matrix(one, width_mm=wide) for one in pads),
    )  # fmt: skip


def _upright(wide: float, high: float) -> tuple[tuple[float, float], ...]:
    return ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high))


@dataclass(frozen=True, slots=True)
class _Sheet:
    """The kind itself."""

    name: str = "sheet"

    def reach_mm(self, pack: Pack) -> tuple[float, float]:
        """Beyond the pad, in the thinnest sheet on the smaller pad screws; below the tub."""
        return self._out_mm(pack, _thicknesses_mm(pack.mount)[0], PAD_SCREWS[0]), STAND_MM

    def most_out_mm(self, pack: Pack) -> float:
        """In the thickest sheet on the larger pad screws."""
        return self._out_mm(pack, _thicknesses_mm(pack.mount)[-1], PAD_SCREWS[-1])

    def _out_mm(self, pack: Pack, thickness_mm: float, pad_screw: str) -> float:
        mount = pack.mount
        across = [v for _, v in mount.holes_mm]
        spread = max(across, default=0.0) - min(across, default=0.0)
        edge = screws()[mount.screw].washer_diameter_mm / 2.0 + EDGE_MM
        return thickness_mm + _near_mm(mount, thickness_mm, pad_screw) + spread + edge

    def wall_mm(self, pack: Pack) -> float:
        """The bracket's own width, or a mounting pad's where that is wider."""
        if not pack.mount.holes_mm:
            check_frame_holes(pack.mount)
        return max(MOUNTING_PAD_WIDE_MM, _wide_mm(pack.mount, PAD_SCREWS[-1]))

    def design(self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float | None) -> Bracket:
        """One bracket for all pads, in the least thickness in stock that can be bent and holds.

        Raises PlanError where the frame's holes stand too close, or a bend reaches into holes.
        """
        if not pads:
            raise ValueError("a bracket needs at least one mounting pad on the tub's wall")
        check_frame_holes(pack.mount)
        if len({(pad.high_mm, pad.apart_mm, pad.up_mm, pad.screw) for pad in pads}) > 1:
            raise ValueError("all mounting pads must be equal: one bracket must fit each of them")
        of_feet = [from_foot(pad) for pad in pads]
        thick = _thicknesses_mm(pack.mount)
        if len(thick) == 1:
            return _made(pack, of_feet, thick[0])
        made: list[SheetBracket] = []
        for one in thick:
            try:
                found = _made(pack, of_feet, one)
            except PlanError:
                if not made:
                    raise
                break  # thicker ones only bend wider
            if made and not sheet_bend(found.sizes).holds:
                break
            made.append(found)
        if mass_kg is None or pack.load is None:
            return made[0]
        held = (
            one for one in made
            if sheet_stress(pack, one.sizes, pads, one.hold, mass_kg=mass_kg).holds
        )  # fmt: skip
        return next(held, made[-1])


KIND = _Sheet()
