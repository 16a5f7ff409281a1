"""What a kind of bracket tells a solver that places brackets on the features of a frame.

A kind takes part with a module that the registry's ``HOLDING`` names under its word. The module has
one function, ``frame_holds(body, feature, thick_mm=...)``: it yields every place in which one
bracket of the kind could hold that body by that feature, each with all that the choice needs: where
and how stiffly it holds, how much it bears, what it takes up, what it costs. It yields nothing for
features that it can't use. Coordinates are the space's, lengths in mm, forces in N.

What a place bears is told as one force each way for each hold: the least at which any part fails
(bracket, inserts, wall, screw), already divided by the safety factor and lessened by warmth
(``HeldBody`` has the allowed values). The solver adds up force over cap of the holds that a bracket
has in one place, since one section bears them; holds in other places have sections of their own, as
each half of a foot with two screws: give each its share of stiffness and cap. A cap of 0: it does
not hold that way."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from layouts.frame_spec import FrameFeature

__all__ = [
    "EDGE_FREE_MM", "FARTHEST_MM", "LEVEL_MM", "TOOL_LONG_MM", "TOOL_MM", "Box3", "FootPlace",
    "FrameHold", "HeldBody", "HoldPoint", "HoldSource", "LugSize", "Point", "apart",
]  # fmt: skip

Point = tuple[float, float, float]
Box3 = tuple[Point, Point]  # least and greatest corner

# All of these are common practice, no source
EDGE_FREE_MM = 6.0  # between a hole and its plate's edge
FARTHEST_MM = 45.0  # a hole from a pad's face: a longer foot bends more than it holds
LEVEL_MM = 0.3  # play between a foot and its plate: washers make it good
TOOL_MM, TOOL_LONG_MM = 12.0, 80.0  # of a driver over a frame screw, socket and all

TOUCH_MM = 1e-6  # boxes that only touch do not overlap


@dataclass(frozen=True, kw_only=True, slots=True)
class HoldPoint:
    """One force that a bracket can put on the pack.

    ``at_mm``: where; ``way``: unit vector along which it pushes the pack. ``along_n``: the most
    that it pushes that way, ``against_n``: that it pulls back, both >= 0. ``slips``: friction,
    which keeps its cap when it slips, and never counts alone."""

    at_mm: Point
    way: Point
    stiffness_n_mm: float
    along_n: float
    against_n: float
    slips: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class LugSize:
    """Mounting pads of one size: width, height and distance of their face from the wall's foremost
    point; screws of their inserts, ``apart_mm`` along the wall, ``up_mm`` above the underside.
    ``moment_n_mm``: allowed about the middle of the wall above, ``arm_mm`` behind the pad's face.
    ``insert_n``, ``push_n``: allowed of one insert, pulled and pushed aside."""

    wide_mm: float
    high_mm: float
    out_mm: float
    screw: str
    apart_mm: float
    up_mm: float
    arm_mm: float
    moment_n_mm: float
    insert_n: float
    push_n: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class HeldBody:
    """The pack as brackets see it.

    ``low_mm``, ``high_mm``: its box in the space, without pads; ``centre_mm``: of gravity.
    ``load_g``: along x, y and z of the space, all at once with any signs. ``faces`` that may be
    held. ``limit_mpa``, ``modulus_mpa``: allowed stress and stiffness of printed brackets.
    ``lug_at(face, along_mm, wide_mm, out_mm)``: how far the face of a pad with its middle there
    lies from the origin that way, with a bracket ``wide_mm`` wide that reaches ``out_mm`` past it;
    None: none can stand there. ``lug``: None: it has no pads. ``taken_mm``: boxes in the space that
    no bracket may meet. ``screw``: for holes that are drilled. ``layer_mm``: of the printer.
    ``insert_n``: screw -> allowed pull of an insert in the floor; empty: it has none there."""

    low_mm: Point
    high_mm: Point
    centre_mm: Point
    mass_kg: float
    load_g: Point
    faces: tuple[str, ...]
    limit_mpa: float
    modulus_mpa: float
    screw: str = "M5"
    layer_mm: float = 0.2
    density_g_mm3: float = 1.27e-3
    lug: LugSize | None = None
    lug_at: Callable[[str, float, float, float], float | None] | None = None
    taken_mm: tuple[Box3, ...] = ()
    insert_n: Mapping[str, float] = field(default_factory=dict)

    @property
    def half_diagonal_mm(self) -> float:
        """Length by which moments are made comparable with forces."""
        return float(np.linalg.norm(np.subtract(self.high_mm, self.low_mm))) / 2.0


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FrameHold:
    """One bracket in one place.

    ``kind``: its word; ``feature``: name of what it holds on to; ``face`` of the pack. ``drilled``:
    new holes in the frame; ``screws``: all that go in. ``takes_mm``: boxes of bracket and heads;
    ``tools_mm``: of the ways of its tools. ``thick_mm``: 0 where it has one size alone. ``free``:
    it costs nothing and goes in wherever it can, such as a foam pad. ``place``: what the kind needs
    to draw it; ``holes_mm``: where its frame screws go."""

    kind: str
    feature: str
    face: str
    points: tuple[HoldPoint, ...]
    grams: float
    drilled: int = 0
    screws: int = 0
    takes_mm: tuple[Box3, ...] = ()
    tools_mm: tuple[Box3, ...] = ()
    thick_mm: float = 0.0
    free: bool = False
    place: object | None = None
    holes_mm: tuple[Point, ...] = ()

    @property
    def words(self) -> str:
        """It in messages."""
        x, y, z = self.middle_mm.tolist()
        return f"{self.kind} on {self.feature} at ({x:.0f}, {y:.0f}, {z:.0f})"

    @property
    def middle_mm(self) -> NDArray[np.float64]:
        """(3,) middle of its holds."""
        return np.asarray(np.mean([point.at_mm for point in self.points], axis=0))

    def wrenches(self, centre_mm: Point, length_mm: float) -> NDArray[np.float64]:
        """(n, 6) force and moment about a point, over a length, of each unit force."""
        ways = np.array([point.way for point in self.points], dtype=np.float64)
        arms = np.array([point.at_mm for point in self.points], dtype=np.float64) - centre_mm
        return np.hstack([ways, np.cross(arms, ways) / length_mm])


@dataclass(frozen=True, kw_only=True, slots=True)
class FootPlace:
    """One bracket: its pad's middle along the wall and the distance of the pad's face, as the space
    has them, and its foot's holes: (from the pad's middle along the wall, from its face)."""

    face: str
    along_mm: float
    face_mm: float
    screw: str
    foot_mm: tuple[tuple[float, float], ...]
    thick_mm: float


class HoldSource(Protocol):
    """The function of a kind's module."""

    def __call__(
        self, body: HeldBody, feature: FrameFeature, *, thick_mm: float
    ) -> Iterable[FrameHold]:
        """Every place of one bracket; ``thick_mm``: of printed brackets, 5, 6, 7 or 8."""
        ...


def apart(first: Iterable[Box3], second: Iterable[Box3]) -> bool:
    """Whether no two boxes overlap; touching is no overlap."""
    others = tuple(second)
    return not any(
        all(
            low[k] < other_high[k] - TOUCH_MM and other_low[k] < high[k] - TOUCH_MM
            for k in range(3)
        )
        for low, high in first
        for other_low, other_high in others
    )
