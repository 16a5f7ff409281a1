"""The temperature limits of cells and printed plastic, and an ambient temperature below them."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.errors import PlanError
from layouts.heat.polymers import PolymerHeat, polymer_heats
from layouts.pack import Pack

__all__ = ["TemperatureLimits", "check_ambient", "check_soaked", "heat_limits"]


@dataclass(frozen=True, kw_only=True, slots=True)
class TemperatureLimits:
    """``cells_c``: maximum cell temperature allowed; ``polymer``: what holds them."""

    cells_c: float
    polymer: PolymerHeat

    @property
    def lowest_c(self) -> float:
        """The lower of both; the plastic touches the hottest can."""
        return min(self.cells_c, self.polymer.most_c)

    @property
    def named(self) -> str:
        """Which of both it is."""
        return "cells" if self.cells_c <= self.polymer.most_c else self.polymer.material


def heat_limits(pack: Pack) -> TemperatureLimits:
    """Limits of cells and printed plastic. Raises PlanError for a material without values."""
    return TemperatureLimits(cells_c=pack.cell.max_c, polymer=_polymer(pack))


def check_ambient(limits: TemperatureLimits, *, ambient_c: float) -> None:
    """Raises PlanError where the air itself is as warm as cells or plastic may get."""
    if ambient_c < limits.lowest_c:
        return
    others = sorted(
        name
        for name, polymer in polymer_heats().items()
        if min(limits.cells_c, polymer.most_c) > ambient_c
    )
    material = f"print in {' or '.join(others)}, or " if others else ""
    raise PlanError(
        field="load.ambient_c",
        value=f"{ambient_c:g}",
        why=f"is at the temperature limit of the {limits.named}, {limits.lowest_c:g} C",
        remedy=f"{material}use less than {limits.lowest_c:g}",
    )


def check_soaked(limits: TemperatureLimits, *, soaked_c: float) -> None:
    """Raises PlanError where the sun alone makes the pack as warm as cells or plastic may get."""
    if soaked_c >= limits.lowest_c:
        raise PlanError(
            field="cooling.sun",
            why=f"makes the pack {soaked_c:.0f} C warm without any load, and the limit of the "
            f"{limits.named} is {limits.lowest_c:g} C",
            remedy="shade it and write none, paint the face white and write light, or let air to "
            "its lower face (cooling.below_free)",
        )


def _polymer(pack: Pack) -> PolymerHeat:
    known = polymer_heats()
    if pack.printer.material not in known:
        raise PlanError(
            field="printer.material",
            value=pack.printer.material,
            why="has no softening temperature on record",
            remedy="use one of " + ", ".join(sorted(known)),
        )
    return known[pack.printer.material]
