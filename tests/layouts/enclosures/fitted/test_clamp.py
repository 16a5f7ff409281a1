"""The lid's clamp where flank posts are left out."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import replace

import pytest
import shapely

from layouts.checks import Check
from layouts.enclosures.fitted.checks import fitted_checks
from layouts.enclosures.fitted.clamp import clamp_site
from layouts.enclosures.fitted.clamp_checks import clamp_checks
from layouts.enclosures.fitted.clamp_springs import CORD_MM, cord_n_mm, disc_n, young_mpa
from layouts.enclosures.fitted.cord import PLINTH_MM
from layouts.enclosures.fitted.form import FittedEnclosure
from layouts.enclosures.fitted.lid import lid_drawing, lid_features, plinth_loops
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.parts import fitted_parts
from layouts.enclosures.fitted.sides import OUTWARD
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.holders.fastening import fastening_checks
from layouts.holders.shape import cell_block_shape
from layouts.pack import Face
from layouts.slabs.profile import Arc, segment_end, segment_start
from tests.layouts.enclosures.fitted.clamped import (
    block_plan,
    clamp_in,
    clamped_plan,
    clamped_sizes,
    pack_with,
)
from tests.layouts.enclosures.fitted.levels import overhang_mm
from tests.layouts.parts.sound_parts import assert_every_feature_counts, assert_sound
from tests.oracles.fitted_formula import lid_formula_mm3


def judged(sizes: FittedSizes) -> dict[str, Check]:
    """The clamp's checks by their ids."""
    plan = clamped_plan()
    checks = clamp_checks(plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block, sizes)
    return {check.id: check for check in checks}


@pytest.mark.parametrize(
    ("squeeze", "cord_n", "one_disc_n"),
    [(0.10, 0.94, 2.9), (0.15, 1.5, 4.6), (0.20, 2.1, 6.6), (0.22, 2.4, 7.5), (0.38, 5.6, 17.0)],
)
def test_springs_by_hand(squeeze: float, cord_n: float, one_disc_n: float) -> None:
    """Numbers worked out by hand for 40 Shore A: 1.69 MPa, cord 3 x 3, disc 4 x 3."""
    assert young_mpa() == pytest.approx(1.69, abs=0.01)
    assert cord_n_mm(squeeze) == pytest.approx(cord_n, rel=0.04)
    assert disc_n(squeeze) == pytest.approx(one_disc_n, rel=0.04)


def test_posts_left_out_make_the_held_cells_narrower() -> None:
    """By 6.5 mm across the flanks; those that stay stand within the cells' own box."""
    with_posts, without = (block_plan(flank_posts=one).cell_block for one in (True, False))
    (_, a0, _, a1), (x0, b0, x1, b1) = with_posts.box_mm, without.box_mm
    assert (a1 - a0) - (b1 - b0) == pytest.approx(6.5, abs=0.1)
    assert 0 < len(without.posts) < len(with_posts.posts)
    pack = pack_with(flank_posts=False)
    radius = pack.pocket_mm / 2 + pack.holder.wall_mm
    xy = block_plan(flank_posts=False).cell_layout.xy_mm
    assert (b0, b1) == pytest.approx((xy[:, 1].min() - radius, xy[:, 1].max() + radius))
    assert (x0, x1) == pytest.approx((xy[:, 0].min() - radius, xy[:, 0].max() + radius))


def test_posts_that_suffice_need_no_clamp() -> None:
    """With flank posts there is none; nor where the key leaves none out that is needed."""
    for flank_posts, has_clamp in ((True, False), (False, True)):
        plan = block_plan(flank_posts=flank_posts)
        site = clamp_site(plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block)
        assert (site is not None) is has_clamp
    many = block_plan(flank_posts=True)
    asked = pack_with(flank_posts=False)
    assert clamp_site(asked, many.cell_layout, many.interconnect, many.cell_block) is None


@pytest.mark.slow
def test_fastening_counts_what_the_lid_clamps() -> None:
    """Posts too far apart by themselves, two of them too few; with the clamp both checks hold."""
    plan = clamped_plan()
    assert plan.enclosure is not None
    few = replace(plan.cell_block, posts=plan.cell_block.posts[::3])
    args = (plan.pack, plan.cell_layout, plan.interconnect)
    alone = {check.id: check.holds for check in fastening_checks(*args, few)}
    assert not alone["tie_posts"] and not alone["post_spacing"]
    args = (*args, plan.cell_block)
    assert not {c.id: c for c in fastening_checks(*args)}["post_spacing"].holds
    held = {c.id: c for c in fastening_checks(*args, plan.enclosure.clamped_mm)}
    assert held["tie_posts"].holds and held["post_spacing"].holds
    assert "lid clamps" in held["tie_posts"].about and "clamped" in held["post_spacing"].about
    clamp = clamp_in(clamped_sizes())
    assert held["tie_posts"].value == len(plan.cell_block.posts) + len(clamp.at_mm)
    clamped = fastening_checks(*args[:3], few, plan.enclosure.clamped_mm)
    assert {c.id: c.holds for c in clamped}["tie_posts"]
    gas = clamped_sizes().gas_side
    assert gas is not None
    one_flank = [at for at in plan.enclosure.clamped_mm if at[0][1] * OUTWARD[gas][1] < 0]
    lacking = {c.id: c for c in fastening_checks(*args, one_flank)}
    assert not lacking["post_spacing"].holds and gas.value in lacking["post_spacing"].where


@pytest.mark.slow
def test_clamp_presses_on_plain_plastic_and_leaves_gas_its_way() -> None:
    """Cords within the holder's outline, off windows, metal and each other; none before the slots,
    where only discs stand."""
    plan, sizes = clamped_plan(), clamped_sizes()
    clamp, gas = clamp_in(sizes), sizes.gas_side
    assert gas is not None and clamp.cords and clamp.discs
    bands = [loop_polygon(cord.band(CORD_MM)) for cord in clamp.cords]
    held = cell_block_shape(plan.cell_block.outline)
    windows = shapely.union_all(
        shapely.buffer(shapely.points(plan.cell_layout.xy_mm), plan.pack.holder.window_mm / 2)
    )
    metal = shapely.union_all([one.shape for one in plan.interconnect.laid(Face.UPPER)])
    for band in bands:
        assert held.contains(band)
        assert windows.distance(band) > 0 and metal.distance(band) > 0
    for one, other in itertools.combinations(clamp.cords, 2):
        plinths = [loop_polygon(cord.band(PLINTH_MM)) for cord in (one, other)]
        assert plinths[0].distance(plinths[1]) > 0
    x, y = OUTWARD[gas]
    edge = max(x * a + y * b for a, b in plan.cell_layout.xy_mm)
    for cord in clamp.cords:
        on_rim = [p for p in cord.line.coords if x * p[0] + y * p[1] > edge]
        assert all(abs(p[0] * y) > 60.0 for p in on_rim)  # past the last crest's middle
    assert all(x * a + y * b > edge - plan.pack.pitch_mm / 2 for a, b in clamp.discs)
    inserts = {screw.at_mm for screw in sizes.shell.screws if screw.insert}
    for cord in clamp.cords:
        assert cord.screw_mm in inserts
        assert shapely.Point(cord.screw_mm).distance(cord.line) < 16.0
        assert 6.0 <= cord.long_mm <= 17.0


def test_a_band_is_closed_and_as_large_as_its_cord() -> None:
    """Segments meet; length times width by Green's theorem, as the middle line is in the middle."""
    for cord in clamp_in(clamped_sizes()).cords:
        band = cord.band(PLINTH_MM)
        for one, after in itertools.pairwise((*band, band[0])):
            assert math.dist(segment_end(one), segment_start(after)) < 1e-6
        assert loop_polygon(band).area == pytest.approx(cord.long_mm * PLINTH_MM, rel=2e-3)
        assert any(isinstance(one, Arc) for one in band)


def test_lid_carries_plinths_and_no_rigid_pad_where_it_clamps() -> None:
    """Silicone squeezed by 0.55 in the gap; the lid is sound, prints without support, and its
    volume is that of its formula; every feature counts."""
    sizes, pack = clamped_sizes(), pack_with(flank_posts=False)
    clamp = clamp_in(sizes)
    assert clamp.plinth_mm + 3.0 - 0.55 == pytest.approx(pack.enclosure.gas_gap_mm)
    assert pack.enclosure.lid_mm == 3.0 and pack_with(flank_posts=True).enclosure.lid_mm == 2.0
    assert all(pad.hole_radius_mm > 0 for pad in sizes.support_pads_lid)
    features = lid_features(sizes)
    (plinth,) = (one for one in features if one.name == "plinth")
    assert len(plinth.loops) == len(clamp.cords) + len(clamp.discs) == len(plinth_loops(clamp))
    assert plinth.z1_mm - plinth.z0_mm == pytest.approx(clamp.plinth_mm)
    assert overhang_mm(features) == 0.0
    assert_every_feature_counts(features)
    true = lid_formula_mm3(sizes)
    fewer = replace(sizes, clamp=replace(clamp, cords=clamp.cords[1:]))
    assert abs(lid_drawing(fewer).volume_mm3() - true) > 1e-4 * true
    assert lid_drawing(sizes).volume_mm3() == pytest.approx(true, rel=1e-6)
    tub, lid = fitted_parts(sizes)
    assert tub.drawing.volume_mm3() > 0
    assert "clamps the upper holder" in lid.print_note


@pytest.mark.slow
def test_clamped_parts_are_sound() -> None:
    """Tub with the screws added and lid with its plinths: solids and meshes."""
    tub, lid = fitted_parts(clamped_sizes())
    assert_sound(tub, tub.drawing.volume_mm3())
    assert_sound(lid, lid_formula_mm3(clamped_sizes()), fine=1e-6)


def test_gas_meets_the_plinths() -> None:
    """What stands over the upper face covers every plinth."""
    plan = clamped_plan()
    assert plan.enclosure is not None
    discs = plan.enclosure.gas_blocked[Face.UPPER]
    cover = shapely.union_all(shapely.buffer(shapely.points(discs[:, :2]), discs[:, 2]))
    for cord in clamp_in(clamped_sizes()).cords:
        assert loop_polygon(cord.band(0.9 * PLINTH_MM)).difference(cover).area < 2.0
        assert cover.covers(cord.line)


def test_bill_and_steps_name_all_that_is_bought() -> None:
    """Cord, discs, shims, foam and glass-fibre tape; how to gauge; nothing of it with posts."""
    plan = clamped_plan()
    assert plan.enclosure is not None
    items = {item.item: item.count for item in plan.enclosure.bill}
    clamp = clamp_in(clamped_sizes())
    for word, count in (("cord 3 x 3", len(clamp.cords)), ("disc 4 x 3", len(clamp.discs))):
        assert [n for item, n in items.items() if word in item] == [count]
    for word in ("shim", "foam tape", "glass-fibre tape"):
        assert sum(word in item for item in items) == 1
    assert "2 turns" in plan.enclosure.holding_steps[0]
    told = " ".join(plan.enclosure.closing_steps)
    assert "two opposite screws" in told and "15 to 22 %" in told
    assert "thicker than 2.55 mm" in told and "thinner than 2.34 mm" in told
    posts = enclosed_bill_with_posts()
    assert not any("silicone" in item or "glass-fibre" in item for item in posts)


def enclosed_bill_with_posts() -> list[str]:
    """Items of the same enclosure, had it no clamp."""
    plan = clamped_plan()
    assert isinstance(plan.enclosure, FittedEnclosure)
    bare = replace(plan.enclosure, sizes=replace(clamped_sizes(), clamp=None))
    return [item.item for item in bare.bill]


def with_one_disc(sizes: FittedSizes) -> FittedSizes:
    """Too little silicone."""
    clamp = clamp_in(sizes)
    return replace(sizes, clamp=replace(clamp, cords=(), discs=clamp.discs[:1]))


def with_all_cord_at_one_screw(sizes: FittedSizes) -> FittedSizes:
    """One insert bears it all."""
    clamp = clamp_in(sizes)
    at = clamp.cords[0].screw_mm
    cords = tuple(replace(cord, screw_mm=at) for cord in clamp.cords)
    return replace(sizes, clamp=replace(clamp, cords=cords))


def with_floor_pads_at_one_end(sizes: FittedSizes) -> FittedSizes:
    """Beneath the other end nothing bears."""
    pads = sorted(sizes.support_pads_floor, key=lambda pad: pad.x_mm)
    return replace(sizes, support_pads_floor=tuple(pads[:1]))


def with_cord_over_a_window(sizes: FittedSizes) -> FittedSizes:
    """The first cord 6 mm farther in."""
    clamp = clamp_in(sizes)
    first = clamp.cords[0]
    inward = -6.0 if first.middle_mm[1] > 0 else 6.0
    arcs = tuple(
        Arc((a.centre[0], a.centre[1] + inward), a.radius_mm, a.start_rad, a.sweep_rad)
        for a in first.arcs
    )
    cords = (replace(first, arcs=arcs), *clamp.cords[1:])
    return replace(sizes, clamp=replace(clamp, cords=cords))


def with_a_thin_lid(sizes: FittedSizes) -> FittedSizes:
    """Half as thick as one layer of a box's wall."""
    levels = replace(sizes.shell.levels, lid_mm=sizes.shell.levels.rim_mm + 1.2)
    return replace(sizes, shell=replace(sizes.shell, levels=levels))


FAULTS: list[tuple[Callable[[FittedSizes], FittedSizes], str]] = [
    (with_one_disc, "clamp_preload"),
    (with_all_cord_at_one_screw, "clamp_screws"),
    (with_floor_pads_at_one_end, "clamp_floor"),
    (with_cord_over_a_window, "clamp_clear"),
    (with_a_thin_lid, "clamp_lid"),
]


@pytest.mark.parametrize(("changed", "check"), FAULTS, ids=[one for _, one in FAULTS])
def test_each_check_fails_where_its_fault_is(
    changed: Callable[[FittedSizes], FittedSizes], check: str
) -> None:
    """It holds for the clamp as designed, and with the fault it fails with a way out."""
    sizes = clamped_sizes()
    assert judged(sizes)[check].holds
    found = judged(changed(sizes))[check]
    assert not found.holds and found.remedy


def test_clamp_checks_have_no_value_where_nothing_clamps() -> None:
    """Neither cord nor disc: all that needs them fails and says so."""
    sizes = clamped_sizes()
    bare = replace(sizes, clamp=replace(clamp_in(sizes), cords=(), discs=()))
    found = judged(bare)
    for one in ("clamp_preload", "clamp_floor", "clamp_clear"):
        assert not found[one].holds
    assert found["clamp_floor"].value is None and found["clamp_clear"].value is None


def test_all_of_the_enclosure_holds_and_asks_for_the_clamp() -> None:
    """Every check of the enclosure, the clamp's among them."""
    plan = clamped_plan()
    checks = fitted_checks(
        plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block, clamped_sizes()
    )
    assert all(check.holds for check in checks), [c.id for c in checks if not c.holds]
    assert {one for _, one in FAULTS} < {check.id for check in checks}
