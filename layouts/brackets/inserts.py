"""Heat-set inserts in mounting pads: pulled and pushed aside by the brackets' screws."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from layouts.brackets.kind import Hold, MountingPad
from layouts.brackets.loads import BracketLoad, bracket_loads
from layouts.brackets.strength import SAFETY, warm_ratio
from layouts.checks import Check
from layouts.formats import materials, screws
from layouts.pack import Pack
from layouts.parts.fasteners import BELOW_INSERT_MM

__all__ = ["insert_pull", "insert_pull_n", "insert_push_n"]

# Outside diameter over the knurls; inserts of usual length, from memory
OUTSIDE_MM = {"M3": 4.6, "M4": 6.3, "M5": 7.1}
# Low end of hobby pull tests in PETG: a table in a public repository that cites them, second hand
TESTED_N = {"M3": 350.0, "M4": 550.0, "M5": 800.0}
TESTED_IN = "petg"
# Of the shear strength over the insert's whole surface: set to the same tests, no source
GRIP_RATIO = 0.25
# Of its projected area: a stiff pin pushed at its mouth turns in what holds it. Limit analysis by
# hand, no source
PIN_RATIO = math.sqrt(2.0) - 1.0

SOURCE = (
    "the lesser of 0.25 pi d L tau, tau the strength across the layers over the root of 3, and the "
    "low end of hobby pull tests (second hand); strength by ambient temperature (judgement), a "
    f"quarter allowed ({SAFETY:g}, common practice, no source); (T/Ta)^2 + (V/Va)^2 of fasteners, "
    "from memory"
)


def insert_pull_n(screw: str, material: str) -> float:
    """Force that pulls an insert out of printed plastic at room temperature [N]."""
    across = materials()[material].across_mpa
    grip = GRIP_RATIO * math.pi * OUTSIDE_MM[screw] * _long_mm(screw) * across / math.sqrt(3.0)
    return min(grip, TESTED_N[screw] * min(1.0, across / materials()[TESTED_IN].across_mpa))


def insert_push_n(screw: str, material: str) -> float:
    """Force aside on its mouth that turns an insert over in printed plastic [N]."""
    area = OUTSIDE_MM[screw] * _long_mm(screw)
    return PIN_RATIO * area * materials()[material].across_mpa


def insert_pull(
    pack: Pack, pads: Sequence[MountingPad], hold: Hold, *, mass_kg: float
) -> tuple[Check, ...]:
    """Use of the insert that bears most, pulled and pushed at once; nothing without a load.

    The bracket stands on its pad and turns over the pad's lower or upper edge, whichever the forces
    of the frame ask for. What a force along the wall turns, pad and frame bear alike where the
    frame's screws stand as far apart, else the pad more. Friction is left out."""
    if pack.load is None or not pads:
        return ()
    loads = bracket_loads(pack, pads, hold, mass_kg=mass_kg)
    use, load = max(((_use(pack, one, hold), one) for one in loads), key=lambda found: found[0])
    x, y = load.pad.middle_mm
    return (
        Check(
            id="insert_pull",
            about=f"use of the {load.pad.screw} inserts in a mounting pad, pull and push together",
            holds=use <= 1.0, value=use, limit=1.0, unit="", at_least=False, source=SOURCE,
            remedy="a stronger printer.material, a lower load.acceleration_g, or, where printed "
            "pads are not enough, the tub on a metal plate that carries its floor",
            where=f"pad at ({x:.0f}, {y:.0f})",
        ),
    )  # fmt: skip


def _long_mm(screw: str) -> float:
    return screws()[screw].insert_deep_mm - BELOW_INSERT_MM


def _use(pack: Pack, load: BracketLoad, hold: Hold) -> float:
    """(T/Ta)^2 + (V/Va)^2 of the screw that bears most, in the worst of all jolts."""
    pad, material = load.pad, pack.printer.material
    allowed = warm_ratio(pack) / SAFETY
    off, along, up = load.jolts_n().T
    over, under = pad.high_mm - pad.up_mm, pad.up_mm
    # moments about the upper and the lower edge of the pad's face
    upper = hold.out_mm * up + (hold.below_mm + pad.high_mm) * off
    lower = -(hold.out_mm * up + hold.below_mm * off)
    pull = np.maximum(np.maximum(upper / over, lower / under), off) / 2
    turned = np.abs(along) * (1.0 - min(1.0, hold.apart_mm / pad.apart_mm) / 2) / pad.apart_mm
    pull = np.maximum(pull, 0.0) + turned * hold.out_mm
    turn = turned * (hold.below_mm + pad.up_mm)
    push = np.hypot(along / 2, np.abs(up) / 2 + turn)
    use = (pull / (insert_pull_n(pad.screw, material) * allowed)) ** 2
    use += (push / (insert_push_n(pad.screw, material) * allowed)) ** 2
    return float(use.max())
