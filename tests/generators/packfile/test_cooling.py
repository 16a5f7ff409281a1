"""What is round a pack, from the pack file to the checks that it decides. All values invented."""

from __future__ import annotations

from functools import cache

import pytest

from generators.packfile.faults import PackFileError
from generators.packfile.resolve import parse_pack
from layouts.electrical.values import Electrical
from layouts.errors import PlanError
from layouts.placing.values import Effort
from layouts.planning.pack_plan import plan_pack

pytestmark = pytest.mark.one_in(2)  # cases that plan a pack each

TEXT = """name: shed-pump
cell: {format: "18650", chemistry: nmc, capacity_ah: 2.5, continuous_a: 10,
  internal_resistance_mohm: 25, mass_g: 47}
series: 3
parallel: 2
leads: {wire_mm2: 4}
load: {continuous_a: 10, ambient_c: 30}
"""
BOX = "space: {box_mm: [130, 130, 90]}\n"


@cache
def of(more: str) -> Electrical:
    """The electrical plan of the text with more sections."""
    return plan_pack(
        parse_pack((TEXT + more).encode(), "x.yaml").pack, effort=Effort.QUICK
    ).electrical


def failed(more: str) -> set[str]:
    """Ids of its checks that fail."""
    return {check.id for check in of(more).checks if not check.holds}


def fault(more: str) -> str:
    """What is said of a file that is refused."""
    with pytest.raises(PackFileError) as told:
        parse_pack((TEXT + more).encode(), "x.yaml")
    return str(told.value)


@pytest.mark.slow
def test_a_space_with_walls_is_a_closed_bay() -> None:
    """As closed as one that is called so, and warmer than open."""
    closed, said, opened = (
        of(BOX + more).heat for more in ("", "cooling: {bay: closed}\n", "cooling: {bay: open}\n")
    )
    assert closed.empty.hottest_c == said.empty.hottest_c > opened.empty.hottest_c
    assert opened.empty.hottest_c == of("").heat.empty.hottest_c


def test_air_below_cools() -> None:
    """The lower face is one of six."""
    free = of("cooling: {below_free: true}\n").heat
    assert free.steady.hottest_c < of("").heat.steady.hottest_c
    assert free.continuous.amps > of("").heat.continuous.amps


def test_the_sun_fails_what_shade_passes() -> None:
    """Leads on PETG: within 55 C in the shade, too warm on a dark box; the limit is named."""
    assert "wire_plastic_c" not in failed("")
    assert "wire_plastic_c" in failed("cooling: {sun: dark}\n")


def test_a_pack_that_the_sun_alone_makes_too_warm_is_refused() -> None:
    """PLA at 32 C in the sun: the field is named."""
    text = TEXT.replace("ambient_c: 30", "ambient_c: 32") + "cooling: {sun: dark}\n"
    pack = parse_pack((text + "printer: {material: pla}\n").encode(), "x.yaml").pack
    with pytest.raises(PlanError, match=r"cooling\.sun: makes the pack"):
        plan_pack(pack, effort=Effort.QUICK)


def test_a_board_and_a_fuse_that_heat_more() -> None:
    """Their data sheets' watts at their rated current go with the current squared."""
    inside = of(
        "bms: {continuous_a: 20, loss_w: 8}\nfuse: {rating_a: 15, loss_w: 4.5}\n"
    ).inside_heat
    assert inside.bms_ohm * 10.0**2 == pytest.approx(2.0)
    assert inside.fuse_ohm * 10.0**2 == pytest.approx(2.0)
    usual = of("bms: {continuous_a: 20}\nfuse: {rating_a: 15}\n").inside_heat
    assert usual.bms_ohm * 20.0 == usual.fuse_ohm * 15.0 == pytest.approx(0.1)


def test_a_hot_board_warms_the_pack() -> None:
    """10 W inside besides the cells' 12: the air inside and the cells get warmer."""
    hot = of("bms: {continuous_a: 20, loss_w: 40}\n").heat.steady
    usual = of("bms: {continuous_a: 20}\n").heat.steady
    assert hot.watts_in - usual.watts_in == pytest.approx(10.0 - 0.5)
    assert hot.enclosure_c > usual.enclosure_c + 5.0
    assert hot.hottest_c - usual.hottest_c == pytest.approx(hot.enclosure_c - usual.enclosure_c)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ("cooling: {bay: closed}\n", "needs the walls of the bay"),
        ("enclosure: {style: none}\ncooling: {sun: dark}\n", "has no effect on cells without"),
        ("enclosure: {style: none}\ncooling: {below_free: true}\n", "has no effect on cells"),
        ("bms: {loss_w: 3}\n", "is the heat at continuous_a, which is not given"),
        ("cooling: {sun: blue}\n", "cooling.sun"),
    ],
)
def test_what_cannot_be_is_refused_with_its_line(more: str, says: str) -> None:
    """One line: file, line, field, what would do."""
    told = fault(more)
    assert says in told
    assert told.startswith("x.yaml:")


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ("", "For an open bay, something below that takes no heat, no sun (cooling)"),
        (BOX + "cooling: {below_free: true, sun: light}\n",
         "For a closed bay of still air, air below, sun on a light face (cooling)"),
    ],
)  # fmt: skip
def test_what_is_taken_as_round_the_pack_is_told(more: str, says: str) -> None:
    """With the figures, since most of it was not asked for."""
    assert says in of(more).heat.how_good
