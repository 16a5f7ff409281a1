"""How plates lie on the sheet or roll that they are cut from, at true size."""

from __future__ import annotations

import numpy as np
import shapely

from generators.drawings.linework import Layer, Lines, LineSheet, Mark, boxed_words, line_sheet
from layouts.plates.nesting import NestedStock

__all__ = ["nest_sheet"]

NUMBER_MM = 4.0
ROW_MM = 500.0  # longer stock is drawn in even rows
BETWEEN_MM = 8.0  # two rows


def nest_sheet(stock: NestedStock) -> LineSheet:
    """The stock from its end, in rows where it is long; a piece that goes from one row to the next
    is drawn in both."""
    marks: list[Mark] = []
    rows = max(1, int(np.ceil(stock.buy_mm / ROW_MM)))
    long_mm = stock.buy_mm / rows
    for row in range(rows):
        start, end = row * long_mm, (row + 1) * long_mm
        window = shapely.box(start, 0.0, end, stock.width_mm)
        by = np.array([-start, -row * (stock.width_mm + BETWEEN_MM)])
        marks.append(
            Lines(layer=Layer.BOX, lines=(_corners(window) + by,), closed=True),
        )
        for piece in stock.pieces:
            for part in shapely.get_parts(shapely.intersection(piece.shape, window)).tolist():
                if part.is_empty or part.geom_type != "Polygon":
                    continue
                rings = [part.exterior, *part.interiors]
                lines = tuple(np.asarray(ring.coords)[:-1] + by for ring in rings)
                marks.append(Lines(layer=Layer.GREY, lines=lines[:1], closed=True))
                if lines[1:]:
                    marks.append(Lines(layer=Layer.WHITE, lines=lines[1:], closed=True))
            x, y = shapely.get_coordinates(piece.shape.representative_point())[0]
            if start <= x < end:
                at = (float(x + by[0]), float(y + by[1]))
                marks += boxed_words(piece.name, at, NUMBER_MM)
    title = f"pieces on {stock.material} {stock.thickness_mm:g} mm"
    return line_sheet(f"nested {stock.material} {stock.thickness_mm:g}", title, marks)


def _corners(shape: shapely.Polygon) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    return np.asarray(shape.exterior.coords)[:-1]
