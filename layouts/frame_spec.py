"""Features of a machine's frame that may hold a pack, in the coordinates of the space."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "FACES",
    "FrameEdge",
    "FrameFeature",
    "FrameHole",
    "FramePlate",
    "FrameThread",
    "FrameTube",
    "HoldWishes",
]

Point = tuple[float, float, float]
Pair = tuple[float, float]

FACES = ("+x", "-x", "+y", "-y", "+z", "-z")


@dataclass(frozen=True, kw_only=True, slots=True)
class FrameHole:
    """A hole that is there already: ``at_mm`` as a corner of its plate's outline; ``screw`` that it
    takes; ``thread``: whether it has one, else a nut goes behind it."""

    at_mm: Pair
    screw: str
    thread: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class FramePlate:
    """A flat face. ``normal``: one of ``FACES``, towards the pack. ``outline_mm``: corners along
    the two other axes, x before y before z, counted from ``at_mm``. ``drill``: whether new holes
    may be drilled."""

    name: str
    at_mm: Point
    normal: str
    outline_mm: tuple[Pair, ...]
    thick_mm: float
    drill: bool = False
    holes: tuple[FrameHole, ...] = ()

    @property
    def axis(self) -> int:
        """Of its normal: 0, 1 or 2."""
        return "xyz".index(self.normal[1])

    @property
    def plane_axes(self) -> tuple[int, int]:
        """The two axes of its outline."""
        first, second = (k for k in range(3) if k != self.axis)
        return first, second

    def in_space_mm(self, at_mm: Pair) -> Point:
        """A point of its outline's coordinates in the space."""
        point = list(self.at_mm)
        for axis, along in zip(self.plane_axes, at_mm, strict=True):
            point[axis] += along
        return point[0], point[1], point[2]


@dataclass(frozen=True, kw_only=True, slots=True)
class FrameTube:
    """A straight tube by its middle line. ``size_mm``: outside diameter, or both sides of a
    rectangular one, turned by ``turned_deg``. ``free_mm``: stretches along it that may be used;
    none: all. ``drill``: whether a screw may go through it."""

    name: str
    from_mm: Point
    to_mm: Point
    size_mm: tuple[float, ...]
    turned_deg: float = 0.0
    free_mm: tuple[Pair, ...] = ()
    drill: bool = False

    @property
    def is_round(self) -> bool:
        """Whether it is a round one."""
        return len(self.size_mm) == 1


@dataclass(frozen=True, kw_only=True, slots=True)
class FrameThread:
    """A tapped hole of its own, such as a boss: its mouth, the way that a screw comes out of it,
    and how deep it is."""

    name: str
    at_mm: Point
    axis: str
    screw: str
    deep_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class FrameEdge:
    """An edge round which a strap of this width may go."""

    name: str
    from_mm: Point
    to_mm: Point
    strap_mm: float


FrameFeature = FramePlate | FrameTube | FrameThread | FrameEdge


@dataclass(frozen=True, kw_only=True, slots=True)
class HoldWishes:
    """``faces`` of the pack that brackets may hold it by, as the space names them; ``most``
    brackets, 0: no mounting pads and no brackets."""

    faces: tuple[str, ...] = ("+x", "-x", "+y", "-y", "-z")
    most: int = 6

    @property
    def none(self) -> bool:
        """Whether it has no mounting pads and no brackets."""
        return self.most == 0
