"""Clamps that hold a tube of the frame below a mounting pad: a block with a leg, and its cap.

The block's leg stands against the pad, the tube lies in a trough between block and cap, parallel to
the enclosure's wall and below the pad's screws. Two clamp screws, above and below the tube, go
through cap and block into nuts in pockets in the block's back; a third one goes through the tube
too, so that friction does not hold the pack. All are driven from outside. In the bracket's own plan
x runs away from the wall, y upwards from the lowest edge and z along the wall. Block and cap are
printed in these coordinates, lying on their side: no layer is pulled off the next one where the leg
is bent."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from layouts.brackets.angle_sizes import bracket_matrix
from layouts.brackets.clamp_checks import clamp_checks, clamp_springs_n_mm
from layouts.brackets.clamp_drawing import clamp_parts
from layouts.brackets.clamp_hold import clamp_hold
from layouts.brackets.clamp_sizes import (
    LINER_OVER,
    THICKNESSES_MM,
    ClampSizes,
    clamp_sizes,
)
from layouts.brackets.holding import FrameHold, HeldBody, LugSize
from layouts.brackets.kind import Bought, Bracket, Hold, MountingPad, Plate, Stack
from layouts.checks import Check
from layouts.formats import materials, screws
from layouts.pack import Pack, Side
from layouts.parts.fasteners import Into
from layouts.parts.part import Part
from layouts.parts.screw import PlacedScrew

__all__ = ["ClampBracket", "TubeClamp"]

TO_PAD, ROUND_TUBE = "brackets to mounting pads", "brackets' caps round the tube"
THROUGH_TUBE = "brackets through the tube, drilled through the cap"


@dataclass(frozen=True, kw_only=True, slots=True)
class ClampBracket:
    """Equal clamps of one pack; ``placed``: one (4, 4) matrix a pad, from their own plan to the
    pack's."""

    sizes: ClampSizes
    placed: tuple[NDArray[np.float64], ...]

    @property
    def parts(self) -> tuple[Part, ...]:
        """Block and cap, a placed copy of each a pad."""
        return clamp_parts(self.sizes, self.placed) if self.placed else ()

    @property
    def stand_mm(self) -> float:
        """The block's lowest edge lies so far below the tub."""
        return self.sizes.below_mm

    @property
    def hold(self) -> Hold:
        """At the tube's middle line."""
        sizes = self.sizes
        return Hold(out_mm=sizes.tube_x_mm, below_mm=sizes.below_mm - sizes.tube_y_mm, apart_mm=0.0)

    @property
    def bought(self) -> tuple[Bought, ...]:
        """Strips of rubber between tube and trough."""
        sizes = self.sizes
        if not sizes.liner_mm:
            return ()
        round_mm = (4.0 if sizes.square else math.pi) * (sizes.tube_mm + sizes.liner_mm)
        return (
            Bought(
                item="rubber strip round the tube in a clamp, EPDM or the like",
                size=f"{sizes.liner_mm:g} mm thick, {sizes.wide_mm:g} x "
                     f"{round_mm / 2 - LINER_OVER:.0f} mm",
                count=2 * len(self.placed),
            ),
        )  # fmt: skip

    @property
    def screws(self) -> tuple[PlacedScrew, ...]:
        """Every screw in its place, clamp by clamp: into the pad, round the tube, through it."""
        sizes = self.sizes
        middle, cap = sizes.wide_mm / 2, sizes.face_mm - sizes.cap_mm
        half = sizes.apart_mm / 2
        own = [
            (TO_PAD, sizes.pad_screw, sizes.thick_mm, sizes.pad_y_mm, middle + side * half, 0.0)
            for side in (-1.0, 1.0)
        ]
        own += [
            (ROUND_TUBE, sizes.screw, sizes.face_mm, y, middle, sizes.face_mm - cap)
            for y in sizes.clamp_ys_mm
        ]
        if sizes.cross_bolt:
            through = sizes.crown_mm - sizes.flat_mm
            own.append((THROUGH_TUBE, sizes.screw, sizes.face_mm, sizes.tube_y_mm, middle, through))
        found = []
        for number, matrix in enumerate(self.placed, start=1):
            turn, shift = matrix[:3, :3], matrix[:3, 3]
            for where, screw, x, y, z, through in own:
                pad = where == TO_PAD
                found.append(
                    PlacedScrew(
                        where=where,
                        name=f"screw in mounting pad {number}" if pad
                        else f"clamp screw of bracket {number}",
                        heads=f"screw heads on bracket {number}", screw=screw,
                        at_mm=turn @ np.array((x, y, z)) + shift, out=turn[:, 0],
                        through_mm=x if pad else through,
                        gap_mm=0.0 if pad else x - through - sizes.nut_mm,
                        into=Into.INSERT if pad else Into.NUT,
                        length_mm=sizes.pad_screw_long_mm if pad else sizes.screw_long_mm,
                        washer=True, on=number, in_place=not pad,
                    )
                )  # fmt: skip
        return tuple(found)

    def checks(
        self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float
    ) -> tuple[Check, ...]:
        """Leg, cap, and what holds along the tube; nothing without a load."""
        if pack.load is None or not pads:
            return ()
        return clamp_checks(pack, self.sizes, pads, self.hold, mass_kg=mass_kg)

    def stiffness_n_mm(self, pack: Pack) -> tuple[float, float, float]:
        """The leg as a beam between pad screws and block."""
        return clamp_springs_n_mm(self.sizes, materials()[pack.printer.material].modulus_mpa)

    def holds(
        self, body: HeldBody, lugs: Sequence[tuple[MountingPad, LugSize]]
    ) -> tuple[FrameHold, ...]:
        """Three forces at the tube's middle line; friction along it where no screw goes through."""
        return tuple(clamp_hold(self.sizes, self.hold, body, pad, lug) for pad, lug in lugs)

    def plates(self, stack: Stack) -> tuple[Plate, ...]:
        """Block and cap seen from their side, in layers of card."""
        if not self.placed:
            return ()
        sizes = self.sizes
        layers, _ = stack(sizes.wide_mm)
        count = layers * len(self.placed)
        each = f"{layers} layers, {len(self.placed)} brackets"
        x, y = sizes.tube_x_mm, sizes.tube_y_mm
        return (
            Plate(
                name="bracket-block", title=f"bracket's block from its side, {each}",
                outline_mm=sizes.block_with_trough_mm, count=count,
                words=((x / 2, sizes.block_y_mm - 6.0, "pad here", 2.0),),
                places=(((0.0, sizes.below_mm), (sizes.thick_mm, sizes.below_mm)),),
            ),
            Plate(
                name="bracket-cap", title=f"bracket's cap from its side, {each}",
                outline_mm=sizes.cap_with_trough_mm, count=count,
                words=((sizes.face_mm - 3.0, y, "cap", 2.0),),
            ),
        )  # fmt: skip

    def card_words(self, stack: Stack) -> tuple[str, ...]:
        """How the card clamp goes together; then what is off, if anything is."""
        layers, thick = stack(self.sizes.wide_mm)
        how = (
            f"Brackets: {layers} layers each for block and cap, glued face to face. Glue the "
            "block's leg on the block of its mounting pad; the line across it lies at the floor's "
            "lower edge. Screws are left out: hold the cap round the tube with tape."
        )
        if math.isclose(thick, self.sizes.wide_mm):
            return (how,)
        return how, f"Blocks and caps are {thick:g} mm wide instead of {self.sizes.wide_mm:g}."


@dataclass(frozen=True, kw_only=True, slots=True)
class TubeClamp:
    """The kind: ``square`` tubes or round ones."""

    name: str
    square: bool

    def _largest(self, pack: Pack) -> ClampSizes:
        pad = MountingPad(side=Side.PLUS_X, face_mm=0.0, along_mm=0.0, underside_mm=0.0)
        return clamp_sizes(
            pack, replace(pad, screw="M5"), thick_mm=THICKNESSES_MM[-1], square=self.square
        )

    def reach_mm(self, pack: Pack) -> tuple[float, float]:
        """Beyond the pad with heads and washers, and below the tub: of the thickest."""
        sizes, screw = self._largest(pack), screws()[pack.mount.screw]
        return sizes.face_mm + screw.washer_high_mm + screw.head_high_mm, sizes.below_mm

    def most_out_mm(self, pack: Pack) -> float:
        """The estimate is that of the thickest."""
        return self.reach_mm(pack)[0]

    def wall_mm(self, pack: Pack) -> float:
        """The clamp's width."""
        return self._largest(pack).wide_mm

    def design(self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float | None) -> Bracket:
        """Clamps for all pads, as thick as the load asks for, or the thickest.

        Raises PlanError where tube, screw and liner do not go together."""
        if not pads:
            raise ValueError("a bracket needs at least one mounting pad on the tub's wall")
        made = [self._made(pack, pads, thick) for thick in THICKNESSES_MM]
        if mass_kg is None or pack.load is None:
            return made[0]
        held = (
            one for one in made
            if all(check.holds for check in one.checks(pack, pads, mass_kg=mass_kg))
        )  # fmt: skip
        return next(held, made[-1])

    def _made(self, pack: Pack, pads: Sequence[MountingPad], thick_mm: float) -> ClampBracket:
        sizes = clamp_sizes(pack, pads[0], thick_mm=thick_mm, square=self.square)
        return ClampBracket(
            sizes=sizes,
            placed=tuple(
                bracket_matrix(
                    replace(pad, underside_mm=pad.underside_mm - sizes.below_mm),
                    width_mm=sizes.wide_mm,
                )
                for pad in pads
            ),
        )
