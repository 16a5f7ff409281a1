"""The bill of materials: what to buy and what to print, as plain rows and as CSV."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely

from layouts.cells.arrangement import CellLayout
from layouts.formats import materials, screws
from layouts.pack import Pack
from layouts.parts.fasteners import Into, ScrewUse
from layouts.plates.labour import joint_labour, labour_words
from layouts.plates.nesting import bar_cut_lists, nested_words, plate_stocks
from layouts.strips.cutting import stock_of, stock_words, strip_cut_lists
from layouts.strips.joining import BUS_SLOT_MM, Interconnect, StripKind
from layouts.strips.plate import BusPlate

HEADING = ("item", "size", "count", "unit", "note")
PIECES = "pcs"
TO_OUTLINE = (
    "; wider where a lug is screwed to it or a tie post stands in its way: cut to its outline"
)
# below the head of a lug's screw: lug, bar, two washers, locking nut; common practice, no source
LUG_SCREW_LONG_MM = {"M4": 12, "M5": 16, "M6": 20}

_STRIP_NAMES = {
    StripKind.ROW: "row strips",
    StripKind.LINK: "link strips",
    StripKind.LEAD: "lead strips",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class BillRow:
    """One line: so many of an item. ``count`` is in ``unit``."""

    item: str
    size: str
    count: float
    unit: str = PIECES
    note: str = ""


def write_bill(path: Path, rows: Sequence[BillRow]) -> None:
    """Write rows as CSV: comma, UTF-8, one line feed a line, whatever the machine."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(HEADING)
    for row in rows:
        writer.writerow((row.item, row.size, _number(row.count), row.unit, row.note))
    path.write_bytes(text.getvalue().encode("utf-8"))


def numbered_rows(rows: Sequence[BillRow]) -> tuple[tuple[str, ...], ...]:
    """Heading and rows as text, each with its number, from 1."""
    return (
        ("no.", *HEADING),
        *(
            (str(k), row.item, row.size, _number(row.count), row.unit, row.note)
            for k, row in enumerate(rows, start=1)
        ),
    )


def bill_rows(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    *,
    screw_uses: Iterable[ScrewUse] = (),
    printed: Iterable[BillRow] = (),
    others: Iterable[BillRow] = (),
) -> tuple[BillRow, ...]:
    """The whole bill: cells, rings, strips, printed parts, fasteners, then all others."""
    return (
        *cell_rows(pack, cell_layout),
        *strip_rows(pack, interconnect),
        *bus_rows(interconnect),
        *plate_rows(pack, interconnect),
        labour_row(pack, interconnect),
        *printed,
        *screw_rows(screw_uses),
        *others,
    )


def cell_rows(pack: Pack, cell_layout: CellLayout) -> tuple[BillRow, ...]:
    """Cells, and one insulating ring for each positive end."""
    cells = len(cell_layout.group)
    cell = pack.cell
    return (
        BillRow(
            item="cells",
            size=cell.format,
            count=cells,
            note=f"{cell.chemistry}, {pack.series}S{pack.parallel}P, "
            f"{cells * cell.mass_g / 1000.0:.2f} kg in all; one batch, measured and matched",
        ),
        BillRow(
            item="insulating rings",
            size=f"for {cell.format}, up to {pack.holder.ring_mm:g} mm thick, hole "
            f"{pack.holder.ring_hole_mm:g} mm",
            count=cells,
            note="one on each positive end, before the strips",
        ),
    )


def bus_rows(interconnect: Interconnect) -> tuple[BillRow, ...]:
    """Flat copper on the rows of the end groups."""
    lengths: dict[tuple[float, float], list[float]] = {}
    for strip in interconnect.strips:
        if strip.bus_mm:
            along = float(np.hypot(*np.subtract(strip.end_mm, strip.start_mm)))
            lengths.setdefault((strip.width_mm, strip.bus_mm), []).append(along)
    return tuple(
        BillRow(
            item="flat copper on the rows of the end groups",
            size=f"{width:g} x {thick:g} mm",
            count=len(cut),
            note=f"tinned, {min(cut):.1f} to {max(cut):.1f} mm long; a slot {BUS_SLOT_MM:g} wide "
            "over each can end; soldered onto the strip before welding",
        )
        for (width, thick), cut in sorted(lengths.items())
    )


def plate_rows(pack: Pack, interconnect: Interconnect) -> tuple[BillRow, ...]:
    """Sheets of plates by metal and thickness, with the stock to buy, and their copper bars."""
    if not interconnect.plates:
        return ()
    stocks = plate_stocks(pack, interconnect.plates)
    bars = [plate.bar for plate in interconnect.plates if plate.bar is not None]
    widened = any(stock > bar.width_mm for bar in bars for stock in bar.stock_mm)
    rows = [
        BillRow(
            item=f"{stock.material} sheet, one cut piece for each joint",
            size=f"{stock.thickness_mm:g} mm",
            count=len(stock.pieces),
            note=f"{stock.area_mm2 / 100.0:.0f} cm2 in all, pieces up "
            f"to {max(_sides_mm(piece.shape)[0] for piece in stock.pieces):.0f} x "
            f"{max(_sides_mm(piece.shape)[1] for piece in stock.pieces):.0f} mm, see the "
            f"templates; {nested_words(stock)}, see the cutting list",
        )
        for stock in stocks
    ]
    for cut in bar_cut_lists(pack, interconnect.plates):
        lengths = [piece.length_mm for bar in cut.bars for piece in bar.pieces]
        rows.append(
            BillRow(
                item="flat copper on plates",
                size=f"{cut.width_mm:g} x {cut.thickness_mm:g} mm",
                count=len(lengths),
                note=f"tinned, {min(lengths):.1f} to {max(lengths):.1f} mm long, soldered onto the "
                "sheet before it is welded (a bridge screwed on); insulation of 0.06 to 0.13 mm, "
                "punched as the rings are, beneath it on positive ends; "
                f"{stock_words(cut)}, see the cutting list" + (TO_OUTLINE if widened else ""),
            )
        )
    return tuple(rows) + _lug_rows(pack, interconnect.plates)


def _lug_rows(pack: Pack, plates: Sequence[BusPlate]) -> tuple[BillRow, ...]:
    """Ring lugs of the main leads, and what screws them, and a bridge, to the bars."""
    mains, bridges = (
        Counter(
            lug.screw
            for plate in plates
            if plate.bar is not None and plate.is_bridged is bridged
            for lug in plate.bar.lugs
        )
        for bridged in (False, True)
    )
    rows = [
        BillRow(
            item="ring lug on a main lead",
            size=f"{pack.leads.wire_mm2:g} mm2, {screw}",
            count=count,
            note="crimped, directly on the copper bar",
        )
        for screw, count in sorted(mains.items())
    ]
    for purpose, counted in (("a main lead's lug", mains), ("the bridge", bridges)):
        rows += [
            BillRow(
                item=f"screw with two washers and a locking nut, for {purpose}",
                size=f"{screw} x {LUG_SCREW_LONG_MM[screw]}",
                count=count,
            )
            for screw, count in sorted(counted.items())
        ]
    return tuple(rows)


def labour_row(pack: Pack, interconnect: Interconnect) -> BillRow:
    """What it takes to make the joints."""
    labour = joint_labour(pack, interconnect)
    return BillRow(
        item="work on the joints",
        size="",
        count=round(labour.minutes),
        unit="min",
        note=f"{labour_words(labour)}; minutes are judged, no source",
    )


def _sides_mm(shape: shapely.Polygon) -> tuple[float, float]:
    """Length and width of a sheet's box."""
    x0, y0, x1, y1 = shape.bounds
    return max(x1 - x0, y1 - y0), min(x1 - x0, y1 - y0)


def strip_rows(pack: Pack, interconnect: Interconnect) -> tuple[BillRow, ...]:
    """Strip by purpose, width and thickness: pieces to cut, and the length all take."""
    lengths: dict[tuple[StripKind, float, float], list[float]] = {}
    for strip in interconnect.strips:
        a, b = np.asarray(strip.start_mm), np.asarray(strip.end_mm)
        key = (strip.kind, strip.width_mm, strip.thickness_mm)
        lengths.setdefault(key, []).extend([float(np.hypot(*(b - a)))] * strip.layers)
    order = sorted(lengths, key=lambda key: (list(StripKind).index(key[0]), *key[1:]))
    rows = [
        BillRow(
            item=_STRIP_NAMES[kind],
            size=f"{width:g} x {thick:g} mm",
            count=len(lengths[kind, width, thick]),
            note=f"{pack.strip.material}, lengths {min(lengths[kind, width, thick]):.1f} to "
            f"{max(lengths[kind, width, thick]):.1f} mm, each layer counted",
        )
        for kind, width, thick in order
    ]
    rows += [
        BillRow(
            item=f"{pack.strip.material} strip, all pieces together",
            size=f"{cut.width_mm:g} x {cut.thickness_mm:g} mm",
            count=round(cut.used_mm / 1000.0, 3),
            unit="m",
            note=f"{stock_words(cut)}, see the cutting list",
        )
        for cut in strip_cut_lists(interconnect, stock_of(pack))
    ]
    return tuple(rows)


def printed_row(
    name: str, *, count: int, volume_mm3: float, material: str, note: str = ""
) -> BillRow:
    """One kind of printed part; mass of each at full infill."""
    mass_g = volume_mm3 / 1000.0 * materials()[material].density_g_cm3
    told = f"{mass_g:.1f} g each at full infill, {mass_g * count:.1f} g in all"
    return BillRow(
        item="printed part",
        size=name,
        count=count,
        note="; ".join(text for text in (f"{material}, {told}", note) if text),
    )


def screw_rows(uses: Iterable[ScrewUse]) -> tuple[BillRow, ...]:
    """Screws by thread and length, then the washers, nuts and inserts that they need."""
    uses = tuple(uses)
    found: dict[tuple[str, str, str], list[ScrewUse]] = {}
    for use in uses:
        table = screws()[use.screw]
        size = (
            f"{use.screw} x {use.length_mm:g}"
            if use.length_mm is not None
            else f"{use.screw}, {use.grip_mm:g} mm + frame"
        )
        head = ("button head screws", size, "ISO 7380-1")
        if not use.low_head:
            head = ("socket head screws", size, "ISO 4762")
        found.setdefault(head, []).append(use)
        if use.washer:
            found.setdefault(("washers", use.screw, "ISO 7089"), []).append(use)
        if use.into is Into.NUT:
            found.setdefault(("hexagon nuts", use.screw, "ISO 4032"), []).append(use)
        if use.into is Into.INSERT:
            deep_mm = use.insert_hole_deep_mm
            deep_mm = table.insert_deep_mm if deep_mm is None else deep_mm
            size = f"{use.screw}, hole {table.insert_hole_diameter_mm:g} x {deep_mm:g}"
            found.setdefault(("heat-set inserts", size, "heat-set"), []).append(use)
    kinds = [
        "socket head screws", "button head screws", "washers", "hexagon nuts", "heat-set inserts",
    ]  # fmt: skip
    order = sorted(found, key=lambda key: (kinds.index(key[0]), *_screw_order(found[key][0])))
    return tuple(
        BillRow(
            item=item,
            size=size,
            count=sum(use.count for use in found[item, size, standard]),
            note=f"{standard}; "
            + ", ".join(f"{use.count} {use.where}" for use in found[item, size, standard]),
        )
        for item, size, standard in order
    )


def sheet_row(
    item: str, *, width_mm: float, length_mm: float, thick_mm: float, count: int, note: str = ""
) -> BillRow:
    """Pieces of flat stuff cut to size: insulating sheet, paper, foam."""
    size = f"{length_mm:.0f} x {width_mm:.0f} x {thick_mm:g} mm"
    return BillRow(item=item, size=size, count=count, note=note)


def _screw_order(use: ScrewUse) -> tuple[float, float]:
    return float(use.screw.removeprefix("M")), use.length_mm or 0.0


def _number(value: float) -> str:
    return str(int(value)) if float(value).is_integer() else f"{value:g}"
