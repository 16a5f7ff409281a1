"""Candidates of a pack, and the loop over layouts of a real one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layouts.cells.choice import lay_block
from layouts.cells.fields import BlockShape, block_shapes
from layouts.pack import EnclosureStyle, Pack, Side
from layouts.parts.outside import outside_points
from layouts.planning.candidates import Candidate, candidate_miss_mm, candidates_of, pack_with
from layouts.planning.estimate import ENVELOPE_OFF_MM, envelope
from layouts.planning.pack_plan import completed, plan_pack
from layouts.planning.scoring import outside_score
from layouts.planning.search import best_outside
from layouts.planning.steps import OutsidePlan, outside_plan
from layouts.spaces.space import box_space
from layouts.suggesting.judging import planned_outside
from tests.samples import sample_pack


def test_a_pack_asks_for_one_candidate() -> None:
    """With it the pack is what it was."""
    pack = sample_pack(4, 2)
    (one,) = candidates_of(pack)
    assert one.layout is None
    assert pack_with(pack, one) == pack


def test_a_candidate_changes_what_the_pack_asks_for() -> None:
    """Form, kind of bracket and pose, nothing else."""
    pack = sample_pack(4, 2)
    other = Candidate(layout=None, form=EnclosureStyle.NONE, bracket_kind="flat", pose=Side.MINUS_Y)
    asked = pack_with(pack, other)
    assert asked.enclosure.style is EnclosureStyle.NONE
    assert asked.mount.kind == "flat"
    assert asked.leads.side is Side.MINUS_Y
    (same,) = candidates_of(pack)
    assert pack_with(asked, same) == pack


def longest_and_best(pack: Pack) -> tuple[Candidate, Candidate]:
    """The longest field that there is, and the one that the pack would get."""
    (best,) = candidates_of(pack)
    found = list(block_shapes(pack.series, pack.parallel, pack.lattice))

    def length(shape: BlockShape) -> float:
        return max(lay_block(pack, shape, estimate=envelope)[1].outside_mm)

    return replace(best, layout=max(found, key=length)), best


def test_an_estimate_misses_a_small_space_and_not_a_large_one() -> None:
    """Without a space, or held cells alone, nothing is missed; the pose turns the box."""
    pack = sample_pack(4, 2)
    (one,) = candidates_of(pack)
    assert candidate_miss_mm(pack, one) == 0.0
    large = replace(pack, space=box_space((500.0, 500.0, 500.0)))
    assert candidate_miss_mm(large, one) < 0
    small = replace(pack, space=box_space((500.0, 50.0, 500.0)))
    miss = candidate_miss_mm(small, one)
    assert miss > 0
    assert candidate_miss_mm(small, replace(one, pose=Side.PLUS_Y)) != pytest.approx(miss)
    assert candidate_miss_mm(small, replace(one, form=EnclosureStyle.NONE)) == 0.0


@pytest.mark.slow
def test_of_two_layouts_the_one_that_fits_is_planned() -> None:
    """The long one is left out by its estimate and told as the nearest; one outside is planned."""
    free = sample_pack(6, 2, format="18650")
    long, compact = longest_and_best(free)
    plan = plan_pack(free)
    x, y, z = (np.ptp(outside_points(planned_outside(free).pieces), axis=0) + 1.0).tolist()
    pack = replace(free, space=box_space((x, y, z)))
    assert candidate_miss_mm(pack, long) > ENVELOPE_OFF_MM
    planned: list[Candidate] = []

    def outside(one: Candidate) -> OutsidePlan:
        planned.append(one)
        return outside_plan(pack_with(pack, one), shape=one.layout)

    found = best_outside(
        (long, compact),
        miss_mm=lambda one: candidate_miss_mm(pack, one),
        miss_off_mm=ENVELOPE_OFF_MM,
        plan_outside=outside,
        score=outside_score,
    )
    assert planned == [compact]
    assert found.nearest is not None and found.nearest[0] is long
    assert found.score is not None and found.score.good
    done = completed(found.outside)
    assert np.array_equal(done.cell_layout.xy_mm, plan.cell_layout.xy_mm)


def test_a_score_tells_an_outside_that_does_not_fit() -> None:
    """The same outside in a space a millimetre too low; pieces are those that are printed."""
    pack = sample_pack(2, 2)
    told = planned_outside(pack)
    plan, high = told.plan, float(np.ptp(outside_points(told.pieces)[:, 2]))
    for spare, fits in ((1.0, True), (-1.0, False)):
        space = box_space((600.0, 600.0, high + spare))
        score = outside_score(replace(plan, pack=replace(pack, space=space)))
        assert score.fits is fits
    assert score.failed == 0
    assert score.pieces == 2 + 2 + len(plan.enclosure.pads)  # holders, tub and lid, brackets
    weak = replace(plan, pack=replace(pack, leads=replace(pack.leads, outside_mm=60.0)))
    assert outside_score(weak).failed > 0
