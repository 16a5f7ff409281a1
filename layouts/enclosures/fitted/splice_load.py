"""What the straps across a seam must carry: bending of floor or lid under the held cells, and of
the whole enclosure between its brackets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.brackets.kind import MountingPad
from layouts.brackets.strength import strength_limit_mpa
from layouts.enclosures.bending import across_lines, pressing_n
from layouts.enclosures.fitted.splices import NUT_POCKET_MM, Strap
from layouts.enclosures.support_pads import SupportPad
from layouts.formats import screws
from layouts.pack import Pack
from layouts.parts.shell import Rect

__all__ = ["ROW_MM", "SeamLoad", "screw_limit_n", "screw_n", "seam_loads", "strap_stress_mpa"]

ROW_MM = 10.0  # from a seam to the rows of its strap's screws; judgement, no source


@dataclass(frozen=True, kw_only=True, slots=True)
class SeamLoad:
    """At one seam: ``moment_n`` that bends the plate across it, for each mm along it [N mm/mm];
    ``shear_n_mm`` across the plate [N/mm]; ``pull_n`` in the plate's plane, from the bending of the
    whole enclosure."""

    moment_n: float
    shear_n_mm: float
    pull_n: float


def seam_loads(
    pack: Pack,
    plate: Rect,
    pads: Sequence[SupportPad],
    held: BaseGeometry,
    mounts: Sequence[MountingPad],
    apart_mm: float,
    axis: int,
    at_mm: Sequence[float],
) -> tuple[SeamLoad, ...]:
    """Loads at seams square to an axis, under the greatest upright jolt; all 0 without a load.

    ``pads``: that the held cells press on the plate with; ``apart_mm``: between the middles of
    floor and lid."""
    if pack.load is None:
        return tuple(SeamLoad(moment_n=0.0, shear_n_mm=0.0, pull_n=0.0) for _ in at_mm)
    moment, shear = across_lines(pack, plate, pads, held, axis, at_mm)
    whole = _whole_moment(pack, held, mounts, axis, np.array(at_mm))
    return tuple(
        SeamLoad(moment_n=m, shear_n_mm=q, pull_n=abs(of_whole) / apart_mm)
        for m, q, of_whole in zip(moment.tolist(), shear.tolist(), whole.tolist(), strict=True)
    )


def _whole_moment(
    pack: Pack,
    held: BaseGeometry,
    mounts: Sequence[MountingPad],
    axis: int,
    at_mm: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Bending moment of the enclosure as a beam on its brackets, these equally stiff [N mm]."""
    weight = pressing_n(pack)
    low, high = held.bounds[axis], held.bounds[axis + 2]
    places = np.array([mount.middle_mm[axis] for mount in mounts])
    if not len(places):
        return np.zeros(len(at_mm))
    middle, mean = (low + high) / 2, float(places.mean())
    spread = float(((places - mean) ** 2).sum())
    tilt = (places - mean) * (middle - mean) / spread if spread > 1.0 else np.zeros(len(places))
    reactions = weight * (1.0 / len(places) + tilt)
    arms = np.maximum(at_mm[:, None] - places, 0.0)
    loaded = np.clip(at_mm - low, 0.0, high - low)
    carried = weight / (high - low) * loaded
    return np.asarray((arms * reactions).sum(axis=1) - carried * (at_mm - low - loaded / 2))


def strap_stress_mpa(
    load: SeamLoad, straps: Sequence[Strap], plate_mm: float, seam_mm: float
) -> float:
    """The largest stress in a seam's straps, or in the plate beside them at the row of screws, the
    nuts' pockets taken off.

    ``plate_mm``: thickness of floor or lid; ``seam_mm``: length of the seam between the walls: what
    the straps leave of it they carry too. Infinite without straps."""
    long = math.fsum(strap.long_mm for strap in straps)
    if not straps:
        return math.inf
    share = max(1.0, seam_mm / long)
    found = []
    for strap in straps:
        thick = strap.thick_mm
        found.append(6.0 * load.moment_n * share / thick**2 + load.pull_n / (long * thick))
        pockets = max(len(strap.row_mm(behind=side)) for side in (False, True)) * NUT_POCKET_MM
        left = max(strap.long_mm - pockets, 1e-3) / strap.long_mm
        found.append(
            (6.0 * load.moment_n * share / plate_mm**2 + load.pull_n / (long * plate_mm)) / left
        )
    return max(found)


def screw_n(load: SeamLoad, straps: Sequence[Strap], seam_mm: float) -> float:
    """Pull and thrust together on the most loaded screw of a seam; infinite without screws.

    Where the plate sags both its edges press on the strap's middle, and the screws draw it up at
    their rows: the moment over their distance, and the shear. Along the plate the screws of a row
    share the pull."""
    long = math.fsum(strap.long_mm for strap in straps)
    least = min(
        (sum(one.behind is side for strap in straps for one in strap.screws)
         for side in (False, True)), default=0,
    )  # fmt: skip
    if not straps or not least:
        return math.inf
    share = max(1.0, seam_mm / long)
    widest = max(strap.widest_mm for strap in straps)
    up = widest * share * (load.moment_n / ROW_MM + load.shear_n_mm)
    return math.hypot(up, load.pull_n / least)


def screw_limit_n(pack: Pack, screw: str, straps: Sequence[Strap], plate_mm: float) -> float:
    """What printed plastic carries of one screw: under its nut's ring, under its head, and at the
    hole's wall in strap and plate."""
    size = screws()[screw]
    ring = math.pi / 4 * (size.nut_flats_mm**2 - size.clearance_diameter_mm**2)
    thread = float(screw.removeprefix("M"))
    thin = min((min(s.under_head_mm, plate_mm - s.nut_deep_mm) for s in straps), default=0.0)
    # a head is drawn through the strap along its rim
    through = math.pi * size.nut_flats_mm * thin / math.sqrt(3.0)
    hole = thread * min((min(s.thick_mm, plate_mm) for s in straps), default=0.0)
    return strength_limit_mpa(pack) * min(ring, through, hole)
