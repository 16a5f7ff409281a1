"""The opening that one venting cell's gas needs at a pressure."""

from __future__ import annotations

import math

__all__ = ["GAS_L_AH", "GAS_S", "WINDOW_PA", "orifice_mm2", "vent_area_mm2"]

# The gas of one cell and how it flows out; judgement from memory, no source
GAS_L_AH = 2.0  # of gas an ampere-hour, warm as it leaves
GAS_S = 2.0  # within which it comes
GAS_KG_M3 = 0.6  # its density
ORIFICE_RATIO = 0.6  # discharge coefficient of a sharp-edged opening
WINDOW_PA = 21_000.0  # over a covered end: a strip lifts, and the holder's lip withstands it


def vent_area_mm2(cell_ah: float, *, pressure_pa: float) -> float:
    """Opening through which one venting cell's gas leaves at a pressure [mm2].

    With 2 l/Ah within 2 s and 0.6 kg/m3 (judgement from memory, no source).
    """
    flow_m3_s = GAS_L_AH * 1e-3 * cell_ah / GAS_S
    return orifice_mm2(flow_m3_s=flow_m3_s, pressure_pa=pressure_pa, density_kg_m3=GAS_KG_M3)


def orifice_mm2(*, flow_m3_s: float, pressure_pa: float, density_kg_m3: float) -> float:
    """Opening through which gas flows at a pressure [mm2].

    A = V / (0.6 sqrt(2 dp / rho)), the orifice formula of any handbook of fluid mechanics.
    """
    return 1e6 * flow_m3_s / (ORIFICE_RATIO * math.sqrt(2.0 * pressure_pa / density_kg_m3))
