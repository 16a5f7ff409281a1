"""What every kind of bracket provides: its reach, the wall that it takes, and its design."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from layouts.brackets.holding import FrameHold, HeldBody, LugSize
from layouts.checks import Check
from layouts.pack import Pack, Side
from layouts.parts.part import Part
from layouts.parts.screw import PlacedScrew

__all__ = [
    "PAD_SCREWS",
    "PAD_SIZES",
    "Bought",
    "Bracket",
    "BracketKind",
    "Hold",
    "MountingPad",
    "Plate",
    "Stack",
]

# thickness [mm] -> layers of card, and how thick these are together [mm]
Stack = Callable[[float], tuple[int, float]]
Pair = tuple[float, float]

PAD_SCREWS = ("M4", "M5")  # of mounting pads, the smallest that holds; common practice, no source
# Screws, height of a pad and of its holes: the first that hold. A higher pad's screws stand
# farther from its edges, over which the bracket turns; common practice, no source
PAD_SIZES = (("M4", 26.0, 14.0), ("M5", 26.0, 14.0), ("M5", 44.0, 21.0))

# of a wall that faces this way, in the plan
_NORMALS: Mapping[Side, Pair] = {
    Side.PLUS_X: (1.0, 0.0),
    Side.MINUS_X: (-1.0, 0.0),
    Side.PLUS_Y: (0.0, 1.0),
    Side.MINUS_Y: (0.0, -1.0),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class MountingPad:
    """A thick pad on one of the tub's walls that takes one bracket.

    ``side``: the way that its wall faces. ``face_mm``: distance of its flat face from the origin
    that way; on a -x wall its x is -``face_mm``. ``along_mm``: its middle along the wall, y on a
    +x or -x wall, x on a +y or -y wall. ``underside_mm``: z of the tub's underside. Two
    horizontal insert holes for ``screw`` lie ``apart_mm`` apart along the wall, ``up_mm`` above
    the underside. ``block_mm``: width of a block as deep as the pad that goes on above it up to the
    walls' rim, and stiffens the wall; 0 where there is none. ``foot_mm``: of a bracket placed on a
    frame's own holes, each (along the wall from the pad's middle, away from its face), for
    ``foot_screw``; none: as ``mount.holes_mm`` has them. ``foot_thick_mm``: of that bracket;
    ``on``: name of the feature that it stands on.
    """

    side: Side
    face_mm: float
    along_mm: float
    underside_mm: float
    high_mm: float = 26.0
    apart_mm: float = 20.0
    up_mm: float = 14.0
    screw: str = "M4"
    block_mm: float = 0.0
    foot_mm: tuple[Pair, ...] = ()
    foot_screw: str = ""
    foot_thick_mm: float = 0.0
    on: str = ""

    @property
    def normal(self) -> Pair:
        """Unit vector (x, y) out of the wall."""
        return _NORMALS[self.side]

    @property
    def right(self) -> Pair:
        """Unit vector (x, y) along the wall, to the right as seen from outside."""
        x, y = self.normal
        return 0.0 - y, x  # no -0.0: it would be written to files

    @property
    def along_axis(self) -> int:
        """The axis that its wall runs along: 0 for x, 1 for y."""
        return 1 if self.normal[0] else 0

    @property
    def middle_mm(self) -> Pair:
        """(x, y) of its face's middle."""
        return self.at_mm(self.along_mm, self.face_mm)

    def at_mm(self, along_mm: float, out_mm: float) -> Pair:
        """(x, y) of a point: as ``along_mm`` of a pad, then as ``face_mm`` of one."""
        x, y = self.normal
        return (x * out_mm, along_mm) if self.along_axis else (along_mm, y * out_mm)


@dataclass(frozen=True, kw_only=True, slots=True)
class Hold:
    """Where the frame holds a bracket, at its farthest: so far out from its pad's face, so far
    below the tub's underside. ``apart_mm``: between its outermost screws along the wall."""

    out_mm: float
    below_mm: float
    apart_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Bought:
    """A row of the bill: what brackets need beside printed parts and screws."""

    item: str
    size: str
    count: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Plate:
    """One flat piece of a card mock-up.

    ``outline_mm``: corners, counter-clockwise. ``places``: lines that show where another piece
    stands. ``holes``: (x, y, diameter). ``words``: (x, y, text, size). ``count``: pieces to cut.
    """

    name: str
    title: str
    outline_mm: tuple[Pair, ...]
    places: tuple[tuple[Pair, ...], ...] = ()
    holes: tuple[tuple[float, float, float], ...] = ()
    words: tuple[tuple[float, float, str, float], ...] = ()
    count: int = 1


class Bracket(Protocol):
    """Equal brackets of one pack, designed: all that the rest reads of them."""

    @property
    def parts(self) -> tuple[Part, ...]:
        """Printed parts, a placed copy for each bracket; none without a pad to bolt to."""
        ...

    @property
    def screws(self) -> tuple[PlacedScrew, ...]:
        """Every screw in its place, in the pack's coordinates."""
        ...

    @property
    def bought(self) -> tuple[Bought, ...]:
        """What else is bought for all of them."""
        ...

    @property
    def stand_mm(self) -> float:
        """How far the brackets reach below the tub's underside."""
        ...

    @property
    def hold(self) -> Hold:
        """Where the frame holds each."""
        ...

    def checks(
        self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float
    ) -> tuple[Check, ...]:
        """Its strength under the pack's load; nothing without a load."""
        ...

    def holds(
        self, body: HeldBody, lugs: Sequence[tuple[MountingPad, LugSize]]
    ) -> tuple[FrameHold, ...]:
        """Each bracket as the solver of ``layouts.mounting`` sees it, at pads of these sizes; none
        where nothing is known of their strength."""
        ...

    def stiffness_n_mm(self, pack: Pack) -> tuple[float, float, float] | None:
        """How stiff one is off its wall, along it and upright [N/mm]; None: not known."""
        ...

    def plates(self, stack: Stack) -> tuple[Plate, ...]:
        """The bracket as pieces of card."""
        ...

    def card_words(self, stack: Stack) -> tuple[str, ...]:
        """How the card bracket goes together; then where it departs from the printed one."""
        ...


class BracketKind(Protocol):
    """One kind; ``name`` is the word of the pack file that selects it."""

    @property
    def name(self) -> str:
        """Its word in the pack file."""
        ...

    def reach_mm(self, pack: Pack) -> Pair:
        """Estimate before any design: beyond the pad, and below the tub."""
        ...

    def most_out_mm(self, pack: Pack) -> float:
        """Beyond the pad, for the largest bracket that any load asks for."""
        ...

    def wall_mm(self, pack: Pack) -> float:
        """Length of wall that one bracket takes, at most."""
        ...

    def design(self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float | None) -> Bracket:
        """Brackets for all pads. Raises PlanError where the pack file must change."""
        ...
