"""What is done to a plate's sheet besides its outline: punched holes, the fold of its tail."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.plates.sizes import TAIL_MM, TAIL_OUT_MM
from layouts.strips.plate import BusPlate

__all__ = ["SheetHoles", "fold_line", "hole_words", "sheet_holes"]

ROUND_MM = 0.05  # to which corners of a hole lie on a circle, where it is punched round
CORNERS_LEAST = 16  # of such a hole
FOLD_OUT_MM = 0.5  # past the holder's outline: the edge that a tail is folded over; judgement


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SheetHoles:
    """``round``: (x, y, diameter) of punched ones; ``others``: (k, 2) corners of all that are not
    round, cut with the outline."""

    round: tuple[tuple[float, float, float], ...]
    others: tuple[NDArray[np.float64], ...]


def sheet_holes(shape: BaseGeometry) -> SheetHoles:
    """The holes of a sheet as cut."""
    circles: list[tuple[float, float, float]] = []
    others: list[NDArray[np.float64]] = []
    for ring in (ring for part in shapely.get_parts(shape) for ring in part.interiors):
        corners = np.asarray(ring.coords)[:-1]
        x, y = shapely.get_coordinates(shapely.Polygon(ring).centroid)[0]
        off = np.hypot(*(corners - (x, y)).T)
        if len(corners) >= CORNERS_LEAST and float(np.ptp(off)) <= ROUND_MM:
            circles.append((float(x), float(y), round(2.0 * float(off.mean()), 2)))
        else:
            others.append(corners)
    return SheetHoles(round=tuple(circles), others=tuple(others))


def hole_words(holes: SheetHoles) -> str:
    """How many to punch of each diameter, small ones first; empty where there are none."""
    counted = Counter(diameter for *_, diameter in holes.round)
    words = [f"{count} x hole {diameter:g}" for diameter, count in sorted(counted.items())]
    if holes.others:
        words.append(f"{len(holes.others)} x hole as drawn")
    return ", ".join(words)


def fold_line(plate: BusPlate) -> NDArray[np.float64] | None:
    """(2, 2) across a plate's tail, where it is folded down outside the holder; None where no tail
    is folded: a main lead leaves an end plate's tail straight."""
    if plate.tail is None or plate.tail_end_mm is None or plate.is_end:
        return None
    end = np.array(plate.tail_end_mm)
    out = end - shapely.get_coordinates(plate.tail.centroid)[0]
    out = out / np.hypot(*out)
    across = np.array([-out[1], out[0]]) * TAIL_MM / 2.0
    at = end - out * (TAIL_OUT_MM - FOLD_OUT_MM)
    return np.array([at - across, at + across])
