"""What fusible necks can and can't do: checked, and told, from the pack file. Values invented."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from generators.electrical_rows import electrical_row
from generators.fixes.fixing import CANDIDATES
from generators.packfile.resolve import parse_pack
from generators.report.plate_work import plate_rework, plates_and_test_welds
from generators.result import plain, plate_rows
from layouts.electrical.cell_fuses import (
    OPENS_MOST_S,
    cell_fuse_cautions,
    cell_fuse_checks,
    cell_fuse_words,
)
from layouts.electrical.plan import electrical_plan
from layouts.electrical.values import Electrical
from layouts.pack import Pack
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.planning.steps import interconnected, laid_out

NECKS = "cell_fuse_mm: [1, 3], "
FILE = """
name: seed-drill
cell: {{format: "21700", capacity_ah: 4.0, continuous_a: 15.0, internal_resistance_mohm: {mohm}}}
series: 2
parallel: {parallel}
strip: {{{fuse}weld_spots: 4}}
load: {{continuous_a: {amps}}}
printer: {{bed_mm: [400, 400, 300]}}
enclosure: {{style: none}}
"""


def read(parallel: int, fuse: str, *, amps: float = 20.0, mohm: float = 18.0) -> Pack:
    """A pack of two groups."""
    text = FILE.format(parallel=parallel, fuse=fuse, amps=amps, mohm=mohm)
    return parse_pack(text.encode(), "x.yaml").pack


@cache
def planned(parallel: int) -> PackPlan:
    """The whole of one with necks."""
    return plan_pack(read(parallel, NECKS))


@cache
def electrical(
    parallel: int, fuse: str, *, amps: float = 20.0, mohm: float = 18.0
) -> tuple[Pack, Electrical]:
    """The electrical side alone."""
    plan = interconnected(laid_out(read(parallel, fuse, amps=amps, mohm=mohm)))
    return plan.pack, electrical_plan(plan.pack, plan.cell_layout, plan.interconnect)


def failing(of: Electrical) -> set[str]:
    """Ids of the checks of necks that do not hold."""
    found = {check.id for check in of.checks if not check.holds}
    return {check_id for check_id in found if check_id.startswith("cell_fuse")}


def test_six_cells_in_parallel_melt_the_neck_of_a_shorted_one() -> None:
    """All checks of necks hold, and the figures follow from each other."""
    plan = planned(6)
    ids = [check.id for check in plan.electrical.checks if check.id.startswith("cell_fuse")]
    assert ids == ["cell_fuse_peak_a", "cell_fuse_opens_s", "cell_fuse_others_a"]
    assert failing(plan.electrical) == set() and set(ids) <= set(CANDIDATES)
    of = plan.electrical.cell_fuses
    assert of is not None and of.count == 12
    assert of.ohm == pytest.approx(9.6e-8 * 3.0e-3 / (1.0e-3 * 0.15e-3))
    assert of.melts_a < of.melts_most_a
    # five empty cells in parallel into the sixth, welds of 0.4 mohm / 4 at both ends of each
    cell_ohm = 18.0e-3 + 2 * 0.1e-3 + of.ohm
    assert of.driven_a == pytest.approx(plan.pack.cell.empty_v / (cell_ohm / 5 + cell_ohm))
    assert of.each_other_a == pytest.approx(of.driven_a / 5)
    assert of.opens_s is not None and of.opens_s < OPENS_MOST_S
    most = float(abs(plan.electrical.shares.cell).max())
    assert of.peak_a >= 20.0 * most


@pytest.mark.parametrize(
    ("parallel", "more", "amps", "mohm", "fails"),
    [
        # 25 A a cell: more than 0.4 of what melts a neck of nickel 0.15
        (2, "material: nickel, thickness_mm: 0.15, ", 50.0, 18.0,
         {"cell_fuse_peak_a", "cell_fuse_others_a"}),
        # weak cells drive too little into the shorted one
        (2, "", 5.0, 90.0, {"cell_fuse_opens_s"}),
        # one other cell: its own neck carries the same current
        (2, "", 5.0, 18.0, {"cell_fuse_others_a"}),
    ],
)  # fmt: skip
def test_each_check_of_necks_fails_where_it_must(
    parallel: int, more: str, amps: float, mohm: float, fails: set[str]
) -> None:
    """By the pack file alone; each with its figure and its limit."""
    _, found = electrical(parallel, NECKS + more, amps=amps, mohm=mohm)
    assert failing(found) == fails
    checks = {check.id: check for check in found.checks}
    for one in fails:
        value, limit = checks[one].value, checks[one].limit
        assert limit is not None and (value is None or value > limit)


def test_fewer_than_six_cells_are_cautioned() -> None:
    """And six are not; nothing is said of a pack without necks."""
    pack, few = electrical(2, NECKS, amps=5.0)
    enough, (_, none) = planned(6).electrical, electrical(2, "")
    assert [text for text in few.cautions if "fusible necks: with 2" in text]
    assert not [text for text in enough.cautions if "fusible" in text]
    assert none.cell_fuses is None and not [text for text in none.advice if "neck" in text]
    for told in (cell_fuse_checks, cell_fuse_words):
        assert told(None) == ()
    assert cell_fuse_cautions(pack, None) == ()


def test_report_build_sheet_and_result_tell_what_a_neck_can_not_do() -> None:
    """In the same words; a neck that the fault does not melt is told so."""
    plan = planned(6)
    words = cell_fuse_words(plan.electrical.cell_fuses)
    told = " ".join(words)
    assert set(words) <= set(plan.electrical.advice)
    for text in ("one cell's volts", "never breaks the pack's voltage",
                 "no replacement for the main fuse"):  # fmt: skip
        assert text in told
    assert any(told in step for step in plates_and_test_welds(plan).steps)
    bare = replace(plan, electrical=replace(plan.electrical, cell_fuses=None))
    assert not any("neck" in step for step in plates_and_test_welds(bare).steps)
    assert plate_rework(plan).startswith("Cut all fusible necks")
    of = plan.electrical.cell_fuses
    assert of is not None
    slow = " ".join(cell_fuse_words(replace(of, opens_s=None)))
    assert "does not melt its neck within 1 s" in slow
    row = electrical_row(plan.pack, plan.electrical, plain)["cell_fuse"]
    assert row["melts_a"] == pytest.approx(of.melts_a, abs=1e-6) and len(row["times"]) == 2
    plates = plate_rows(plan.cell_layout, plan.interconnect, plan.electrical, upper_z_mm=70.0)
    necks = [neck for plate in plates for neck in plate.get("cell_fuses", [])]
    assert len(necks) == of.count and necks[0]["width_mm"] == 1.0
