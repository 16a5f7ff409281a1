"""Tails of plates whose cells are placed in an outline."""

from __future__ import annotations

import pytest

from generators.packfile.resolve import parse_pack
from layouts.planning.pack_plan import plan_pack
from layouts.shorts.checks import short_checks

WEDGE = (
    "name: wedge-case\n"
    "cell: {format: '18650', capacity_ah: 2.5, continuous_a: 10, internal_resistance_mohm: 20}\n"
    "series: 5\nparallel: 6\nlattice: honeycomb\nenclosure: {style: none}\n"
    "space:\n"
    "  outline_mm: [[0, 0], [170, 0], [170, 60], [90, 150], [0, 150]]\n"
    "  height_mm: 90\n"
)


@pytest.mark.slow
def test_a_tail_keeps_clear_of_cans_that_it_passes() -> None:
    """Out of a corner of the outline a tail runs beside another group's cell."""
    plan = plan_pack(parse_pack(WEDGE.encode(), "pack.yaml").pack)
    assert [check.id for check in short_checks(plan.shorts) if not check.holds] == []
