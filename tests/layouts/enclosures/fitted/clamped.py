"""A small pack of zigzag columns without flank posts, whose lid clamps the upper holder."""

from __future__ import annotations

from functools import cache

from generators.packfile.resolve import parse_pack
from layouts.cells.fields import zigzag_shapes
from layouts.enclosures.fitted.form import FittedEnclosure
from layouts.enclosures.fitted.sizes import Clamp, FittedSizes
from layouts.pack import Pack
from layouts.planning.steps import (
    BlockPlan,
    EnclosedPlan,
    enclosed,
    fastened,
    interconnected,
    laid_out,
)

__all__ = ["block_plan", "clamp_in", "clamped_plan", "clamped_sizes", "pack_with"]

TEXT = """name: zigzag
cell: {format: '18650'}
series: 7
parallel: 4
lattice: honeycomb
load: {continuous_a: 2, acceleration_g: [3, 3, 4]}
"""


@cache
def pack_with(*, flank_posts: bool) -> Pack:
    """7S4P in the fitted enclosure."""
    more = f"enclosure: {{style: fitted}}\nholder: {{flank_posts: {str(flank_posts).lower()}}}\n"
    return parse_pack((TEXT + more).encode(), "p.yaml").pack


@cache
def block_plan(*, flank_posts: bool) -> BlockPlan:
    """Its held cells, in zigzag columns."""
    pack = pack_with(flank_posts=flank_posts)
    shape = next(zigzag_shapes(pack.series, pack.parallel, pack.lattice))
    return fastened(interconnected(laid_out(pack, shape=shape)))


@cache
def clamped_plan() -> EnclosedPlan:
    """The same without flank posts, with its enclosure."""
    return enclosed(block_plan(flank_posts=False))


def clamped_sizes() -> FittedSizes:
    """What that enclosure is made from."""
    enclosure = clamped_plan().enclosure
    assert isinstance(enclosure, FittedEnclosure)
    return enclosure.sizes


def clamp_in(sizes: FittedSizes) -> Clamp:
    """The clamp that must be there."""
    assert sizes.clamp is not None
    return sizes.clamp
