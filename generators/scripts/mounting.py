"""A scripted bracket's mounting, proven on its mesh: open holes, material under each head.

Everything in the bracket's own plan (``layouts.brackets.scripted``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import manifold3d
import numpy as np

from generators.proofs.solids import facets_for
from generators.scripts.job import BadShapeError
from layouts.brackets.scripted import BracketSizes
from layouts.formats import screws
from layouts.parts.drawing import CHORD_MM
from layouts.parts.fasteners import insert_screw_length_mm, thinner_grip_mm

__all__ = ["Grips", "check_room", "prove_mounting"]

FLAT_MM = 0.05  # faces are looked at so deep: a quarter of a printed layer
LEAST_UNDER = 0.8  # of a washer's ring that lies on material; common practice, no source
IN_THE_WAY_MM3 = 1e-3  # float noise of two faces that touch is less
OFF_MM = 1e-3  # how far the script's numbers may be off the plan's planes
GRIP_DIGITS = 3  # thicknesses are given to a thousandth: float noise is far below
RODS_OUT_MM = 1.0  # a screw's rod begins and ends so far outside of the bracket
FAR_MM = 1e4


@dataclass(frozen=True, kw_only=True, slots=True)
class Grips:
    """Thickness under each screw's washer, in the order of the sizes' holes [mm]."""

    pad_mm: tuple[float, ...]
    frame_mm: tuple[float, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Hole:
    """One screw: its axis starts at ``at_mm`` on the plane it is screwed to, along ``axis``."""

    screw: str
    hole_mm: float
    washer_mm: float
    at_mm: tuple[float, float, float]
    axis: int

    @property
    def words(self) -> str:
        """How messages call it."""
        place = ", ".join(
            f"{name} {value:g}"
            for k, (name, value) in enumerate(zip("xyz", self.at_mm, strict=True))
            if k != self.axis
        )
        return f"the {self.screw} screw at {place}"

    def rod(self, diameter_mm: float, low_mm: float, high_mm: float) -> manifold3d.Manifold:
        """A round rod about its axis."""
        radius = diameter_mm / 2.0
        rod = manifold3d.Manifold.cylinder(
            high_mm - low_mm, radius, radius, facets_for(radius, CHORD_MM)
        )
        upright = np.eye(3)
        turn = np.column_stack([upright[(self.axis + k) % 3] for k in (1, 2, 0)])
        start = np.array(self.at_mm) + low_mm * upright[self.axis]
        return rod.transform(np.column_stack([turn, start]))


def check_room(solid: manifold3d.Manifold, sizes: BracketSizes) -> None:
    """Raises BadShapeError where a bracket leaves the space reserved for it."""
    x0, y0, _, _, y1, _ = solid.bounding_box()
    for low, axis, what in ((x0, "x", "behind the pad's face"), (y0, "y", "below the frame's")):
        if low < -OFF_MM:
            raise BadShapeError(
                f"reaches {what}", f"keep all of it at {axis} >= 0", f"{axis} {low:.4g}"
            )
    if y1 > sizes.top_mm + OFF_MM:
        raise BadShapeError(
            "is higher than the pad",
            f"keep all of it at y <= {sizes.top_mm:g}: leads bend above it",
            f"y {y1:.4g}",
        )


def prove_mounting(solid: manifold3d.Manifold, sizes: BracketSizes) -> Grips:
    """The thickness under every head, once all screws go in and clamp the bracket.

    A rod of each screw's diameter must pass; its washer must lie on material, the bracket on
    pad or frame round its hole, with material all the way between; and no head may stand in the
    way of a screw into the frame. Raises BadShapeError, naming the first screw that is wrong.
    """
    pad = [
        _Hole(screw=sizes.pad_screw, hole_mm=sizes.pad_hole_mm, washer_mm=sizes.pad_washer_mm,
              at_mm=(0.0, y, z), axis=0)
        for y, z in sizes.pad_holes_mm
    ]  # fmt: skip
    frame = [
        _Hole(screw=sizes.frame_screw, hole_mm=sizes.frame_hole_mm,
              washer_mm=sizes.frame_washer_mm, at_mm=(x, 0.0, z), axis=1)
        for x, z in sizes.frame_holes_mm
    ]  # fmt: skip
    grips = Grips(
        pad_mm=tuple(_grip_mm(solid, hole) for hole in pad),
        frame_mm=tuple(_grip_mm(solid, hole) for hole in frame),
    )
    for hole, grip in zip(pad, grips.pad_mm, strict=True):
        _check_length(hole, grip)
    _check_ways(sizes, pad, frame, grips)
    return grips


def _grip_mm(solid: manifold3d.Manifold, hole: _Hole) -> float:
    """From the plane it is screwed to, to where its washer comes to rest."""
    under = solid ^ hole.rod(hole.washer_mm, -RODS_OUT_MM, FAR_MM)
    high = 0.0 if under.is_empty() else float(under.bounding_box()[3 + hole.axis])
    if high < FLAT_MM:
        raise BadShapeError(
            f"has no material for {hole.words}", f"put a plate there, round a {hole.hole_mm:g} hole"
        )
    thread = float(hole.screw.removeprefix("M"))
    # chords of a hole stand off its circle by so much at most
    way = hole.rod(thread - 2.0 * CHORD_MM, -RODS_OUT_MM, high + RODS_OUT_MM)
    blocked = float((solid ^ way).volume())
    if blocked > IN_THE_WAY_MM3:
        raise BadShapeError(
            f"has no through hole for {hole.words}",
            f"cut a hole of {hole.hole_mm:g} mm there",
            f"{blocked:.3g} mm3 in it",
        )
    for low, top, where in (
        (high - FLAT_MM, high, "under the washer of"),
        (0.0, FLAT_MM, f"on the {'pad' if hole.axis == 0 else 'frame'} round"),
        (0.0, high, "between the two faces round"),
    ):
        ring = hole.rod(hole.washer_mm, low, top) - hole.rod(hole.hole_mm, low - 1.0, top + 1.0)
        share = float((solid ^ ring).volume()) / float(ring.volume())
        if share < LEAST_UNDER:
            raise BadShapeError(
                f"has too little material {where} {hole.words}",
                f"keep a flat face for a washer of {hole.washer_mm:g} mm, round a hole of "
                f"{hole.hole_mm:g}",
                f"{100.0 * share:.0f} % of its ring",
            )
    return round(high, GRIP_DIGITS)


def _check_length(hole: _Hole, grip_mm: float) -> None:
    washer = screws()[hole.screw].washer_high_mm
    try:
        insert_screw_length_mm(hole.screw, grip_mm=grip_mm + washer)
    except ValueError as error:
        thick = math.floor(100.0 * (thinner_grip_mm(hole.screw, grip_mm + washer) - washer)) / 100.0
        raise BadShapeError(
            f"has a thickness for which there is no standard length of {hole.words}",
            f"make it {thick:g} mm thick there",
            f"{grip_mm:g} mm",
        ) from error


def _check_ways(sizes: BracketSizes, pad: list[_Hole], frame: list[_Hole], grips: Grips) -> None:
    """Screws into the frame are driven past the heads of those into the pad."""
    for hole, grip in zip(pad, grips.pad_mm, strict=True):
        head = hole.rod(hole.washer_mm, grip, grip + sizes.pad_head_mm)
        for other, low in zip(frame, grips.frame_mm, strict=True):
            way = other.rod(other.washer_mm, low, FAR_MM)
            if (head ^ way).volume() > IN_THE_WAY_MM3:
                over = grip + sizes.pad_head_mm + other.washer_mm / 2.0 - other.at_mm[0]
                raise BadShapeError(
                    f"is so thick on the pad that a head obstructs {other.words}",
                    f"make it {max(0.0, math.floor(10.0 * (grip - over)) / 10.0):g} mm thick there",
                    f"{grip:g} mm",
                )
