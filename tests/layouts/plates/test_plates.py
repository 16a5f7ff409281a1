"""Plates of whole packs: counts, lip, gas, currents, order of welding, tails. Packs invented."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

import numpy as np
import pytest
import shapely

from generators.packfile.resolve import parse_pack
from layouts.brackets.loads import guessed_mass_kg
from layouts.currents.network import solve
from layouts.currents.plates import conducting
from layouts.currents.strips import plate_network, spread_ratio
from layouts.electrical.plate_choice import PlateTrial, choose_plates
from layouts.enclosures.gas_way import free_windows_mm2
from layouts.errors import PlanError
from layouts.pack import Face
from layouts.placing.values import Effort
from layouts.planning.pack_plan import PackPlan, plan_checks, plan_pack
from layouts.planning.plates import _check_whole
from layouts.plates.labour import plate_labour, spots_for, strip_labour
from layouts.plates.sizes import free_beyond_mm2, plate_sizes
from layouts.plates.spots import plate_spots
from layouts.plates.welding_order import weld_steps
from layouts.plates.whole import is_open
from layouts.strips.field import STEP_MM, sheet_field
from layouts.strips.free_window import LEAST_FREE_MM2
from layouts.strips.lip import CORNER_MM, positive_end
from layouts.strips.lip_checks import lip_states

TEN = """name: gate-opener
cell: {format: "21700", chemistry: nmc, capacity_ah: 4.8, continuous_a: 10,
  internal_resistance_mohm: 14, mass_g: 69, measured_diameter_mm: 21.2}
series: 10
parallel: 4
load: {continuous_a: 20, ambient_c: 25}
"""
GRID = """name: pond-skimmer
cell: {format: "18650", chemistry: nmc, capacity_ah: 2.5, continuous_a: 8,
  internal_resistance_mohm: 20, mass_g: 47}
series: 5
parallel: 3
lattice: grid
load: {continuous_a: 9, ambient_c: 25}
"""


@cache
def planned(text: str, joints: str = "plates") -> PackPlan:
    """The plan of a pack file's text."""
    whole = f"{text}strip: {{joints: {joints}}}\n"
    return plan_pack(parse_pack(whole.encode(), "x.yaml").pack, effort=Effort.QUICK)


PACKS = pytest.mark.parametrize("text", [TEN, GRID], ids=["honeycomb", "grid"])


def test_ten_by_four_takes_thirteen_pieces_and_320_spots() -> None:
    """Eleven sheets and two bars, four spots on each of 80 can ends; far less work than strips."""
    plan = planned(TEN)
    labour = plate_labour(plan.interconnect.plates)
    assert (labour.pieces, labour.spots, labour.shots) == (13, 320, 160)
    strips = strip_labour(plan.pack, planned(TEN, "links").interconnect)
    assert strips.pieces > 5 * labour.pieces
    assert strips.minutes > 2 * labour.minutes


@pytest.mark.slow
def test_the_trolley_shares_and_loses_within_its_limits() -> None:
    """At most 18 % imbalance and 2.8 mohm in all joints, one layer of nickel over each can end."""
    text = files("layouts.examples").joinpath("orchard-trolley.yaml").read_text(encoding="utf-8")
    plan = planned(text)
    assert all(len(plate.layers) == 1 for plate in plan.interconnect.plates)
    assert {plate.layers[0].material for plate in plan.interconnect.plates} == {"nickel"}
    electrical = plan.electrical
    assert electrical.shares.spread_ratio <= 0.18
    lost = electrical.reference
    ohm = (lost.strip_w + lost.tail_w) / lost.load_a**2
    assert ohm <= 2.8e-3


@PACKS
def test_the_lip_holds_and_gas_gets_out(text: str) -> None:
    """Every can end by the lip's rule; 30 mm2 through window and ring's hole at positive ends."""
    plan = planned(text)
    states = lip_states(plan.pack, plan.cell_layout, plan.interconnect)
    for face in (Face.LOWER, Face.UPPER):
        assert states[face].holds.all()
        free = free_windows_mm2(plan.pack, plan.cell_layout, plan.interconnect, face)
        assert free[positive_end(plan.cell_layout, face)].min() >= LEAST_FREE_MM2 - 0.1


@PACKS
def test_every_check_of_the_plan_holds(text: str) -> None:
    """Of a pack with the tool's own choice, as heavy as walls and brackets are sized for."""
    plan = planned(text)
    checks = plan_checks(plan, mass_kg=guessed_mass_kg(plan.pack))
    assert [check.id for check in checks if not check.holds] == []


@PACKS
def test_a_plate_lies_over_its_cells_and_clear_of_all_others(text: str) -> None:
    """Each can end's middle under its own plate alone; plates of a face 1.5 mm apart."""
    plan = planned(text)
    for face in (Face.LOWER, Face.UPPER):
        plates = [one for one in plan.interconnect.plates if one.face is face]
        owner = {cell: k for k, plate in enumerate(plates) for cell in plate.cells}
        assert sorted(owner) == list(range(len(plan.cell_layout.xy_mm)))
        for cell, at in enumerate(plan.cell_layout.xy_mm):
            over = [k for k, plate in enumerate(plates) if plate.shape.covers(shapely.Point(at))]
            assert over == [owner[cell]]
        for k, plate in enumerate(plates):
            for other in plates[:k]:
                assert plate.shape.distance(other.shape) >= 1.5 - 1e-6


@PACKS
def test_every_joint_has_a_tail_or_a_bar_outside_of_the_holder(text: str) -> None:
    """S + 1 balance leads, each beginning past the cells; lead k lies above k groups."""
    plan = planned(text)
    leads = plan.interconnect.balance_leads
    assert [lead.number for lead in leads] == list(range(plan.pack.series + 1))
    edge = plan.cell_layout.xy_mm[:, 0].max() + plan.pack.pocket_mm / 2
    assert all(lead.tail_mm is not None and lead.tail_mm[0] > edge for lead in leads)


def test_like_currents_with_a_finer_raster() -> None:
    """Half the step: conductances within 1 %."""
    plan = planned(GRID)
    found = []
    for step in (STEP_MM, STEP_MM / 2):
        plates = []
        for plate in plan.interconnect.plates:
            xy = plan.cell_layout.xy_mm[list(plate.cells)]
            contacts = list(shapely.buffer(shapely.points(xy), 2.5))
            siemens = 0.15e-3 / 9.6e-8
            plates.append(sheet_field(plate.body, contacts, siemens, step_mm=step))
        found.append(np.array([field.conductance[0, 0] for field in plates]))
    assert found[0] == pytest.approx(found[1], rel=0.01)


def test_more_metal_is_taken_until_the_limits_are_kept() -> None:
    """At 70 A the thinnest sheet shares too unevenly or gets too warm: thicker ones are tried."""
    plan = planned(TEN)
    offer = choose_plates(plan.pack, plan.cell_layout, plan.interconnect.plates, load_a=140.0)
    assert len(offer.trials) > 1
    first, last = offer.trials[0], offer.taken
    assert first.missed
    assert last.ohm < first.ohm
    assert max(last.inner_rise_k, last.end_rise_k) < max(first.inner_rise_k, first.end_rise_k)


def test_a_trial_says_which_limit_is_missed() -> None:
    """Each limit by itself, both sides of it."""
    good = PlateTrial(
        inner=(), end=(), inner_rise_k=9.9, end_rise_k=9.9, most_ratio=1.099, spread_ratio=0.1,
        lost_ratio=0.0199, ohm=1e-3,
    )  # fmt: skip
    assert good.holds
    for change, says in (
        ({"inner_rise_k": 10.1}, "K over the can ends"),
        ({"end_rise_k": 10.1}, "K over the can ends"),
        ({"most_ratio": 1.101}, "above its group's mean"),
        ({"lost_ratio": 0.0201}, "of the volts lost"),
    ):
        values = {name: getattr(good, name) for name in PlateTrial.__dataclass_fields__}
        assert says in PlateTrial(**(values | change)).missed


def test_welding_keeps_the_bare_string_short() -> None:
    """10S: two groups on the first face; on the second no more than six of ten before the last."""
    steps = weld_steps(planned(TEN).interconnect.plates, series=10, full_v=4.2)
    faces = [planned(TEN).interconnect.plates[step.plate].face for step in steps]
    assert sorted(step.plate for step in steps) == list(range(11))
    assert faces == sorted(faces, key=lambda face: face is Face.UPPER)
    lower = [step for step, face in zip(steps, faces, strict=True) if face is Face.LOWER]
    assert max(step.groups for step in lower) == 2
    assert steps[-1].groups == 10
    assert steps[-2].groups <= 6
    assert steps[-1].volts == pytest.approx(42.0)


def test_spots_follow_the_worst_of_four() -> None:
    """Four up to 23.5 A at 8 A a spot, six above; never fewer than two shots."""
    assert spots_for(1.0, 8.0) == spots_for(23.5, 8.0) == 4
    assert spots_for(23.6, 8.0) == 6
    assert plate_spots(planned(TEN).cell_layout, planned(TEN).interconnect.plates[1]).shape == (
        8, 2, 2, 2,
    )  # fmt: skip


def test_a_segment_of_a_disc() -> None:
    """Half of it at its middle, none at its edge; 30 mm2 of a ring's hole of 14 at 3.5 mm."""
    assert free_beyond_mm2(7.0, 0.0) == pytest.approx(np.pi * 49.0 / 2.0)
    assert free_beyond_mm2(7.0, 7.0) == 0.0
    assert free_beyond_mm2(7.0, 3.5) == pytest.approx(30.09, abs=0.01)


@pytest.mark.parametrize("cell_format", ["18650", "21700", "26650", "32700"])
def test_a_hole_in_a_grids_gap_reaches_its_four_cans(cell_format: str) -> None:
    """Else no lip would stand round a cell amid others; and it stays clear of their windows."""
    text = f'name: pump\ncell: {{format: "{cell_format}"}}\nseries: 4\nparallel: 6\n'
    for lattice, root in (("grid", 2.0), ("honeycomb", 3.0)):
        pack = parse_pack(f"{text}lattice: {lattice}\n".encode(), "x.yaml").pack
        middle = pack.pitch_mm / np.sqrt(root)
        radius = plate_sizes(pack).hole_mm / 2.0
        assert middle - radius < pack.cell.diameter_mm / 2.0 - CORNER_MM
        assert middle - radius >= pack.holder.window_mm / 2.0


def test_gas_gets_past_a_tab_and_not_past_a_full_plate() -> None:
    """A tab of 6 mm over a ring's hole, and a plate as wide as the window."""
    pack = planned(TEN).pack
    at = np.array([3.0, 4.0])
    window = pack.holder.window_mm / 2.0
    assert is_open(pack, at, shapely.box(-20.0, 1.0, 20.0, 7.0))
    assert not is_open(pack, at, shapely.Point(at).buffer(window))


def test_currents_of_plates_balance() -> None:
    """What goes into each group comes out; a sheet more takes loss away everywhere."""
    plan = planned(GRID)
    flow = solve(plate_network(plan.pack, plan.cell_layout, plan.interconnect.plates).network, 9.0)
    each = np.bincount(plan.cell_layout.group - 1, weights=flow.cell_a)
    assert each == pytest.approx(np.full(5, 9.0))
    assert spread_ratio(plan.cell_layout.group, flow.cell_a) < 0.1
    again = conducting(plan.cell_layout, plan.interconnect.plates)
    assert again[0].conducts.ohm == pytest.approx(plan.interconnect.plates[0].conducts.ohm)


def test_a_torn_plate_is_refused_by_its_key() -> None:
    """A plate cut between its cells is no plate: the field and a way out are named."""
    plan = planned(GRID)
    plate = plan.interconnect.plates[1]
    x = float(plan.cell_layout.xy_mm[list(plate.cells), 0].mean())
    torn = plate.body.difference(shapely.box(x - 1.0, -500.0, x + 1.0, 500.0))
    values = {name: getattr(plate, name) for name in type(plate).__dataclass_fields__}
    with pytest.raises(PlanError, match=r"strip\.joints: leaves can ends of group"):
        _check_whole(plan.cell_layout, (type(plate)(**(values | {"body": torn})),))


def test_a_single_string_keeps_its_strips() -> None:
    """One cell in parallel: a straight strip is all there is."""
    plan = planned(TEN.replace("parallel: 4", "parallel: 1").replace("20", "5"))
    assert plan.interconnect.plates == ()
    assert plan.interconnect.strips
