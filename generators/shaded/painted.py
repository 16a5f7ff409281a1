"""Finished pictures with their balloons; nothing that paints is loaded for them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

__all__ = [
    "BESIDE_PX", "CUTAWAY", "EXPLODED", "RADIUS_PX", "Balloon", "Painted", "PaintedPicture",
    "write_painted",
]  # fmt: skip

CUTAWAY, EXPLODED = "cutaway", "exploded"
RADIUS_PX = 15  # of a balloon
BESIDE_PX = 62  # width of each column of balloons


@dataclass(frozen=True, kw_only=True, slots=True)
class Balloon:
    """Row ``row`` of the bill: the pixel (x, y) that its leader ends at, and the balloon's own
    middle; x of the picture runs from 0, the left column lies before it."""

    row: int
    anchor_px: tuple[int, int]
    middle_px: tuple[float, float]

    @property
    def side(self) -> int:
        """-1 in the left column, 1 in the right one."""
        return -1 if self.middle_px[0] < 0 else 1


@dataclass(frozen=True, kw_only=True, slots=True)
class PaintedPicture:
    """``image``: PNG on nothing, ``framed``: PNG on paper with its balloons. ``wide``, ``high``: of
    the first, in pixels, in which the balloons are told."""

    image: bytes
    framed: bytes
    wide: int
    high: int
    balloons: tuple[Balloon, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Painted:
    """Both pictures by name; ``names``: of each row of the bill that has things, (item, size);
    ``undrawn``: rows without one, each with the reason, ``undrawn_names``: their items. Nothing at
    all where no compiler is installed: without one a picture takes hours."""

    pictures: Mapping[str, PaintedPicture]
    names: Mapping[int, tuple[str, str]]
    undrawn: Mapping[int, str]
    undrawn_names: Mapping[int, str]

    @property
    def hidden(self) -> tuple[int, ...]:
        """Rows whose things show in no picture: they lie behind others."""
        seen = {one.row for picture in self.pictures.values() for one in picture.balloons}
        return tuple(sorted(set(self.names) - seen))

    def refuse_other_rows(self, rows: Sequence[tuple[str, str]]) -> None:
        """Raises ValueError where a number in the pictures is that of another row; ``rows``: item
        and size of the whole bill."""
        for row, name in self.names.items():
            if row > len(rows) or rows[row - 1] != name:
                raise ValueError(f"{name} has number {row} in the pictures, not in the bill")

    @property
    def files(self) -> Mapping[str, bytes]:
        """By their names in the folder of pictures."""
        return {f"{name}.png": one.framed for name, one in self.pictures.items()}


def write_painted(folder: Path, painted: Painted) -> None:
    """Write the pictures, on paper with their balloons, into a new folder; none without any."""
    if painted.pictures:
        folder.mkdir()
    for name, data in painted.files.items():
        (folder / name).write_bytes(data)
