"""What every kind of bracket provides: its reach, the wall that it takes, and its design."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from layouts.checks import Check
from layouts.pack import Pack
from layouts.parts.part import Part
from layouts.parts.screw import PlacedScrew

__all__ = ["Bracket", "BracketKind", "MountingPad", "Plate", "Stack"]

# thickness [mm] -> layers of card, and how thick these are together [mm]
Stack = Callable[[float], tuple[int, float]]
Pair = tuple[float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class MountingPad:
    """A thick pad on the tub's wall that takes one bracket.

    ``outward``: +1 on the +x wall, -1 on the -x wall. ``face_mm``: distance of its flat
    face from x = 0. ``y_mm``: its middle along the wall. ``underside_mm``: z of the tub's
    underside. Two horizontal insert holes for ``screw`` lie ``apart_mm`` apart along y,
    ``up_mm`` above the underside.
    """

    outward: int
    face_mm: float
    y_mm: float
    underside_mm: float
    high_mm: float = 26.0
    apart_mm: float = 20.0
    up_mm: float = 14.0
    screw: str = "M4"


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
    def stand_mm(self) -> float:
        """How far the brackets reach below the tub's underside."""
        ...

    def checks(
        self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float
    ) -> tuple[Check, ...]:
        """Its strength under the pack's load; nothing without a load."""
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

    def wall_mm(self, pack: Pack) -> float:
        """Length of wall that one bracket takes, at most."""
        ...

    def design(self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float | None) -> Bracket:
        """Brackets for all pads. Raises PlanError where the pack file must change."""
        ...
