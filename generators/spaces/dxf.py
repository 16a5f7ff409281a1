"""Outlines read from DXF drawings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
from ezdxf import path as dxf_path
from ezdxf.path import Command

from generators.spaces.curves import Stroke
from generators.spaces.drawing import SpaceDrawing
from generators.spaces.errors import UnreadableError
from generators.spaces.splines import BadSplineError, spline_stroke, through_points
from generators.spaces.units import unit_named

__all__ = ["read_dxf"]

# DXF header $INSUNITS: 0 none, 1 inches, 2 feet, 4 mm, 5 cm, 6 m, 13 microns (DXF reference,
# header variables; from memory)
INSUNITS = {1: "in", 2: "foot", 4: "mm", 5: "cm", 6: "m", 13: "micron"}
KINDS = ("LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE")
ARC_PIECES = 48  # cubics a circle, a third of that a bulge: off by 1e-7 of the radius at most
MOST_STROKES = 20_000
MOST_ENTITIES = 40_000  # of any kind, those of blocks counted wherever they stand


def read_dxf(file: Path) -> SpaceDrawing:
    """All lines of the model space, blocks taken apart; x, y of the drawing, z left out.

    Layers that are off, frozen or never plotted are passed over, and so are texts, dimensions
    and hatches. Raises UnreadableError where there is nothing else, or the file is damaged.
    """
    document = _opened(file)
    code = int(document.header.get("$INSUNITS", 0))
    unit = None
    if code != 0:
        unit = unit_named(INSUNITS.get(code, ""))
        if unit is None:
            raise UnreadableError(
                "is drawn in an unsuitable unit",
                "save it with $INSUNITS 4, millimetres",
                f"$INSUNITS {code}",
            )
    left_out: Counter[str] = Counter()
    hidden = {
        layer.dxf.name.lower()
        for layer in document.layers
        if layer.is_off() or layer.is_frozen() or not layer.dxf.get("plot", 1)
    } | {"defpoints"}
    strokes: list[Stroke] = []
    blocks = {block.name.lower() for block in document.blocks}
    for number, entity in enumerate(_entities(document.modelspace(), blocks, left_out)):
        if number >= MOST_ENTITIES:
            raise UnreadableError(
                f"contains more than {MOST_ENTITIES:,} entities", "save the outline alone"
            )
        if entity.dxf.layer.lower() in hidden:
            left_out["on hidden layers"] += 1
        elif entity.dxftype() in KINDS:
            strokes.extend(_strokes(entity))
        elif entity.dxftype() != "INSERT":
            left_out[entity.dxftype()] += 1
        if len(strokes) > MOST_STROKES:
            raise UnreadableError(
                f"contains more than {MOST_STROKES:,} lines", "save the outline alone"
            )
    if not strokes:
        others = ", ".join(f"{n} {kind}" for kind, n in sorted(left_out.items()))
        raise UnreadableError(
            "contains no line, arc, circle, ellipse, spline or polyline",
            "draw the outline in the model space",
            others or None,
        )
    if not all(np.isfinite(stroke).all() for stroke in strokes):
        raise UnreadableError("contains a coordinate that is not finite", "save it again")
    words = tuple(f"{n} {kind}" for kind, n in sorted(left_out.items()))
    return SpaceDrawing(strokes=tuple(strokes), unit=unit, left_out=words)


def _opened(file: Path) -> Any:
    try:
        return ezdxf.filemanagement.readfile(file)
    except Exception as error:  # the reader raises many kinds on damaged files
        raise UnreadableError(
            "is not readable as DXF", "save it again as DXF", _first_line(error)
        ) from error


def _first_line(error: Exception) -> str | None:
    lines = str(error).splitlines()
    return lines[0] if lines else None


def _entities(
    layout: Any, blocks: set[str], left_out: Counter[str], depth: int = 0
) -> Iterator[Any]:
    """Entities of a layout, those of blocks in it as they stand there, after the block itself."""
    for entity in layout:
        yield entity
        if entity.dxftype() != "INSERT":
            continue
        if str(entity.dxf.get("name", "")).lower() not in blocks:
            raise UnreadableError(
                "refers to a block that the file does not have",
                "explode the block before saving",
                f"block {entity.dxf.get('name', '')!r}",
            )
        if depth < 8:  # blocks within blocks; a block can't hold itself
            yield from _entities(
                (one for each in entity.multi_insert() for one in each.virtual_entities())
                if entity.mcount > 1
                else entity.virtual_entities(),
                blocks,
                left_out,
                depth + 1,
            )
        else:
            left_out["INSERT"] += 1


def _strokes(entity: Any) -> Iterator[Stroke]:
    """One entity as strokes: bulges, arcs and ellipses true to 1e-7 of their size.

    A bulge is the tangent of a quarter of the arc's angle (DXF reference, LWPOLYLINE, group 42;
    from memory); the library turns it, and arcs that face down, into curves.
    """
    if entity.dxftype() == "POLYLINE" and not (entity.is_2d_polyline or entity.is_3d_polyline):
        return  # a mesh of faces
    if entity.dxftype() == "SPLINE":
        yield _spline(entity)
        return
    whole = dxf_path.make_path(entity, segments=ARC_PIECES)
    part: Any
    for part in whole.sub_paths():
        pieces = []
        here = _plan(part.start)
        for command in part.commands():
            end = _plan(command.end)
            if command.type == Command.CURVE4_TO:
                pieces.append([here, _plan(command.ctrl1), _plan(command.ctrl2), end])
            elif command.type == Command.CURVE3_TO:
                middle = _plan(command.ctrl)
                one, two = here + (middle - here) * 2 / 3, end + (middle - end) * 2 / 3
                pieces.append([here, one, two, end])
            elif (end != here).any():
                pieces.append([here, here + (end - here) / 3, here + (end - here) * 2 / 3, end])
            here = end
        if pieces:
            yield np.array(pieces)


def _spline(entity: Any) -> Stroke:
    """A spline by its control points, or where it has none by the points that it passes through."""
    control = np.array(entity.control_points, dtype=np.float64).reshape(-1, 3)[:, :2]
    passed = np.array(entity.fit_points, dtype=np.float64).reshape(-1, 3)[:, :2]
    weights = np.array(entity.weights, dtype=np.float64)
    knots, degree = np.array(entity.knots, dtype=np.float64), int(entity.dxf.degree)
    try:
        if not len(control) and entity.closed:
            return through_points(passed)
        if not len(control):
            if len(passed) < 2 or not np.isfinite(passed).all():
                raise BadSplineError(f"{len(passed)} points to pass through")
            found = entity.construction_tool()  # a clamped cubic, by the drawing programs' own rule
            control = np.array([[one.x, one.y] for one in found.control_points])
            knots, degree = np.array(found.knots()), found.degree
        return spline_stroke(
            control, knots, degree, weights=weights if len(weights) else None, closed=entity.closed
        )
    except BadSplineError as error:
        raise UnreadableError(
            "contains a damaged SPLINE", "draw it anew, or save it as a polyline", str(error)
        ) from error


def _plan(point: Any) -> Any:
    return np.array([point.x, point.y])
