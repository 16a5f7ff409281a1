"""Solids whose areas, spans and angles follow from their drawing by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from layouts.parts.feature import Feature
from layouts.parts.part import Part
from layouts.printable.beginnings import BEGINNINGS
from layouts.printable.ceilings import BRIDGES, CEILINGS, ceilings_of
from layouts.printable.finding import Severity
from layouts.printable.floors import FLOORS
from layouts.printable.judging import PRINT_CHECKS, printability
from layouts.printable.layers import PartLayers
from layouts.printable.leaning import LEANING
from layouts.slabs.bore import through
from layouts.slabs.profile import circle, polygon
from tests.layouts.printable.solids import PRINTER, cut, lean_to, look_at, slab, stand
from tests.layouts.printing.shapes import block, rectangle

GROWN = 0.2  # the layer below carries as far as it is high: 45 degrees


def test_both_wings_of_a_t_are_free() -> None:
    """10 wide below, 30 above, 20 deep: two wings of 9.8 x 20 with nothing at their ends."""
    t = stand(slab(rectangle(-5, 0, 5, 20), 0, 20), slab(rectangle(-15, 0, 15, 20), 20, 25))
    look = look_at(CEILINGS, t)
    assert sum(one.value for one in look.findings) == pytest.approx(2 * (10 - GROWN) * 20, abs=0.2)
    assert {one.severity for one in look.findings} == {Severity.FAILS}
    assert {one.at_mm[2] for one in look.findings} == {20.0}
    assert [one.region.area for one in look.findings] == pytest.approx([196.0, 196.0], abs=0.1)
    assert look_at(BRIDGES, t).worst == 0.0


def gate(clear_mm: float, deep_mm: float = 8.0) -> Part:
    """Two posts and a slab across, so far apart."""
    far = 5.0 + clear_mm
    return stand(
        slab(rectangle(0, 0, 5, deep_mm), 0, 10),
        slab(rectangle(far, 0, far + 5, deep_mm), 0, 10),
        slab(rectangle(0, 0, far + 5, deep_mm), 10, 13),
    )


def test_a_bridge_is_carried_over_its_span() -> None:
    """20 mm between posts, 8 deep: 156.8 mm2, all of it carried, along x."""
    (ceiling,) = ceilings_of(PartLayers(gate(20.0), PRINTER))
    assert ceiling.piece.area == pytest.approx(156.8, abs=0.1)
    assert ceiling.bridge.carried == pytest.approx(1.0)
    assert ceiling.bridge.span_mm == pytest.approx(19.6, abs=0.02)
    assert ceiling.bridge.turn_deg == 0.0
    assert look_at(CEILINGS, gate(20.0)).findings == ()


@pytest.mark.parametrize(
    ("clear_mm", "deep_mm", "severity"),
    [
        (9.0, 8.0, None), (15.0, 8.0, Severity.WARNS), (26.0, 8.0, Severity.FAILS),
        (15.0, 1.45, Severity.WARNS), (9.0, 1.45, None),
    ],
)  # fmt: skip
def test_a_span_warns_and_then_fails(
    clear_mm: float, deep_mm: float, severity: Severity | None
) -> None:
    """Above 10 mm and above 20 mm; a web of three lines likewise."""
    look = look_at(BRIDGES, gate(clear_mm, deep_mm))
    assert look.worst == pytest.approx(clear_mm - 2 * GROWN, abs=0.05)
    assert [one.severity for one in look.findings] == ([] if severity is None else [severity])
    assert look_at(CEILINGS, gate(clear_mm, deep_mm)).findings == ()


def test_a_long_thin_web_falls() -> None:
    """Lines along the rims carry no farther than other lines do."""
    assert len(look_at(BRIDGES, gate(26.0, 1.45)).findings) == 1


def bent_web(*more: Feature) -> Part:
    """Two arms of 14 mm, 1.45 wide, from posts at both ends up to a bend at (0, 8.6)."""
    arms = [(-16.0, 0.0), (0.0, 7.0), (16.0, 0.0), (16.0, 1.6), (0.0, 8.6), (-16.0, 1.6)]
    return stand(
        slab(rectangle(-18, -13, -14, 3), 0, 4),
        slab(rectangle(14, -13, 18, 3), 0, 4),
        slab(rectangle(-18, -16, 18, -13), 0, 4),
        slab(polygon(arms), 2, 4),
        *more,
    )


def test_lines_go_round_a_bend_that_rests() -> None:
    """A web in a zigzag has no straight line from end to end. Where a post touches its bend from
    outside both arms are carried along their rims; without it the lines are too long."""
    (hung,) = look_at(CEILINGS, bent_web()).findings
    assert hung.value == pytest.approx(hung.region.area, rel=0.01)
    post = slab(rectangle(-3, 8, 3, 20), 0, 4)
    far = slab(rectangle(-3, 20, 21, 23), 0, 4), slab(rectangle(18, -16, 21, 23), 0, 4)
    assert look_at(CEILINGS, bent_web(post, *far)).findings == ()
    look = look_at(BRIDGES, bent_web(post, *far))
    assert [one.severity for one in look.findings] == [Severity.WARNS]
    # from the post to where the web's edge passes y = 8: 0.6 x 16 / 7 = 1.37 beside the bend
    assert look.worst == pytest.approx(math.hypot(14 - 1.37, 12.63 * 7 / 16), abs=1.0)


def test_a_narrow_ledge_is_free() -> None:
    """1.0 wide and 60 long on a wall: narrow, but no end of its lines rests near."""
    ledge = stand(slab(rectangle(0, 0, 60, 5), 0, 6), slab(rectangle(0, -1, 60, 5), 4, 6))
    (found,) = look_at(CEILINGS, ledge).findings
    assert found.value == pytest.approx((1.0 - GROWN) * 60, abs=0.5)


def test_what_is_narrower_than_a_line_is_silent() -> None:
    """0.6 mm out: the layer below carries 0.2, a line of 0.45 lies half on it."""
    lip = stand(slab(rectangle(0, 0, 60, 5), 0, 6), slab(rectangle(0, -0.6, 60, 5), 4, 6))
    assert look_at(CEILINGS, lip).worst == 0.0


@pytest.mark.parametrize("deg", [40.0, 45.0, 50.0, 60.0])
def test_a_face_leans_by_its_angle(deg: float) -> None:
    """Up to 45 degrees nothing; beyond, the angle, and the area of a rectangle set aslant."""
    look = look_at(LEANING, lean_to(deg))
    if deg <= 45.0:
        assert look.findings == ()
        return
    (found,) = look.findings
    assert found.value == look.worst == pytest.approx(deg, abs=1e-6)
    area = 12.0 * math.hypot(10.0 * math.tan(math.radians(deg)), 10.0)
    assert found.what.startswith(f"{area:.0f} mm2 lean out")
    assert found.region.area == pytest.approx(12.0 * 10.0 * math.tan(math.radians(deg)))


@pytest.mark.parametrize(
    ("radius_mm", "layer_mm", "fails"), [(2.75, 0.2, False), (2.85, 0.3, False), (25.0, 0.2, True)]
)
def test_the_crown_of_a_small_bore_is_an_arch(
    radius_mm: float, layer_mm: float, fails: bool
) -> None:
    """Sideways through a block of 24: holes of screws and inserts print, one of 50 mm does not."""
    bore = through((40.0, 0.0, 30.0), (0.0, 1.0, 0.0), radius_mm, 24.0)
    bored = stand(slab(rectangle(0, 0, 80, 24), 0, 60), bores=(bore,))
    look = CEILINGS.look(PartLayers(bored, replace(PRINTER, layer_mm=layer_mm)))
    assert bool(look.findings) is fails


def test_a_piece_begins_over_nothing() -> None:
    """A foot that hangs from a roof: 4 x 4, at the height at which it begins."""
    hung = stand(
        slab(rectangle(0, 0, 20, 20), 0, 2),
        slab(rectangle(0, 0, 4, 4), 2, 8),
        slab(rectangle(30, 0, 34, 4), 5, 8),
        slab(rectangle(0, 0, 34, 4), 8, 9),
    )
    (found,) = look_at(BEGINNINGS, hung).findings
    assert found.value == pytest.approx(16.0)
    assert found.at_mm[2] == pytest.approx(5.0)
    assert look_at(BEGINNINGS, gate(20.0)).worst == 0.0


def test_a_floor_of_two_layers_is_thin() -> None:
    """20 x 20 with a block of 5 x 20 on it: 300 mm2 of 0.4; with three layers none."""
    for high, thin in ((0.4, [300.0]), (0.6, [])):
        floor = stand(slab(rectangle(0, 0, 20, 20), 0, high), slab(rectangle(0, 0, 5, 20), 0, 5))
        assert [one.value for one in look_at(FLOORS, floor).findings] == pytest.approx(thin)


def test_what_stands_thin_on_something_is_no_floor() -> None:
    """A sign of one layer on a block, and a groove of one layer in it."""
    sign = slab(rectangle(5, 5, 9, 9), 4, 4.2)
    groove = cut(circle((15.0, 10.0), 3.0), 3.8, 4)
    on_it = stand(slab(rectangle(0, 0, 20, 20), 0, 4), groove, sign)
    assert look_at(FLOORS, on_it).worst == 0.0
    stroke = cut(rectangle(5, 5, 6, 15), 0, 0.4)  # leaves two layers over it, 1 mm wide
    plate = stand(slab(rectangle(0, 0, 20, 20), 0, 0.8), stroke)
    assert look_at(FLOORS, plate).findings == ()
    hollow = cut(rectangle(5, 5, 8, 15), 0, 0.4)
    thin = stand(slab(rectangle(0, 0, 20, 20), 0, 0.8), hollow)
    assert [one.value for one in look_at(FLOORS, thin).findings] == pytest.approx([30.0])


def test_each_kind_is_one_check_over_all_parts() -> None:
    """The worst of all parts with its place; a kind without findings passes."""
    t = stand(slab(rectangle(-5, 0, 5, 20), 0, 20), slab(rectangle(-15, 0, 15, 20), 20, 25))
    told = printability([block(20.0, 20.0, 5.0), t, gate(15.0)], PRINTER)
    checks = {check.id: check for check in told.checks}
    assert list(checks) == [kind.id for kind in PRINT_CHECKS if not kind.only_told]
    failing = checks["print_ceilings"]
    assert (failing.holds, failing.limit, failing.unit) == (False, 5.0, "mm2")
    assert failing.value == pytest.approx(196.0, abs=0.1)
    assert failing.where.startswith("piece at x ")
    assert failing.where.endswith("z 20.0 mm as printed, and 1 more")
    assert [one.id for one in told.checks if not one.holds] == ["print_ceilings"]
    assert checks["print_bridges"].value == pytest.approx(14.6, abs=0.05)
    severities = [one.severity for one in told.findings]
    assert severities == [Severity.FAILS, Severity.FAILS, Severity.WARNS]


@pytest.mark.parametrize(("deg", "fails"), [(45.0, False), (52.0, True), (60.0, True)])
def test_steps_lean_as_a_face_does(deg: float, fails: bool) -> None:
    """Steps of one layer, each narrower than a line: told by how far they get in a few layers."""
    out = 0.2 * math.tan(math.radians(deg))
    steps = [slab(rectangle(0, 0, 10 + k * out, 12), 5 + 0.2 * k, 8) for k in range(1, 11)]
    stepped = stand(slab(rectangle(0, 0, 10, 12), 0, 10), *steps)
    look = look_at(LEANING, stepped)
    assert [one.severity for one in look.findings] == [Severity.FAILS] * fails
    assert look.worst == (pytest.approx(deg, abs=0.5) if fails else 0.0)
    if deg < 60.0:
        assert look_at(CEILINGS, stepped).worst == 0.0


def test_nothing_rests_beside_a_loose_pin() -> None:
    """A narrow bridge of 15; a pin that goes on past it, 0.5 beside it, changes nothing, one that
    ends a layer below its middle leaves two of 5."""
    feet = [slab(rectangle(x, 0, x + 5, 0.9), 0, 10) for x in (-5, 15)]
    bare = stand(*feet, slab(rectangle(-5, 0, 20, 0.9), 10, 12))

    def span_mm(*pins: Feature) -> float | None:
        loose = tuple(stand(pin).drawing for pin in pins)
        return look_at(BRIDGES, replace(bare, supports=loose)).worst

    assert span_mm() == pytest.approx(15.0, abs=0.5)
    assert span_mm(slab(rectangle(5, 1.4, 10, 7), 0, 11)) == span_mm()
    assert span_mm(slab(rectangle(5, -1, 10, 3), 0, 9.8)) == pytest.approx(5.0, abs=0.5)
