"""Strips on both faces: which cells each joins, where it lies, how high the stacks are."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.pack import Face
from layouts.strips.plate import BusPlate

BUS_SLOT_MM = 4.0  # two weld electrodes side by side; common practice, no source


class StripKind(Enum):
    """What a strip is for."""

    ROW = "row"  # joins the cells of one group
    LINK = "link"  # crosses from one group to the next
    LEAD = "lead"  # row of an end group, carries the summed current out to a main lead


@dataclass(frozen=True, kw_only=True, slots=True)
class Strip:
    """One straight strip on one face.

    ``cells``: indices into the arrangement, in order along the strip. ``groups``: the one or two
    groups it joins (one potential). ``start_mm``, ``end_mm``: ends of its centre line in the pack's
    x, y, as cut. ``runs_out``: the end lies outside the holder (a main lead starts there).
    ``bus_mm``: thickness of flat copper of the same width soldered onto it, 0 for none; over each
    can end it has a slot of ``BUS_SLOT_MM`` for the weld electrodes."""

    name: str
    face: Face
    kind: StripKind
    groups: tuple[int, ...]
    cells: tuple[int, ...]
    start_mm: tuple[float, float]
    end_mm: tuple[float, float]
    width_mm: float
    thickness_mm: float
    layers: int
    runs_out: bool = False
    bus_mm: float = 0.0

    @property
    def links(self) -> tuple[tuple[int, int], ...]:
        """Consecutive cells that it joins."""
        return tuple(zip(self.cells, self.cells[1:], strict=False))

    @property
    def outline_mm(self) -> NDArray[np.float64]:
        """(4, 2) corners, counter-clockwise."""
        a, b = np.asarray(self.start_mm), np.asarray(self.end_mm)
        along = (b - a) / np.hypot(*(b - a))
        across = np.array([-along[1], along[0]]) * self.width_mm / 2
        return np.array([a - across, b - across, b + across, a + across])


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class LaidMetal:
    """One piece of strip or one plate as it lies, for whoever asks only where metal is.

    ``shape``: in the pack's x and y, bars on it included; ``links``: cells that it joins."""

    name: str
    face: Face
    groups: tuple[int, ...]
    cells: tuple[int, ...]
    shape: shapely.Polygon
    links: tuple[tuple[int, int], ...]
    runs_out: bool

    @property
    def outline_mm(self) -> NDArray[np.float64]:
        """(k, 2) its outer edge."""
        ring = shapely.get_coordinates(shapely.get_exterior_ring(self.shape))
        return np.asarray(ring[:-1], dtype=np.float64)


@dataclass(frozen=True, kw_only=True, slots=True)
class BalanceLead:
    """Where one balance lead is soldered on.

    ``number``: groups between it and pack minus (0 to S). ``cell``: the cell at whose end, on
    ``face``; ``notch``: a notch leads from there through the holder's wall towards +x. ``tail_mm``:
    end of the plate's tail that it is soldered to, None on strips.
    """

    number: int
    face: Face
    groups: tuple[int, ...]
    cell: int
    notch: bool
    tail_mm: tuple[float, float] | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Interconnect:
    """All strips of a pack, or the plates that take their place.

    ``minus_face``, ``plus_face``: the faces that pack minus and pack plus leave (series even: the
    same; odd: one on each). ``stack_mm`` (2, N): highest strip stack over each cell's lower and
    upper end. ``balance_leads``: the balance leads, S + 1 of them, by number."""

    strips: tuple[Strip, ...]
    minus_face: Face
    plus_face: Face
    stack_mm: NDArray[np.float64]
    notes: tuple[str, ...] = ()
    balance_leads: tuple[BalanceLead, ...] = ()
    plates: tuple[BusPlate, ...] = ()

    def laid(self, face: Face) -> tuple[LaidMetal, ...]:
        """All metal that lies on a face: its strips, or its plates."""
        strips = tuple(
            LaidMetal(
                name=strip.name,
                face=face,
                groups=strip.groups,
                cells=strip.cells,
                shape=shapely.Polygon(strip.outline_mm),
                links=strip.links,
                runs_out=strip.runs_out,
            )
            for strip in self.strips
            if strip.face is face
        )
        plates = tuple(
            LaidMetal(
                name=plate.name,
                face=face,
                groups=plate.groups,
                cells=plate.cells,
                shape=plate.shape,
                links=tuple((int(i), int(j)) for i, j in plate.conducts.pairs),
                runs_out=plate.tail is not None or plate.bar is not None,
            )
            for plate in self.plates
            if plate.face is face
        )
        return strips + plates
