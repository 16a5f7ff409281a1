"""A drawing as DXF in millimetres: outlines to cut, folds, weld marks, text, each on its layer."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from generators.drawings.linework import PENS, Circles, Layer, LineSheet, Words
from generators.exports.dxf_file import write_dxf

if TYPE_CHECKING:
    from ezdxf.document import Drawing

__all__ = ["DXF_COLOURS", "write_sheet_dxf"]

# Colours by the format's index: 7 is black on white; they distinguish layers on a screen.
DXF_COLOURS = {
    "HOLDER": 8, "CELLS": 9, "STRIPS": 7, "WELDS": 1, "TAPS": 5, "TEXT": 8,
    "CUT": 7, "BEND": 3, "MARK": 1,
}  # fmt: skip
SINGLE_LINES = (Layer.WELD, Layer.MARK, Layer.BEND)  # from point to point
HEIGHT_SHARE = 0.72  # DXF counts a capital's height, drawings the font's size


def write_sheet_dxf(path: Path, sheet: LineSheet) -> None:
    """Write every mark whose layer goes into DXF, R2010; the bytes depend on the sheet alone.

    Fills, hatches and plates under words are for the eye only and left out.
    """
    write_dxf(path, lambda document: _draw(document, sheet))


def _draw(document: Drawing, sheet: LineSheet) -> None:
    from ezdxf.enums import TextEntityAlignment

    align = {
        "start": TextEntityAlignment.LEFT,
        "middle": TextEntityAlignment.CENTER,
        "end": TextEntityAlignment.RIGHT,
    }
    used = {PENS[mark.layer].in_dxf for mark in sheet.marks}
    for name, colour in DXF_COLOURS.items():
        if name in used:
            document.layers.add(name, color=colour)
    space = document.modelspace()
    for mark in sheet.marks:
        layer = PENS[mark.layer].in_dxf
        if layer is None:
            continue
        attributes = {"layer": layer}
        if isinstance(mark, Words):
            text = space.add_text(
                mark.text.replace("\N{MINUS SIGN}", "-"),
                height=mark.size_mm * HEIGHT_SHARE,
                dxfattribs=attributes,
            )
            text.set_placement(mark.at_mm, align=align[mark.anchor])
        elif isinstance(mark, Circles):
            space.add_circle(mark.at_mm, mark.radius_mm, dxfattribs=attributes)
        elif mark.layer in SINGLE_LINES:
            for line in mark.lines:
                start, end = line.tolist()
                space.add_line(start, end, dxfattribs=attributes)
        else:
            for line in mark.lines:
                space.add_lwpolyline(line.tolist(), close=mark.closed, dxfattribs=attributes)
