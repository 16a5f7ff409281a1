"""Volts of the pack against what the controller takes, and against its chemistry."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.checks import Check
from layouts.errors import PlanError
from layouts.formats import chemistries
from layouts.ratings.given import PRACTICE, above_zero, at_most, counted

__all__ = [
    "StringVolts",
    "chemistry_caution",
    "controller_cutoff_check",
    "controller_high_check",
    "controller_low_check",
    "string_volts",
]

# off the usual full-charge voltage that is worth mentioning; judgement, no source
CHEMISTRY_V = 0.05


@dataclass(frozen=True, kw_only=True, slots=True)
class StringVolts:
    """Resting volts of a whole pack, empty, nominal and full."""

    empty_v: float
    nominal_v: float
    full_v: float


def string_volts(*, series: int, empty_v: float, nominal_v: float, full_v: float) -> StringVolts:
    """Volts of ``series`` cells.

    Raises PlanError where a cell's volts don't rise with its charge.
    """
    counted(series, "series")
    for name, value in (("empty_v", empty_v), ("nominal_v", nominal_v), ("full_v", full_v)):
        above_zero(value, name)
    if not empty_v < nominal_v < full_v:
        raise PlanError(
            field="cell.nominal_v",
            value=f"{empty_v:g}, {nominal_v:g}, {full_v:g}",
            why="a cell's cut-off, nominal and full-charge voltages must rise in that order",
            remedy="use those of its data sheet",
        )
    return StringVolts(
        empty_v=series * empty_v, nominal_v=series * nominal_v, full_v=series * full_v
    )


def controller_high_check(volts: StringVolts, *, highest_v: float) -> Check:
    """A full pack has no more volts than the controller takes."""
    return Check(
        id="controller_high_v",
        about="full-charge voltage within the controller's input range",
        holds=at_most(volts.full_v, above_zero(highest_v, "highest_v")),
        value=volts.full_v,
        limit=highest_v,
        unit="V",
        source="the controller's data sheet",
        remedy="fewer cells in series, or a controller for a higher voltage",
        at_least=False,
    )


def controller_low_check(volts: StringVolts, *, lowest_v: float) -> Check:
    """The controller runs through most of the charge: it takes the pack's nominal volts."""
    return Check(
        id="controller_low_v",
        about="nominal voltage within the controller's input range",
        holds=at_most(above_zero(lowest_v, "lowest_v"), volts.nominal_v),
        value=volts.nominal_v,
        limit=lowest_v,
        unit="V",
        source="the controller's data sheet",
        remedy="more cells in series, or a controller for a lower voltage",
    )


def controller_cutoff_check(volts: StringVolts, *, cutoff_v: float) -> Check:
    """The controller stops before its cells are below their least volts."""
    return Check(
        id="controller_cutoff_v",
        about="controller cut-off at or above the cells' discharge cut-off voltage",
        holds=at_most(volts.empty_v, above_zero(cutoff_v, "cutoff_v")),
        value=cutoff_v,
        limit=volts.empty_v,
        unit="V",
        source="the cell's data sheet",
        remedy=f"set its cut-off to {volts.empty_v:.1f} V or higher",
    )


def chemistry_caution(*, chemistry: str, full_v: float) -> str | None:
    """What to say of a cell whose full volts are above its chemistry's usual ones; else None.

    A chemistry without a row in the table is the pack file's own matter: None.
    """
    above_zero(full_v, "full_v")
    usual = chemistries().get(chemistry)
    if usual is None or full_v <= usual.full_v + CHEMISTRY_V:
        return None
    return (
        f"{full_v:g} V is above the {usual.full_v:g} V usual for {chemistry} ({PRACTICE}): check "
        "that the data sheet is for this cell; overcharge sets cells on fire"
    )
