"""The fitted enclosure with a gasket: flange, cord, lid screws, vent, lid between screws."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from layouts.enclosures.fitted.checks import fitted_checks
from layouts.enclosures.fitted.gasket import slope_of
from layouts.enclosures.fitted.gasket_lid import edge_load, lift_mm, pulls_n
from layouts.enclosures.fitted.gasket_vent import opening_mm
from layouts.enclosures.fitted.gasket_work import opening_pull_n
from layouts.enclosures.fitted.lid import lid_features
from layouts.enclosures.fitted.lid_screws import PITCH_MM
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.parts import fitted_parts
from layouts.enclosures.fitted.sides import OUTWARD
from layouts.enclosures.fitted.tub import tub_features
from layouts.enclosures.gas_way import gas_way, gas_way_checks
from layouts.errors import PlanError
from layouts.pack import Pack
from layouts.parts.feature import drawn
from layouts.parts.shell import box
from layouts.planning.pack_plan import plan_checks, plan_pack
from layouts.slabs.profile import Arc
from tests.layouts.enclosures.fitted.levels import overhang_mm, plan_at
from tests.layouts.enclosures.fitted.sealed import (
    enclosure_of,
    flange_in,
    gasket_in,
    judged,
    sealed_pack,
    sealed_plan,
    sealed_sizes,
    vent_in,
)
from tests.layouts.parts.sound_parts import assert_sound
from tests.oracles.fitted_formula import lid_formula_mm3, tub_formula_mm3

STEP_MM = 0.4  # of the slope
IDS = {
    "gasket_squeeze", "gasket_bend", "gasket_screws", "gasket_pull", "gasket_outlets", "vent_area",
    "vent_pressure",
}  # fmt: skip


def test_the_cord_runs_round_all_outside_the_walls() -> None:
    """On a closed way between wall and screws, in a groove that the flange holds."""
    sizes = sealed_sizes()
    flange, groove = flange_in(sizes), flange_in(sizes).groove
    wall, inner, outer, edge = (
        loop_polygon(loop)
        for loop in (sizes.shell.outer, flange.groove_inner, flange.groove_outer, flange.edge)
    )
    assert inner.buffer(0.02).contains(wall)
    assert outer.exterior.distance(inner) == pytest.approx(groove.wide_mm, abs=0.02)
    assert edge.exterior.distance(outer) == pytest.approx(groove.land_mm, abs=0.02)
    assert loop_polygon(flange.cord).length == pytest.approx(flange.cord_long_mm, rel=1e-3)
    for screw in sizes.shell.screws:
        hole = shapely.Point(screw.at_mm).buffer(screw.hole_radius_mm)
        assert outer.distance(hole) > groove.land_mm - 0.3
        assert outer.disjoint(hole)
    bends = [one for one in flange.groove_inner if isinstance(one, Arc) and one.sweep_rad > 0]
    bends += [one for one in flange.groove_outer if isinstance(one, Arc) and one.sweep_rad < 0]
    assert min(one.radius_mm for one in bends) == pytest.approx(1.5 * 3.0)


def test_screws_are_no_farther_apart_than_70() -> None:
    """And most of them have inserts: the gas pulls on them."""
    screws = sealed_sizes().shell.screws
    places = np.array([one.at_mm for one in screws])
    assert np.hypot(*(np.roll(places, -1, axis=0) - places).T).max() <= PITCH_MM
    assert sum(one.insert for one in screws) > len(screws) / 2


def test_nothing_is_open_but_vent_and_glands() -> None:
    """No drain, no slot, no lip; the rim is level but for groove and screws."""
    sizes = sealed_sizes()
    assert (sizes.drains, sizes.slots, sizes.ducts) == ((), (), ())
    levels = sizes.shell.levels
    top = levels.rim_mm - levels.under_mm
    rim = plan_at(tub_features(sizes), top - 0.1)
    flange = flange_in(sizes)
    cord = loop_polygon(flange.cord).exterior
    assert rim.distance(cord) == pytest.approx(flange.groove.wide_mm / 2, abs=0.02)
    under = plan_at(tub_features(sizes), top - flange.groove.deep_mm - 0.1)
    assert under.buffer(0.01).contains(cord)
    assert max(f.z1_mm for f in lid_features(sizes) if f.name == "plate") == pytest.approx(
        levels.lid_mm - levels.rim_mm
    )


def test_the_vent_opens_into_the_space_between_the_holders() -> None:
    """Beside cans, off rooms and bosses, through a flat block with a seat round it."""
    sizes, pack = sealed_sizes(), sealed_pack()
    vent = vent_in(sizes)
    assert pack.holder.depth_mm <= vent.z0_mm
    assert vent.z1_mm <= pack.lip_to_lip_mm - pack.holder.depth_mm
    assert vent.side is sizes.gas_side
    assert vent.side not in {hole.side for hole in sizes.holes} | {pad.side for pad in sizes.pads}
    seat = box(vent.block)
    assert not any(seat.intersects(room.plan) for room in sizes.shell.rooms)
    for screw in sizes.shell.screws:
        assert seat.distance(shapely.Point(screw.at_mm)) > screw.radius_mm
    z = (vent.z0_mm + vent.z1_mm) / 2 - sizes.shell.levels.under_mm
    features = tub_features(sizes)
    here, below = plan_at(features, z), plan_at(features, z - vent.high_mm)
    x, y, _ = vent.middle_mm
    u, v = OUTWARD[vent.side]
    way = shapely.LineString([(x + 5 * u, y + 5 * v), (x - 15 * u, y - 15 * v)]).buffer(
        vent.wide_mm / 2 - 0.01, cap_style="flat"
    )
    cells = loop_polygon(sizes.shell.cells)
    assert here.intersection(way).difference(cells).area == pytest.approx(0.0, abs=1e-6)
    assert below.intersection(way).area > vent.wide_mm * pack.enclosure.wall_mm


def test_gas_gets_to_the_vent_and_out() -> None:
    """As much section as the gas of one cell needs; three times the gas is too much for it."""
    plan, pack = sealed_plan(), sealed_pack()
    for gas_l, holds in (("3", True), ("9", False)):
        asked = sealed_pack(gas_l=gas_l)
        way = gas_way(asked, plan.cell_layout, plan.interconnect, plan.enclosure)
        check = next(one for one in gas_way_checks(way) if one.id == "gas_way")
        assert check.holds is holds
        assert check.limit == pytest.approx(float(gas_l) / 3 * vent_in(sealed_sizes()).need_mm2)
        assert "enclosure.gasket" in check.source
    assert pack.enclosure.gasket is not None


def test_all_its_checks_hold() -> None:
    """Those of a gasket among those of the form; the open form has none of them."""
    plan = sealed_plan()
    checks = fitted_checks(
        plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block, sealed_sizes()
    )
    assert {one.id for one in checks} >= IDS
    assert [one.id for one in checks if not one.holds] == []


@pytest.mark.parametrize(
    ("check", "gasket"),
    [
        ("gasket_squeeze", {"opens_at_kpa": "8"}),
        ("gasket_bend", {"bend_radius_mm": "10"}),
        ("gasket_pull", {"opens_at_kpa": "20"}),
        ("vent_area", {"gas_l": "9"}),
        ("vent_pressure", {"opens_at_kpa": "20"}),
    ],
)
def test_a_check_fails(check: str, gasket: dict[str, str]) -> None:
    """By a key of the pack file, the walls as they were drawn for others."""
    sizes = sealed_sizes()
    assert judged(sealed_pack(), sizes)[check].holds
    failing = judged(sealed_pack(**gasket), sizes)[check]
    assert not failing.holds
    assert failing.remedy and failing.source


def test_a_screw_within_the_cord_fails() -> None:
    """Moved to its foot in the groove."""
    sizes = sealed_sizes()
    first, *others = sizes.shell.screws
    inside = loop_polygon(flange_in(sizes).cord)
    moved = replace(first, x_mm=inside.centroid.x, y_mm=inside.centroid.y)
    shell = replace(sizes.shell, screws=(moved, *others))
    assert not judged(sealed_pack(), replace(sizes, shell=shell))["gasket_screws"].holds


@pytest.mark.slow
@pytest.mark.parametrize(
    ("check", "gasket", "more"),
    [
        ("gasket_screws", {"flange_mm": "6.3"}, ""),
        ("gasket_outlets", {}, "leads: {wire_mm2: 0.75, outside_mm: 2.4}\n"),
        ("vent_area", {"vent_mm": "[6, 6]"}, ""),
        ("gasket_bend", {"bend_radius_mm": "10"}, ""),
    ],
)
def test_a_check_fails_in_its_own_walls(check: str, gasket: dict[str, str], more: str) -> None:
    """Designed for the pack file with which it fails."""
    pack = sealed_pack(more, **gasket)
    sizes = enclosure_of(sealed_plan(pack)).sizes
    assert [one for one, found in judged(pack, sizes).items() if not found.holds] == [check]


def test_a_cell_with_too_much_gas_is_refused_with_what_does() -> None:
    """The pressure that is told does, and a little less does not."""
    levels = sealed_sizes().shell.levels

    def opens(at_kpa: str) -> Pack:
        return sealed_pack(gas_l="30", opens_at_kpa=at_kpa)

    with pytest.raises(PlanError) as told:
        opening_mm(opens("0.5"), levels)
    assert told.value.field == "enclosure.gasket.opens_at_kpa"
    assert "mm higher than the wall between the holders takes" in told.value.why
    enough = float(told.value.remedy.split("use ")[1].split(" ")[0])
    wide, high, z0 = opening_mm(opens(f"{enough:g}"), levels)
    assert wide * high > 300.0 and z0 > 0.0
    with pytest.raises(PlanError):
        opening_mm(opens(f"{enough - 0.2:.1f}"), levels)
    with pytest.raises(PlanError) as given:
        opening_mm(sealed_pack(vent_mm="[10, 60]"), levels)
    assert given.value.field == "enclosure.gasket.vent_mm"


@pytest.mark.parametrize("stiff_n_mm2", [3e3, 3e4, 3e5])
def test_the_lid_between_screws_bends_as_a_beam_on_springs(stiff_n_mm2: float) -> None:
    """Against the same beam by finite differences; with weak springs q L4 / 384 E I (handbooks)."""
    load, spring, span, n = 0.4, 0.25, 70.0, 400
    step = span / n
    rows = np.zeros((n + 1, n + 1))
    right = np.full(n + 1, load)
    for k in range(2, n - 1):
        rows[k, k - 2 : k + 3] = np.array([1, -4, 6, -4, 1]) * stiff_n_mm2 / step**4
        rows[k, k] += spring
    for k, end, beside in ((0, 0, 1), (n, n, n - 1)):  # held: no lift, no slope at both ends
        rows[k, end], right[k] = 1.0, 0.0
        # w''' is not needed: slope 0 by a mirrored point
        rows[beside] = 0.0
        inner = 2 if end == 0 else n - 2
        third = 3 if end == 0 else n - 3
        rows[beside, beside] = 7.0 * stiff_n_mm2 / step**4 + spring
        rows[beside, inner] = -4.0 * stiff_n_mm2 / step**4
        rows[beside, third] = 1.0 * stiff_n_mm2 / step**4
        rows[beside, end] = -4.0 * stiff_n_mm2 / step**4
    middle = float(np.linalg.solve(rows, right)[n // 2])
    assert lift_mm(load, spring, span, stiff_n_mm2) == pytest.approx(middle, rel=2e-3)
    plain = load * span**4 / (384.0 * stiff_n_mm2)
    assert lift_mm(load, 1e-6, span, stiff_n_mm2) == pytest.approx(plain, rel=1e-3)


def test_screws_carry_cord_and_gas() -> None:
    """Together what pushes on the whole edge, chords for the bent one."""
    sizes, gasket = sealed_sizes(), gasket_in(sealed_pack())
    flange, screws = flange_in(sizes), sizes.shell.screws
    load = edge_load(gasket, flange)
    # 63 kPa at a quarter, evenly: 0.7 / 0.25 of it on 1 mm of a cord of 3
    assert load.cord_n_mm == pytest.approx(0.063 / 0.25 * 0.7)
    inside = loop_polygon(flange.cord)
    assert load.gas_n_mm == pytest.approx(1.7 * 0.003 * inside.area / inside.length)
    round_mm = sum(
        math.dist(a.at_mm, b.at_mm) for a, b in zip(screws, (*screws[1:], screws[0]), strict=True)
    )
    assert sum(pulls_n(gasket, flange, screws)) == pytest.approx(load.all_n_mm * round_mm)


def test_what_is_bought_and_done() -> None:
    """Cord as long as its groove, the vent's pull by pressure and area, what it does not stand."""
    enclosure, gasket = enclosure_of(sealed_plan()), gasket_in(sealed_pack())
    flange, vent = flange_in(enclosure.sizes), vent_in(enclosure.sizes)
    items = " ".join(one.item for one in enclosure.bill)
    assert f"{math.ceil(flange.cord_long_mm * 1.02)} mm in one length" in items
    assert "opens at 3 kPa" in items
    # to the middle of the sponge tape that runs round the opening
    pull = 0.003 * (vent.wide_mm + 6.0) * (vent.high_mm + 6.0)
    assert opening_pull_n(gasket, vent) == pytest.approx(pull)
    steps = " ".join(enclosure.closing_steps)
    assert f"let go at {pull:.2f} N" in steps and "before 31 cm" in steps
    assert "no gasketed enclosure" in " ".join(enclosure.cautions).lower()
    seal = enclosure.seal
    assert seal is not None and seal.long_mm == flange.cord_long_mm
    assert replace(enclosure, gasket=None).seal is None


@pytest.mark.slow
def test_tub_and_lid_are_sound_and_need_no_support() -> None:
    """One valid solid each, of its formula's volume; nothing hangs but over the vent's opening."""
    sizes = sealed_sizes()
    tub, lid = fitted_parts(sizes)
    assert_sound(tub, tub_formula_mm3(sizes), fine=1e-6)
    assert_sound(lid, lid_formula_mm3(sizes), fine=1e-6)
    features = tub_features(sizes)
    assert overhang_mm(features) == pytest.approx(vent_in(sizes).wide_mm / 2, abs=0.1)
    without = [one for one in features if one.name != "vent"]
    # in a sharp inner corner, and across a gap that closes, a little more bridges
    assert overhang_mm(without) <= STEP_MM + 0.25
    slope = [one for one in without if not one.name.startswith("slope")]
    assert len(without) - len(slope) == len(slope_of(flange_in(sizes)))
    assert overhang_mm(slope) > 3.0
    whole = drawn(features).volume_mm3()
    for name in ("flange", "slope 9", "vent block", "vent", "groove", "groove inner"):
        rest = [one for one in features if one.name != name]
        assert len(rest) == len(features) - 1
        rest = [one for one in rest if one.within != name]
        assert abs(drawn(rest).volume_mm3() - whole) > 1.0, name


@pytest.mark.slow
def test_the_whole_small_pack_holds() -> None:
    """All checks of its plan, vent path too."""
    checks = plan_checks(plan_pack(sealed_pack()), mass_kg=1.0)
    assert {one.id for one in checks} >= IDS | {"gas_way"}
    assert [one.id for one in checks if not one.holds] == []
