"""A flat plate that bolts a mounting pad to an upright face of the frame below it.

The plate stands against the pad and hangs below the tub, where the frame's upright face lies in
the plane of the pads; all its screws are driven from outside. Seen in its own plan, x runs
along the enclosure's wall, y upwards and z away from the wall; y = 0 is its lower edge. It is
printed in these very coordinates, lying flat, so that bending does not pull layers apart.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.brackets.frame_holes import check_frame_holes
from layouts.brackets.frequency import Washers, plate_stiffness_n_mm
from layouts.brackets.holding import FrameHold, HeldBody, HoldPoint, LugSize
from layouts.brackets.kind import Bought, Bracket, Hold, MountingPad, Plate, Stack
from layouts.brackets.loads import bracket_loads
from layouts.brackets.lug_caps import least_caps_n, lug_shares
from layouts.brackets.strength import SAFETY, strength_limit_mpa
from layouts.checks import Check
from layouts.formats import materials, screws
from layouts.pack import Pack
from layouts.parts.drawing import Drawing, drawing_of
from layouts.parts.fasteners import Into, insert_screw_length_mm
from layouts.parts.feature import Effect, Feature
from layouts.parts.part import Part
from layouts.parts.screw import PlacedScrew
from layouts.parts.whole_layers import layers_up_mm
from layouts.slabs.profile import circle, rectangle

__all__ = ["KIND", "FlatBracket", "bending_mpa"]

# All of these are common practice, no source
THICKNESSES_MM = (6.0, 7.0, 8.0)  # the least first, then as the mass requires
LEAST_WIDE_MM = 34.0  # a pad's width
EDGE_MM = 4.0  # between a washer and the plate's edge
BELOW_MM = 3.0  # between the tub's underside and the frame screws' washers
ROUND_MM = 3.0  # the plate's corners

FIELD = "mount"  # of the pack file: its sizes come from there
COLOUR = (0.45, 0.47, 0.50)
PRINT_NOTE = (
    "flat on the bed, no support: the layers then run along the plate, which is bent. Four "
    "walls, infill 50 % or more"
)


@dataclass(frozen=True, kw_only=True, slots=True)
class FlatBracket:
    """All sizes [mm]; holes as (along the wall, up) in the plate's own plan.

    ``below_mm``: how far the plate reaches below the tub. ``placed``: one (4, 4) matrix a pad,
    from the plate's coordinates to the pack's.
    """

    thickness_mm: float
    wide_mm: float
    high_mm: float
    below_mm: float
    pad_screw: str
    pad_screw_long_mm: float
    frame_screw: str
    pad_holes: tuple[tuple[float, float], ...]
    frame_holes: tuple[tuple[float, float], ...]
    placed: tuple[NDArray[np.float64], ...]

    @property
    def bought(self) -> tuple[Bought, ...]:
        """Nothing."""
        return ()

    @property
    def stand_mm(self) -> float:
        """How far it reaches below the tub's underside."""
        return self.below_mm

    @property
    def hold(self) -> Hold:
        """By the lowest row of the frame's screws, at the plate's outer face."""
        along, up = zip(*self.frame_holes, strict=True)
        return Hold(
            out_mm=self.thickness_mm, below_mm=self.below_mm - min(up),
            apart_mm=max(along) - min(along),
        )  # fmt: skip

    @property
    def drawing(self) -> Drawing:
        """The plate with its holes."""
        small, large = screws()[self.pad_screw], screws()[self.frame_screw]
        outline = rectangle(0.0, 0.0, self.wide_mm, self.high_mm, ROUND_MM)
        holes = [circle(at, small.clearance_diameter_mm / 2) for at in self.pad_holes]
        holes += [circle(at, large.clearance_diameter_mm / 2) for at in self.frame_holes]
        thick = self.thickness_mm
        plate = Feature(name="plate", loops=(outline,), z0_mm=0.0, z1_mm=thick)
        hole = Feature(name="hole", loops=tuple(holes), z0_mm=0.0, z1_mm=thick, effect=Effect.CUT)
        return drawing_of((plate, hole), part="bracket", field=FIELD)

    @property
    def parts(self) -> tuple[Part, ...]:
        """One part, a placed copy a pad."""
        return (
            Part(
                name="bracket",
                role="bracket",
                field=FIELD,
                drawing=self.drawing,
                placed=self.placed,
                colour=COLOUR,
                print_note=PRINT_NOTE,
            ),
        )

    @property
    def screws(self) -> tuple[PlacedScrew, ...]:
        """Those into the pads' inserts and those into the frame, bracket by bracket."""
        found = []
        for number, matrix in enumerate(self.placed, start=1):
            found += [self._screw(at, matrix, number, frame=False) for at in self.pad_holes]
            found += [self._screw(at, matrix, number, frame=True) for at in self.frame_holes]
        return tuple(found)

    def _screw(
        self, at: tuple[float, float], matrix: NDArray[np.float64], number: int, *, frame: bool
    ) -> PlacedScrew:
        face = np.array((*at, self.thickness_mm))
        return PlacedScrew(
            where="brackets to the frame" if frame else "brackets to mounting pads",
            name=f"frame screw of bracket {number}" if frame else f"screw in mounting pad {number}",
            heads=f"screw heads on bracket {number}",
            screw=self.frame_screw if frame else self.pad_screw,
            at_mm=matrix[:3, :3] @ face + matrix[:3, 3],
            out=matrix[:3, 2],
            through_mm=self.thickness_mm,
            into=Into.FRAME if frame else Into.INSERT,
            length_mm=None if frame else self.pad_screw_long_mm,
            washer=True,
            on=number,
        )

    def checks(
        self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float
    ) -> tuple[Check, ...]:
        """Bending between pad screws and frame screws; nothing without a load."""
        if pack.load is None or not pads:
            return ()
        stress = bending_mpa(pack, self, pads, mass_kg=mass_kg)
        limit = strength_limit_mpa(pack)
        return (
            Check(
                id="bracket_bending",
                about="bending stress of a flat bracket between pad screws and frame screws",
                holds=stress <= limit,
                value=stress,
                limit=limit,
                unit="MPa",
                at_least=False,
                source=(
                    "beam formula; lowest printed tensile strength along the layers (materials "
                    f"table) divided by {SAFETY:g}, common practice, no source"
                ),
                remedy=(
                    "wider spacing of mount.holes_mm along the wall, a stronger "
                    "printer.material, a lower load.acceleration_g, or the tub supported from "
                    "below as well"
                ),
                where="bracket",
            ),
        )

    def holds(
        self, body: HeldBody, lugs: Sequence[tuple[MountingPad, LugSize]]
    ) -> tuple[FrameHold, ...]:
        """Three forces at each of the frame's screws."""
        springs = _springs_n_mm(self, body.modulus_mpa)
        return tuple(_hold(self, body, pad, lug, springs) for pad, lug in lugs)

    def stiffness_n_mm(self, pack: Pack) -> tuple[float, float, float]:
        """Between the two rows of screws."""
        return _springs_n_mm(self, materials()[pack.printer.material].modulus_mpa)

    def plates(self, stack: Stack) -> tuple[Plate, ...]:
        """One piece of card, in layers."""
        layers, _ = stack(self.thickness_mm)
        wide, high, count = self.wide_mm, self.high_mm, len(self.placed)
        small, large = screws()[self.pad_screw], screws()[self.frame_screw]
        return (
            Plate(
                name="bracket-plate",
                title=f"flat bracket, {layers} layers, {count} brackets",
                outline_mm=((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)),
                places=(((0.0, self.below_mm), (wide, self.below_mm)),),
                holes=(
                    *((x, y, small.clearance_diameter_mm) for x, y in self.pad_holes),
                    *((x, y, large.clearance_diameter_mm) for x, y in self.frame_holes),
                ),
                words=(
                    (wide / 2, high - 4.0, f"{self.pad_screw} to the mounting pad", 2.5),
                    (wide / 2, 2.0, f"drill {self.frame_screw}", 2.5),
                ),
                count=layers * count,
            ),
        )

    def card_words(self, stack: Stack) -> tuple[str, ...]:
        """How the card bracket is attached; then where it differs from the printed one."""
        layers, thick = stack(self.thickness_mm)
        how = (
            f"Brackets: {layers} layers each, glued flat on the mounting pads' blocks; the line "
            "across them lies at the floor's lower edge."
        )
        if math.isclose(thick, self.thickness_mm):
            return (how,)
        return (how, f"Brackets are {thick:g} mm thick instead of {self.thickness_mm:g}.")


def bending_mpa(
    pack: Pack, design: FlatBracket, pads: Sequence[MountingPad], *, mass_kg: float
) -> float:
    """Greatest stress of the plate that bears most, under all jolts of the load at once [MPa].

    Cantilever from the frame screws' row to the pad screws' row: 6 M / (b t^2) across the wall,
    6 M / (t b^2) along it, and the upright force over the section; b is the width less the frame's
    holes in one row. Added in whatever signs, on the safe side. Raises ValueError without a load.
    """
    off, along, up = _stresses_mm2(design)
    return max(
        load.most_added(off=off, along=along, up=up)
        for load in bracket_loads(pack, pads, design.hold, mass_kg=mass_kg)
    )


def _arm_mm(design: FlatBracket) -> float:
    """Between the frame screws' upper row and the pad's screws."""
    return min(y for _, y in design.pad_holes) - max(y for _, y in design.frame_holes)


def _stresses_mm2(design: FlatBracket) -> tuple[float, float, float]:
    """For a force of 1 N off the wall, along it and upright [1/mm2]."""
    top = max(y for _, y in design.frame_holes)
    row = sum(1 for _, y in design.frame_holes if math.isclose(y, top))
    broad = design.wide_mm - row * screws()[design.frame_screw].clearance_diameter_mm
    thick, arm = design.thickness_mm, _arm_mm(design)
    return 6.0 * arm / (broad * thick**2), 6.0 * arm / (thick * broad**2), 1.0 / (broad * thick)


def _springs_n_mm(design: FlatBracket, modulus_mpa: float) -> tuple[float, float, float]:
    """Between the two rows of screws, whose washers hold it."""
    return plate_stiffness_n_mm(
        thick_mm=design.thickness_mm, wide_mm=design.wide_mm, arm_mm=_arm_mm(design),
        held=Washers(screw=design.frame_screw, places_mm=design.frame_holes),
        loaded=Washers(screw=design.pad_screw, places_mm=design.pad_holes),
        modulus_mpa=modulus_mpa,
    )  # fmt: skip


def _hold(
    design: FlatBracket,
    body: HeldBody,
    pad: MountingPad,
    lug: LugSize,
    springs: tuple[float, float, float],
) -> FrameHold:
    """One plate in its place: its screws share its stiffness and what it bears."""
    hold, count = design.hold, len(design.frame_holes)
    off, along, up = (one / body.limit_mpa for one in _stresses_mm2(design))
    shares = lug_shares(lug, out_mm=hold.out_mm, below_mm=hold.below_mm, apart_mm=hold.apart_mm)
    caps = least_caps_n((off, along, up), *shares)
    ways = ((*pad.normal, 0.0), (*pad.right, 0.0), (0.0, 0.0, 1.0))
    points = []
    for u, v in design.frame_holes:
        # the plate's x runs to the right as seen from outside
        step = (u - design.wide_mm / 2) * sum(pad.right)
        x, y = pad.at_mm(pad.along_mm + step, pad.face_mm + design.thickness_mm)
        at = (x, y, pad.underside_mm - design.below_mm + v)
        points += [
            HoldPoint(
                at_mm=at, way=way, stiffness_n_mm=spring / count, along_n=cap / count,
                against_n=cap / count,
            )
            for way, spring, cap in zip(ways, springs, caps, strict=True)
        ]  # fmt: skip
    return FrameHold(
        kind="flat", feature="frame", face=pad.side.value, points=tuple(points), grams=0.0,
        screws=count + 2, thick_mm=design.thickness_mm,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Flat:
    """The kind itself."""

    name: str = "flat"

    def reach_mm(self, pack: Pack) -> tuple[float, float]:
        """Beyond the pad, the thickest plate with heads and washers; below the tub, the plate."""
        size = screws()[pack.mount.screw]
        heads = size.washer_high_mm + size.head_high_mm
        return _thicknesses_mm(pack)[-1] + heads, _below_mm(pack)

    def most_out_mm(self, pack: Pack) -> float:
        """The estimate is that of the thickest."""
        return self.reach_mm(pack)[0]

    def wall_mm(self, pack: Pack) -> float:
        """The plate's width."""
        along = [u for u, _ in pack.mount.holes_mm]
        row = max(along, default=0.0) - min(along, default=0.0)
        return max(LEAST_WIDE_MM, row + screws()[pack.mount.screw].washer_diameter_mm + 2 * EDGE_MM)

    def design(self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float | None) -> Bracket:
        """One plate that fits all pads and the frame's holes.

        With ``mass_kg`` and a load it takes the least thickness that holds, or the greatest.
        Raises PlanError where the frame's holes stand closer than their washers.
        """
        if not pads:
            raise ValueError("a bracket needs at least one mounting pad on the tub's wall")
        check_frame_holes(pack.mount)
        made = [_plate(pack, pads, thick, self.wall_mm(pack)) for thick in _thicknesses_mm(pack)]
        if mass_kg is None or pack.load is None:
            return made[0]
        limit = strength_limit_mpa(pack)
        held = (one for one in made if bending_mpa(pack, one, pads, mass_kg=mass_kg) <= limit)
        return next(held, made[-1])


def _below_mm(pack: Pack) -> float:
    """How far the plate hangs below the tub: washers, the holes' spread, the edge."""
    down = [v for _, v in pack.mount.holes_mm]
    spread = max(down, default=0.0) - min(down, default=0.0)
    return BELOW_MM + screws()[pack.mount.screw].washer_diameter_mm + spread + EDGE_MM


def _thicknesses_mm(pack: Pack) -> tuple[float, ...]:
    """Those that are tried, in whole layers: the plate lies flat on the bed."""
    return tuple(layers_up_mm(thick, pack.printer.layer_mm) for thick in THICKNESSES_MM)


def _plate(pack: Pack, pads: Sequence[MountingPad], thick_mm: float, wide_mm: float) -> FlatBracket:
    pad, below = pads[0], _below_mm(pack)
    large = screws()[pack.mount.screw]
    u, v = np.asarray(pack.mount.holes_mm, dtype=np.float64).reshape(-1, 2).T
    along = u - (u.min() + u.max()) / 2 + wide_mm / 2
    up = below - BELOW_MM - large.washer_diameter_mm / 2 - (v - v.min())
    grip = thick_mm + screws()[pad.screw].washer_high_mm
    return FlatBracket(
        thickness_mm=thick_mm,
        wide_mm=wide_mm,
        high_mm=below + pad.high_mm,
        below_mm=below,
        pad_screw=pad.screw,
        pad_screw_long_mm=insert_screw_length_mm(pad.screw, grip_mm=grip),
        frame_screw=pack.mount.screw,
        pad_holes=tuple(
            (wide_mm / 2 + side * pad.apart_mm / 2, below + pad.up_mm) for side in (-1.0, 1.0)
        ),
        frame_holes=tuple(zip(along.tolist(), up.tolist(), strict=True)),
        placed=tuple(_placed(one, wide_mm, below) for one in pads),
    )


def _placed(pad: MountingPad, wide_mm: float, below_mm: float) -> NDArray[np.float64]:
    """(4, 4) from the plate's plan to the pack: its back on the pad, its middle on the pad's."""
    (x, y), (right_x, right_y) = pad.middle_mm, pad.right
    half = wide_mm / 2
    matrix = np.eye(4)
    matrix[:3, 0] = right_x, right_y, 0.0
    matrix[:3, 1] = 0.0, 0.0, 1.0
    matrix[:3, 2] = *pad.normal, 0.0
    matrix[:3, 3] = x - right_x * half, y - right_y * half, pad.underside_mm - below_mm
    return matrix


KIND = _Flat()
