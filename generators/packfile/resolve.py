"""From a pack file to a ``Pack``: read, check, fill in defaults, with all faults at once."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass, replace
from itertools import takewhile
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from generators.packfile.cautions import cautions_of
from generators.packfile.electrical_rules import ELECTRICAL_RULES
from generators.packfile.faults import Caution, Fault, PackFileError, Path
from generators.packfile.loader import LARGEST_BYTES, Document, Plain, load
from generators.packfile.messages import misspelt, nearest, told
from generators.packfile.models import CellSection, PackFile
from generators.packfile.profile_file import ProfileFileError, read_profile
from generators.packfile.rules import RULES, Finding
from generators.packfile.section import Section
from generators.packfile.space_file import space_faults, with_space_file
from generators.spaces.build import SpaceError, built_space
from layouts import defaults
from layouts.errors import PlanError
from layouts.formats import CellFormat, Chemistry, cell_formats, chemistries
from layouts.pack import (
    Cell,
    Controller,
    GroupWishes,
    Lattice,
    Load,
    Mount,
    Pack,
    Pin,
    TapWires,
)
from layouts.ratings.charge import Charger
from layouts.ratings.fuse import Fuse
from layouts.ratings.profile import Profile
from layouts.spaces.space import Space

__all__ = ["ReadPack", "parse_pack", "read_pack"]

PEAK_S = 10.0  # what most data sheets mean by a peak; common practice, no source
ONE_DIGIT_OUT = 0.85  # difflib: 0.89 for one of five digits left out, 0.8 for one changed
VOLTS = ("empty_v", "nominal_v", "full_v")

# Cans with both poles on one end, or with ends that are laser-welded, by the first digits of
# the trade name (46 mm and wider); from memory, no source
_ONE_END = re.compile(r"[A-Za-z]{0,4} ?(46|60)[0-9]{2,3}([^0-9].*)?")

# Where a key that is needed is missing or wrong, these let the rest be checked all the same.
# They never reach a pack: a file with a fault gives none.
_STAND_INS: Mapping[Path, Plain] = {
    ("name",): "unnamed",
    ("cell",): {"format": "18650"},
    ("cell", "format"): "18650",
    ("series",): 1,
    ("parallel",): 1,
    ("fuse", "rating_a"): 1.0,
    ("charger", "volts_v"): 1.0,
    ("charger", "amps_a"): 1.0,
}
_ROUNDS = 5  # take out what is wrong, put in what is missing, a section and then its keys


@dataclass(frozen=True, kw_only=True, slots=True)
class ReadPack:
    """A sound pack file: the pack, what to be careful about, and the file's text.

    ``file`` is how messages call it; ``document`` knows the line of every key.
    """

    file: str
    pack: Pack
    cautions: tuple[Caution, ...]
    source_text: str
    document: Document

    def refused(self, error: PlanError) -> PackFileError:
        """A plan's refusal as a fault of this file, at the line of the field it names."""
        path: Path = tuple(error.field.split("."))
        value = error.value or self.document.written.get(path)
        fault = self.document.fault(path, why=error.why, value=value, mend=error.mend)
        return PackFileError(self.file, [fault])


def read_pack(file: str | os.PathLike[str]) -> ReadPack:
    """Read a pack file.

    Raises PackFileError with all its faults, also where the file can't be opened.
    """
    name = os.fsdecode(file)
    try:
        with open(file, "rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the name
        why = getattr(error, "strerror", None) or str(error)
        fault = Fault(
            line=1,
            field="file",
            why="can't be read",
            value=why,
            mend="give the path of a pack file; cellstead example prints one",
        )
        raise PackFileError(name, [fault]) from error
    return parse_pack(data, name)


def parse_pack(data: bytes, file: str) -> ReadPack:
    """The same from a file's bytes; ``file`` is how messages call it, and paths in it count
    from its folder."""
    folder = os.path.dirname(file)
    document = with_space_file(load(data), folder)
    faults = list(document.faults)
    if not document.whole:
        raise PackFileError(file, faults)
    checked = _Checked(document, folder)
    faults += checked.faults
    if faults:
        raise PackFileError(file, faults)
    pack = checked.pack
    return ReadPack(
        file=file,
        pack=pack,
        cautions=cautions_of(pack, checked.form),
        source_text=data.decode("utf-8-sig"),
        document=document,
    )


class _Checked:
    """A document checked against the form and the rules.

    ``pack`` holds stand-ins where there are faults, so it is of use only without any.
    """

    def __init__(self, document: Document, folder: str) -> None:
        self._document = document
        self._folder = os.path.dirname(document.files.get(("space",), "")) or folder
        self._pack_folder = folder
        self._wrong: set[Path] = set(document.broken)
        self.faults: list[Fault] = []
        self.form = self._validated()
        size = self._size(self.form.cell)
        volts = self._volts(self.form.cell)
        self.pack = _pack(self.form, size, volts, self._space(), self._profile())
        self._capacitance_once()
        for rule in (*RULES, *ELECTRICAL_RULES):
            for finding in rule(self.pack, size):
                self._note(finding)

    def _validated(self) -> PackFile:
        values = deepcopy(self._document.values)
        for _ in range(_ROUNDS):
            try:
                return PackFile.model_validate(values)
            except ValidationError as error:
                found = error.errors(include_url=False)
                # a required key misspelt is one fault, not one more for being missing
                meant = (misspelt(one) for one in found)
                self._wrong.update(p for p in meant if p is not None and not self._document.has(p))
                for one in found:
                    self._put_right(values, one)
        raise AssertionError("the form still objects to its own stand-ins")

    def _put_right(self, values: dict[str, Plain], error: ErrorDetails) -> None:
        """Note a fault once, and let the rest of the form be checked without it."""
        path: Path = tuple(error["loc"])
        if not self._is_wrong(path):
            self.faults.append(told(error, self._document))
            self._wrong.add(path)
        # of a list's entry all of the list is taken out: a list with a hole is no list
        keys = [str(part) for part in takewhile(lambda part: isinstance(part, str), path)]
        inner = values
        for key in keys[:-1]:
            below = inner[key]
            assert isinstance(below, dict)  # the form has named a key within it
            inner = below
        if inner.pop(keys[-1], None) is None and tuple(keys) in _STAND_INS:
            inner[keys[-1]] = deepcopy(_STAND_INS[tuple(keys)])

    def _is_wrong(self, path: Path) -> bool:
        """True where the path, something above it or something within it is at fault."""
        return any(one[: len(path)] == path[: len(one)] for one in self._wrong)

    def _note(self, finding: Finding) -> None:
        paths = (finding.field, *finding.reads)
        if any(self._is_wrong(path) for path in paths):
            return
        document = self._document
        given = [path for path in paths if document.has(path)]
        value = finding.value
        if value is None:
            value = document.written.get(finding.field)
        fault = document.fault(finding.field, why=finding.why, value=value, mend=finding.mend)
        line = document.line(given[0] if given else finding.field)
        self.faults.append(replace(fault, line=line))

    def _size(self, cell: CellSection) -> CellFormat:
        """The can's starting values: from the table, or by rule from what was measured."""
        sizes, name = cell_formats(), cell.format
        format_path, written = ("cell", "format"), self._document.written.get(("cell", "format"))
        if name in sizes:
            return sizes[name]
        if _ONE_END.fullmatch(name):
            self._refuse(
                format_path,
                "is a can with both poles on one end, or with ends that need a laser: "
                "strips on two faces can't join it, so it would be a holder only",
                written,
                "take a cell with a pole on each end",
            )
            return sizes["18650"]
        paths = {
            "measured_diameter_mm": cell.measured_diameter_mm,
            "measured_length_mm": cell.measured_length_mm,
        }
        lacking = [key for key, value in paths.items() if value is None]
        if not lacking:
            assert cell.measured_diameter_mm is not None
            assert cell.measured_length_mm is not None
            return defaults.can_size(
                name, diameter_mm=cell.measured_diameter_mm, length_mm=cell.measured_length_mm
            )
        if not any(self._is_wrong(("cell", key)) for key in lacking):
            near = _built_in(name, list(sizes))
            instead = f"write {near}" if near else f"use {', '.join(sizes)}"
            self._refuse(
                format_path,
                "is not a size that is built in",
                written,
                f"add {' and '.join(lacking)}, or {instead}",
            )
        self._wrong.update({format_path, *(("cell", key) for key in lacking)})
        return sizes["18650"]

    def _volts(self, cell: CellSection) -> Chemistry:
        """The chemistry's volts; what the file gives wins."""
        known = chemistries()
        given = {key: getattr(cell, key) for key in VOLTS}
        if cell.chemistry in known:
            return replace(known[cell.chemistry], **_without_none(given))
        lacking = [key for key in VOLTS if given[key] is None]
        path = ("cell", "chemistry")
        if (
            lacking
            and not self._is_wrong(path)
            and not any(self._is_wrong(("cell", key)) for key in lacking)
        ):
            near = nearest(cell.chemistry, list(known))
            instead = f"write {near}" if near else f"use {', '.join(known)}"
            self._refuse(
                path,
                "is not a chemistry whose volts are built in",
                cell.chemistry,
                f"add {', '.join(lacking)}, or {instead}",
            )
        if lacking:
            self._wrong.update({path, *(("cell", key) for key in lacking)})
            given = dict(zip(VOLTS, (1.0, 2.0, 3.0), strict=True))  # a stand-in
        return Chemistry(chemistry=cell.chemistry, **given)

    def _space(self) -> Space | None:
        """The space, its files read; None where there is none, or it is at fault."""
        if self.form.space is None or self._is_wrong(("space",)):
            return None
        try:
            return built_space(self.form.space, self._folder)
        except SpaceError as error:
            self.faults += space_faults(self._document, error.findings)
            self._wrong.add(("space",))
            return None

    def _profile(self) -> Profile | None:
        """The load over time, its file read; None where there is none, or it is at fault."""
        path: Path = ("load", "profile")
        name = None if self.form.load is None else self.form.load.profile
        if name is None or self._is_wrong(path):
            return None
        try:
            return read_profile(os.path.join(self._pack_folder, name))
        except ProfileFileError as error:
            self.faults += error.faults
            self._wrong.add(path)
        except (OSError, ValueError) as error:
            why = getattr(error, "strerror", None) or str(error)
            mend = "give the path of a CSV file as seen from this file's folder"
            self._refuse(path, f"can't be read: {why}", name, mend)
        return None

    def _capacitance_once(self) -> None:
        """One value of a controller's capacitance, in one of two units."""
        given = self.form.controller
        if given is None or given.capacitance_f is None or given.capacitance_uf is None:
            return
        path: Path = ("controller", "capacitance_uf")
        written = self._document.written.get(path)
        self._refuse(path, "stands beside capacitance_f", written, "delete one of the two")

    def _refuse(self, path: Path, why: str, value: str | None, mend: str) -> None:
        if not self._is_wrong(path):
            self.faults.append(self._document.fault(path, why=why, value=value, mend=mend))
        self._wrong.add(path)


def _built_in(name: str, sizes: list[str]) -> str | None:
    """The built-in size that a longer or misspelt name most likely means.

    A digit left out is a slip; another digit may well be another size.
    """
    within = next((size for size in sizes if size in name), None)
    return within or nearest(name, sizes, likeness=ONE_DIGIT_OUT)


def _without_none(values: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in values.items() if value is not None}


def _given(section: Section) -> dict[str, Any]:
    """The keys of a section that have a value."""
    return _without_none({key: getattr(section, key) for key in type(section).model_fields})


def _pack(
    form: PackFile,
    size: CellFormat,
    volts: Chemistry,
    space: Space | None,
    profile: Profile | None,
) -> Pack:
    leads = _given(form.leads)
    lattice = Lattice.GRID if form.lattice == "grid" else Lattice.HONEYCOMB
    wire = {"wire_mm2": leads["wire_mm2"]} if "wire_mm2" in leads else {}
    return Pack(
        name=form.name,
        cell=_cell(form.cell, size, volts),
        series=form.series,
        parallel=form.parallel,
        lattice=lattice,
        holder=replace(defaults.holder(size), **_given(form.holder)),
        strip=replace(defaults.strip(size, lattice), **_given(form.strip)),
        leads=replace(defaults.leads(**wire), **leads),
        bms=replace(defaults.bms(form.series), **_given(form.bms)),
        enclosure=replace(defaults.enclosure(), **_given(form.enclosure)),
        mount=_mount(form),
        printer=replace(defaults.printer(), **_given(form.printer)),
        space=space,
        load=_load(form, profile),
        grouping=_grouping(form),
        free_spacing=form.lattice == "free",
        fuse=None if form.fuse is None else Fuse(**_given(form.fuse)),
        taps=TapWires(awg=form.taps.awg, fused=form.taps.fused),
        controller=_controller(form),
        charger=None if form.charger is None else Charger(**_given(form.charger)),
        disconnect=form.disconnect,
        spacing_floor_mm=form.spacing_floor_mm,
    )


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
        first_side=asked.first_side,
        last_side=asked.last_side,
        pins=tuple(Pin(at_mm=pin.at_mm, group=pin.group) for pin in asked.pins),
        forbid_mm=asked.forbid_mm,
    )


def _cell(cell: CellSection, size: CellFormat, volts: Chemistry) -> Cell:
    diameter = cell.measured_diameter_mm or size.diameter_mm
    length = cell.measured_length_mm or size.longest_mm
    capacity = cell.capacity_ah or defaults.capacity_ah(
        cell.chemistry, diameter_mm=diameter, length_mm=length
    )
    return Cell(
        format=cell.format,
        chemistry=cell.chemistry,
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
        peak_s=_peak_s(cell.peak_a, cell.peak_s),
        charge_a=cell.charge_a,
        ac_resistance_mohm=cell.ac_resistance_mohm,
        charge_c=cell.charge_c,
        discharge_least_c=cell.discharge_least_c,
    )


def _mount(form: PackFile) -> Mount:
    return replace(defaults.mount(), **_given(form.mount))


def _load(form: PackFile, profile: Profile | None) -> Load | None:
    if form.load is None:
        return None
    load = form.load
    return Load(
        continuous_a=load.continuous_a,
        continuous_w=load.continuous_w,
        peak_a=load.peak_a,
        peak_w=load.peak_w,
        peak_s=_peak_s(load.peak_w if load.peak_a is None else load.peak_a, load.peak_s),
        regeneration_a=load.regeneration_a,
        profile=profile,
        cutoff_v=load.cutoff_v,
        ambient_c=load.ambient_c,
        acceleration_g=load.acceleration_g,
    )


def _peak_s(peak: float | None, peak_s: float | None) -> float | None:
    return PEAK_S if peak is not None and peak_s is None else peak_s
