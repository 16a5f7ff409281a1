"""The fitted lid as a solid."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from layouts.enclosures.fitted.lid import LEAST_LIP_MM, lid_drawing, lid_features, lip_gaps
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.parts import fitted_parts
from layouts.enclosures.fitted.shell import LIP_DEEP_MM, LIP_PLAY_MM
from layouts.enclosures.printed import LID_COLOUR, TUB_COLOUR
from tests.layouts.enclosures.fitted.hand_made import PACKS, cornered, hand_made
from tests.layouts.enclosures.fitted.levels import overhang_mm, plan_at
from tests.layouts.enclosures.fitted.sound import sound
from tests.layouts.parts.sound_parts import assert_every_feature_counts, manifold
from tests.oracles.fitted_formula import lid_formula_mm3
from tests.sampled import sampled

SMALL = ("3S2P", "4S3P")


@pytest.mark.parametrize("name", sampled(PACKS, lambda n: n == "3S2P"))
def test_lid_lies_on_the_tub_and_in_nothing(name: str) -> None:
    """Sound by their formulas; placed lid and tub touch at the rim and share no volume; 0.1 lower
    they would."""
    sizes = cornered(name)
    tub, lid = (body.copy() for body in sound(name))
    levels = sizes.shell.levels
    assert lid.bounds[1][2] == pytest.approx(levels.lid_mm)
    assert lid.bounds[0][2] == pytest.approx(levels.rim_mm - LIP_DEEP_MM)
    assert abs((manifold(lid) ^ manifold(tub)).volume()) < 0.01
    for screw in sizes.shell.screws:
        points = [(*screw.at_mm, levels.rim_mm + 1.0), (*screw.at_mm, levels.rim_mm - 1.0)]
        assert not lid.contains(points).any() and not tub.contains(points).any()
    lid.apply_translation((0.0, 0.0, -0.1))
    assert (manifold(lid) ^ manifold(tub)).volume() > 1.0


def test_formula_notices_a_changed_part() -> None:
    """A hole, pad or screw more or less in the body alone breaks the agreement."""
    sizes = hand_made("3S2P")
    true = lid_formula_mm3(sizes)
    assert lid_drawing(sizes).volume_mm3() == pytest.approx(true, rel=1e-6)
    for other in (
        replace(sizes, support_pads_lid=sizes.support_pads_lid[1:]),
        replace(sizes, shell=replace(sizes.shell, screws=sizes.shell.screws[1:])),
        replace(sizes, lid_hole_radius_mm=sizes.lid_hole_radius_mm + 0.05),
    ):
        assert abs(lid_drawing(other).volume_mm3() - true) > 1e-5 * true


def test_every_feature_changes_the_volume() -> None:
    """A feature left out of the lid's list shows in its volume."""
    assert_every_feature_counts(lid_features(hand_made("3S2P")))


@pytest.mark.parametrize("name", sampled(SMALL, lambda n: n == "3S2P"))
def test_nothing_of_the_lid_hangs(name: str) -> None:
    """Each slab lies within the one below it."""
    assert overhang_mm(lid_features(hand_made(name))) == 0.0


@pytest.mark.parametrize("name", sampled(PACKS, lambda n: n in SMALL))
def test_lip_keeps_its_play_and_no_thin_skin(name: str) -> None:
    """Off walls and bosses by the play everywhere; opened by half the least lip it loses only
    corners."""
    sizes = hand_made(name)
    shell = sizes.shell
    lip = shapely.transform(
        plan_at(lid_features(sizes), sizes.shell.levels.lid_mm - shell.levels.rim_mm + 8.0),
        lambda xy: xy * (-1.0, 1.0),
    )
    bosses = [shapely.Point(s.at_mm).buffer(s.radius_mm, quad_segs=64) for s in shell.screws]
    tub = shapely.union_all([loop_polygon(shell.outer), *bosses])
    assert lip.distance(tub) == pytest.approx(LIP_PLAY_MM, abs=0.02)
    half = LEAST_LIP_MM / 2 - 0.03
    thin = lip.difference(lip.buffer(-half).buffer(half + 0.02))
    assert all(part.area < 0.6 for part in shapely.get_parts(thin))
    for part in shapely.get_parts(lip):
        assert part.area > 3.0  # no peg


def test_a_boss_that_would_leave_a_skin_opens_the_lip() -> None:
    """One in a hollow under a straight lip: a round a little into it stays, a deeper one opens it;
    a lip farther off has no gap."""
    shell = hand_made("4S3P").shell
    hollow = [s for s in shell.screws if s.at_mm in [q.centre_mm for q in shell.inner.seats]]
    lip = loop_polygon(shell.lip_outer).difference(loop_polygon(shell.lip_inner))
    forms: dict[int, list[float]] = {}
    for screw in hollow:
        (x, y), (u, v) = screw.at_mm, screw.foot_mm
        for out in (-4.0, -3.0, -2.5, -2.0, -1.5, -1.0, -0.5, 0.0):
            way = out / 4.4
            moved = replace(screw, x_mm=x + way * (x - u), y_mm=y + way * (y - v))
            gaps = lip_gaps(replace(shell, screws=(moved,)))
            depth = moved.radius_mm + LIP_PLAY_MM - lip.distance(shapely.Point(moved.at_mm))
            forms.setdefault(len(gaps) and len(gaps[0]), []).append(depth)
    assert max(forms[0]) <= 0.01
    assert forms[4] and min(forms[4]) > 0.3


def test_parts_are_named_and_told_how_to_print() -> None:
    """Names, roles and colours as of every enclosure; the note counts what takes no insert."""
    sizes = hand_made("4S3P")
    tub, lid = fitted_parts(sizes)
    assert [(p.name, p.role, p.colour) for p in (tub, lid)] == [
        ("tub", "tub", TUB_COLOUR),
        ("lid", "lid", LID_COLOUR),
    ]
    assert sizes.pads and "mounting pads" in tub.print_note
    assert "mounting pads" not in fitted_parts(replace(sizes, pads=()))[0].print_note
    screws = sizes.shell.screws
    all_small = tuple(replace(screw, insert=False) for screw in screws)
    small = replace(sizes, shell=replace(sizes.shell, screws=all_small))
    told = f"The {len(screws)} small bosses take no insert"
    assert len(screws) > 1 and told in fitted_parts(small)[0].print_note
    one = replace(sizes, shell=replace(sizes.shell, screws=all_small[-1:]))
    assert "The small boss takes no insert: its screw" in fitted_parts(one)[0].print_note
    inserts = tuple(screw for screw in screws if screw.insert)
    only = replace(sizes, shell=replace(sizes.shell, screws=inserts))
    assert "small" not in fitted_parts(only)[0].print_note
