"""A pack file's plain values checked: against the form, the tables, its files and the rules."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from copy import deepcopy
from dataclasses import replace
from itertools import takewhile

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from generators.packfile.as_pack import as_pack, without_none
from generators.packfile.cell_models import CellSection
from generators.packfile.electrical_rules import ELECTRICAL_RULES
from generators.packfile.faults import Fault, PackFileError, Path
from generators.packfile.frame_rules import FRAME_RULES
from generators.packfile.gasket_rules import GASKET_RULES
from generators.packfile.loader import Document, Plain
from generators.packfile.messages import misspelt, nearest, told
from generators.packfile.metal_rules import METAL_RULES
from generators.packfile.models import PackFile
from generators.packfile.mount_rules import MOUNT_RULES
from generators.packfile.place_rules import PLACE_RULES
from generators.packfile.printer_rules import PRINTER_RULES
from generators.packfile.profile_file import ProfileFileError, read_profile
from generators.packfile.rules import RULES, Finding
from generators.packfile.sorted_table import read_sorted_table
from generators.packfile.space_building import SpaceError, built_space
from generators.packfile.space_file import space_faults
from layouts import defaults
from layouts.formats import CellFormat, Chemistry, cell_formats, chemistries
from layouts.pack import MeasuredCells
from layouts.ratings.profile import Profile
from layouts.spaces.space import Space

__all__ = ["Checked"]

BRACKET_RULES = (*MOUNT_RULES, *METAL_RULES)

ONE_DIGIT_OUT = 0.85  # difflib: 0.89 for one of five digits left out, 0.8 for one changed
VOLTS = ("empty_v", "nominal_v", "full_v")

# Cells with both terminals on one end, or with ends for laser welding, by the first digits of
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
    ("enclosure", "gasket", "gas_l"): 1.0,
    ("enclosure", "gasket", "within_s"): 1.0,
    ("enclosure", "gasket", "opens_at_kpa"): 1.0,
    ("mount", "shock", "g"): 1.0,
    ("mount", "shock", "ms"): 1.0,
    ("load", "machine", "mass_kg"): 1.0,
    ("load", "machine", "speed_km_h"): 1.0,
    ("load", "machine", "gearing", "motor_rpm_per_v"): 1.0,
    ("load", "machine", "gearing", "wheel_circumference_mm"): 1.0,
}
_ROUNDS = 5  # take out what is wrong, put in what is missing, a section and then its keys


class Checked:
    """A document checked against the form and the rules.

    ``pack`` holds stand-ins where there are faults, so it is of use only without any.
    """

    def __init__(self, document: Document, folder: str) -> None:
        """``folder``: where the pack file's paths count from."""
        self._document = document
        self._folder = os.path.dirname(document.files.get(("space",), "")) or folder
        self._pack_folder = folder
        self._wrong: set[Path] = set(document.broken)
        self.faults: list[Fault] = []
        self.form = self._validated()
        size = self._size(self.form.cell)
        volts = self._volts(self.form.cell)
        self.pack = as_pack(
            self.form, size, volts, self._space(), self._profile(), self._measured()
        )
        self._capacitance_once()
        self._one_bed()
        self._cycle_works()
        machine = (*BRACKET_RULES, *FRAME_RULES, *PLACE_RULES)
        for rule in (*RULES, *PRINTER_RULES, *GASKET_RULES, *machine, *ELECTRICAL_RULES):
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
        at = given[0] if given else finding.field
        self.faults.append(
            document.fault(
                finding.field, why=finding.why, value=value, remedy=finding.remedy, at=at
            )
        )

    def _size(self, cell: CellSection) -> CellFormat:
        """The can's starting values: from the table, or by rule from what was measured."""
        sizes, name = cell_formats(), cell.format
        format_path, written = ("cell", "format"), self._document.written.get(("cell", "format"))
        if name in sizes:
            return sizes[name]
        if _ONE_END.fullmatch(name):
            self._refuse(
                format_path,
                "is a cell with both terminals on one end, or with ends for laser welding: "
                "strips on two faces can't join it",
                written,
                "use a cell with a terminal on each end",
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
                "is not a built-in size",
                written,
                f"add {' and '.join(lacking)}, or {instead}",
            )
        self._wrong.update({format_path, *(("cell", key) for key in lacking)})
        return sizes["18650"]

    def _volts(self, cell: CellSection) -> Chemistry:
        """The chemistry's volts; what the file gives wins."""
        known = chemistries()
        given = {key: getattr(cell, key) for key in VOLTS}
        name = cell.chemistry or defaults.chemistry(cell.format)
        if name in known:
            return replace(known[name], **without_none(given))
        lacking = [key for key in VOLTS if given[key] is None]
        path = ("cell", "chemistry")
        if (
            lacking
            and not self._is_wrong(path)
            and not any(self._is_wrong(("cell", key)) for key in lacking)
        ):
            near = nearest(name, list(known))
            instead = f"write {near}" if near else f"use {', '.join(known)}"
            self._refuse(
                path,
                "is not a chemistry with built-in voltages",
                name,
                f"add {', '.join(lacking)}, or {instead}",
            )
        if lacking:
            self._wrong.update({path, *(("cell", key) for key in lacking)})
            given = dict(zip(VOLTS, (1.0, 2.0, 3.0), strict=True))  # a stand-in
        return Chemistry(chemistry=name, **given)

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
            remedy = "give the path of a CSV file relative to this file's folder"
            self._refuse(path, f"can't be read: {why}", name, remedy)
        return None

    def _measured(self) -> MeasuredCells | None:
        """The cells of the table that was sorted; None where there is none, or it is at fault."""
        path: Path = ("measured_cells",)
        name = self.form.measured_cells
        if name is None or any(map(self._is_wrong, (path, ("series",), ("parallel",)))):
            return None
        file = os.path.join(self._pack_folder, name)
        if not os.path.isfile(file):
            remedy = "run cellstead sort without this key, then name its table, as seen from here"
            self._refuse(path, "is not a file", name, remedy)
            return None
        try:
            return read_sorted_table(file, series=self.form.series, parallel=self.form.parallel)
        except PackFileError as error:
            self.faults += [replace(one, file=os.path.normpath(file)) for one in error.faults]
            self._wrong.add(path)
        return None

    def _capacitance_once(self) -> None:
        """One value of a controller's capacitance, in one of two units."""
        given = self.form.controller
        if given is None or given.capacitance_f is None or given.capacitance_uf is None:
            return
        path: Path = ("controller", "capacitance_uf")
        written = self._document.written.get(path)
        self._refuse(path, "is given together with capacitance_f", written, "delete one of the two")

    def _cycle_works(self) -> None:
        """A duty cycle with a row that takes current."""
        rows = None if self.form.load is None else self.form.load.cycle
        if rows is not None and max(amps for amps, _ in rows) == 0:
            remedy = "give the amps of the rows that work, or delete it"
            self._refuse(("load", "cycle"), "takes no current", None, remedy)

    def _one_bed(self) -> None:
        """A bed is round or a rectangle."""
        given = self.form.printer
        if given.bed_mm is not None and given.bed_round_mm is not None:
            remedy = "delete the one that it is not"
            self._refuse(("printer", "bed_round_mm"), "is given together with bed_mm", None, remedy)

    def _refuse(self, path: Path, why: str, value: str | None, remedy: str) -> None:
        if not self._is_wrong(path):
            self.faults.append(self._document.fault(path, why=why, value=value, remedy=remedy))
        self._wrong.add(path)


def _built_in(name: str, sizes: list[str]) -> str | None:
    """The built-in size that a longer or misspelt name most likely means.

    A digit left out is a slip; another digit may well be another size.
    """
    within = next((size for size in sizes if size in name), None)
    return within or nearest(name, sizes, likeness=ONE_DIGIT_OUT)
