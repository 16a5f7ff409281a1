"""Invented packs for tests, made from the same defaults as the pack file's."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from layouts import defaults
from layouts.formats import cell_formats, chemistries
from layouts.pack import Cell, JointForm, Lattice, Pack


def sample_pack(
    series: int = 10,
    parallel: int = 4,
    *,
    format: str = "21700",
    chemistry: str = "nmc",
    lattice: Lattice = Lattice.HONEYCOMB,
    name: str = "sample",
    **changes: Any,
) -> Pack:
    """A pack of any size and format; ``changes`` replace whole sections."""
    size = cell_formats()[format]
    volts = chemistries()[chemistry]
    cell = Cell(
        format=format,
        chemistry=chemistry,
        diameter_mm=size.diameter_mm,
        length_mm=size.longest_mm,
        capacity_ah=4.0,
        continuous_a=12.0,
        internal_resistance_mohm=15.0,
        mass_g=size.mass_g,
        empty_v=volts.empty_v,
        nominal_v=volts.nominal_v,
        full_v=volts.full_v,
        max_c=60.0,
    )
    values: dict[str, Any] = {
        "name": name,
        "cell": cell,
        "series": series,
        "parallel": parallel,
        "lattice": lattice,
        "holder": defaults.holder(size),
        "strip": defaults.strip(size, lattice),
        "leads": defaults.leads(),
        "bms": defaults.bms(series),
        "enclosure": defaults.enclosure(),
        "mount": defaults.mount(),
        "printer": defaults.printer(),
    }
    values.update(changes)
    return Pack(**values)


def linked_pack(series: int = 10, parallel: int = 4, **more: Any) -> Pack:
    """The same joined by straight strips, for what is theirs."""
    pack = sample_pack(series, parallel, **more)
    return replace(pack, strip=replace(pack.strip, joints=JointForm.LINKS))
