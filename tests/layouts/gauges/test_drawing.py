"""The fit gauge is one sound body that fits the bed, with what is told beside each opening."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from layouts.errors import PlanError
from layouts.gauges.drawing import gauge_features, gauge_part
from layouts.gauges.sizes import STEPS_MM, gauge_settings, gauge_sizes
from layouts.gauges.values import drawn_of
from layouts.printable.finding import Severity
from layouts.printable.judging import printability
from layouts.printable.limits import GAP_MM
from layouts.printing.estimate import effort_of
from layouts.printing.lines import part_lines
from layouts.printing.sections import layer_stack
from layouts.slabs.profile import loop_points_mm
from tests.layouts.parts.sound_parts import assert_every_feature_counts, assert_sound
from tests.oracles.gauge_formula import gauge_formula_mm3
from tests.samples import sample_pack

ENGINE_MM3 = 1e-8  # relative: points that all but touch are joined within the engine's snap


@pytest.mark.parametrize(
    "format",
    ["21700", *(pytest.param(one, marks=pytest.mark.slow) for one in ("18650", "26650", "32700"))],
)
def test_it_is_one_sound_body_of_the_formulas_volume(format: str) -> None:
    """Watertight, one body, on the bed, within it; about an hour and under 15 g at careful speeds
    for the two usual sizes of cell, and never half as much again."""
    pack = sample_pack(format=format)
    sizes = gauge_sizes(pack)
    part = gauge_part(sizes)
    body = assert_sound(part, gauge_formula_mm3(sizes), fine=ENGINE_MM3)
    assert body.extents == pytest.approx(sizes.lengths.long_mm)
    stack = layer_stack(part, pack.printer.layer_mm)
    effort = effort_of(part_lines(stack, gauge_settings(pack.printer)), pack.printer)
    assert effort.filament_g < 15.0
    assert effort.hours < (1.4 if format in ("18650", "21700") else 1.6)


def test_nothing_of_it_is_lost() -> None:
    """Every feature changes the volume; the first layer is one piece, and every check of printed
    shapes holds but for what the gauge is there to try: a wall of one line, the narrowest slots."""
    pack = sample_pack()
    sizes = gauge_sizes(pack)
    assert_every_feature_counts(gauge_features(sizes))
    part = gauge_part(sizes)
    stack = layer_stack(part, sizes.layer_mm)
    assert len(shapely.get_parts(stack.sections[stack.of[0]])) == 1
    judged = printability([part], pack.printer)
    failing = [one for one in judged.findings if one.severity is Severity.FAILS]
    assert {one.kind for one in failing} == {"print_walls", "print_gaps"}
    (wall,) = (one.value for one in failing if one.kind == "print_walls")
    assert wall == pytest.approx(pack.printer.line_wide_mm)
    gaps = sorted(one.value for one in failing if one.kind == "print_gaps")
    assert gaps == pytest.approx([one.wide_mm for one in sizes.slots if one.wide_mm < GAP_MM])


def test_a_gauge_is_drawn_for_any_can_nozzle_and_strip() -> None:
    """Webs at the foot are two lines or more; figures, walls and openings keep off each other,
    which the formula takes for granted; heights are whole layers."""
    pack = sample_pack()
    odd = (
        (12.0, 0.25, 0.1, 2.0, (-0.25, -0.2, -0.1, 0.0, 0.1)),
        (16.9, 0.6, 0.45, 30.0, (0.0, 0.1, 0.2, 0.3, 0.4)),
        (45.0, 1.2, 0.9, 12.0, (0.5, 0.8, 1.1, 1.4, 2.0)),
    )
    for can, nozzle, layer, strip, steps in odd:
        printer = replace(pack.printer, bed_mm=(250, 250, 250), nozzle_mm=nozzle, layer_mm=layer)
        sizes = gauge_sizes(
            replace(pack, printer=printer, strip=replace(pack.strip, row_width_mm=strip)),
            can_mm=can,
            steps_mm=steps,
        )
        drawing = gauge_part(sizes).drawing
        assert drawing.volume_mm3() == pytest.approx(gauge_formula_mm3(sizes), rel=ENGINE_MM3)
        rings = [(np.array(one.at_mm), one.diameter_mm / 2) for one in sizes.pockets]
        webs = [
            np.linalg.norm(a - b) - r - s
            for k, (a, r) in enumerate(rings)
            for b, s in rings[k + 1 :]
        ]
        assert min(webs) - 2 * max(sizes.relief_mm) > 2 * printer.line_wide_mm
        heights = (sizes.high_mm, sizes.wall_top_mm, sizes.post_top_mm, sizes.figure_deep_mm)
        layers = np.array(heights) / layer
        assert layers == pytest.approx(np.round(layers))
        assert len(sizes.notches) >= 2


def test_pockets_stand_at_the_honeycombs_pitch() -> None:
    """As the pack's own cells do: can, clearance and web."""
    pack = sample_pack()
    sizes = gauge_sizes(pack)
    first, second, third = (np.array(one.at_mm) for one in sizes.pockets[:3])
    pitch = pack.cell.diameter_mm + pack.holder.clearance_mm + pack.holder.web_mm
    for one, other in ((first, second), (second, third), (first, third)):
        assert np.linalg.norm(one - other) == pytest.approx(pitch)
    drawn = drawn_of(sizes)
    assert list(drawn.pockets) == ["0", "10", "20", "30", "40"]
    assert list(drawn.pockets.values()) == pytest.approx([21.3, 21.4, 21.5, 21.6, 21.7])
    assert list(drawn.screws) == ["1", "2", "3", "4"]
    assert list(drawn.notches) == ["1", "2", "3"] and list(drawn.slots) == list("123456")
    assert drawn.notches["1"] == pytest.approx(pack.strip.row_width_mm)


def test_a_bed_that_is_too_small_is_refused() -> None:
    """A rectangular one by its sides less its free edge; a round one too."""
    pack = sample_pack()
    fits = replace(pack.printer, bed_mm=(106.0, 106.0, 100.0))
    assert gauge_sizes(replace(pack, printer=fits)).lengths.long_mm[:2] == (100.0, 100.0)
    for bed in ((105.9, 106.0, 100.0), (106.0, 106.0, 23.0)):
        with pytest.raises(PlanError, match=r"^printer\.bed_mm: is too small for the fit gauge"):
            gauge_sizes(replace(pack, printer=replace(fits, bed_mm=bed)))
    small = replace(fits, bed_mm=(105.0, 105.0, 90.0), bed_round_mm=(148.5, 90.0))
    with pytest.raises(PlanError, match=r"^printer\.bed_round_mm: .*\(148\.5 x 90\)"):
        gauge_sizes(replace(pack, printer=small))


def test_figures_keep_off_openings_and_each_other() -> None:
    """By 0.3 mm at least, so that no sliver stands between; each lies beside its own opening."""
    for format, steps in (("18650", (-0.25, -0.2, -0.15, -0.1, -0.05)), ("21700", STEPS_MM)):
        sizes = gauge_sizes(sample_pack(format=format), steps_mm=steps)
        by_name = {feature.name: feature.loops for feature in gauge_features(sizes)}
        shapes = {
            name: [shapely.Polygon(loop_points_mm(loop, 0.005)) for loop in by_name[name]]
            for name in ("openings", "notches", "walls", "post", "signs")
        }
        signs = shapes.pop("signs")
        others = shapely.union_all([one for rows in shapes.values() for one in rows])
        assert shapely.distance(shapely.union_all(signs), others) > 0.3
        assert sum(one.area for one in signs) == pytest.approx(shapely.union_all(signs).area)
        holes = (*sizes.pockets, *sizes.inserts, *sizes.screws)
        middles = np.array([one.at_mm for one in holes])
        for k, one in enumerate(holes):
            to = np.linalg.norm(middles - np.array(one.says_at_mm), axis=1)
            rims = to - np.array([other.diameter_mm / 2 for other in holes])
            assert np.argmin(rims) == k, one
