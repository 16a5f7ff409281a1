"""What the report shows, as plain values; nothing is computed on the page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from generators.report.shaded import ShadedFigures
from layouts.checks import Check

__all__ = ["Figure", "PartRow", "PrintPlaces", "Report", "Stage", "Table"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Figure:
    """A picture (SVG text) and what it shows; ``tinted``: its colours tell values, so that a dark
    page leaves them as they are."""

    svg: str
    caption: str
    tinted: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class PartRow:
    """One printed part as the report lists it."""

    name: str
    count: int
    box_mm: tuple[float, float, float]
    volume_mm3: float
    mass_g: float
    print_note: str
    figures: tuple[Figure, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Table:
    """A titled table and a line below it; ``note`` "" for none.

    ``filled_in``: cells left empty are blanks to write measured values into."""

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str
    filled_in: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Stage:
    """A titled run of steps of the build sheet; ``ticked``: each has a box to tick.

    ``tables``: to be filled in, below the steps."""

    title: str
    steps: tuple[str, ...]
    ticked: bool = True
    tables: tuple[Table, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class PrintPlaces:
    """Where printed parts are hard to print: all of it in a table, then pictures."""

    table: Table
    figures: tuple[Figure, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Report:
    """All that the page shows; nothing is computed on it.

    ``block``: (name, value) of the title block. ``steps``: the build sheet in order. ``welding``:
    weld plans, ``ladder`` the order of the balance leads, ``balance_leads`` their voltages;
    ``cutting``: lists of strips and plates, ``nested``: plates on their stock. ``shorts``: where
    bare metal comes too near, nothing where all holds. ``placing``: cells placed in the space's
    outline. ``printing``: hours, filament and cost; ``print_places``: where parts are hard to
    print, None: nowhere; ``walls``: how thick those of each part are. ``second_holder``: its
    chance to go on. ``machine``: what it asks by its mass, speed and slopes. ``shaded``: the pack
    as it looks, None: not drawn; the line drawing ``exploded`` stands in for it. ``enclosed``: an
    enclosure's compartments in plan. ``maps``: of currents and temperatures. ``label``: at true
    size. ``metal``: drawings of sheet metal. ``pack_file``: its text."""

    name: str
    tool: str
    lead: str
    facts: tuple[tuple[str, str], ...]
    space: tuple[str, ...]
    checks: tuple[Check, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    steps: tuple[Stage, ...]
    plans: tuple[Figure, ...]
    section: Figure | None
    exploded: Figure
    parts: tuple[PartRow, ...]
    bill: Sequence[Sequence[str]]  # first row: headings
    block: tuple[tuple[str, str], ...] = ()
    enclosed: Figure | None = None
    electrical: tuple[Table, ...] = ()
    welding: tuple[Figure, ...] = ()
    ladder: Figure | None = None
    balance_leads: Table | None = None
    wiring: Figure | None = None
    harness: Table | None = None
    cutting: tuple[Table, ...] = ()
    nested: tuple[Figure, ...] = ()
    shorts: tuple[Figure, ...] = ()
    placing: Figure | None = None
    printing: tuple[Table, ...] = ()
    second_holder: tuple[Table, ...] = ()
    print_places: PrintPlaces | None = None
    walls: tuple[Figure, ...] = ()
    machine: tuple[Table, ...] = ()
    shaded: ShadedFigures | None = None
    maps: tuple[Figure, ...] = ()
    label: Figure | None = None
    metal: tuple[Figure, ...] = ()
    pack_file: str = ""
