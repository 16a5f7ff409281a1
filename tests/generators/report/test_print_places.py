"""Places that are hard to print, in the report."""

from __future__ import annotations

import re

from generators.printing_row import finding_rows
from generators.report.print_places import print_places
from generators.result import plain
from layouts.printable.judging import Printability, printability
from tests.layouts.printable.solids import PRINTER, slab, stand
from tests.layouts.printing.shapes import rectangle


def found() -> Printability:
    """Two wings that hang, and a bridge of 14.6."""
    wings = stand(slab(rectangle(-5, 0, 5, 20), 0, 20), slab(rectangle(-15, 0, 15, 20), 20, 25))
    gate = stand(
        slab(rectangle(0, 0, 5, 8), 0, 10),
        slab(rectangle(20, 0, 25, 8), 0, 10),
        slab(rectangle(0, 0, 25, 8), 10, 13),
    )
    return printability([wings, gate], PRINTER)


def test_places_on_one_layer_share_a_row_and_a_picture() -> None:
    """Those that fail first; told by words and by the fill of the mark, not by colour alone."""
    places = print_places(found().findings)
    assert places is not None
    assert [row[:4] for row in places.table.rows] == [
        ("fails", "free ceiling", "piece", "196.0 mm2"),
        ("warns", "long bridge", "piece", "14.6 mm"),
    ]
    assert [row[-1] for row in places.table.rows] == ["2", "1"]
    hangs, bridge = places.figures
    assert hangs.caption.startswith("Free ceiling, fails: piece at z 20 mm. 1 to 2: 196.0 of 196.0")
    assert re.findall(r">(\d+)</text>", hangs.svg) == ["1", "2"]
    assert 'fill="url(#print-warns)"' in bridge.svg and "stroke-dasharray" in bridge.svg
    assert 'fill="url(#print-warns)"' not in hangs.svg and "stroke-dasharray" not in hangs.svg
    assert print_places(()) is None


def test_all_of_them_stand_in_the_result() -> None:
    """Check, part, place, box in plan, figure and limit."""
    rows = finding_rows(found().findings, plain)
    assert [(row["check"], row["severity"]) for row in rows] == [
        ("print_ceilings", "fails"), ("print_ceilings", "fails"), ("print_bridges", "warns"),
    ]  # fmt: skip
    boxes = sorted(row["box_mm"] for row in rows[:2])
    assert boxes == [[[-15.0, 0.0], [-5.2002, 20.0]], [[5.2002, 0.0], [15.0, 20.0]]]
    assert rows[0]["at_mm"][2] == 20.0
    assert (rows[2]["unit"], rows[2]["limit"]) == ("mm", 10.0)
