"""A screw in its place: bill, clearances, loose metal, mock-up and drilling plan follow from it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from layouts.formats import Screw, low_heads, screws
from layouts.parts.convex import ConvexPiece, bar
from layouts.parts.fasteners import Into, ScrewUse

__all__ = ["KEY_ARM_MM", "PlacedScrew", "screw_uses"]

UPRIGHT = 0.99  # of a unit axis: screws stand upright or lie level
# Short arm of a hex key by its size across flats; ISO 2936, from memory
KEY_ARM_MM = {2.0: 16.0, 2.5: 18.0, 3.0: 20.0, 4.0: 25.0, 5.0: 28.0, 6.0: 32.0}


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PlacedScrew:
    """A screw with a socket, in the pack's coordinates.

    ``where``: the joint, as the bill names it; ``name``: this one; ``heads``: what its head is
    counted with where room for heads is told. ``at_mm`` (3,): on the face that head or washer
    lies on; ``out`` (3,): unit, to the head. ``through_mm``: what it passes before its thread,
    washer not counted; ``gap_mm``: left open behind that. ``length_mm``: below the head, None
    where the frame's own thickness decides. ``on``: number of the part that carries it, from 1.
    ``insert_hole_deep_mm``: depth of its insert's hole, None: the table's. ``low_head``: a button
    head, else a cylinder. ``drilled_last``: its hole in the frame is drilled through its part, once
    that stands where it will stay: no plan shows it. ``travel_mm`` (3,): it stands in a slot, and
    can be moved so far and as far back; None: in a round hole. ``in_place``: driven with
    the pack in its place, as those into the frame always are.
    """

    where: str
    name: str
    heads: str
    screw: str
    at_mm: NDArray[np.float64]
    out: NDArray[np.float64]
    through_mm: float
    into: Into
    length_mm: float | None
    washer: bool = False
    gap_mm: float = 0.0
    on: int = 1
    insert_hole_deep_mm: float | None = None
    low_head: bool = False
    drilled_last: bool = False
    travel_mm: NDArray[np.float64] | None = None
    in_place: bool = False

    @property
    def hole_deep_mm(self) -> float:
        """Depth of its insert's hole."""
        deep_mm = self.insert_hole_deep_mm
        return self.size.insert_deep_mm if deep_mm is None else deep_mm

    @property
    def size(self) -> Screw:
        """Its row in the table of screws, with its own head."""
        size = screws()[self.screw]
        if not self.low_head:
            return size
        head = low_heads()[self.screw]
        return replace(
            size, head_diameter_mm=head.head_diameter_mm, head_high_mm=head.head_high_mm,
            key_mm=head.key_mm,
        )  # fmt: skip

    @property
    def upright(self) -> bool:
        """Whether its axis stands upright; else it lies level."""
        return bool(abs(self.out[2]) > UPRIGHT)

    @property
    def head_up(self) -> bool:
        """Whether its head is its upper end."""
        return self.upright and bool(self.out[2] > 0.0)

    @property
    def lift_mm(self) -> float:
        """From the face to the head's underside."""
        return self.size.washer_high_mm if self.washer else 0.0

    @property
    def grip_mm(self) -> float:
        """Between head and thread, washer counted."""
        return self.through_mm + self.gap_mm + self.lift_mm

    @property
    def top_mm(self) -> float:
        """From the face to the head's outer end."""
        return self.lift_mm + self.size.head_high_mm

    def point(self, out_mm: float) -> list[float]:
        """A point of its axis, so far outside of the face."""
        there: list[float] = (self.at_mm + out_mm * self.out).tolist()
        return there

    def bar(self, low_mm: float, high_mm: float, radius_mm: float) -> ConvexPiece:
        """A round bar about its axis between two distances outside of the face."""
        return bar(self.point(low_mm), self.point(high_mm), radius_mm)

    def head(self) -> tuple[ConvexPiece, ...]:
        """Washer, where it has one, and head."""
        head = self.bar(self.lift_mm, self.top_mm, self.size.head_diameter_mm / 2)
        if not self.washer:
            return (head,)
        return (self.bar(0.0, self.lift_mm, self.size.washer_diameter_mm / 2), head)

    def driver_way(self) -> ConvexPiece:
        """Free over its head for the short arm of a hex key."""
        reach = self.top_mm + KEY_ARM_MM[self.size.key_mm]
        return self.bar(self.top_mm, reach, self.size.head_diameter_mm / 2)


def screw_uses(placed: Iterable[PlacedScrew]) -> tuple[ScrewUse, ...]:
    """The screws as the bill names them: equal ones counted, in the order in which they come."""
    counts: dict[tuple[object, ...], int] = {}
    first: dict[tuple[object, ...], PlacedScrew] = {}
    for one in placed:
        kind = (
            one.where, one.screw, one.length_mm, one.grip_mm, one.insert_hole_deep_mm, one.low_head
        )  # fmt: skip
        counts[kind] = counts.get(kind, 0) + 1
        first.setdefault(kind, one)
    return tuple(
        ScrewUse(
            where=one.where,
            screw=one.screw,
            length_mm=one.length_mm,
            count=counts[kind],
            into=one.into,
            grip_mm=one.grip_mm,
            washer=one.washer,
            insert_hole_deep_mm=one.insert_hole_deep_mm,
            low_head=one.low_head,
        )
        for kind, one in first.items()
    )
