"""What is bought for gasket and vent, how both are fitted and tested, what they do not stand."""

from __future__ import annotations

import math

from layouts.enclosures.fitted.gasket import Flange
from layouts.enclosures.fitted.gasket_vent import VentPlace
from layouts.enclosures.vent import hot_gas_l
from layouts.pack import GasketSpec

__all__ = ["gasket_bought", "gasket_cautions", "gasket_steps", "opening_pull_n"]

# All common practice, no source.
PLATE_MM, TAPE_MM = 0.8, (1.5, 5.0)  # cover plate; sponge tape, thick and wide
BREATHER_MM = 3.0  # hole in the plate under a membrane
SPARE_RATIO = 1.02  # of cord: laid without stretch, cut to length in its groove
WATER_CM_KPA = 10.2  # height of a column of water that presses with 1 kPa
TEST_RATIO = 0.3  # of the opening pressure, at which the closed case is tested


def opening_pull_n(gasket: GasketSpec, vent: VentPlace) -> float:
    """Force of the opening pressure on the vent's cover [N]."""
    return gasket.opens_at_kpa / 1000.0 * vent.pushed_mm2


def gasket_bought(
    gasket: GasketSpec, flange: Flange, vent: VentPlace
) -> tuple[tuple[str, int], ...]:
    """Items and their counts."""
    wide, high = vent.cover_mm
    cord_mm = math.ceil(flange.cord_long_mm * SPARE_RATIO)
    around = math.ceil(2 * (vent.wide_mm + vent.high_mm) + 4 * TAPE_MM[1])
    return (
        (
            f"sponge cord, closed-cell (EPDM or silicone), round {gasket.cord_mm:g} mm, medium "
            f"firmness, {cord_mm} mm in one length, and rubber glue for its joint",
            1,
        ),
        (
            f"vent cover: plate {wide:g} x {high:g} mm, {PLATE_MM:g} mm polypropylene or "
            f"aluminium, opens at {gasket.opens_at_kpa:g} kPa; or a bought burst disc or "
            f"degassing vent that opens there, with {vent.need_mm2:.0f} mm2 free by its data sheet",
            1,
        ),
        (
            f"sponge tape, closed-cell, with adhesive, {TAPE_MM[0]:g} x {TAPE_MM[1]:g} mm, "
            f"{around} mm, for the vent cover",
            1,
        ),
        ("disc magnet 6 x 2 mm and steel washer, that hold the vent cover", 2),
        (f"breathing membrane with adhesive, for a hole of {BREATHER_MM:g} mm", 1),
    )


def gasket_steps(gasket: GasketSpec, flange: Flange, vent: VentPlace) -> tuple[str, ...]:
    """Steps of the build between the cells' way in and the lid."""
    pull, kpa = opening_pull_n(gasket, vent), gasket.opens_at_kpa
    return (
        f"Lay the cord in the rim's groove without stretching it, from the middle of a straight "
        f"side on, off any screw; {flange.cord_long_mm:.0f} mm as drawn. Cut both ends square and "
        f"a little long, glue them end to end, and let that dry. It stands "
        f"{gasket.cord_mm - flange.groove.deep_mm:.1f} mm out of the groove all round; sand the "
        "flange flat where it does not.",
        f"Vent, on the flat block between the holders: stick sponge tape round its opening, a "
        f"magnet above and below; on the plate the two washers, a hole of {BREATHER_MM:g} mm with "
        "a breathing membrane over it, so that warming air gets out, and a short tether of glass "
        "cord. Cut a window into the insulating paper behind the opening.",
        f"What opens the vent: gas that pushes the plate off its magnets. Pull the plate straight "
        f"off with a spring balance, five times: it must let go at {pull:.2f} N "
        f"({pull / 9.81 * 1000:.0f} g) at most, which is {kpa:g} kPa. Thin paper under the washers "
        "makes it less. Never tape, glue or screw the cover shut; keep what lies before it free.",
        "Glands: one round jacketed cable through each, a plug in any that stays empty. Single "
        "wires side by side leak.",
        f"Test before any cell goes in: empty tub, lid on, a water-filled U-tube through a gland. "
        f"It must hold {kpa * TEST_RATIO * WATER_CM_KPA:.0f} cm of water for a minute, with the "
        f"membrane taped over for that time alone, and the vent must open before "
        f"{kpa * WATER_CM_KPA:.0f} cm.",
        "Tighten the lid's screws crosswise, in two rounds, until lid and flange meet.",
    )


def gasket_cautions(gasket: GasketSpec) -> tuple[str, ...]:
    """What no check covers."""
    return (
        "gasket: the vent lets out the gas of one cell that vents without ignition. No gasketed "
        "enclosure made here withstands a gas explosion, or several cells: where cells may ignite, "
        "leave it out",
        f"gasket: {gasket.gas_l:g} l within {gasket.within_s:g} s are yours; counted as "
        f"{hot_gas_l(gasket):.1f} l at {gasket.gas_c:g} C, {gasket.gas_kg_m3:g} kg/m3 at 25 C: "
        "hotter or faster gas needs a larger vent. No protection class is claimed",
    )
