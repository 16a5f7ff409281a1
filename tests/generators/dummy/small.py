"""A small invented pack with its dummy, made once for all tests."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from generators.dummy.compare import Apart, OutsideMesh, compare, outer_surface
from generators.dummy.making import dummy_surface, printed_pieces
from generators.dummy.outside import MockupOutside, bare_outside, outside_of
from generators.dummy.pieces import PrintedPiece
from generators.made_part import MadePart
from generators.making import made_part
from generators.packfile.resolve import parse_pack
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.planning.parts_list import parts_of
from tests.runs import odd_pack

SMALL = odd_pack(2, 2, lattice="honeycomb", format="18650")


@dataclass(frozen=True)
class Dummied:
    """A plan, its parts, its outside and the pieces to print."""

    plan: PackPlan
    made: tuple[MadePart, ...]
    outside: MockupOutside
    pieces: tuple[PrintedPiece, ...]

    @property
    def whole_mm3(self) -> float:
        """Volume of all printed parts."""
        return sum(one.solid_mm3 * len(one.part.placed) for one in self.made)

    @property
    def volume_mm3(self) -> float:
        """Volume of all the mock-up's pieces."""
        return sum(one.volume_mm3 * one.count for one in self.pieces)


@cache
def pack_surface(text: str = SMALL) -> OutsideMesh:
    """The assembly's own outside."""
    it = dummied(text)
    return outer_surface(bare_outside(it.plan, it.made))


def measured(pieces: Iterable[PrintedPiece], text: str = SMALL, *, samples: int = 1000) -> Apart:
    """How far pieces in their places lie from the pack."""
    return compare(pack_surface(text), dummy_surface(tuple(pieces)), samples=samples)


@cache
def dummied(text: str = SMALL) -> Dummied:
    """The mock-up of a pack file's text."""
    plan = plan_pack(parse_pack(text.encode(), "pack.yaml").pack)
    made = tuple(made_part(part) for part in parts_of(plan))
    outside = outside_of(plan, made)
    return Dummied(plan, made, outside, printed_pieces(plan, made, outside))
