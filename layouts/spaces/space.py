"""A space as plain values: the free space, and bodies in it to stay out of."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from layouts.place_spec import PackPlace

if TYPE_CHECKING:  # arrays load slowly, and a box has none: checking a file must not wait for them
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["Point", "Prism", "Solid", "Space", "box_space"]

Point = tuple[float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class Prism:
    """Free space over a polygon, from z = 0 to ``height_mm``.

    ``outline_mm``: corners counter-clockwise, not closed; ``holes_mm``: rings clockwise.
    """

    outline_mm: tuple[Point, ...]
    height_mm: float
    holes_mm: tuple[tuple[Point, ...], ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Solid:
    """A closed triangle mesh, facing outwards, in the space's own coordinates.

    ``vertices_mm`` (n, 3); ``faces`` (m, 3) indices.
    """

    name: str
    vertices_mm: NDArray[np.float64]
    faces: NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, slots=True)
class Space:
    """The space in the machine.

    ``room``: what the pack must lie within; None where only ``keep_out`` bounds it (a mesh of the
    surroundings). ``keep_out``: bodies that it must stay out of. ``source``: the file that the free
    space came from, as messages call it. ``open_sides``: those open to the air, of +x, -x, +y, -y,
    +z and -z; None: not told. ``place``: how the pack must stand in it; None: as is found."""

    room: Prism | Solid | None
    keep_out: tuple[Solid, ...] = ()
    source: str = ""
    notes: tuple[str, ...] = field(default=())
    open_sides: tuple[str, ...] | None = None
    place: PackPlace | None = None

    @property
    def is_box(self) -> bool:
        """Whether it is an upright box with a corner at the origin, and nothing in it."""
        if not isinstance(self.room, Prism) or self.room.holes_mm or self.keep_out:
            return False
        a, b, _ = self.box_mm
        return set(self.room.outline_mm) == {(0.0, 0.0), (a, 0.0), (a, b), (0.0, b)}

    @property
    def low_mm(self) -> tuple[float, float, float]:
        """Least corner of the free space's box; of the keep-outs' where there is none."""
        if isinstance(self.room, Prism):
            xs, ys = zip(*self.room.outline_mm, strict=True)
            return min(xs), min(ys), 0.0
        x, y, z = self._points().min(axis=0).tolist()
        return x, y, z

    @property
    def box_mm(self) -> tuple[float, float, float]:
        """Sides of the free space's box along x, y, z."""
        if isinstance(self.room, Prism):
            xs, ys = zip(*self.room.outline_mm, strict=True)
            return max(xs) - min(xs), max(ys) - min(ys), self.room.height_mm
        points = self._points()
        x, y, z = (points.max(axis=0) - points.min(axis=0)).tolist()
        return x, y, z

    def _points(self) -> NDArray[np.float64]:
        """(n, 3) corners of a mesh space, else of all keep-outs."""
        import numpy as np

        solids = (self.room,) if isinstance(self.room, Solid) else self.keep_out
        return np.vstack([solid.vertices_mm for solid in solids])


def box_space(box_mm: tuple[float, float, float]) -> Space:
    """The box [0, a] x [0, b] x [0, c]."""
    a, b, c = (float(side) for side in box_mm)
    return Space(room=Prism(outline_mm=((0.0, 0.0), (a, 0.0), (a, b), (0.0, b)), height_mm=c))
