"""What to know about a pack file that is sound: nothing fails by it."""

from __future__ import annotations

from collections.abc import Iterator
from enum import Enum

from generators.packfile.as_pack import without_none
from generators.packfile.driving_models import DrivenSection
from generators.packfile.faults import Caution
from generators.packfile.models import PackFile
from layouts.defaults import USUAL_CHEMISTRY
from layouts.formats import cell_formats, chemistries
from layouts.pack import EnclosureStyle, Pack, Surroundings
from layouts.parts.layer_levels import HOLDER_HEIGHTS
from layouts.ratings.plausible import QUANTITIES, implausible_values
from layouts.ratings.touch_voltage import DRY_V, WET_V

__all__ = ["cautions_of"]

SPREAD_MM = 0.4  # shorter cells than that stand back from their strips; common practice, no source
SAFE_WEB_MM = 1.2  # a wall that carries something: public design rules of filament printing
TIGHT_MM = 0.15  # less is a tight fit: public printing guides (normal 0.15 to 0.25)
HARD_G = 10.0  # beyond what small wheeled machines see; common practice, no source
FLOAT_MM = 1e-6  # far below any calliper, above float noise
WHOLE_MM = 1e-6  # float noise in sums of millimetres


def cautions_of(pack: Pack, form: PackFile) -> tuple[Caution, ...]:
    """All cautions on a pack, in the order of the file's sections."""
    found = (*_assumed(pack, form), *_cells(pack, form), *_volts(pack), *_holder(pack))
    return (*found, *_layers(pack, form), *_machine(pack, form))


def _assumed(pack: Pack, form: PackFile) -> Iterator[Caution]:
    """Values that only the data sheet knows and that the file leaves out."""
    yield from _chemistry(pack, form)
    units = {"capacity_ah": "Ah", "continuous_a": "A", "internal_resistance_mohm": "mohm"}
    for key, unit in units.items():
        if getattr(form.cell, key) is None:
            yield Caution(
                field=f"cell.{key}",
                text=f"not given, {getattr(pack.cell, key):g} {unit} assumed, typical of the size; "
                "write the value of the data sheet before you rely on any current",
            )
    if pack.cell.format not in cell_formats():
        yield Caution(
            field="cell.format",
            text=f"{pack.cell.format} is not built in: holder and strips follow from your "
            "measurements; check that the cells have a flat terminal on each end, and print a "
            "short test piece first",
        )


def _chemistry(pack: Pack, form: PackFile) -> Iterator[Caution]:
    """An assumed chemistry, where voltages follow from it."""
    cell = pack.cell
    volts = (form.cell.empty_v, form.cell.nominal_v, form.cell.full_v)
    if form.cell.chemistry is not None or None not in volts:
        return
    known = chemistries()
    others = ", ".join(
        f"{name} {pack.series * other.full_v:.1f} V"
        for name, other in known.items()
        if other.full_v != known[cell.chemistry].full_v
    )
    why = f", in which {cell.format} is nearly always sold" * (cell.format in USUAL_CHEMISTRY)
    yield Caution(
        field="cell.chemistry",
        text=f"not given, {cell.chemistry} assumed{why}: this pack then has "
        f"{pack.series * cell.full_v:.1f} V at full charge, as {others}. Cells charged to the "
        "voltage of another chemistry burn: write the one on their data sheet",
    )


def _implausible(pack: Pack, form: PackFile) -> Iterator[Caution]:
    """Values that no cell of that size and chemistry has."""
    cell = pack.cell
    given = {key: getattr(form.cell, key) for key in QUANTITIES}
    found = implausible_values(
        without_none(given),
        chemistry=cell.chemistry,
        diameter_mm=cell.diameter_mm,
        length_mm=cell.length_mm,
        capacity_ah=cell.capacity_ah,
    )
    for one in found:
        yield Caution(
            field=f"cell.{one.key}",
            text=f"{one.value:g} is outside {one.least:.3g} to {one.most:.3g}, where cells of "
            f"{cell.format} and {cell.chemistry} with {cell.capacity_ah:g} Ah lie (common "
            "practice, from memory, no source): check the value and its unit against the data "
            "sheet",
        )


def _cells(pack: Pack, form: PackFile) -> Iterator[Caution]:
    yield from _implausible(pack, form)
    cell = pack.cell
    shortest = form.cell.shortest_length_mm
    if shortest is not None and cell.length_mm - shortest > SPREAD_MM + FLOAT_MM:
        yield Caution(
            field="cell.shortest_length_mm",
            text=f"{shortest:g} is {cell.length_mm - shortest:.2g} mm less than the longest, "
            f"{cell.length_mm:g}: short cells stand back from their strips; sort the cells to "
            f"within {SPREAD_MM:g} mm",
        )
    size = cell_formats().get(cell.format)
    if size is not None and size.longest_mm - cell.length_mm > SPREAD_MM + FLOAT_MM:
        yield Caution(
            field="cell.measured_length_mm",
            text=f"{cell.length_mm:g} is short for a {cell.format}: usual cells of up to "
            f"{size.longest_mm:g} mm will not fit later",
        )
    ac, dc = cell.ac_resistance_mohm, cell.internal_resistance_mohm
    if ac is not None and dc < ac:
        yield Caution(
            field="cell.internal_resistance_mohm",
            text=f"{dc:g} is less than the 1 kHz value {ac:g}: direct-current resistance is "
            "usually 1.5 to 3 times that; check whether the two are exchanged",
        )


def _volts(pack: Pack) -> Iterator[Caution]:
    full = pack.series * pack.cell.full_v
    if full > DRY_V:
        yield Caution(
            field="series",
            text=f"{full:.1f} V at full charge is over {DRY_V:g} V: dangerous to touch; cover "
            "every live part, weld group by group, never work alone",
        )
    elif full > WET_V and pack.enclosure.surroundings is Surroundings.SPLASHED:
        yield Caution(
            field="series",
            text=f"{full:.1f} V at full charge is over {WET_V:g} V in wet surroundings: dangerous "
            "to wet hands; cover every live part and keep water out of the connectors",
        )


def _holder(pack: Pack) -> Iterator[Caution]:
    holder = pack.holder
    if holder.web_mm < SAFE_WEB_MM:
        yield Caution(
            field="holder.web_mm",
            text=f"{holder.web_mm:g} is less than {SAFE_WEB_MM:g}: the holder is weak between "
            "cells",
        )
    if holder.clearance_mm < TIGHT_MM:
        yield Caution(
            field="holder.clearance_mm",
            text=f"{holder.clearance_mm:g} is less than the accuracy of most printers: print a "
            "test piece",
        )


def _layers(pack: Pack, form: PackFile) -> Iterator[Caution]:
    """Heights of the file that are no whole layers, and what was made of them."""
    for section, names in (
        ("holder", HOLDER_HEIGHTS),
        ("enclosure", ("floor_mm", "lid_mm", "gas_gap_mm")),
    ):
        for name in names:
            asked = getattr(getattr(form, section), name)
            taken = getattr(getattr(pack, section), name)
            if asked is not None and abs(asked - taken) > WHOLE_MM:
                yield Caution(
                    field=f"{section}.{name}",
                    text=f"{asked:g} is made {taken:g}: parts are drawn in whole layers of "
                    f"{pack.printer.layer_mm:g} mm",
                )


def _machine(pack: Pack, form: PackFile) -> Iterator[Caution]:
    if pack.enclosure.surroundings is Surroundings.SPLASHED:
        what = "slots and drains protect against splashes only"
        if pack.enclosure.gasket is not None:
            what = "a printed case with a gasket keeps splashes out, not a jet or standing water"
        yield Caution(
            field="enclosure.surroundings",
            text=f"splashed: {what}; "
            "mount the pack upright, above standing water, and coat the strips",
        )
    if pack.printer.material == "pla":
        yield Caution(
            field="printer.material",
            text="pla softens near 55 C, which cells reach: use petg, abs or asa",
        )
    if pack.space is None:
        yield Caution(
            field="space", text="not given: nothing checks whether the pack fits the machine"
        )
    else:
        yield from (Caution(field="space", text=note) for note in pack.space.notes)
        if pack.space.place is not None and not pack.space.place.is_upright:
            yield Caution(
                field="space.place.turns_deg",
                text="the pack does not stand upright: drains are in the floor, which then is no "
                "longer lowest, water may stand over cells or board, and heat is counted as of a "
                "pack that stands",
            )
        if pack.space.open_sides is None and pack.enclosure.style is not EnclosureStyle.NONE:
            yield Caution(
                field="space.open_sides",
                text="not given: nothing checks whether vent gas gets out of the space; name the "
                "sides that are open to the air",
            )
    if pack.load is None:
        yield Caution(
            field="load",
            text="not given: currents are reported, none is checked against a load",
        )
        return
    assert form.load is not None  # the pack's load comes from it
    if form.load.machine is not None:
        yield from _driven(form.load.machine)
    if pack.mount.use == "crash-car":
        yield Caution(
            field="mount.use",
            text="crash-car: printed brackets break in a crash, whatever their checks tell; hold "
            "the pack by metal as well, and have the mounting approved where the law asks for it",
        )
    if "acceleration_g" not in form.load.model_fields_set and pack.mount.use is None:
        yield Caution(
            field="load.acceleration_g",
            text="not given, [4, 4, 6] assumed: small wheeled machines on rough ground",
        )
    elif max(pack.load.acceleration_g) > HARD_G:
        yield Caution(
            field="load.acceleration_g",
            text=f"over {HARD_G:g} g: do not rely on printed brackets alone; add a metal strap",
        )


def _driven(machine: DrivenSection) -> Iterator[Caution]:
    """Rolling resistance, drag and efficiency that are only typical."""
    pairs = (("ground", "rolling_ratio"), ("body", "drag_area_m2"), ("efficiency", "efficiency"))
    assumed = [
        f"{first} {_word(getattr(machine, first))}"
        for first, exact in pairs
        if not {first, exact} & machine.model_fields_set
    ]
    if assumed:
        yield Caution(
            field="load.machine",
            text=f"{', '.join(assumed)} assumed: the watts follow from them; tow the machine with "
            "a spring scale, and measure its current when it runs",
        )


def _word(value: object) -> str:
    return str(value.value) if isinstance(value, Enum) else f"{value:g}"
