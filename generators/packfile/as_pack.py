"""From a form that is sound to a ``Pack``: every key that is left out takes its default."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import floor
from typing import Any

from generators.packfile.cell_models import CellSection
from generators.packfile.cut_plate_models import CutPlateEntry
from generators.packfile.electrical_models import BmsSection, FuseSection
from generators.packfile.frame_building import frame_of, hold_of
from generators.packfile.load_of import load_of, peak_duration_s
from generators.packfile.models import PackFile
from generators.packfile.printer_models import PrinterSection
from generators.packfile.section import Section
from layouts import defaults
from layouts.cut_plate_spec import CutPlate, HoleCircle, PlateHole, PlateSlot
from layouts.enclosures.laps import with_lapped_wall
from layouts.formats import CellFormat, Chemistry
from layouts.mount_spec import USES
from layouts.pack import (
    BalanceLeadSpec,
    Cell,
    Controller,
    Cooling,
    EnclosureSpec,
    EnclosureStyle,
    GasketSpec,
    GroupWishes,
    Lattice,
    Load,
    MeasuredCells,
    Mount,
    MountShock,
    Pack,
    Pin,
    Printer,
)
from layouts.parts.layer_levels import in_whole_layers
from layouts.place_spec import RoomWish
from layouts.printer_spec import square_in_round_mm
from layouts.ratings.charge import Charger
from layouts.ratings.fuse import Fuse
from layouts.ratings.profile import Profile
from layouts.spaces.space import Space

__all__ = ["as_pack", "without_none"]


def without_none(values: Mapping[str, Any]) -> dict[str, Any]:
    """The entries that have a value."""
    return {key: value for key, value in values.items() if value is not None}


def _given(section: Section) -> dict[str, Any]:
    """The keys of a section that have a value."""
    return without_none({key: getattr(section, key) for key in type(section).model_fields})


# chosen where they are not given
CHOSEN = {"joints", "material", "thickness_mm", "layers", "weld_spots"}


def _written(section: Section) -> tuple[str, ...]:
    """The keys of a section that the file sets, of those that win over a choice."""
    return tuple(sorted(_given(section).keys() & section.model_fields_set & CHOSEN))


def as_pack(
    form: PackFile,
    size: CellFormat,
    volts: Chemistry,
    space: Space | None,
    profile: Profile | None,
    measured: MeasuredCells | None,
) -> Pack:
    """The pack of a form. ``size``, ``volts``: the can's and the chemistry's starting values;
    ``space``, ``profile``, ``measured``: what the files hold that the form names."""
    leads, strip = _given(form.leads), _given(form.strip)
    lattice = Lattice.GRID if form.lattice == "grid" else Lattice.HONEYCOMB
    wire = {"wire_mm2": leads["wire_mm2"]} if "wire_mm2" in leads else {}
    pack = Pack(
        name=form.name,
        cell=_cell(form.cell, size, volts),
        series=form.series,
        parallel=form.parallel,
        lattice=lattice,
        holder=replace(
            defaults.holder(size, _printer(form.printer).nozzle_mm),
            **_given(form.holder),
            clearance_given=form.holder.clearance_mm is not None,
        ),
        strip=replace(defaults.strip(size, lattice), **strip, given=_written(form.strip)),
        leads=replace(defaults.leads(**wire), **leads),
        bms=replace(
            defaults.bms(form.series),
            **{key: value for key, value in _given(form.bms).items() if key not in PLACES}
            | {
                "peak_s": peak_duration_s(form.bms.peak_a, form.bms.peak_s),
                "place": _wish(form.bms),
            },
        ),
        enclosure=_enclosure(form, _printer(form.printer).nozzle_mm),
        mount=_mount(form),
        printer=_printer(form.printer),
        space=space,
        load=_as_turned(
            _used(form, load_of(form.load, profile, full_v=form.series * volts.full_v)), space
        ),
        grouping=_grouping(form),
        free_spacing=form.lattice == "free",
        fuse=None if form.fuse is None else Fuse(**_fuse(form.fuse)),
        fuse_place=None if form.fuse is None else _wish(form.fuse),
        taps=BalanceLeadSpec(awg=form.taps.awg, fused=form.taps.fused),
        controller=_controller(form),
        charger=None if form.charger is None else Charger(**_given(form.charger)),
        disconnect=form.disconnect,
        spacing_floor_mm=form.spacing_floor_mm,
        cooling=_cooling(form, space),
        measured_cells=measured,
        plates_to_cut=tuple(_cut_plate(one) for one in form.plates_to_cut),
    )
    return in_whole_layers(pack)


def _as_turned(load: Load | None, space: Space | None) -> Load | None:
    """The load with its jolts along the pack's axes; the file has them along the space's."""
    if load is None or space is None or space.place is None:
        return load
    return replace(load, acceleration_g=space.place.along_pack(load.acceleration_g))


PLACES = ("place", "place_mm")  # of a room


def _fuse(section: FuseSection) -> dict[str, Any]:
    """What its data sheet tells."""
    return {key: value for key, value in _given(section).items() if key not in PLACES}


def _wish(section: BmsSection | FuseSection) -> RoomWish | None:
    """Where a room must stand."""
    area = None
    if section.place_mm is not None:
        (a, b), (c, d) = section.place_mm
        area = min(a, c), min(b, d), max(a, c), max(b, d)
    elif section.place is None:
        return None
    return RoomWish(side=None if section.place is None else section.place.value, area_mm=area)


def _enclosure(form: PackFile, nozzle_mm: float) -> EnclosureSpec:
    given = _given(form.enclosure)
    if form.enclosure.gasket is not None:
        given["gasket"] = GasketSpec(**_given(form.enclosure.gasket))
    usual = defaults.enclosure(
        given.get("style", EnclosureStyle.TUB), flank_posts=form.holder.flank_posts is not False
    )
    usual = with_lapped_wall(usual, nozzle_mm)
    by_load = tuple(k for k in usual.by_load if k not in given)
    return replace(usual, by_load=by_load, style_is_open="style" not in given, **given)


def _printer(section: PrinterSection) -> Printer:
    """A round bed leaves its largest square for the parts, whole tenths of a millimetre."""
    given, usual = _given(section), defaults.printer()
    if section.bed_round_mm is not None:
        side = floor(10.0 * square_in_round_mm(section.bed_round_mm[0])) / 10.0
        given["bed_mm"] = (side, side, section.bed_round_mm[1])
    given["speeds_mm_s"] = replace(usual.speeds_mm_s, **_given(section.speeds_mm_s))
    given["filament"] = replace(usual.filament, **_given(section.filament))
    spread = _given(section.spread)
    given["spread"] = replace(usual.spread, **spread, measured=tuple(sorted(spread)))
    return replace(usual, **given)


def _cooling(form: PackFile, space: Space | None) -> Cooling:
    asked = form.cooling
    usual = defaults.cooling(space)
    return replace(usual, bay=asked.bay or usual.bay, below_free=asked.below_free, sun=asked.sun)


def _controller(form: PackFile) -> Controller | None:
    given = form.controller
    if given is None:
        return None
    farad = given.capacitance_f
    if farad is None and given.capacitance_uf is not None:
        farad = given.capacitance_uf / 1e6
    return Controller(
        lowest_v=given.lowest_v,
        cutoff_v=given.cutoff_v,
        highest_v=given.highest_v,
        capacitance_f=farad,
    )


def _grouping(form: PackFile) -> GroupWishes:
    asked = form.grouping
    return GroupWishes(
        voltage_weight=asked.voltage_weight,
        volts_limit=asked.volts_limit,
        minus_side=asked.minus_side,
        plus_side=asked.plus_side,
        pins=tuple(Pin(at_mm=pin.at_mm, group=pin.group) for pin in asked.pins),
        exclude_mm=asked.exclude_mm,
    )


def _cell(cell: CellSection, size: CellFormat, volts: Chemistry) -> Cell:
    diameter = cell.measured_diameter_mm or size.diameter_mm
    length = cell.measured_length_mm or size.longest_mm
    capacity = cell.capacity_ah or defaults.capacity_ah(
        volts.chemistry, diameter_mm=diameter, length_mm=length
    )
    return Cell(
        format=cell.format,
        chemistry=volts.chemistry,
        diameter_mm=diameter,
        length_mm=length,
        capacity_ah=capacity,
        continuous_a=cell.continuous_a or capacity,
        internal_resistance_mohm=cell.internal_resistance_mohm
        or defaults.internal_resistance_mohm(capacity),
        mass_g=cell.mass_g or size.mass_g,
        empty_v=volts.empty_v,
        nominal_v=volts.nominal_v,
        full_v=volts.full_v,
        max_c=cell.max_c,
        peak_a=cell.peak_a,
        peak_s=peak_duration_s(cell.peak_a, cell.peak_s),
        charge_a=cell.charge_a,
        ac_resistance_mohm=cell.ac_resistance_mohm,
        charge_c=cell.charge_c,
        discharge_least_c=cell.discharge_least_c,
        **without_none(
            {
                "diameter_spread_mm": cell.diameter_spread_mm,
                "mean_below_mm": cell.mean_below_mm,
            }
        ),
    )


def _cut_plate(entry: CutPlateEntry) -> CutPlate:
    return CutPlate(
        name=entry.name,
        metal=entry.metal,
        thickness_mm=entry.thickness_mm,
        size_mm=entry.size_mm,
        corner_mm=entry.corner_mm,
        circles=tuple(HoleCircle(**_given(one)) for one in entry.circles),
        holes=tuple(PlateHole(**_given(one)) for one in entry.holes),
        slots=tuple(PlateSlot(**_given(one)) for one in entry.slots),
        kerf_mm=entry.kerf_mm,
    )


def _mount(form: PackFile) -> Mount:
    asked = form.mount
    given = _given(asked)
    use = None if asked.use is None else USES[asked.use]
    if asked.shock is not None:
        given["shock"] = MountShock(g=asked.shock.g, ms=asked.shock.ms)
    elif use is not None and use.shock is not None:
        given["shock"] = use.shock
    given["frame"] = frame_of(asked.frame)
    given["hold"] = hold_of(asked.hold)
    return replace(defaults.mount(), **given)


def _used(form: PackFile, load: Load | None) -> Load | None:
    """The load with the accelerations of the use, where the file gives none."""
    section, use = form.load, form.mount.use
    if load is None or section is None or use is None:
        return load
    if "acceleration_g" in section.model_fields_set:
        return load
    return replace(load, acceleration_g=USES[use].acceleration_g)
