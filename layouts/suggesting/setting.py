"""Requirements on a suggestion, and what all suggestions have in common."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

from layouts import defaults
from layouts.enclosures.laps import with_lapped_wall
from layouts.formats import CellFormat
from layouts.pack import (
    Cell,
    Controller,
    EnclosureStyle,
    Lattice,
    Leads,
    Load,
    Mount,
    Pack,
    Printer,
    Side,
)
from layouts.ratings.charge import Charger
from layouts.spaces.space import Space

__all__ = [
    "FORMS",
    "Asked",
    "Axis",
    "Base",
    "Combination",
    "MachineSections",
    "Offer",
    "Setting",
    "Way",
    "base_for",
    "pack_of",
]

# What encloses the cells, in the order in which it is looked at
FORMS = (EnclosureStyle.TUB, EnclosureStyle.FITTED, EnclosureStyle.NONE)

# Copper of the leads, A a mm2: what the default leads carry; common practice, no source
LEAD_A_MM2 = 5.0
# Usual sections from the default one up, mm2: IEC 60228, preferred sizes, from memory, and 8
LEADS_MM2 = (8.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0)


class Axis(Enum):
    """Along which axis of the space the cells stand."""

    X = "x"
    Y = "y"
    Z = "z"


@dataclass(frozen=True, kw_only=True, slots=True)
class Offer:
    """One cell that may be taken.

    ``given``: keys of the pack file's cell section that were given for it, as (key, value):
    the others are assumed from its size. ``price``: of one cell, in the currency of the list.
    """

    name: str
    cell: Cell
    size: CellFormat
    given: tuple[tuple[str, object], ...]
    price: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Asked:
    """Requirements of the machine.

    ``volts_v``: nominal. ``window_v``: the volts it works between, (low, high), either may be left
    open. ``energy_wh``, ``current_a``: at least. ``regeneration_a``: returned by the motor.
    ``charger_v``, ``charger_a``: end voltage and current of a charger that is to be kept. None: not
    required."""

    volts_v: float | None = None
    window_v: tuple[float | None, float | None] | None = None
    energy_wh: float | None = None
    current_a: float | None = None
    regeneration_a: float | None = None
    charger_v: float | None = None
    charger_a: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class MachineSections:
    """Sections of a pack file that tell of the machine; None where it does not have them."""

    load: Load | None = None
    controller: Controller | None = None
    charger: Charger | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Base:
    """Sections of the pack file that are the same in every row."""

    leads: Leads
    mount: Mount
    printer: Printer
    machine: MachineSections


@dataclass(frozen=True, kw_only=True, slots=True)
class Combination:
    """One way to make the pack; ``offer`` counts the offers from 0. ``form``: what encloses it."""

    offer: int
    series: int
    parallel: int
    lattice: Lattice
    form: EnclosureStyle = EnclosureStyle.TUB

    @property
    def cells(self) -> int:
        """How many cells it takes."""
        return self.series * self.parallel


@dataclass(frozen=True, kw_only=True, slots=True)
class Way:
    """How a pack stands in the space: its cells' axis, and the side that the leads leave to.

    ``side`` is a side of the plan that one sees along the cells' axis.
    """

    axis: Axis
    side: Side


@dataclass(frozen=True, kw_only=True, slots=True)
class Setting:
    """All that a sweep works from. ``axes``: axes of the space that cells may stand along;
    ``forms``: what may enclose them."""

    space: Space
    asked: Asked
    offers: tuple[Offer, ...]
    base: Base
    axes: tuple[Axis, ...] = (Axis.Z, Axis.X, Axis.Y)
    forms: tuple[EnclosureStyle, ...] = FORMS


def base_for(asked: Asked, machine: MachineSections | None = None) -> Base:
    """Defaults of the pack file, with leads for the required current."""
    machine = machine or MachineSections()
    if machine.load is None and asked.current_a is not None:
        load = Load(continuous_a=asked.current_a, regeneration_a=asked.regeneration_a)
        machine = replace(machine, load=load)
    needed = 0.0 if asked.current_a is None else asked.current_a / LEAD_A_MM2
    section = next((mm2 for mm2 in LEADS_MM2 if mm2 >= needed), LEADS_MM2[-1])
    return Base(
        leads=defaults.leads(section),
        mount=defaults.mount(),
        printer=defaults.printer(),
        machine=machine,
    )


def pack_of(
    candidate: Combination,
    setting: Setting,
    *,
    space: Space | None = None,
    side: Side | None = None,
) -> Pack:
    """The candidate as a pack with all defaults, as the pack file would give it.

    ``space`` and ``side``: the space as seen along the cells' axis, and where the leads leave.
    """
    offer, base = setting.offers[candidate.offer], setting.base
    enclosure = with_lapped_wall(defaults.enclosure(candidate.form), base.printer.nozzle_mm)
    if candidate.form is not EnclosureStyle.TUB:  # the file says it
        enclosure = replace(enclosure, style_is_open=False)
    return Pack(
        name=pack_name(candidate, setting),
        cell=offer.cell,
        series=candidate.series,
        parallel=candidate.parallel,
        lattice=candidate.lattice,
        holder=defaults.holder(offer.size, base.printer.nozzle_mm),
        strip=defaults.strip(offer.size, candidate.lattice),
        leads=base.leads if side is None else replace(base.leads, side=side),
        bms=defaults.bms(candidate.series),
        enclosure=enclosure,
        mount=base.mount,
        printer=base.printer,
        space=space,
        cooling=defaults.cooling(space),
        load=base.machine.load,
        controller=base.machine.controller,
        charger=base.machine.charger,
    )


def pack_name(candidate: Combination, setting: Setting) -> str:
    """A name for the pack that says what it is: its format, S and P, and what encloses it where
    that is no tub; letters, digits, -."""
    size = setting.offers[candidate.offer].cell.format
    plain = "".join(one if one.isascii() and one.isalnum() else "-" for one in size)
    form = {EnclosureStyle.FITTED: "-fitted", EnclosureStyle.NONE: "-cells"}.get(candidate.form, "")
    return f"{plain}-{candidate.series}s{candidate.parallel}p-{candidate.lattice.value}{form}"
