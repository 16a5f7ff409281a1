"""Pack files that fail, each by a check or a refusal of its own; all values are invented."""

from __future__ import annotations

import json
from copy import deepcopy
from typing import Any

__all__ = ["FAILING", "REFUSED", "text_of"]

Sections = dict[str, Any]

SMALL: Sections = {
    "name": "small",
    "cell": {
        "format": "18650", "capacity_ah": 2.5, "continuous_a": 8.0, "peak_a": 12.0, "peak_s": 10,
        "charge_a": 2.0, "internal_resistance_mohm": 25.0, "ac_resistance_mohm": 12.0,
    },
    "series": 3,
    "parallel": 2,
}  # fmt: skip
LOAD = {"continuous_a": 9.0}
FUSE = {"rating_a": 15.0, "dc_v": 32.0, "breaking_a": 4000.0}
CHARGER = {"volts_v": 12.6, "amps_a": 2.0}

# name: (the check that fails, what is changed in the small pack)
FAILING: dict[str, tuple[str, Sections]] = {
    "more load than the cells carry": ("load_current_a", {"load": {"continuous_a": 22.0}}),
    "thin strips": (
        "load_current_a", {"load": LOAD, "strip": {"joints": "links", "thickness_mm": 0.05}}
    ),
    "few weak welds": (
        "load_current_a", {"load": LOAD, "strip": {"weld_spots": 2, "weld_spot_a": 2.0}}
    ),
    "thin leads": ("wire_a", {"load": LOAD, "leads": {"wire_mm2": 0.5}}),
    "a small connector": ("load_current_a", {"load": LOAD, "leads": {"connector_a": 5.0}}),
    "a small board": ("bms_a", {"load": LOAD, "bms": {"continuous_a": 6.0}}),
    "a small fuse": ("fuse_load_a", {"load": LOAD, "fuse": FUSE | {"rating_a": 7.5}}),
    "a large fuse on thin leads": (
        "fuse_wire_a", {"load": LOAD, "leads": {"wire_mm2": 2.5}, "fuse": FUSE | {"rating_a": 60.0}}
    ),
    "a fuse for fewer volts": ("fuse_dc_v", {"load": LOAD, "fuse": FUSE | {"dc_v": 12.0}}),
    "a fuse that breaks little": (
        "fuse_breaking_a", {"load": LOAD, "fuse": FUSE | {"breaking_a": 150.0}}
    ),
    "a slow fuse": ("fuse_least_fault_a", {"load": LOAD, "fuse": FUSE | {"opens_multiple": 19.0}}),
    "a fuse slower than its wire": (
        "wire_fault_s",
        {
            "parallel": 6, "load": {"continuous_a": 3.0}, "leads": {"wire_mm2": 1.0},
            "fuse": {"rating_a": 10.0, "opens_multiple": 12.0},
        },
    ),
    "a peak above the fuse": (
        "fuse_peak_a",
        {"load": LOAD | {"peak_a": 23.0, "peak_s": 5.0}, "fuse": FUSE},
    ),
    "thick walls round small hollows": (
        "enclosure_radius",
        {
            "enclosure": {"style": "fitted", "wall_mm": 3.55},
            "holder": {"web_mm": 1.8},
            "printer": {"nozzle_mm": 0.9, "layer_mm": 0.4},
        },
    ),
    "a thin floor": (
        "floor_sag", {"load": LOAD, "enclosure": {"style": "fitted", "floor_mm": 1.2}}
    ),
    "a thin floor under more cells": (
        "floor_bending",
        {"parallel": 4, "load": LOAD, "enclosure": {"style": "fitted", "floor_mm": 1.2}},
    ),
    "a thin lid over more cells": (
        "lid_bending",
        {"parallel": 4, "load": LOAD, "enclosure": {"style": "fitted", "lid_mm": 1.2}},
    ),
    "necks with too few cells": ("cell_fuse_others_a", {"strip": {"cell_fuse_mm": [1, 2.5]}}),
    "a motor that turns too slowly": (
        "machine_speed",
        {
            "load": {
                "machine": {
                    "mass_kg": 40.0, "speed_km_h": 8.0,
                    "gearing": {
                        "motor_rpm_per_v": 100.0, "wheel_circumference_mm": 900.0,
                        "motor_teeth": 10.0, "wheel_teeth": 80.0,
                    },
                }
            }
        },
    ),
    "pulses that a fuse does not carry": (
        "fuse_pulse_s", {"load": {"cycle": [[20.0, 40.0], [4.0, 200.0]]}, "fuse": FUSE},
    ),
    "a cycle that warms the plastic": (
        "cycle_temperature",
        {
            "load": {"cycle": [[14.0, 60.0], [2.0, 60.0]], "ambient_c": 43.0},
            "fuse": FUSE | {"rating_a": 20.0},
        },
    ),
    "a shock that a printed mounting does not bear": (
        "mount_shock", {"load": LOAD, "mount": {"shock": {"g": 90.0, "ms": 11.0}}},
    ),
    "slotted feet in hard jolts": (
        "foot_lock_bearing",
        {
            "load": LOAD | {"acceleration_g": [50.0, 50.0, 5.0]},
            "mount": {"slot_mm": 4.0, "screw": "M3"}, "printer": {"material": "abs"},
        },
    ),
    "clamps in jolts that bend their legs": (
        "clamp_bending",
        {
            "load": LOAD | {"acceleration_g": [50.0, 50.0, 20.0]},
            "mount": {"kind": "round_clamp", "tube_mm": 25.0},
        },
    ),
    "clamps that slip along their tubes": (
        "clamp_slip",
        {
            "load": LOAD | {"acceleration_g": [30.0, 30.0, 6.0]},
            "mount": {
                "kind": "square_clamp", "tube_mm": 16.0, "screw": "M3", "cross_bolt": False,
                "liner_mm": 0.5,
            },
        },
    ),
    "thick sheet bent close to its holes": (
        "sheet_bend", {"load": LOAD, "mount": {"kind": "sheet", "thickness_mm": 4.0}},
    ),
    "thin sheet for strong jolts": (
        "sheet_stress",
        {
            "load": LOAD | {"acceleration_g": [15.0, 15.0, 15.0]},
            "mount": {"kind": "sheet", "thickness_mm": 1.5, "metal": "aluminium-5754-H22"},
        },
    ),
    "long leads": (
        "wire_volts_lost_v", {"load": LOAD, "leads": {"length_mm": 9000.0, "wire_mm2": 4.0}}
    ),
    "a controller for fewer volts": ("controller_high_v", {"controller": {"highest_v": 12.0}}),
    "a controller for more volts": ("controller_low_v", {"controller": {"lowest_v": 11.5}}),
    "a cut-off below empty": ("controller_cutoff_v", {"controller": {"cutoff_v": 7.0}}),
    "more watts than there are": ("load", {"load": {"continuous_w": 900.0}}),
    "a peak above the cells": (
        "load_peak_a", {"load": LOAD | {"peak_a": 40.0, "peak_s": 5.0}}
    ),
    "a board for six": ("bms_series", {"bms": {"series": 6}}),
    "a board that charges little": (
        "bms_charge_a", {"charger": CHARGER, "bms": {"charge_a": 1.0, "port": "separate"}}
    ),
    "a charger for four": ("charger_v", {"charger": CHARGER | {"volts_v": 16.8}}),
    "a charger for another chemistry": (
        "charger_chemistry", {"charger": CHARGER | {"chemistry": "lfp"}}
    ),
    "a strong charger": ("charger_a", {"charger": CHARGER | {"amps_a": 9.0}}),
    "a cold place": (
        "ambient_c", {"load": LOAD | {"ambient_c": -30.0}}
    ),
    "a controller that brakes hard": (
        "regeneration_v",
        {"load": LOAD | {"regeneration_a": 3.0}, "controller": {"highest_v": 12.7}},
    ),
    "braking into small cells": ("regeneration_a", {"load": LOAD | {"regeneration_a": 9.0}}),
    "warm cells": (
        "cell_temperature",
        {"load": {"continuous_a": 15.0, "ambient_c": 45.0}, "printer": {"material": "pc"}},
    ),
    "a soft plastic": (
        "polymer_temperature", {"load": LOAD | {"ambient_c": 30.0}, "printer": {"material": "pla"}}
    ),
    "a deep seat": ("strip_seat_mm", {"holder": {"seat_mm": 0.8, "ring_mm": 0.1}}),
    "shallow webs": (
        "strip_proud_mm", {"holder": {"web_recess_mm": 0.2, "seat_mm": 0.6, "ring_mm": 0.3}}
    ),
    "many layers": (
        "strip_stack_mm", {"strip": {"joints": "links", "layers": 4, "thickness_mm": 0.3}}
    ),
    "a wide window": ("lip_land_mm", {"holder": {"window_mm": 16.4, "clearance_mm": 0.6}}),
    "a floor above what is there": ("short_metal", {"spacing_floor_mm": 5.0}),
    "no rings": ("ring_present", {"holder": {"ring_mm": 0.0}}),
    "hard shocks": ("bracket_root_stress", {"load": LOAD | {"acceleration_g": [40, 40, 50]}}),
    "a short space": ("space", {"space": {"box_mm": [150, 180, 120]}}),
    "thick leads, a tub longer than the bed": (
        "fits_bed",
        {
            "leads": {"wire_mm2": 95.0, "outside_mm": 20.0},
            "printer": {"bed_mm": [140, 140, 180]},
        },
    ),
    "a space for one cell": ("space", {"space": {"box_mm": [80, 80, 80]}}),
    "a tub in an L-shaped space": (
        "space",
        {
            "series": 5, "parallel": 4,
            "space": {
                "outline_mm": [[0, 0], [230, 0], [230, 150], [150, 150], [150, 240], [0, 240]],
                "height_mm": 95,
            },
        },
    ),
    "no support pins": ("web_spans", {"holder": {"support_pins": False}}),
    "tight pockets": ("second_holder_goes_on", {"holder": {"clearance_mm": 0.05}}),
    "prints that differ": (
        "second_holder_goes_on", {"printer": {"spread": {"scale_percent": 0.8}}}
    ),
    "thin webs": ("web_mm", {"holder": {"web_mm": 1.2}, "printer": {"nozzle_mm": 0.6,
        "layer_mm": 0.3}}),
}  # fmt: skip

REFUSED: dict[str, tuple[str, Sections]] = {
    "a board longer than the tub": ("bms.board_mm", {"bms": {"board_mm": [400, 60, 12]}}),
    "an outline for fewer cells": (
        "space",
        {
            "series": 6, "enclosure": {"style": "none"},
            "space": {"outline_mm": [[0, 0], [75, 0], [75, 75], [0, 75]], "height_mm": 90},
        },
    ),
    "fewer volts between neighbours than there are": (
        "grouping.volts_limit",
        {
            "series": 6, "enclosure": {"style": "none"}, "grouping": {"volts_limit": 4.3},
            "space": {"outline_mm": [[0, 0], [85, 0], [85, 85], [0, 85]], "height_mm": 90},
        },
    ),
}  # fmt: skip


def text_of(changed: Sections) -> str:
    """The small pack's file with its sections changed."""
    file = deepcopy(SMALL)
    for section, values in changed.items():
        if isinstance(values, dict):
            file[section] = file.get(section, {}) | values
        else:
            file[section] = values
    return json.dumps(file)
