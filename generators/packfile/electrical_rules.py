"""Load, controller and temperatures, checked against each other."""

from __future__ import annotations

from collections.abc import Iterator

from generators.packfile.rules import Finding
from layouts.formats import CellFormat
from layouts.pack import Bay, EnclosureStyle, Pack, Sun
from layouts.ratings.charge import CHARGE_C, DISCHARGE_LEAST_C

__all__ = ["ELECTRICAL_RULES"]


def amps_or_watts(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """A load is given in one unit, amps or watts: the continuous and the peak one."""
    load = pack.load
    if load is None:
        return
    amps, watts = ("load", "continuous_a"), ("load", "continuous_w")
    if load.continuous_a is None and load.continuous_w is None:
        yield Finding(
            field=amps,
            reads=(watts, ("load", "cycle"), ("load", "machine")),
            why="is missing, and so is continuous_w",
            remedy="add one of them: the continuous load of the machine; or load.machine, which "
            "gives it",
        )
    for name in ("continuous", "peak"):
        if getattr(load, f"{name}_a") is not None and getattr(load, f"{name}_w") is not None:
            yield Finding(
                field=("load", f"{name}_w"),
                reads=(("load", f"{name}_a"),),
                why=f"is given together with {name}_a",
                remedy="delete one of the two",
            )


def peak_watts(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """A peak in watts is more than the continuous load."""
    load = pack.load
    if load is None or load.peak_w is None or load.continuous_w is None:
        return
    if load.peak_w < load.continuous_w:
        yield Finding(
            field=("load", "peak_w"),
            reads=(("load", "continuous_w"),),
            why=f"is less than continuous_w {load.continuous_w:g}",
            remedy=f"use at least {load.continuous_w:g}, or delete it",
        )


def cycle_and_profile(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """A load over time is given once, and takes current."""
    load = pack.load
    if load is not None and load.cycle is not None and load.profile is not None:
        yield Finding(
            field=("load", "cycle"),
            reads=(("load", "profile"),),
            why="is given together with profile",
            remedy="delete one of the two",
        )


def cutoff(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """A machine that stops at the full-charge voltage never runs."""
    full_v = pack.series * pack.cell.full_v
    reads = (("series",), ("cell", "full_v"), ("cell", "chemistry"))
    places = (
        ("load", "discharge_cutoff_v", pack.load),
        ("controller", "cutoff_v", pack.controller),
    )
    for section, key, given in places:
        volts = getattr(given, key, None)
        if volts is not None and volts >= full_v:
            yield Finding(
                field=(section, key),
                reads=reads,
                why=f"is not below the {full_v:.1f} V of the fully charged pack",
                remedy="give the voltage at which the discharge stops",
            )


def controller(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """A controller's lowest and cut-off voltage lie below its highest."""
    given = pack.controller
    if given is None or given.highest_v is None:
        return
    for name in ("lowest_v", "cutoff_v"):
        value = getattr(given, name)
        if value is not None and value >= given.highest_v:
            yield Finding(
                field=("controller", name),
                reads=(("controller", "highest_v"),),
                why=f"is not below highest_v {given.highest_v:g}",
                remedy="use the values of its data sheet",
            )


def temperatures(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Ranges of temperature that are not empty."""
    cell = pack.cell
    low, high = CHARGE_C if cell.charge_c is None else cell.charge_c
    if low >= min(high, cell.max_c):
        yield Finding(
            field=("cell", "charge_c"),
            reads=(("cell", "max_c"),),
            value=f"{low:g} to {high:g}",
            why=f"leaves no range below the cell's max_c {cell.max_c:g}",
            remedy="give the lower temperature first, below max_c",
        )
    least = DISCHARGE_LEAST_C if cell.discharge_least_c is None else cell.discharge_least_c
    if least >= cell.max_c:
        yield Finding(
            field=("cell", "discharge_least_c"),
            reads=(("cell", "max_c"),),
            why=f"is not below the cell's max_c {cell.max_c:g}",
            remedy="use the values of its data sheet",
        )


def cooled(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Faces for sun and air to reach, and the walls of a closed bay."""
    walled = pack.space is not None and pack.space.room is not None
    reads = (("enclosure", "style"), ("space",))
    if pack.cooling.bay is Bay.CLOSED and not walled:
        yield Finding(
            field=("cooling", "bay"),
            reads=reads,
            why="needs the walls of the bay, and the file gives no space with walls",
            remedy="give space.box_mm or space.outline_mm, or write open",
        )
    bare = pack.enclosure.style is EnclosureStyle.NONE and pack.cooling.bay is Bay.OPEN
    for key, given in (
        ("sun", pack.cooling.sun is not Sun.NONE),
        ("below_free", pack.cooling.below_free),
    ):
        if bare and given:
            yield Finding(
                field=("cooling", key),
                reads=reads,
                why="has no effect on cells without an enclosure in an open bay",
                remedy="delete it, or write bay: closed",
            )


def board(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Heat of a board at a current that is given."""
    if pack.bms.loss_w is not None and pack.bms.continuous_a is None:
        yield Finding(
            field=("bms", "loss_w"),
            reads=(("bms", "continuous_a"),),
            why="is the heat at continuous_a, which is not given",
            remedy="give bms.continuous_a",
        )
    made_for = pack.bms.series
    if made_for is not None and made_for < pack.series:
        yield Finding(
            field=("bms", "series"),
            reads=(("series",),),
            why=f"has {made_for + 1} taps, and {pack.series} groups have {pack.series + 1}: the "
            "others would be charged without being watched",
            remedy=f"use a board for {pack.series} in series",
        )


ELECTRICAL_RULES = (
    amps_or_watts, peak_watts, cycle_and_profile, cutoff, controller, temperatures, cooled, board,
)  # fmt: skip
