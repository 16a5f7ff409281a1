"""The vent of an enclosure with a gasket: the opening that one venting cell's gas needs.

The pack file gives the gas of one cell at 25 C, how fast it comes and at which pressure the vent
opens. One cell that vents without ignition is meant; no gasketed enclosure made here withstands a
gas explosion, or several cells at once.
"""

from __future__ import annotations

from layouts.pack import GasketSpec
from layouts.strips.vent_area import orifice_mm2

__all__ = ["ROOM_K", "hot_gas_kg_m3", "hot_gas_l", "vent_need_mm2"]

ROOM_K, ICE_K = 298.15, 273.15  # 25 C and 0 C


def _hotter(gasket: GasketSpec) -> float:
    """Absolute temperature of the gas over that at which its volume is stated."""
    return (gasket.gas_c + ICE_K) / ROOM_K


def hot_gas_l(gasket: GasketSpec) -> float:
    """Volume of one cell's gas as hot as it leaves, V T / 298 K (ideal gas) [l]."""
    return gasket.gas_l * _hotter(gasket)


def hot_gas_kg_m3(gasket: GasketSpec) -> float:
    """Its density as hot as it leaves (ideal gas) [kg/m3]."""
    return gasket.gas_kg_m3 / _hotter(gasket)


def vent_need_mm2(gasket: GasketSpec) -> float:
    """Opening through which it leaves at the pressure that opens the vent, by the orifice formula
    [mm2]."""
    return orifice_mm2(
        flow_m3_s=hot_gas_l(gasket) / 1000.0 / gasket.within_s,
        pressure_pa=gasket.opens_at_kpa * 1000.0,
        density_kg_m3=hot_gas_kg_m3(gasket),
    )
