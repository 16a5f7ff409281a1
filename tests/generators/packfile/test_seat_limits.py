"""From a pack file's holder to the checks of rings, seats and webs: both sides of each limit.

Webs lie 0.2 to 0.6 mm behind the can ends, in the lip's plane and where a positive end sinks.
"""

from __future__ import annotations

from functools import cache

import pytest

from layouts.checks import Check
from layouts.planning.steps import InterconnectPlan, interconnected, laid_out
from layouts.strips.lip import seat_checks
from tests.generators.packfile.files import read

TEXT = "name: p\ncell: {{format: '18650'}}\nseries: 2\nparallel: 1\nholder: {{{holder}}}\n"
TEXT += "printer: {{layer_mm: 0.1}}\n{more}\n"  # heights below are whole layers


@cache
def laid(strip: str) -> InterconnectPlan:
    """Strips, which no seat moves."""
    return interconnected(laid_out(read(TEXT.format(holder="", more=strip)).pack))


def checks(holder: str, strip: str = "") -> dict[str, Check]:
    """The checks of a holder's seats, by their ids."""
    plan = laid(strip)
    pack = read(TEXT.format(holder=holder, more=strip)).pack
    return {one.id: one for one in seat_checks(pack, plan.cell_layout, plan.interconnect)}


@pytest.mark.parametrize(
    ("recess", "seat", "ring", "value", "limit", "holds"),
    [
        (0.3, 0.6, 0.4, 0.3, 0.2, True),  # 0.3 and 0.5
        (0.4, 0.6, 0.4, 0.4, 0.2, True),  # 0.4 and 0.6
        (0.4, 0.7, 0.4, 0.7, 0.6, False),
        (0.2, 0.5, 0.5, 0.2, 0.2, True),
    ],
)
def test_webs_lie_within_their_limits_behind_both_ends(
    recess: float, seat: float, ring: float, value: float, limit: float, holds: bool
) -> None:
    """By the recess alone, and by it and what a positive end sinks into its seat."""
    holder = f"web_recess_mm: {recess}, seat_mm: {seat}, ring_mm: {ring}"
    check = checks(holder)["strip_seat_mm"]
    assert check.holds is holds
    assert (check.value, check.limit) == pytest.approx((value, limit))
    assert check.at_least is (limit == 0.2)


@pytest.mark.parametrize(("lip", "holds"), [(1.5, True), (1.4, False)])
def test_a_stack_stays_below_the_outer_face(lip: float, holds: bool) -> None:
    """4 layers of 0.2 mm on a ring of 0.4: 1.2 mm high, and 0.3 below the outer face."""
    strip = "strip: {thickness_mm: 0.2, layers: 4}"
    check = checks(f"lip_mm: {lip}, ring_mm: 0.4, seat_mm: 0.4", strip)["strip_stack_mm"]
    assert check.value == pytest.approx(lip - 1.2)
    assert check.limit == pytest.approx(0.3)
    assert check.holds is holds
