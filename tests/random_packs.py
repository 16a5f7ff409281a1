"""Pack files drawn at random: every value is one that a builder could write."""

from __future__ import annotations

import math
from random import Random
from typing import Any

import yaml

__all__ = ["random_box_pack", "random_outline_pack"]

FORMATS = {"18650": 21.0, "21700": 24.0, "26650": 29.5, "32700": 36.0}  # about a pitch, mm
CAPACITY_AH = {"18650": (1.5, 3.5), "21700": (2.5, 5.0), "26650": (2.5, 5.5), "32700": (5.0, 7.0)}
# a room's corners in shares of its size
OUTLINES = {
    "L": [(0, 0), (1, 0), (1, 0.45), (0.5, 0.45), (0.5, 1), (0, 1)],
    "C": [(0, 0), (1, 0), (1, 0.35), (0.4, 0.35), (0.4, 0.65), (1, 0.65), (1, 1), (0, 1)],
    "triangle": [(0, 0), (1, 0), (0.3, 1)],
    "two rooms": [
        (0, 0), (0.45, 0), (0.45, 0.45), (0.55, 0.45), (0.55, 0), (1, 0), (1, 1), (0.55, 1),
        (0.55, 0.55), (0.45, 0.55), (0.45, 1), (0, 1),
    ],
    "trapezium": [(0, 0), (1, 0), (0.8, 1), (0.15, 1)],
    "holes": [(0, 0), (1, 0), (1, 1), (0, 1)],
}  # fmt: skip


def _some(rng: Random, share: float, section: dict[str, Any]) -> dict[str, Any]:
    """A part of a section's keys, each with the given chance."""
    return {key: value for key, value in section.items() if rng.random() < share}


def _cell(rng: Random, chemistry: str) -> dict[str, Any]:
    format = rng.choice(list(FORMATS))
    capacity = round(rng.uniform(*CAPACITY_AH[format]), 1)
    return {
        "format": format,
        "chemistry": chemistry,
        **_some(
            rng,
            0.5,
            {
                "capacity_ah": capacity,
                "continuous_a": round(capacity * rng.uniform(1, 4), 1),
                "charge_a": round(capacity * rng.uniform(0.3, 1), 1),
                "internal_resistance_mohm": round(rng.uniform(10, 45), 1),
                "ac_resistance_mohm": round(rng.uniform(5, 10), 1),
            },
        ),
    }


def _common(rng: Random, most_cells: int) -> dict[str, Any]:
    series = rng.randint(1, 24)
    parallel = rng.randint(1, max(1, min(16, most_cells // series)))
    chemistry = rng.choice(["nmc", "nmc", "nca", "lfp", "lto"])
    load = {
        "continuous_a": round(parallel * rng.uniform(0.5, 4), 1),
        "peak_a": round(parallel * rng.uniform(4, 10), 1),
        "regeneration_a": round(parallel * rng.uniform(0.2, 1), 1),
        "ambient_c": rng.choice([0, 20, 35, 45]),
        "acceleration_g": [rng.choice([1, 3, 6]) for _ in "xyz"],
    }
    strip = {
        "thickness_mm": rng.choice([0.1, 0.15, 0.2, 0.3]),
        "layers": rng.randint(1, 2),
        "material": rng.choice(["nickel", "nickel", "copper", "steel"]),
    }
    holder = {
        "clearance_mm": rng.choice([0.2, 0.3, 0.5]),
        "web_mm": rng.choice([1.5, 2.0, 3.0]),
        "wall_mm": rng.choice([1.6, 2.4, 3.2]),
    }
    bed = rng.choice([180, 220, 250, 350])
    given = {
        "strip": _some(rng, 0.3, strip),
        "holder": _some(rng, 0.3, holder),
        "leads": {
            "side": rng.choice(["+x", "-x", "+y", "-y"]),
            "wire_mm2": rng.choice([2.5, 4, 6, 8, 10, 16]),
        },
        "taps": _some(rng, 0.5, {"awg": rng.choice([20, 22, 24]), "fused": True}),
        "printer": {
            "bed_mm": [bed, bed, 250],
            "material": rng.choice(["petg", "abs", "asa", "pla", "pc", "pa12"]),
        },
        "load": {"continuous_a": load["continuous_a"], **_some(rng, 0.4, load)},
    }
    return {
        "name": "drawn",
        "cell": _cell(rng, chemistry),
        "series": series,
        "parallel": parallel,
        **{key: value for key, value in _some(rng, 0.6, given).items() if value},
    }


def random_box_pack(rng: Random, most_cells: int) -> str:
    """The text of a pack file with an enclosure, with or without a box to go into."""
    pack = _common(rng, most_cells)
    pack["lattice"] = rng.choice(["honeycomb", "grid"])
    enclosure = {
        "wall_mm": rng.choice([2.4, 3.0, 4.0]),
        "surroundings": rng.choice(["dry", "splashed"]),
        "gas_gap_mm": rng.choice([3.5, 5, 8]),
        "side_gap_mm": rng.choice([1.0, 1.25, 3]),
    }
    mount = {
        "screw": rng.choice(["M4", "M5", "M6"]),
        "holes_mm": rng.choice([[[0, 0], [20, 0]], [[0, 0], [35, 0]], [[0, 0], [20, 10]]]),
    }
    more = {
        "enclosure": _some(rng, 0.4, enclosure),
        "mount": _some(rng, 0.5, mount),
        "space": {"box_mm": [rng.randint(80, 500), rng.randint(80, 400), rng.randint(85, 160)]},
        "bms": {"board_mm": [rng.randint(40, 110), rng.randint(20, 60), rng.randint(6, 14)]},
    }
    pack.update({key: value for key, value in _some(rng, 0.4, more).items() if value})
    return str(yaml.safe_dump(pack, sort_keys=False))


def random_outline_pack(rng: Random, most_cells: int) -> str:
    """The text of a pack file whose cells are placed in an odd outline."""
    pack = _common(rng, most_cells)
    pack["lattice"] = rng.choice(["honeycomb", "grid"])
    pack["enclosure"] = {"style": "none"}
    shape = rng.choice(list(OUTLINES))
    cells = pack["series"] * pack["parallel"]
    pitch = FORMATS[pack["cell"]["format"]]
    side = pitch * (2.0 + 1.9 * math.sqrt(cells)) * rng.uniform(0.9, 1.3)
    aspect = math.exp(rng.uniform(-0.4, 0.4))
    wide, deep = side * aspect, side / aspect
    space: dict[str, Any] = {
        "outline_mm": [[round(wide * u, 1), round(deep * v, 1)] for u, v in OUTLINES[shape]],
        "height_mm": 95,
    }
    if shape == "holes":
        radius, x, y = 0.08 * side, wide * rng.uniform(0.3, 0.7), deep * rng.uniform(0.3, 0.7)
        turns = [2 * math.pi * k / 12 for k in range(12)]
        space["holes_mm"] = [
            [
                [round(x + radius * math.cos(t), 1), round(y + radius * math.sin(t), 1)]
                for t in turns
            ]
        ]
    pack["space"] = space
    return str(yaml.safe_dump(pack, sort_keys=False))
