"""Sound pack files: defaults filled in, what was measured or given wins."""

from __future__ import annotations

import pytest

from generators.packfile.printer_models import PrinterSection
from generators.packfile.resolve import read_pack
from generators.packfile.strip_models import StripSection
from layouts import defaults
from layouts.formats import cell_formats, chemistries, materials, screws
from layouts.pack import Bms, Controller, Lattice, MountShock, Side, Surroundings
from layouts.printer_spec import Filament, PrintSpeeds, PrintSpread
from layouts.ratings.bms import Port
from layouts.ratings.charge import Charger
from layouts.ratings.cycle import DutyCycle
from layouts.ratings.driving import DrivenMachine
from layouts.ratings.fuse import Fuse
from layouts.ratings.gearing import Gearing
from layouts.ratings.wire import AmpacityTable
from tests.generators.packfile.files import PLAIN, read

EVERY_KEY = """\
name: every-key
cell: {format: "21700", chemistry: nca, capacity_ah: 4.5, continuous_a: 12, peak_a: 30, peak_s: 8,
       charge_a: 4.5, internal_resistance_mohm: 14, ac_resistance_mohm: 9, mass_g: 68, max_c: 55,
       diameter_spread_mm: 0.02, mean_below_mm: 0.12, measured_diameter_mm: 21.2,
       measured_length_mm: 70.4, shortest_length_mm: 70.3,
       empty_v: 2.7, nominal_v: 3.65, full_v: 4.15, charge_c: [5, 40], discharge_least_c: -10}
series: 7
parallel: 3
lattice: grid
holder: {clearance_mm: 0.3, web_mm: 1.6, lip_mm: 1.8, depth_mm: 11.1, window_mm: 16, wall_mm: 2.4,
         ring_mm: 0.2, ring_hole_mm: 13, seat_mm: 0.6, web_recess_mm: 0.6, bar_mm: 0.9,
         channel_play_mm: 0.6, post_mm: 8.4, support_pins: false}
strip: {material: copper, row_width_mm: 7, link_width_mm: 9, lead_width_mm: 11, thickness_mm: 0.1,
        layers: 2, weld_spots: 6, weld_spot_mohm: 0.5, weld_spot_a: 9, current_density_a_mm2: 12,
        shape: ladder, stock_mm: 500, stock_width_mm: 90, joints: links,
        cell_fuse_mm: [1, 3]}
leads: {side: "-y", wire_mm2: 10, outside_mm: 7, length_mm: 500, table: cable_90, connector_a: 60}
fuse: {rating_a: 35, dc_v: 58, breaking_a: 2000, opens_multiple: 4}
taps: {awg: 20, fused: true}
bms: {board_mm: [100, 50, 11], continuous_a: 40, series: 7, charge_a: 10, port: common,
      cold_charge_stop: true}
disconnect: true
plates_to_cut:
  - {name: motor-plate, metal: aluminium-5083-H111, thickness_mm: 6, size_mm: [150, 90],
     corner_mm: 8, kerf_mm: 0.1,
     circles: [{at_mm: [50, 45], diameter_mm: 50, holes: 4, screw: M5, pilot_mm: 32,
                first_deg: 45}],
     holes: [{at_mm: [90, 20], screw: M4}],
     slots: [{at_mm: [120, 45], screw: M6, travel_mm: 18, along_deg: 90}]}
controller: {lowest_v: 18, cutoff_v: 19, highest_v: 36, capacitance_uf: 500}
charger: {volts_v: 29, amps_a: 5, chemistry: nca, wire_mm2: 1.5}
spacing_floor_mm: 2
enclosure: {style: tub, wall_mm: 2.8, floor_mm: 3.3, lid_mm: 2.7,
            surroundings: splashed, side_gap_mm: 1.5, gas_gap_mm: 4.2, insert_mm: 5,
            drains: false, wire_ways: true}
mount: {kind: angle, screw: M6, holes_mm: [[0, 0], [30, 5]], shock: {g: 12, ms: 9}}
space: {box_mm: [400, 300, 150], open_sides: ["+z"]}
load: {continuous_a: 20, peak_a: 40, peak_s: 6, ambient_c: 30, acceleration_g: [3, 3, 5],
       regeneration_a: 8, discharge_cutoff_v: 20, cycle: [[30, 5], [12, 60], [0, 20]],
       machine: {mass_kg: 150, speed_km_h: 14, slope_percent: 2, ground: grass, rolling_ratio: 0.05,
                 body: rider, drag_area_m2: 0.7, efficiency: 0.65, start_slope_percent: 9,
                 start_km_h: 7, start_s: 6,
                 gearing: {motor_rpm_per_v: 12, wheel_circumference_mm: 1400, motor_teeth: 13,
                           wheel_teeth: 52, motor_mohm: 90}}}
printer: {bed_mm: [250, 210, 200], edge_mm: 4, brim_mm: 5, nozzle_mm: 0.6, layer_mm: 0.3,
          hole_mm: 0.15, outside_mm: 0.08, shrink_percent: [0.4, 0.3, 0.1], foot_mm: 0.2,
          measured: 2026-03-31,
          line_mm: 0.7, wall_lines: 2, infill_percent: 20, top_layers: 4, bottom_layers: 3,
          speeds_mm_s: {outer: 50, inner: 70, small: 25, solid: 80, sparse: 110, top: 45,
                        bridge: 25, first: 22, travel: 180},
          acceleration_mm_s2: 2000, jerk_mm_s: 8, power_w: 150, tariff_per_kwh: 0.25, material: asa,
          spread: {scale_percent: 0.04, skew_percent: 0.02, place_mm: 0.02, pocket_mm: 0.03,
                   out_of_square_percent: 0.05},
          filament: {diameter_mm: 2.85, density_g_cm3: 1.05, price_per_kg: 30}}
"""


def test_the_shortest_file_gives_the_documented_defaults() -> None:
    """Every section equals what ``layouts.defaults`` says for the can, lattice and series."""
    pack = read(PLAIN).pack
    size = cell_formats()["21700"]
    assert (pack.name, pack.series, pack.parallel) == ("my-pack", 10, 4)
    assert pack.lattice is Lattice.HONEYCOMB
    assert pack.holder == defaults.holder(size)
    assert pack.strip == defaults.strip(size, Lattice.HONEYCOMB)
    assert pack.leads == defaults.leads()
    assert pack.bms == defaults.bms(10)
    assert pack.enclosure == defaults.enclosure()
    assert pack.mount == defaults.mount()
    assert pack.printer == defaults.printer()
    assert pack.space is None
    assert pack.load is None
    assert (pack.cell.diameter_mm, pack.cell.length_mm) == (size.diameter_mm, size.longest_mm)
    assert pack.cell.chemistry == "nmc"
    assert (pack.cell.empty_v, pack.cell.nominal_v, pack.cell.full_v) == (2.8, 3.6, 4.2)
    assert (pack.cell.peak_a, pack.cell.peak_s) == (None, None)


def test_every_key_reaches_the_pack() -> None:
    """With no value at its default, each given value stands in its field."""
    pack = read(EVERY_KEY).pack
    cell = pack.cell
    assert (cell.diameter_mm, cell.length_mm) == (21.2, 70.4)
    assert (cell.empty_v, cell.nominal_v, cell.full_v, cell.max_c) == (2.7, 3.65, 4.15, 55)
    assert (cell.capacity_ah, cell.continuous_a, cell.peak_a, cell.peak_s) == (4.5, 12, 30, 8)
    assert (cell.charge_a, cell.internal_resistance_mohm, cell.ac_resistance_mohm) == (4.5, 14, 9)
    assert (cell.format, cell.chemistry, cell.mass_g) == ("21700", "nca", 68)
    assert pack.lattice is Lattice.GRID
    plain = read(PLAIN).pack
    for section in ("holder", "strip", "leads", "enclosure", "printer"):
        given, default = getattr(pack, section), getattr(plain, section)
        same = {
            field
            for field in type(given).__dataclass_fields__
            if getattr(given, field) == getattr(default, field)
        }
        may = {"style", "vent", "screw", "flank_posts", "by_load", "gasket", "instead_of"}
        assert same <= may | {"bed_round_mm", "profile"}, section
    assert pack.holder.window_mm == 16
    assert pack.strip.lead_width_mm == 11
    assert pack.leads.side is Side.MINUS_Y
    assert pack.enclosure.surroundings is Surroundings.SPLASHED
    assert pack.bms == Bms(
        board_mm=(100, 50, 11), continuous_a=40, series=7, charge_a=10, port=Port.COMMON,
        cold_charge_stop=True,
    )  # fmt: skip
    assert pack.leads.table is AmpacityTable.CABLE_90
    assert pack.fuse == Fuse(rating_a=35, dc_v=58, breaking_a=2000, opens_multiple=4)
    assert (pack.taps.awg, pack.taps.fused, pack.disconnect) == (20, True, True)
    assert pack.controller == Controller(
        lowest_v=18, cutoff_v=19, highest_v=36, capacitance_f=500e-6
    )
    assert pack.charger == Charger(volts_v=29, amps_a=5, chemistry="nca", wire_mm2=1.5)
    assert pack.spacing_floor_mm == 2
    (plate,) = pack.plates_to_cut
    assert (plate.metal, plate.thickness_mm, plate.corner_mm) == ("aluminium-5083-H111", 6, 8)
    assert plate.circles[0].pilot_mm == 32 and plate.circles[0].first_deg == 45
    assert plate.slots[0].travel_mm == 18 and plate.holes[0].screw == "M4"
    assert (cell.charge_c, cell.discharge_least_c) == ((5, 40), -10)
    assert (pack.mount.screw, pack.mount.holes_mm) == ("M6", ((0, 0), (30, 5)))
    assert pack.mount.shock == MountShock(g=12, ms=9)
    assert pack.space is not None
    assert pack.space.box_mm == (400, 300, 150)
    assert pack.load is not None
    assert (pack.load.continuous_a, pack.load.peak_a, pack.load.peak_s) == (20, 40, 6)
    assert (pack.load.ambient_c, pack.load.acceleration_g) == (30, (3, 3, 5))
    assert (pack.load.regeneration_a, pack.load.discharge_cutoff_v) == (8, 20)
    assert pack.load.cycle == DutyCycle(amps=(30, 12, 0), seconds=(5, 60, 20))
    assert pack.load.machine == DrivenMachine(
        mass_kg=150, speed_km_h=14, slope_percent=2, rolling_ratio=0.05, drag_area_m2=0.7,
        efficiency=0.65, start_slope_percent=9, start_km_h=7, start_s=6,
        gearing=Gearing(motor_rpm_per_v=12, wheel_circumference_mm=1400, motor_teeth=13,
                        wheel_teeth=52, motor_mohm=90),
    )  # fmt: skip
    assert pack.printer.bed_mm == (250, 210, 200)
    assert pack.printer.speeds_mm_s == PrintSpeeds(
        outer=50, inner=70, small=25, solid=80, sparse=110, top=45, bridge=25, first=22, travel=180
    )
    assert (cell.diameter_spread_mm, cell.mean_below_mm) == (0.02, 0.12)
    assert pack.printer.spread == PrintSpread(
        scale_percent=0.04, skew_percent=0.02, place_mm=0.02, pocket_mm=0.03,
        out_of_square_percent=0.05,
        measured=(
            "out_of_square_percent", "place_mm", "pocket_mm", "scale_percent", "skew_percent",
        ),
    )  # fmt: skip
    assert pack.holder.clearance_given
    assert pack.printer.filament == Filament(diameter_mm=2.85, density_g_cm3=1.05, price_per_kg=30)


def test_a_round_bed_leaves_its_largest_square_for_the_parts() -> None:
    """Parts are cut for the square; beds are filled to the circle."""
    printer = read(PLAIN + "printer: {bed_round_mm: [300, 280]}\n").pack.printer
    assert printer.bed_round_mm == (300, 280)
    assert printer.bed_mm == (212.1, 212.1, 280)  # 300 / sqrt 2 = 212.13


@pytest.mark.parametrize("written", ['"21700"', "'21700'", "21700"])
def test_a_format_without_quotes_is_taken_as_text(written: str) -> None:
    """A can's name looks like a number, so the number is taken for the name."""
    pack = read(PLAIN.replace('"21700"', written)).pack
    assert pack.cell.format == "21700"


@pytest.mark.parametrize("name", sorted(cell_formats()))
@pytest.mark.parametrize("lattice", ["honeycomb", "grid"])
def test_every_built_in_format_is_sound_with_nothing_else_given(name: str, lattice: str) -> None:
    """The defaults of a can never break the rules between values."""
    text = f'name: a\ncell: {{format: "{name}"}}\nseries: 3\nparallel: 2\nlattice: {lattice}\n'
    read_back = read(text)
    assert read_back.pack.cell.mass_g == cell_formats()[name].mass_g
    assert read_back.pack.strip == defaults.strip(cell_formats()[name], Lattice(lattice))


@pytest.mark.parametrize(
    ("diameter_mm", "length_mm"), [(12, 25), (14.3, 50.5), (20.3, 70.2), (34, 61), (45, 150)]
)
def test_another_format_is_sound_from_what_was_measured(
    diameter_mm: float, length_mm: float
) -> None:
    """Over the whole range of sizes the rules' starting values make a pack without a fault."""
    size = f"measured_diameter_mm: {diameter_mm}, measured_length_mm: {length_mm}"
    text = PLAIN.replace('"21700"', f'"own-size", {size}')
    pack = read(text).pack
    assert (pack.cell.diameter_mm, pack.cell.length_mm) == (diameter_mm, length_mm)
    assert pack.holder.window_mm <= diameter_mm - 2
    assert pack.holder.depth_mm < length_mm / 2


def test_a_chemistry_of_ones_own_needs_just_its_volts() -> None:
    """With all three volts any word is a chemistry."""
    volts = "chemistry: sodium, empty_v: 1.5, nominal_v: 3.1, full_v: 4.0"
    cell = read(PLAIN.replace("chemistry: nmc", volts)).pack.cell
    assert (cell.chemistry, cell.empty_v, cell.nominal_v, cell.full_v) == ("sodium", 1.5, 3.1, 4.0)


def test_the_data_sheets_volts_win_one_by_one() -> None:
    """A single volt given leaves the chemistry's others."""
    cell = read(PLAIN.replace("chemistry: nmc", "chemistry: lfp, empty_v: 2.0")).pack.cell
    assert (cell.empty_v, cell.nominal_v, cell.full_v) == (2.0, 3.2, 3.65)


def test_a_leads_outside_follows_from_its_wire() -> None:
    """A thicker wire is thicker over its insulation unless measured."""
    assert read(PLAIN + "leads: {wire_mm2: 16}\n").pack.leads.outside_mm > 7.5
    assert read(PLAIN + "leads: {wire_mm2: 16, outside_mm: 9.1}\n").pack.leads.outside_mm == 9.1


def test_a_peak_without_a_time_lasts_ten_seconds() -> None:
    """For the cell and for the load alike."""
    text = PLAIN.replace("mass_g: 69", "mass_g: 69, peak_a: 30")
    pack = read(text + "load: {continuous_a: 20, peak_a: 30}\n").pack
    assert pack.cell.peak_s == 10
    assert pack.load is not None
    assert pack.load.peak_s == 10


def test_the_text_comes_back_unchanged(tmp_path) -> None:
    """What the report shows as the source is the file's own text, and nothing is cached."""
    file = tmp_path / "pack.yaml"
    file.write_text(PLAIN + "# a remark\n", encoding="utf-8")
    assert read_pack(file).source_text == PLAIN + "# a remark\n"


def test_closed_choices_are_those_of_the_tables() -> None:
    """A material or screw added to a table must be added to the form too."""
    schema = PrinterSection.model_json_schema()["properties"]["material"]["anyOf"][0]
    assert set(schema["enum"]) == set(materials())
    from generators.packfile.machine_models import MountSection

    schema = MountSection.model_json_schema()["properties"]["screw"]["anyOf"][0]
    assert set(schema["enum"]) == set(screws())
    assert defaults.strip(cell_formats()["18650"], Lattice.GRID).material in str(
        StripSection.model_fields["material"].annotation
    )
    assert all(word in ("nmc", "nca", "lfp", "lto") for word in chemistries())
