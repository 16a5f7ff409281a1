"""Shorts: sound packs hold, each fault is found by the check meant for it, gaps as measured."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from layouts.cells.spacing import can_spacing
from layouts.holders.fastening import fastening_checks
from layouts.pack import EnclosureStyle, Face, Lattice, Surroundings
from layouts.placing.values import Effort
from layouts.planning.pack_plan import plan_pack
from layouts.shorts.bare import ANYWHERE, FLOATING, Bare
from layouts.shorts.checks import failing_spots, short_checks
from layouts.shorts.metal import Metal
from layouts.shorts.nearest import least_to_spare, required_spacing
from layouts.shorts.over_metal import least_over_metal
from layouts.shorts.short_check import in_a_closed_box, shorts
from layouts.shorts.values import Kind
from layouts.strips.checks import strip_checks
from layouts.strips.joints import net_of_group
from layouts.strips.lip import seat_checks
from layouts.strips.lip_checks import lip_checks
from tests.layouts.enclosed import enclosed_pack
from tests.layouts.placed_packs import ELL, HULL, placed_pack
from tests.layouts.shorts.seeded import FAULTS, Fault, Plan, judged, sound_plan
from tests.samples import sample_pack

IDS = (
    "short_strips",
    "short_cans",
    "short_metal",
    "short_surface",
    "ring_present",
    "wrong_join",
    "links_present",
)


def failing(plan: Plan) -> set[str]:
    """Ids of all checks on cells, strips, lip, posts and shorts that don't hold."""
    pack, cell_layout, interconnect = plan.pack, plan.cell_layout, plan.interconnect
    checks = (
        *short_checks(judged(plan)),
        can_spacing(pack, cell_layout),
        *strip_checks(pack, cell_layout, interconnect),
        *lip_checks(pack, cell_layout, interconnect),
        *seat_checks(pack, cell_layout, interconnect),
        *fastening_checks(pack, cell_layout, interconnect, plan.cell_block),
    )
    return {check.id for check in checks if not check.holds}


@pytest.mark.one_in(3)
@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_each_fault_is_found_by_the_check_meant_for_it(fault: Fault) -> None:
    """And nothing else fails but what is listed to follow from the same fault."""
    plan = sound_plan(*fault.packs)
    assert failing(plan) == set()
    assert failing(fault.put_in(plan)) == {fault.meant} | fault.follows


@pytest.mark.parametrize(
    "fault",
    [fault for fault in FAULTS if fault.meant in ("wrong_join", "links_present")],
    ids=lambda fault: fault.name,
)
def test_no_distance_is_required_of_cells_that_belong_together(fault: Fault) -> None:
    """Nor of those that a strip joins wrongly: what is there to spare is the whole gap."""
    report = judged(fault.put_in(sound_plan(*fault.packs)))
    spots = (*report.wrong_joins, *report.missing_links)
    assert len(spots) > 0
    for spot in spots:
        assert spot.margin_mm == spot.gap_mm == pytest.approx(np.hypot(*np.ptp(spot.ends_mm, 0)))
        assert (spot.volts > 0.0) is (spot.kind is Kind.JOIN)


@pytest.mark.parametrize(
    ("format", "lattice"), [("21700", Lattice.HONEYCOMB), ("26650", Lattice.GRID)]
)
def test_sound_packs_hold(format: str, lattice: Lattice) -> None:
    """A sample of the packs below, both end groups on one face or on two."""
    for series, parallel in ((1, 1), (2, 3), (3, 1), (7, 2), (8, 4)):
        made = enclosed_pack(sample_pack(series, parallel, format=format, lattice=lattice))
        report = shorts(
            made.pack, made.cell_layout, made.interconnect, made.cell_block, made.screws
        )
        assert [c.id for c in short_checks(report)] == list(IDS)
        assert [c for c in short_checks(report) if not c.holds] == []
        assert failing_spots(report) == ()


@pytest.mark.slow
@pytest.mark.parametrize(("outline", "series", "parallel"), [(ELL, 7, 4), (HULL, 13, 3)])
def test_packs_placed_in_an_outline_hold(
    outline: tuple[tuple[float, float], ...], series: int, parallel: int
) -> None:
    """Cells in odd shapes, no enclosure of their own: the tie posts' metal alone is known."""
    plan = plan_pack(placed_pack(series, parallel, outline), effort=Effort.QUICK)
    report = shorts(plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block, ())
    assert [c for c in short_checks(report) if not c.holds] == []
    assert report.pollution_degree == 3  # what the pack goes into is unknown


@pytest.mark.slow
@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize("format", ["18650", "21700", "26650", "32700"])
def test_every_small_pack_holds(format: str, lattice: Lattice) -> None:
    """1 to 8 in series, 1 to 4 in parallel."""
    for series in range(1, 9):
        for parallel in range(1, 5):
            made = enclosed_pack(sample_pack(series, parallel, format=format, lattice=lattice))
            report = shorts(
                made.pack, made.cell_layout, made.interconnect, made.cell_block, made.screws
            )
            assert [c for c in short_checks(report) if not c.holds] == []


def test_gaps_against_polygons_grown_for_real() -> None:
    """The worst gaps of all pairs, each part buffered by its tolerances, pair by pair."""
    plan = sound_plan()
    pack, cell_layout, report = plan.pack, plan.cell_layout, judged(plan)
    strip_off = 0.25 + 0.2 + 0.2  # half the play, welding, print
    can = 21.30 / 2 + 0.125 + 0.2  # half the clearance, print
    strips, cans = [], []
    for face in (Face.LOWER, Face.UPPER):
        node = net_of_group(cell_layout.group, face)
        laid = [s for s in plan.interconnect.strips if s.face is face]
        grown = [shapely.Polygon(s.outline_mm).buffer(strip_off, quad_segs=64) for s in laid]
        for i, one in enumerate(grown):
            mine = node[laid[i].cells[0]]
            for j in range(i):
                if node[laid[j].cells[0]] != mine:
                    strips.append(one.distance(grown[j]))
            for k, at in enumerate(cell_layout.xy_mm):
                foreign = node[k] != mine
                potential = 2 * mine + (face is Face.UPPER)
                if foreign and cell_layout.group[k] - 1 != potential:
                    cans.append(one.distance(shapely.Point(at).buffer(can, quad_segs=64)))
    assert report.strips is not None and report.cans is not None
    assert report.strips.gap_mm == pytest.approx(min(strips), abs=1e-3)
    assert report.cans.gap_mm == pytest.approx(min(cans), abs=1e-3)
    assert pack.cell.diameter_mm == 21.30 and report.strips.need_mm == 0.8


def test_surface_way_worked_by_hand() -> None:
    """Two bare ends side by side on a grid: web and lip between the windows, 1.6 up and down."""
    made = enclosed_pack(sample_pack(3, 1, lattice=Lattice.GRID))
    pack = made.pack
    cell_block = replace(made.cell_block, posts=())
    bare = replace(made.interconnect, strips=(), stack_mm=np.zeros((2, 3)))
    report = shorts(pack, made.cell_layout, bare, cell_block, ())
    spot = report.surface
    assert spot is not None and spot.volts == pytest.approx(8.4)
    # lower face: groups 2 and 3 are one potential, 1 is the other; the caps' seat takes 0.4
    land = pack.pitch_mm - pack.holder.window_mm - 2 * 0.2
    assert spot.gap_mm == pytest.approx(land + 1.6 + 1.2)
    assert spot.need_mm == 1.0


def test_a_tiles_joint_has_no_sides_to_climb() -> None:
    """The same ends in two tiles of the holder: the way leads through the joint, straight."""
    made = enclosed_pack(sample_pack(2, 1, lattice=Lattice.GRID))
    cell_block = replace(made.cell_block, posts=())
    bare = replace(made.interconnect, strips=(), stack_mm=np.zeros((2, 2)))
    ways = []
    for tile in ([0, 0], [0, 1]):
        cell_layout = replace(made.cell_layout, tile=np.array(tile))
        spot = shorts(made.pack, cell_layout, bare, cell_block, ()).surface
        assert spot is not None
        ways.append(spot.gap_mm)
    assert ways[0] - ways[1] == pytest.approx(1.6 + 1.2)


def parts_at(places: list[tuple[float, float]], potential: list[int]) -> Bare:
    """Round bare parts of radius 1, each a node of its own; loose metal where it says so."""
    count = len(places)
    zero = np.zeros(count)
    return Bare(
        shapes=shapely.points(np.array(places)),
        radius_mm=np.ones(count),
        potential=np.array(potential),
        node=np.where(np.array(potential) == FLOATING, ANYWHERE, np.arange(count)),
        wall_mm=zero,
        tile=np.zeros(count, dtype=np.int64),
        low_mm=zero,
        high_mm=zero,
        name=lambda k: f"part {k + 1}",
    )


@pytest.mark.parametrize(
    ("ways", "counted"), [((2.0, 1.7), 3.7), ((2.0, 1.4), 2.0), ((0.4, 1.4), 0.0)]
)
def test_ways_to_loose_metal_and_on_are_added(ways: tuple[float, float], counted: float) -> None:
    """Worked by hand: what is narrower than 1.5 mm is bridged by dirt and counts as none."""
    required = required_spacing(series=6, full_v=4.0, closed=False, floor_mm=0.0)
    bare = parts_at([(0.0, 0.0), (4.0 + sum(ways), 0.0)], [0, 3])
    metal = Metal(parts=parts_at([(2.0 + ways[0], 0.0)], [FLOATING]), body=np.array([0]))
    spot = least_over_metal([(Face.UPPER, bare)], metal, required)
    assert spot is not None
    assert spot.gap_mm == pytest.approx(counted)
    assert (spot.volts, spot.need_mm) == (12.0, 1.25)
    alone = parts_at([(0.0, 0.0)], [0])
    assert least_over_metal([(Face.UPPER, alone)], metal, required) is None


def test_head_and_nut_are_one_piece() -> None:
    """A strip near the head and one near the nut come together over the screw between them."""
    required = required_spacing(series=6, full_v=4.0, closed=False, floor_mm=0.0)
    upper, lower = parts_at([(0.0, 0.0)], [1]), parts_at([(60.0, 0.0)], [4])
    both = parts_at([(4.0, 0.0), (56.4, 0.0)], [FLOATING, FLOATING])
    openings = [(Face.UPPER, upper), (Face.LOWER, lower)]
    one = least_over_metal(openings, Metal(parts=both, body=np.array([0, 0])), required)
    assert one is not None and one.gap_mm == pytest.approx(2.0 + 1.6)
    assert one.face is Face.LOWER  # the shorter way is shown
    assert least_over_metal(openings, Metal(parts=both, body=np.array([0, 1])), required) is None


def test_the_nearest_pair_is_not_always_the_worst() -> None:
    """A far part of many volts has less to spare than a near one of few."""
    required = required_spacing(series=60, full_v=4.0, closed=False, floor_mm=0.0)
    bare = parts_at([(0.0, 0.0), (4.0, 0.0), (7.5, 0.0)], [0, 1, 60])
    spot = least_to_spare(bare, bare, required, kind=Kind.SURFACE, face=Face.UPPER, pitch_mm=20.0)
    assert spot is not None and spot.parts == ("part 2", "part 3")
    assert spot.gap_mm == pytest.approx(1.5) and spot.need_mm == 4.0
    alone = parts_at([(0.0, 0.0), (3.5, 0.0), (9.5, 0.0)], [0, 1, 60])
    spot = least_to_spare(alone, alone, required, kind=Kind.SURFACE, face=Face.UPPER, pitch_mm=20.0)
    assert spot is not None and spot.margin_mm == pytest.approx(0.0)


def test_pollution_degree_of_the_enclosure() -> None:
    """3 in an open tub, a splashed or an unknown place; 2 in a closed dry one."""
    pack = sample_pack(6, 3)
    closed = replace(pack.enclosure, vent="closed")
    assert not in_a_closed_box(pack)
    assert in_a_closed_box(replace(pack, enclosure=closed))
    for case in (
        replace(closed, surroundings=Surroundings.SPLASHED),
        replace(closed, style=EnclosureStyle.NONE),
    ):
        assert not in_a_closed_box(replace(pack, enclosure=case))
    plan = sound_plan()
    report = judged(replace(plan, pack=replace(pack, enclosure=closed)))
    assert report.pollution_degree == 2 and report.strips is not None
    assert report.strips.need_mm == 0.2  # 8.4 V through air


def test_a_floor_below_what_is_there_holds_and_is_told() -> None:
    """It takes the place of the table's smaller figures."""
    plan = sound_plan()
    report = judged(replace(plan, pack=replace(plan.pack, spacing_floor_mm=1.5)))
    assert report.strips is not None and report.strips.need_mm == 1.5
    checks = short_checks(report)
    assert all(check.holds for check in checks)
    assert all(
        "at least 1.5 mm as required in the pack file" in check.source for check in checks[:4]
    )


def test_above_the_table_the_check_says_so() -> None:
    """More than 1000 V between parts near each other: fails, without a limit."""
    fault = next(fault for fault in FAULTS if fault.name == "more volts than the table has")
    checks = {c.id: c for c in short_checks(judged(fault.put_in(sound_plan(*fault.packs))))}
    assert checks["short_surface"].limit is None and not checks["short_surface"].holds
    assert "the table ends at 1000 V" in checks["short_surface"].remedy


def test_one_cell_alone_has_nothing_near() -> None:
    """No other potential on a face but the screws'."""
    report = judged(sound_plan(1, 1))
    assert report.strips is None and report.cans is None
    checks = short_checks(report)
    assert all(check.holds for check in checks)
    assert checks[0].where == "no other potential within three pitches"


def test_metal_of_the_enclosure_is_looked_at() -> None:
    """A lid screw's insert moved to a strip's tail is found, at its own height only."""
    plan = sound_plan()
    k = next(k for k, screw in enumerate(plan.screws) if screw.where == "lid to tub")
    strip = next(s for s in plan.interconnect.strips if s.name == "upper-5-6-row-2")
    for face, found in ((Face.UPPER, True), (Face.LOWER, False)):
        x, y = strip.end_mm if face is Face.UPPER else (strip.end_mm[0], -strip.end_mm[1])
        screws = list(plan.screws)
        z = float(screws[k].at_mm[2]) - (0.0 if face is Face.UPPER else 30.0)
        screws[k] = replace(screws[k], at_mm=np.array((x, y, z)))
        spot = judged(replace(plan, screws=tuple(screws))).metal
        assert spot is not None
        assert (spot.margin_mm < 0 and "insert of lid screw" in spot.parts[1]) is found


def test_the_same_plan_gives_the_same_report() -> None:
    """Down to the parts named."""
    one, other = judged(sound_plan()), judged(sound_plan())
    assert short_checks(one) == short_checks(other)
    assert one.surface is not None and one.surface.kind is Kind.SURFACE
