"""One change of every key of the pack file, and where it is seen. All values are invented."""

from __future__ import annotations

from typing import Any

from tests.generators.packfile.change import Change, Sections, seen, under
from tests.generators.packfile.frame_changes import frame_changes

__all__ = ["BASE", "CHANGES", "SLOW", "Change", "Sections"]

BASE: Sections = {
    "name": "small",
    "cell": {
        "format": "18650", "capacity_ah": 2.5, "continuous_a": 8.0,
        "internal_resistance_mohm": 25.0, "mass_g": 47.0,
    },
    "series": 3,
    "parallel": 2,
}  # fmt: skip


LINKED = {"strip": {"joints": "links"}}
LOAD = {"load": {"continuous_a": 6.0}}
PEAK = {"load": {"continuous_a": 6.0, "peak_a": 12.0}}
FUSE = {"fuse": {"rating_a": 15.0}}
BENT = {"mount": {"kind": "sheet"}}
BOX = {"space": {"box_mm": [240, 240, 140]}}
BARE = {"enclosure": {"style": "none"}}
PLACED: Sections = {
    "space": {"outline_mm": [[0, 0], [95, 0], [95, 80], [0, 80]], "height_mm": 90},
    **BARE,
}
TWELVE: Sections = {
    "series": 6,
    "space": {"outline_mm": [[0, 0], [85, 0], [85, 85], [0, 85]], "height_mm": 90},
    **BARE,
}
SEALED: Sections = {
    "enclosure": {
        "style": "fitted", "gasket": {"gas_l": 6.0, "within_s": 2.0, "opens_at_kpa": 3.0},
    },
}  # fmt: skip
FITTED: Sections = {"enclosure": {"style": "fitted"}}
STANDING: Sections = {"space": BOX["space"] | {"place": {"at_mm": [40, 40, 3]}}}
ROOM = {"space": {"file": "bay.stl"}}
LEAKY = {"space": {"file": "leaky.stl"}}
PEAKING = {"load": {"continuous_a": 4.0, "peak_a": 12.0, "peak_s": 5.0}}
CART: Sections = {"mass_kg": 60.0, "speed_km_h": 6.0}
GEARS: Sections = {"motor_rpm_per_v": 10.0, "wheel_circumference_mm": 1000.0}
DRIVEN: Sections = {"load": {"machine": CART | {"gearing": GEARS}}}
IN_A_BAY: Sections = {
    "enclosure": {"style": "fitted"}, "space": {"box_mm": [300, 200, 105]}, **LOAD
}  # fmt: skip
BODY = {"name": "bolt", "box_mm": [[0, 0, 0], [10, 10, 10]]}
ROD = {"from_mm": [0, 0, 0], "to_mm": [0, 0, 20], "radius_mm": 5}


PLATE: Sections = {"name": "motor-plate", "thickness_mm": 4, "size_mm": [120, 80]}
RING: Sections = {"at_mm": [40, 40], "diameter_mm": 44, "holes": 4, "screw": "M5"}
DRILLED: Sections = {"at_mm": [90, 40], "screw": "M5"}


def cut_plate(**more: Any) -> list[Sections]:
    """One plate to cut."""
    return [PLATE | more]


def plate_key(before: Sections, to: Sections) -> Change:
    """Keys of the one plate changed."""
    return Change(before=cut_plate(**before), to=cut_plate(**to), seen="cut plates")


def in_plate(key: str, entry: Sections, **to: Any) -> dict[str, Change]:
    """Each key of one entry of a list of the plate changed alone."""
    return {
        f"{key}.{name}": plate_key({key: [entry]}, {key: [entry | {name: value}]})
        for name, value in to.items()
    }


def body(**body: Any) -> list[Sections]:
    """One body to stay out of."""
    return [{"name": "bolt", **body}]


def keep_out(before: list[Sections], to: list[Sections]) -> Change:
    """The bodies of a box-shaped space changed."""
    return Change(before=before, to=to, seen="space", beside=BOX)


CHANGES: dict[str, Change] = {
    "name": Change(to="other", before="small", seen="build sheet"),
    "cell": Change(to=BASE["cell"] | {"format": "21700"}, before=BASE["cell"], seen="cells"),
    "series": Change(to=4, before=3, seen="cells"),
    "parallel": Change(to=3, before=2, seen="cells"),
    "lattice": Change(to="grid", seen="cells"),
    "disconnect": Change(to=True, seen="electrical"),
    "spacing_floor_mm": Change(to=1.5, seen="checks"),
    **under(
        "cell",
        seen("cells", format=("18650", "21700"), measured_diameter_mm=18.3),
        seen("holders", measured_length_mm=65.0),
        seen("cautions", shortest_length_mm=64.5),
        seen("second holder", diameter_spread_mm=0.05, mean_below_mm=0.2),
        seen(
            "electrical", chemistry="lfp", capacity_ah=(2.5, 3.0), continuous_a=(8.0, 9.0),
            peak_a=16.0, charge_a=2.0, internal_resistance_mohm=(25.0, 30.0),
            ac_resistance_mohm=12.0, mass_g=(47.0, 49.0), max_c=55.0, charge_c=[5, 40],
            discharge_least_c=-10.0, empty_v=3.0, nominal_v=3.7, full_v=4.1,
        ),
        seen("electrical", beside={"cell": {"peak_a": 20.0}, **PEAK}, peak_s=5.0),
    ),
    **under(
        "holder",
        seen("cells", clearance_mm=0.3, web_mm=1.6),
        seen(
            "holders", lip_mm=1.8, depth_mm=11.0, window_mm=14.0, wall_mm=2.4, seat_mm=0.6,
            web_recess_mm=0.2, bar_mm=0.8, channel_play_mm=0.6, post_mm=8.4,
        ),
        seen("bill", ring_mm=0.2, ring_hole_mm=12.0),
        seen("checks", support_pins=False),
        seen("enclosure", beside={"enclosure": {"style": "fitted"}}, flank_posts=False),
    ),
    **under(
        "strip",
        seen(
            "strips", beside=LINKED, row_width_mm=5.0, link_width_mm=5.0, lead_width_mm=6.0,
        ),
        seen("plates", material="copper", thickness_mm=0.2, layers=2, weld_spots=6, joints="links"),
        seen("electrical", cell_fuse_mm=[1.0, 2.5]),
        seen("electrical", weld_spot_mohm=0.5, weld_spot_a=5.0),
        seen("electrical", beside=LINKED, current_density_a_mm2=3.0),
        seen("templates", beside=LINKED, shape="sheet"),
        seen("bill", beside=LINKED, stock_mm=2000.0),
        seen("bill", stock_width_mm=150.0),
    ),
    **under(
        "leads",
        seen("space", beside=BOX, side="-x"),
        seen("electrical", wire_mm2=6.0, length_mm=600.0, table="free_air", connector_a=10.0),
        seen("enclosure", outside_mm=9.5),
    ),
    "fuse": Change(to={"rating_a": 15.0}, seen="electrical"),
    **under(
        "fuse",
        seen("electrical", beside=FUSE, rating_a=(15.0, 20.0)),
        seen("electrical", beside=FUSE, dc_v=32.0, breaking_a=2000.0, opens_multiple=5.0),
        seen("electrical", beside=FUSE, loss_w=3.0),
        seen("enclosure", beside=FUSE | FITTED, place=("+y", "-y")),
        seen("wishes", beside=FUSE | FITTED | BOX, place_mm=[[0, 0], [240, 200]]),
    ),
    **under("taps", seen("electrical", awg=20, fused=True)),
    **under(
        "bms",
        seen("enclosure", board_mm=[70, 30, 9]),
        seen("enclosure", beside=FITTED, place=("+y", "-y")),
        seen("wishes", beside=FITTED | BOX, place_mm=[[0, 0], [240, 200]]),
        seen("electrical", continuous_a=20.0, series=4, cold_charge_stop=True),
        seen("electrical", beside={"bms": {"continuous_a": 20.0}}, loss_w=4.0),
        seen("electrical", beside=PEAKING | {"bms": {"continuous_a": 5.0}}, peak_a=20.0),
        seen(
            "electrical",
            beside=PEAKING | {"bms": {"continuous_a": 5.0, "peak_a": 20.0}},
            peak_s=(10.0, 2.0),
        ),
        seen("electrical", beside={"charger": {"volts_v": 12.6, "amps_a": 2.0}}, charge_a=3.0),
        seen(
            "electrical",
            beside={
                "charger": {"volts_v": 12.6, "amps_a": 2.0}, "bms": {"continuous_a": 20.0},
            },
            port=("common", "separate"),
        ),
    ),
    "controller": Change(to={"lowest_v": 7.0}, seen="electrical"),
    **under(
        "controller",
        seen("electrical", lowest_v=7.0, cutoff_v=9.0, highest_v=20.0, capacitance_f=0.001,
             capacitance_uf=800.0),
    ),
    **under(
        "cooling",
        seen("electrical", beside=BOX, bay="open"),
        seen("electrical", beside=BOX, below_free=True, sun="light"),
    ),
    "charger": Change(to={"volts_v": 12.6, "amps_a": 2.0}, seen="electrical"),
    **under(
        "charger",
        seen("electrical", beside={"charger": {"amps_a": 2.0}}, volts_v=(12.6, 12.4)),
        seen("electrical", beside={"charger": {"volts_v": 12.6}}, amps_a=(2.0, 2.2)),
        seen("electrical", beside={"charger": {"volts_v": 12.6, "amps_a": 2.0}},
             chemistry="nmc", wire_mm2=1.5),
    ),
    **under(
        "enclosure",
        seen("enclosure", style="none", wall_mm=3.0, floor_mm=3.4, lid_mm=2.8, side_gap_mm=1.6,
             gas_gap_mm=4.0, insert_mm=5.0),
        seen("cautions", surroundings="splashed"),
        seen("enclosure", drains=False),
    ),
    "enclosure.wire_ways":
        Change(to=True, seen="enclosure", beside={"enclosure": {"style": "tub"}}),
    "enclosure.gasket": Change(
        to=SEALED["enclosure"]["gasket"], seen="enclosure",
        beside={"enclosure": {"style": "fitted"}},
    ),
    **under(
        "enclosure.gasket",
        seen(
            "enclosure", beside=SEALED, gas_l=(6.0, 9.0), within_s=(2.0, 1.5),
            opens_at_kpa=(3.0, 2.0), gas_c=500.0, gas_kg_m3=1.9, cord_mm=2.5, flange_mm=8.0,
            bend_radius_mm=6.0, vent_mm=[10.0, 20.0],
        ),
    ),
    **under(
        "mount",
        seen(
            "brackets", kind="flat", screw="M6", holes_mm=[[0, 0], [25, 0]], slot_mm=4.0,
        ),
        seen(
            "brackets", beside={"mount": {"kind": "round_clamp", "tube_mm": 25.0}},
            tube_mm=(25.0, 30.0), liner_mm=2.0, cross_bolt=False,
        ),
        seen("bracket script", script=("one.py", "other.py"), beside={"mount": {"kind": "script"}}),
    ),
    "space": Change(to=BOX["space"], seen="space"),
    **under(
        "space",
        seen("space", box_mm=([240, 240, 140], [240, 240, 150])),
        seen("cells", beside=PLACED, outline_mm=(
            PLACED["space"]["outline_mm"], [[0, 0], [70, 0], [70, 120], [0, 120]]
        )),
        seen("cells", beside=PLACED, holes_mm=[[[60, 30], [75, 30], [75, 45], [60, 45]]]),
        seen("cells", beside=PLACED, height_mm=(90, 180)),
        seen("space", file=("bay.stl", "wide.stl")),
        seen("space", beside=ROOM, units="cm", **{"is": "surroundings"}),
        seen("space", beside=LEAKY, mend=True),
        seen("cautions", beside=BOX, open_sides=["+x"]),
    ),
    "space.place": Change(to={"at_mm": [40, 40, 3]}, seen="pose", beside=BOX),
    "space.place.at_mm": Change(before=[40, 40, 3], to=[50, 40, 3], seen="pose", beside=STANDING),
    "space.place.turns_deg": Change(to=[0, 0, 90], seen="pose", beside=STANDING),
    "space.keep_out": keep_out([], [BODY]),
    "space.keep_out.name": keep_out([BODY], [BODY | {"name": "chain"}]),
    "space.keep_out.box_mm": keep_out([BODY], body(box_mm=[[0, 0, 0], [10, 10, 12]])),
    "space.keep_out.cylinder": keep_out([BODY], body(cylinder=ROD)),
    "space.keep_out.cylinder.from_mm": keep_out(
        body(cylinder=ROD), body(cylinder=ROD | {"from_mm": [0, 0, 1]})
    ),
    "space.keep_out.cylinder.to_mm": keep_out(
        body(cylinder=ROD), body(cylinder=ROD | {"to_mm": [0, 0, 21]})
    ),
    "space.keep_out.cylinder.radius_mm": keep_out(
        body(cylinder=ROD), body(cylinder=ROD | {"radius_mm": 6})
    ),
    "space.keep_out.file": keep_out(body(file="bay.stl"), body(file="wide.stl")),
    "space.keep_out.units": keep_out(body(file="bay.stl"), body(file="bay.stl", units="cm")),
    "space.keep_out.mend": keep_out(body(file="leaky.stl"), body(file="leaky.stl", mend=True)),
    **under(
        "grouping",
        seen("cells", beside=TWELVE, voltage_weight=10.0, volts_limit=8.5),
        seen(
            "cells",
            beside=PLACED,
            minus_side="-x",
            plus_side="-y",
            exclude_mm=[[44, 20]],
            pins=[{"at_mm": [75, 46], "group": 1}],
        ),
    ),
    "grouping.pins.at_mm": Change(
        before=[{"at_mm": [75, 46], "group": 1}], to=[{"at_mm": [44, 20], "group": 1}],
        seen="cells", beside=PLACED,
    ),
    "grouping.pins.group": Change(
        before=[{"at_mm": [75, 46], "group": 1}], to=[{"at_mm": [75, 46], "group": 3}],
        seen="cells", beside=PLACED,
    ),
    "plates_to_cut": Change(to=cut_plate(), seen="cut plates"),
    **under(
        "plates_to_cut",
        {
            "name": plate_key({}, {"name": "other"}),
            "metal": plate_key({}, {"metal": "stainless-1.4301"}),
            "thickness_mm": plate_key({}, {"thickness_mm": 5}),
            "size_mm": plate_key({}, {"size_mm": [130, 80]}),
            "corner_mm": plate_key({}, {"corner_mm": 8}),
            "kerf_mm": plate_key({}, {"kerf_mm": 0.2}),
            "circles": plate_key({}, {"circles": [RING]}),
            "holes": plate_key({}, {"holes": [DRILLED]}),
            "slots": plate_key({}, {"slots": [DRILLED]}),
        },
        in_plate("circles", RING, at_mm=[42, 40], diameter_mm=48, holes=6, screw="M6", pilot_mm=20,
                 first_deg=45),
        in_plate("holes", DRILLED, at_mm=[92, 40], screw="M6"),
        in_plate("slots", DRILLED, at_mm=[92, 40], screw="M6", travel_mm=20, along_deg=90),
    ),
    "measured_cells": Change(before="alike.csv", to="worn.csv", seen="electrical"),
    "mount.shock": Change(to={"g": 10.0, "ms": 11.0}, seen="mounting", beside=LOAD),
    "mount.shock.g": Change(
        before=10.0, to=12.0, seen="mounting", beside=LOAD | {"mount": {"shock": {"ms": 11.0}}}
    ),
    "mount.shock.ms": Change(
        before=3.0, to=1.0, seen="mounting", beside=LOAD | {"mount": {"shock": {"g": 10.0}}}
    ),
    **under(
        "mount",
        seen("brackets", beside={**LOAD, **BENT}, metal="stainless-1.4301", thickness_mm=3,
             bend_radius_mm=3.0),
        seen("flat patterns", beside=BENT, k_factor=0.38, kerf_mm=0.2),
    ),
    "mount.use": Change(to="road-cargo", seen="load g", beside=LOAD),
    **frame_changes(IN_A_BAY),
    "load": Change(to={"continuous_a": 6.0}, seen="electrical"),
    **under(
        "load",
        seen("electrical", beside=LOAD, continuous_a=(6.0, 7.0), peak_a=12.0, peak_w=120.0,
             regeneration_a=2.0, ambient_c=35.0, profile=("short.csv", "long.csv")),
        seen("electrical", continuous_w=(60.0, 70.0)),
        seen("electrical", beside={"cell": {"peak_a": 20.0}, **PEAK}, peak_s=20.0),
        seen("electrical", beside={"load": {"continuous_a": 6.0, "profile": "short.csv"}},
             discharge_cutoff_v=10.0),
        seen("brackets", beside=LOAD, acceleration_g=[4, 4, 20]),
        seen("electrical", beside=LOAD, machine=CART, cycle=[[9, 5], [3, 20]]),
    ),
    **under(
        "load.machine",
        seen("electrical", beside=DRIVEN, mass_kg=(60.0, 70.0), speed_km_h=(6.0, 7.0),
             slope_percent=4.0, ground="soil", rolling_ratio=0.05, body="rider",
             drag_area_m2=0.9, efficiency=0.6, start_slope_percent=9.0, start_km_h=5.0,
             start_s=5.0, gearing=(GEARS, GEARS | {"motor_rpm_per_v": 11.0})),
    ),
    **under(
        "load.machine.gearing",
        seen("electrical", beside=DRIVEN, motor_rpm_per_v=(10.0, 11.0),
             wheel_circumference_mm=(1000.0, 1100.0), motor_teeth=2.0, wheel_teeth=3.0,
             motor_mohm=300.0),
    ),
    **under(
        "printer",
        seen("cells", beside={"series": 8, "parallel": 4}, bed_mm=[100, 100, 250]),
        seen("holders", nozzle_mm=0.6, layer_mm=0.3),
        seen("electrical", material="pc"),
        seen("build sheet", profile="mine.yaml", hole_mm=0.15, outside_mm=0.08, foot_mm=0.2,
             shrink_percent=[0.4, 0.3, 0.0]),
        seen("build sheet", beside={"printer": {"hole_mm": 0.15}}, measured="2026-03-31"),
        seen(
            "printing", bed_round_mm=[300, 300], edge_mm=20, brim_mm=8, line_mm=0.5, wall_lines=4,
            infill_percent=60, top_layers=2, bottom_layers=2, acceleration_mm_s2=900,
            jerk_mm_s=6, power_w=200, tariff_per_kwh=0.5,
        ),
    ),
    **under(
        "printer.speeds_mm_s",
        seen("printing", outer=20, inner=30, small=10, solid=40, sparse=20, top=30, bridge=15,
             first=10, travel=90),
    ),
    **under(
        "printer.spread",
        seen("second holder", scale_percent=0.1, skew_percent=0.1, place_mm=0.05, pocket_mm=0.06,
             out_of_square_percent=0.1),
    ),
    **under(
        "printer.filament",
        seen("printing", diameter_mm=2.85, density_g_cm3=1.1, price_per_kg=40),
    ),
}  # fmt: skip

# those whose files a process of its own reads, and all but a few that move cells and walls
SLOW = {
    "mount.script", "space.mend", "space.units", "space.keep_out.file", "space.keep_out.mend",
    "space.keep_out.units", "bms.place", "fuse.place", *(
        key for key in CHANGES if key.startswith("holder.") and key != "holder.web_mm"
    ),
    "enclosure.wire_ways",
    *(key for key in CHANGES if key.startswith(("enclosure.gasket", "mount.shock", "space.place"))),
}  # fmt: skip
