"""Outlines read from SVG drawings."""

from __future__ import annotations

import io
import re
from collections import Counter
from collections.abc import Iterator
from math import isfinite
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import svgelements

from generators.spaces.curves import Stroke, arc, line
from generators.spaces.drawing import SpaceDrawing
from generators.spaces.errors import UnreadableError

__all__ = ["read_svg"]

# CSS absolute lengths: 1 in = 96 px = 72 pt = 6 pc = 25.4 mm (W3C, CSS Values and Units
# Level 3, section 5.2; from memory)
PIXEL_MM = 25.4 / 96
UNITS_MM = {
    "mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "px": PIXEL_MM,
}  # fmt: skip
_LENGTH = re.compile(r"\s*([-+]?[0-9.]+(?:[eE][-+]?[0-9]+)?)\s*(mm|cm|in|pt|pc|px)\s*")
MOST_STROKES = 20_000


def read_svg(file: Path) -> SpaceDrawing:
    """All shapes of the drawing that show, y turned upwards, the page's lower left at [0, 0].

    In mm where the page's width and height carry units (``width="200mm"``); else in user units,
    which the drawing does not say the length of. Raises UnreadableError where there
    is no shape, or the file is damaged.
    """
    drawing, word, unit_mm, top = _opened(file)
    left_out: Counter[str] = Counter()
    strokes: list[Stroke] = []
    for element in drawing.elements():
        if isinstance(element, svgelements.Text | svgelements.Image):
            left_out[type(element).__name__.lower()] += 1
        elif isinstance(element, svgelements.Shape):
            if _hidden(element):
                left_out["hidden"] += 1
                continue
            strokes.extend(_strokes(svgelements.Path(element)))
        if len(strokes) > MOST_STROKES:
            raise UnreadableError(
                f"contains more than {MOST_STROKES:,} lines", "save the outline alone"
            )
    if not strokes:
        others = ", ".join(f"{n} {kind}" for kind, n in sorted(left_out.items()))
        raise UnreadableError(
            "contains no visible path, rect, circle, ellipse, polygon or line",
            "draw the outline as a path, with text converted to paths",
            others or None,
        )
    if not all(np.isfinite(stroke).all() for stroke in strokes):
        raise UnreadableError("contains a coordinate that is not finite", "save it again")
    scale = 1.0 if unit_mm is None else unit_mm
    upright = [(stroke * [1.0, -1.0] + [0.0, top]) * scale for stroke in strokes]
    return SpaceDrawing(
        strokes=tuple(upright),
        unit=None if unit_mm is None else (word, 1.0),
        left_out=tuple(f"{n} {kind}" for kind, n in sorted(left_out.items())),
    )


def _opened(file: Path) -> tuple[Any, str, float | None, float]:
    """The drawing in user units, the page's unit, the length of a user unit in mm (None where
    nothing says it), and the height at which y turns upwards."""
    try:
        tree = ElementTree.parse(file)
        root = tree.getroot()
        width, height = (_length_mm(root.get(key, "")) for key in ("width", "height"))
        found = _LENGTH.fullmatch(root.get("width", ""))
        word = "" if found is None else found[2]
        view = [float(word) for word in (root.get("viewBox") or "").replace(",", " ").split()]
        unit_mm, top = None, 0.0
        if len(view) == 4:
            top = view[3]
            if width is not None and height is not None:
                unit_mm = min(width / view[2], height / view[3])  # the whole view is shown
            # the page as large as its view, so that the library leaves user units as they are
            root.set("width", repr(view[2]))
            root.set("height", repr(view[3]))
        elif width is not None and height is not None:
            unit_mm, top = PIXEL_MM, height / PIXEL_MM
        plain = io.BytesIO()
        tree.write(plain)
        plain.seek(0)
        drawing = svgelements.SVG.parse(plain, ppi=96.0, reify=True)
        if not isinstance(drawing, svgelements.SVG):
            raise ValueError(f"its outermost element is {root.tag[:40]}, not svg")
        return drawing, word, unit_mm, top
    except Exception as error:  # the reader raises many kinds on damaged files
        lines = str(error).splitlines()
        raise UnreadableError(
            "is not readable as SVG", "save it again as plain SVG", lines[0] if lines else None
        ) from error


def _length_mm(text: str) -> float | None:
    """A CSS length with its unit; None where it has no unit, or is a share of the window."""
    found = _LENGTH.fullmatch(text)
    if found is None:
        return None
    length = float(found[1]) * UNITS_MM[found[2]]
    if not length > 0 or not isfinite(length):
        raise ValueError(f"a page of {text}")
    return length


def _hidden(element: Any) -> bool:
    """visibility hidden, on itself or a group round it (the library drops display none)."""
    style = str(element.values.get("style", "")).replace(" ", "")
    hidden = ("hidden", "collapse")
    return element.values.get("visibility") in hidden or "visibility:hidden" in style


def _strokes(path: Any) -> Iterator[Stroke]:
    """The runs of a path, each from one move to the next."""
    run: list[Stroke] = []
    for segment in path:
        if isinstance(segment, svgelements.Move):
            if run:
                yield np.concatenate(run)
            run = []
            continue
        start, end = segment.start, segment.end
        if start is None or end is None:
            continue
        if isinstance(segment, svgelements.Arc):
            run.append(_arc(segment))
        elif isinstance(segment, svgelements.CubicBezier):
            run.append(_cubic(start, segment.control1, segment.control2, end))
        elif isinstance(segment, svgelements.QuadraticBezier):
            middle = segment.control
            run.append(
                _cubic(
                    start, start + (middle - start) * (2 / 3), end + (middle - end) * (2 / 3), end
                )
            )
        elif (start.x, start.y) != (end.x, end.y):
            run.append(line((start.x, start.y), (end.x, end.y)))
        if isinstance(segment, svgelements.Close):
            if run:
                yield np.concatenate(run)
            run = []
    if run:
        yield np.concatenate(run)


def _cubic(*points: Any) -> Stroke:
    return np.array([[[point.x, point.y] for point in points]], dtype=np.float64)


def _arc(segment: Any) -> Stroke:
    """An elliptical arc, transforms already in it."""
    centre = np.array([segment.center.x, segment.center.y])
    u = np.array([segment.prx.x, segment.prx.y]) - centre
    v = np.array([segment.pry.x, segment.pry.y]) - centre
    start = float(segment.get_start_t())
    pieces = arc(centre, u, v, start, float(segment.sweep))
    pieces[0, 0] = segment.start.x, segment.start.y
    pieces[-1, 3] = segment.end.x, segment.end.y
    return pieces
