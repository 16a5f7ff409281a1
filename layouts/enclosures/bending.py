"""Floor and lid under the held cells' jolts: how far they bend, their checks, how thick they are.

The enclosure hangs from brackets on its walls, so that its floor carries the held cells; when it
drops or lies on its lid, the lid does. Walls hold the edges up and let them turn.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.brackets.registry import kind_of
from layouts.brackets.strength import GRAVITY_M_S2, SAFETY, strength_limit_mpa
from layouts.checks import Check
from layouts.enclosures.stiffness import (
    PlateBending,
    SquareLoad,
    bent_across,
    bent_by,
    bent_by_stiff_body,
    square_of,
)
from layouts.enclosures.support_pads import SupportPad
from layouts.formats import materials
from layouts.pack import Face, Pack
from layouts.parts.shell import Rect

__all__ = [
    "PressedPlate", "across_lines", "bending_checks", "least_layers_mm", "pressed_plate",
    "pressing_n",
]  # fmt: skip

# Held cells with holders and strips over bare cells: 1.07 to 1.12 in packs drawn here, the rest for
# wires, fuses and copper
HELD_OVER_CELLS = 1.2

SOURCE = (
    "series of the simply supported plate (from memory), inner box of the walls, partition not "
    "counted, held cells as a stiff body on their pads"
)


@dataclass(frozen=True, kw_only=True, slots=True)
class PressedPlate:
    """Floor (lower face) or lid (upper) with the held cells pressed on it.

    ``sag_limit_mm``: what it may sag; ``because``: why no more."""

    face: Face
    bending: PlateBending
    stress_limit_mpa: float
    modulus_mpa: float
    sag_limit_mm: float
    because: str

    @property
    def name(self) -> str:
        """floor or lid."""
        return "floor" if self.face is Face.LOWER else "lid"

    @property
    def least_mm(self) -> float:
        """The thickness that holds."""
        return self.bending.least_mm(
            stress_mpa=self.stress_limit_mpa,
            sag_mm=self.sag_limit_mm,
            modulus_mpa=self.modulus_mpa,
        )


def pressed_plate(
    pack: Pack, face: Face, plate: Rect, pads: Sequence[SupportPad], held: BaseGeometry
) -> PressedPlate | None:
    """Floor or lid under the greatest upright jolt; None without a load: then none was required.

    ``plate``: the plan between the walls. ``held``: of the held cells. These are taken as a body
    that does not bend: two holders on cans are several times as stiff as a floor. Stress counts
    for an even load over their plan too, whichever is greater; where the pads cannot carry the
    body alone, that load is all there is."""
    if pack.load is None:
        return None
    even = bent_by(plate, [_even_load(pack, held)])
    stiff = _on_pads(pack, plate, pads, held)
    bending = stiff or even
    if even.moment_n > bending.moment_n:
        bending = replace(bending, moment_n=even.moment_n, at_mm=even.at_mm)
    limit, because = _sag_limit(pack, face)
    material = materials()[pack.printer.material]
    return PressedPlate(
        face=face, bending=bending, stress_limit_mpa=strength_limit_mpa(pack),
        modulus_mpa=material.modulus_mpa, sag_limit_mm=limit, because=because,
    )  # fmt: skip


def pressing_n(pack: Pack) -> float:
    """What the held cells press with under the greatest upright jolt; 0 without a load [N]."""
    if pack.load is None:
        return 0.0
    cells_kg = pack.series * pack.parallel * pack.cell.mass_g / 1000.0
    return HELD_OVER_CELLS * cells_kg * GRAVITY_M_S2 * abs(pack.load.acceleration_g[2])


def across_lines(
    pack: Pack,
    plate: Rect,
    pads: Sequence[SupportPad],
    held: BaseGeometry,
    axis: int,
    at_mm: Sequence[float],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Largest moment [N mm/mm] and shear [N/mm] of a pressed plate across lines square to an axis,
    the greater of both kinds of load that ``pressed_plate`` looks at; 0 without a load."""
    even = _even_load(pack, held)
    cases = [[even]]
    stiff = _on_pads(pack, plate, pads, held)
    if stiff is not None:
        cases.append(
            [
                SquareLoad(area=square_of(p.x_mm, p.y_mm, p.radius_mm), force_n=force)
                for p, force in zip(pads, stiff.forces_n, strict=True)
            ]
        )
    found = [bent_across(plate, loads, axis, at_mm) for loads in cases]
    moment, shear = (np.max([one[k] for one in found], axis=0) for k in (0, 1))
    return moment, shear


def _even_load(pack: Pack, held: BaseGeometry) -> SquareLoad:
    """The held cells pressing evenly over their plan."""
    x0, y0, x1, y1 = held.bounds
    return SquareLoad(area=Rect(x0=x0, y0=y0, x1=x1, y1=y1), force_n=pressing_n(pack))


def _on_pads(
    pack: Pack, plate: Rect, pads: Sequence[SupportPad], held: BaseGeometry
) -> PlateBending | None:
    """The held cells as a stiff body on their pads; None where these cannot carry it."""
    middle = held.centroid
    return bent_by_stiff_body(
        plate, [(p.x_mm, p.y_mm, p.radius_mm) for p in pads], force_n=pressing_n(pack),
        at_mm=(middle.x, middle.y),
    )  # fmt: skip


def _sag_limit(pack: Pack, face: Face) -> tuple[float, str]:
    """What a plate may sag: as far as the frame lies below it, and as wires have slack."""
    gap = (
        pack.enclosure.gas_gap_mm,
        (
            "the held cells go with it, their tails and balance leads have slack for the gas gap; "
            "common practice, no source"
        ),
    )
    if face is Face.UPPER:
        return gap
    below = kind_of(pack).reach_mm(pack)[1]
    return min(gap, (below, "the frame lies so far below it"))


def bending_checks(pressed: PressedPlate, thick_mm: float) -> tuple[Check, Check]:
    """Stress and sag of a floor or lid so thick."""
    name, bending = pressed.name, pressed.bending
    stress, sag = bending.stress_mpa(thick_mm), bending.sag_mm(thick_mm, pressed.modulus_mpa)
    x, y = bending.at_mm
    remedy = (
        f"a thicker enclosure.{name}_mm ({pressed.least_mm:.1f} holds), a stronger "
        "printer.material, or a lower load.acceleration_g"
    )
    return (
        Check(
            id=f"{name}_bending", about=f"bending stress of the {name} under the held cells",
            holds=stress <= pressed.stress_limit_mpa, value=stress,
            limit=pressed.stress_limit_mpa, unit="MPa",
            source=f"{SOURCE}; lowest printed tensile strength along the layers (materials table) "
            f"divided by {SAFETY:g}, common practice, no source",
            remedy=remedy, at_least=False, where=f"{name} at ({x:.0f}, {y:.0f})",
        ),
        Check(
            id=f"{name}_sag", about=f"sag of the {name} under the held cells",
            holds=sag <= pressed.sag_limit_mm, value=sag, limit=pressed.sag_limit_mm, unit="mm",
            source=f"{SOURCE}; {pressed.because}", remedy=remedy, at_least=False,
        ),
    )  # fmt: skip


def least_layers_mm(need_mm: float, layer_mm: float, *, least_mm: float, most_mm: float) -> float:
    """The least whole number of layers that is as thick as needed, between two bounds."""
    count = math.ceil(max(need_mm, least_mm) / layer_mm - 1e-6)
    return round(min(count, math.floor(most_mm / layer_mm + 1e-6)) * layer_mm, 6)
