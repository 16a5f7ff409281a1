"""The form of readings: written with blanks, read strictly once they are filled in."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from generators.gauges.blanks import DATE_PATTERN, Blank, BlankKind, blanks_of
from generators.packfile.faults import Fault, PackFileError
from generators.packfile.loader import LARGEST_BYTES, Document, load
from generators.packfile.messages import nearest
from layouts.gauges.values import GaugeDrawn, GaugeReadings, ReadingError

__all__ = ["FilledForm", "form_text", "read_form"]

DRAWN = "drawn"
NEEDS = "give the readings.yaml that cellstead gauge wrote, filled in"
LISTS = ("pockets_mm", "inserts_mm", "screws_mm", "slots_mm", "notches_mm")
TRIPLES = ("long_mm", "short_mm")
LEAST_MM, MOST_MM = 0.01, 1000.0
DIGITS = 4  # of drawn lengths: far below what a calliper shows


@dataclass(frozen=True, kw_only=True, slots=True)
class FilledForm:
    """A form without faults: what was drawn and read, of which filament, on which day."""

    file: str
    drawn: GaugeDrawn
    readings: GaugeReadings
    filament: str
    date: str
    document: Document

    def refused(self, error: ReadingError) -> PackFileError:
        """Readings that can't be used, as a fault at its line of the form."""
        path = (error.field,)
        value = error.value or self.document.written.get(path)
        fault = self.document.fault(path, why=error.why, value=value, remedy=error.remedy)
        return PackFileError(self.file, [fault])


def form_text(name: str, drawn: GaugeDrawn) -> str:
    """The form with its blanks; ``name``: of the pack."""
    lines = [
        f"# Readings of the fit gauge for {name}; lengths in mm, figures as they stand on the",
        "# gauge. Write each value after its colon. Then: cellstead gauge --read readings.yaml",
    ]
    for blank in blanks_of(drawn):
        lines.append("")
        lines.append(f"# {blank.text}")
        if blank.figures:
            shape = "one of" if blank.kind is BlankKind.FIGURE else "some of"
            asked = "" if blank.needed else "; may stay blank"
            drawn_mm = ", ".join(_number(one) for one in blank.figures.values())
            told = "" if blank.key == "walls_whole" else f", drawn {drawn_mm} mm"
            lines.append(f"# {shape} [{', '.join(blank.figures)}]{told}{asked}")
        lines.append(f"{blank.key}:")
    lines += ["", "# The gauge as it was drawn: leave this as it is.", f"{DRAWN}:"]
    lines.append(f"  can_mm: {_number(drawn.can_mm)}")
    for key in (*TRIPLES, *LISTS):
        numbers = ", ".join(_number(one) for one in getattr(drawn, key))
        lines.append(f"  {key}: [{numbers}]")
    return "\n".join(lines) + "\n"


def _number(value: float) -> str:
    return f"{round(value, DIGITS):g}"


def read_form(file: str | os.PathLike[str]) -> FilledForm:
    """A filled form. Raises PackFileError with all that is wrong, also where it can't be opened."""
    name = os.fsdecode(file)
    try:
        with open(file, "rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the name
        why = getattr(error, "strerror", None) or str(error)
        fault = Fault(line=1, field="file", why="can't be read", value=why, remedy=NEEDS)
        raise PackFileError(name, [fault]) from error
    document = load(data, needs=NEEDS, blanks=True)
    if document.faults:
        raise PackFileError(name, document.faults)
    reader = _FormReader(document)
    drawn = reader.drawn()
    if drawn is None:  # without it no blank can be judged
        raise PackFileError(name, reader.faults)
    values = reader.blanks(blanks_of(drawn))
    if reader.faults:
        raise PackFileError(name, reader.faults)
    return FilledForm(
        file=name,
        drawn=drawn,
        readings=_readings(values),
        filament=values["filament"],
        date=values["date"],
        document=document,
    )


def _readings(values: Mapping[str, Any]) -> GaugeReadings:
    def axes(which: str) -> tuple[float, float, float | None]:
        return tuple(values[f"{which}_{axis}_mm"] for axis in "xyz")

    def figures(key: str) -> tuple[str, ...]:
        return values.get(key) or ()

    return GaugeReadings(
        can_mm=values["can_mm"],
        took_can=values["took_can"],
        long_mm=axes("long"),
        short_mm=axes("short"),
        foot_mm=(values["foot_x_mm"], values["foot_y_mm"]),
        took_screw=figures("took_screw"),
        took_strip=figures("took_strip"),
        insert_best=values["insert_best"],
        slots_open=figures("slots_open"),
        walls_whole=figures("walls_whole"),
    )


class _FormReader:
    """Takes values out of a form, and notes what is wrong with them."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self.faults: list[Fault] = []

    def _fault(self, *path: str | int, why: str, remedy: str, value: str | None = None) -> None:
        shown = self._document.written.get(path) if value is None else value
        self.faults.append(self._document.fault(path, why=why, value=shown or None, remedy=remedy))

    def drawn(self) -> GaugeDrawn | None:
        """The gauge as drawn; None where that part of the form is at fault."""
        section = self._document.values.get(DRAWN)
        remedy = "give the form that cellstead gauge wrote, its last lines as they were"
        if not isinstance(section, dict):
            self._fault(DRAWN, why="is missing or no section of keys", remedy=remedy)
            return None
        sound = {
            "can_mm": _is_length,
            **dict.fromkeys(TRIPLES, _is_triple),
            **dict.fromkeys(LISTS, _rises),
        }
        for key, holds in sound.items():
            if not holds(section.get(key)):
                self._fault(DRAWN, key, why="is not as the gauge was drawn", remedy=remedy)
        if self.faults:
            return None
        return GaugeDrawn(**{key: section[key] for key in sound})  # type: ignore[arg-type]

    def blanks(self, blanks: tuple[Blank, ...]) -> dict[str, Any]:
        """Values by key; of blanks that are not needed and left blank: None."""
        known = [blank.key for blank in blanks]
        for key in self._document.values:
            if key not in known and key != DRAWN:
                near = nearest(key, known)
                remedy = f"write {near}" if near else "delete it"
                self._fault(key, why="is not a blank of this form", value=key, remedy=remedy)
        values = {blank.key: self._value(blank) for blank in blanks}
        for one, other in (("long_z_mm", "short_z_mm"), ("short_z_mm", "long_z_mm")):
            if values[one] is None and values[other] is not None:
                self._fault(
                    one,
                    why=f"is blank, but {other} is not",
                    remedy="measure both, or leave both blank",
                )
        return values

    def _value(self, blank: Blank) -> Any:
        value = self._document.values.get(blank.key)
        if value is None or value == "":
            if blank.needed:
                self._fault(blank.key, why="is blank", remedy=f"fill in: {blank.text}")
            return None
        if blank.kind is BlankKind.LENGTH:
            if _is_length(value):
                return value
            self._fault(
                blank.key,
                why=f"must be a length of {LEAST_MM:g} to {MOST_MM:g} mm",
                remedy="write a number such as 21.15",
            )
        elif blank.kind is BlankKind.DAY:
            if isinstance(value, str) and re.fullmatch(DATE_PATTERN, value):
                return value
            self._fault(blank.key, why="is not a day", remedy="write it as 2026-03-31")
        elif blank.kind is BlankKind.TEXT:
            if isinstance(value, str | int | float) and not isinstance(value, bool):
                return str(value)
            self._fault(blank.key, why="must be text", remedy="write a few words")
        else:
            return self._figures(blank, value)
        return None

    def _figures(self, blank: Blank, value: Any) -> Any:
        several = blank.kind is BlankKind.FIGURES
        listed = ", ".join(blank.figures)
        if several != isinstance(value, tuple):
            remedy = f"write some of [{listed}]" if several else f"write one of {listed}"
            what = "a list of figures" if several else "one figure"
            self._fault(blank.key, why=f"must be {what}", remedy=remedy)
            return None
        words = tuple(str(one) for one in (value if several else (value,)))
        for k, word in enumerate(words):
            if word not in blank.figures:
                path = (blank.key, k) if several else (blank.key,)
                self._fault(
                    *path,
                    why="is no figure beside one of these",
                    value=word,
                    remedy=f"write {'some' if several else 'one'} of {listed}",
                )
        return words if several else words[0]


def _is_length(value: object) -> bool:
    return (
        isinstance(value, int | float)
        and not isinstance(value, bool)
        and LEAST_MM <= value <= MOST_MM
    )


def _is_triple(value: object) -> bool:
    return isinstance(value, tuple) and len(value) == 3 and all(_is_length(one) for one in value)


def _rises(value: object) -> bool:
    """Whether it is a list of two or more lengths, each more than the one before it."""
    return (
        isinstance(value, tuple)
        and len(value) > 1
        and all(_is_length(one) for one in value)
        and list(value) == sorted(set(value))
    )
