"""The electrical side of a pack file's text, planned without a holder or an enclosure."""

from __future__ import annotations

import json
from copy import deepcopy
from functools import cache
from typing import Any

from generators.packfile.resolve import parse_pack
from layouts.checks import Check
from layouts.electrical.plan import electrical_plan
from layouts.electrical.values import Electrical
from layouts.placing.values import Effort
from layouts.planning.steps import InterconnectPlan, interconnected, laid_out

__all__ = ["check_of", "electrical_of", "said_of"]

Sections = dict[str, Any]

# Invented: 4S2P, every electrical value given and sound at 9 A.
SOUND: Sections = {
    "name": "pump",
    "cell": {
        "format": "18650", "chemistry": "nmc", "capacity_ah": 2.5, "continuous_a": 8.0,
        "peak_a": 12.0, "peak_s": 10, "charge_a": 2.0, "internal_resistance_mohm": 25.0,
        "ac_resistance_mohm": 12.0,
    },
    "series": 4,
    "parallel": 2,
    "load": {"continuous_a": 9.0},
    "fuse": {"rating_a": 15.0, "dc_v": 32.0, "breaking_a": 4000.0},
    "bms": {"continuous_a": 30.0, "series": 4, "charge_a": 10.0, "port": "common"},
    "charger": {"volts_v": 16.8, "amps_a": 2.0, "chemistry": "nmc", "wire_mm2": 2.5},
    "controller": {"lowest_v": 10.0, "cutoff_v": 12.0, "highest_v": 20.0},
    "leads": {"connector_a": 40.0},
}  # fmt: skip


def electrical_of(**changed: Any) -> Electrical:
    """The sound pack's electrical side with keys of its sections changed; None: key left out."""
    file = deepcopy(SOUND)
    for section, values in changed.items():
        if isinstance(values, dict):
            both = file.get(section, {}) | values
            file[section] = {key: value for key, value in both.items() if value is not None}
        elif values is None:
            file.pop(section, None)
        else:
            file[section] = values
    return _planned(json.dumps(file))


def check_of(found: Electrical, name: str) -> Check:
    """The one check of an id."""
    (check,) = [check for check in found.checks if check.id == name]
    return check


def said_of(found: Electrical, start: str) -> list[str]:
    """Cautions that begin with a word."""
    return [text for text in found.cautions if text.startswith(start)]


@cache
def _planned(text: str) -> Electrical:
    pack = parse_pack(text.encode(), "p.yaml").pack
    moves = ("cell", "series", "parallel", "load", "strip", "leads", "taps", "lattice")
    kept = {section: value for section, value in json.loads(text).items() if section in moves}
    plan = _laid(json.dumps({"name": "laid", **kept}))
    return electrical_plan(pack, plan.cell_layout, plan.interconnect)


@cache
def _laid(text: str) -> InterconnectPlan:
    """Cells and strips, by the sections that they follow from."""
    pack = parse_pack(text.encode(), "p.yaml").pack
    return interconnected(laid_out(pack, effort=Effort.QUICK))
