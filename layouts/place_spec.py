"""Places that the pack file asks for: of rooms in an enclosure, of the pack in its space."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product

__all__ = ["Matrix3", "PackPlace", "RoomWish"]

Point3 = tuple[float, float, float]
Matrix3 = tuple[tuple[int, int, int], tuple[int, int, int], tuple[int, int, int]]

_COS, _SIN = (1, 0, -1, 0), (0, 1, 0, -1)  # by quarter turns


@dataclass(frozen=True, kw_only=True, slots=True)
class RoomWish:
    """Where a room of the enclosure must stand: by one of both or by both.

    ``side``: of the held cells, a side of the space's plan such as "+x". ``area_mm``: x0, y0, x1,
    y1 in the space's plan, within which it must lie."""

    side: str | None = None
    area_mm: tuple[float, float, float, float] | None = None

    @property
    def words(self) -> str:
        """Where that is."""
        told = [] if self.side is None else [f"at {self.side} of the cells"]
        if self.area_mm is not None:
            x0, y0, x1, y1 = self.area_mm
            told.append(f"within x {x0:g} to {x1:g}, y {y0:g} to {y1:g} of the space")
        return ", ".join(told)


@dataclass(frozen=True, kw_only=True, slots=True)
class PackPlace:
    """How the pack stands in its space: turned first, then moved.

    ``turns_deg``: about the space's x, then y, then z, each a whole number of quarter turns.
    ``at_mm``: where the least corner of the box round walls, floor and lid then lies; None: left to
    the planner. Pads, brackets and the lid's lip reach past that box."""

    turns_deg: tuple[int, int, int] = (0, 0, 0)
    at_mm: Point3 | None = None

    @property
    def turn(self) -> Matrix3:
        """From the pack's axes to the space's, determinant +1."""
        x, y, z = (angle // 90 % 4 for angle in self.turns_deg)
        about_x = ((1, 0, 0), (0, _COS[x], -_SIN[x]), (0, _SIN[x], _COS[x]))
        about_y = ((_COS[y], 0, _SIN[y]), (0, 1, 0), (-_SIN[y], 0, _COS[y]))
        about_z = ((_COS[z], -_SIN[z], 0), (_SIN[z], _COS[z], 0), (0, 0, 1))
        return _product(about_z, _product(about_y, about_x))

    @property
    def is_upright(self) -> bool:
        """Whether the pack's lid looks up."""
        return self.turn[2][2] == 1

    def along_pack(self, sizes: Point3) -> Point3:
        """Sizes along the space's axes, whatever their signs, along the pack's own."""
        return _sized(tuple(zip(*self.turn, strict=True)), sizes)

    def along_space(self, sizes: Point3) -> Point3:
        """Sizes along the pack's own axes, whatever their signs, along the space's."""
        return _sized(self.turn, sizes)

    def shift_mm(self, low_mm: Point3, high_mm: Point3) -> Point3:
        """What moves the pack after its turn, so that a box of it, by two corners in the pack's
        coordinates, has its least corner at ``at_mm``, which is given."""
        assert self.at_mm is not None
        corners = [
            [sum(a * b for a, b in zip(row, corner, strict=True)) for row in self.turn]
            for corner in product(*zip(low_mm, high_mm, strict=True))
        ]
        least = [min(values) for values in zip(*corners, strict=True)]
        x, y, z = (at - one for at, one in zip(self.at_mm, least, strict=True))
        return x, y, z


def _sized(rows: Iterable[Iterable[int]], sizes: Point3) -> Point3:
    x, y, z = (sum(abs(a) * b for a, b in zip(row, sizes, strict=True)) for row in rows)
    return x, y, z


def _product(one: Matrix3, other: Matrix3) -> Matrix3:
    columns = tuple(zip(*other, strict=True))
    rows = [
        tuple(sum(a * b for a, b in zip(row, column, strict=True)) for column in columns)
        for row in one
    ]
    return rows[0], rows[1], rows[2]  # type: ignore[return-value]
