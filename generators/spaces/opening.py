"""Files of a space: found, read by their ending, and brought to mm."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Literal

from generators.spaces.errors import UnreadableError
from generators.spaces.units import MM, size_words, sizes_by_unit
from layouts.errors import PlanError
from layouts.spaces.space import Prism, Solid

__all__ = [
    "DRAWINGS",
    "SOLIDS",
    "Use",
    "found_file",
    "libraries",
    "read_drawing",
    "read_prism",
    "read_solid",
]

DRAWINGS = (".dxf", ".svg")
SOLIDS = (".stl", ".obj", ".3mf", ".step", ".stp")
LARGEST_BYTES = 400_000_000
SMALLEST_ROOM_MM = 20.0  # no can of any format goes into less
LARGEST_ROOM_MM = 5000.0  # no pack of 10,000 cells needs more
LARGEST_MM = 100_000.0  # past that floats lose what a proof needs
SMALLEST_BODY_MM = 1.0  # nobody draws a smaller thing to stay out of
SMALL_BODY_MM = 20.0  # a bolt head may be, and so may a wheel in inches
LEAST_MM3 = {"room": 1.0, "surroundings": 1.0, "keep_out": 1e-3}

Use = Literal["room", "surroundings", "keep_out"]
Ring = list[tuple[float, float]]


def read_drawing(
    path: str, name: str, asked: str | None
) -> tuple[Ring, list[Ring], tuple[str, ...]]:
    """The outline and holes of a DXF or SVG file, mm, and what to know about it.

    ``name``: how messages call it; ``asked``: the unit that the user states. Raises UnreadableError
    where it can't be used."""
    file = found_file(path, name, "drawing")
    with _in_words(name):
        return _read_drawing(file, name, asked)


def read_prism(
    path: str, name: str, asked: str | None, height_mm: float
) -> tuple[Prism, tuple[str, ...]]:
    """The room over the outline of a DXF or SVG file, and what to know about it.

    As ``read_drawing``; raises UnreadableError where the outline crosses itself or encloses too
    little, too."""
    outline, holes, notes = read_drawing(path, name, asked)
    from layouts.spaces.outline import sound_prism  # shapely

    try:
        with _in_words(name):
            return sound_prism(outline, holes, height_mm), notes
    except PlanError as error:
        which = error.field.rsplit(".", 1)[-1]
        part = f"hole {which} of the drawing" if which.isdecimal() else "the drawn outline"
        raise UnreadableError(f"{part} {error.why}", error.remedy, error.value) from error


def _read_drawing(
    file: Path, name: str, asked: str | None
) -> tuple[Ring, list[Ring], tuple[str, ...]]:
    from generators.spaces.curves import OpenOutlineError
    from generators.spaces.drawing import rings

    if file.suffix.lower() == ".dxf":
        from generators.spaces.dxf import read_dxf

        drawing = read_dxf(file)
    else:
        from generators.spaces.svg import read_svg

        drawing = read_svg(file)
        if drawing.unit is None and asked is None:
            raise UnreadableError(
                "does not give its units",
                f"add units: {sizes_by_unit(drawing.size)}",
                name,
            )
    scale, _ = _scale(drawing.unit, asked, drawing.size, name, "room")
    try:
        outline, holes = rings(drawing.strokes, scale)
    except OpenOutlineError as error:
        raise UnreadableError(error.why, "close it where it was drawn", error.where) from error
    notes = (f"{name}: ignored {', '.join(drawing.left_out)}",) if drawing.left_out else ()
    return outline, holes, notes


def read_solid(
    path: str, name: str, asked: str | None, *, as_name: str, mend: bool, use: Use
) -> tuple[Solid, tuple[str, ...]]:
    """The closed body of a mesh or STEP file, mm, and what to know about it.

    ``name``: how messages call the file, ``as_name`` the body; ``asked``: the unit that the user
    states; ``mend``: close holes. Raises UnreadableError where it can't be used."""
    file = found_file(path, name, use)
    with _in_words(name):
        return _read_solid(file, name, asked, as_name, mend, use)


def _read_solid(
    file: Path, name: str, asked: str | None, as_name: str, mend: bool, use: Use
) -> tuple[Solid, tuple[str, ...]]:
    from generators.spaces.mesh_files import STEP_MM, read_mesh
    from generators.spaces.mesh_repair import sound_solid

    raw = read_mesh(file)
    corners = raw.vertices[raw.faces.ravel()]
    size = [float(side) for side in corners.max(axis=0) - corners.min(axis=0)]
    scale, notes = _scale(raw.unit, asked, size, name, use)
    solid, said = sound_solid(
        raw.vertices * scale,
        raw.faces,
        name=as_name,
        file=name,
        mend=mend,
        least_mm3=LEAST_MM3[use],
    )
    if raw.curved:
        notes += (f"{name}: curved faces are approximated by triangles within {STEP_MM:g} mm",)
    return solid, (*notes, *said)


@contextmanager
def _in_words(name: str) -> Iterator[None]:
    """Whatever a file does to the libraries that read it is told as its own fault."""
    try:
        yield
    except (UnreadableError, PlanError):
        raise
    except MemoryError as error:
        raise UnreadableError(
            "needs too much memory", "give a simpler drawing or a coarser mesh", name
        ) from error
    except Exception as error:
        lines = str(error).splitlines()
        raise UnreadableError(
            f"is damaged: it can't be read as {os.path.splitext(name)[1][1:].upper()}",
            "save it again, or in another format",
            f"{type(error).__name__}: {lines[0][:120]}" if lines else type(error).__name__,
        ) from error


def libraries(name: str) -> tuple[str, ...]:
    """Modules that reading a file of this name takes, slow to load."""
    ending = os.path.splitext(name)[1].lower()
    if ending in DRAWINGS:
        return (f"generators.spaces.{ending[1:]}", "layouts.spaces.outline")
    kernel = ("OCP.STEPControl", "OCP.BRepMesh") if ending in (".step", ".stp") else ()
    return ("generators.spaces.mesh_files", "generators.spaces.mesh_repair", *kernel)


def found_file(path: str, name: str, use: Use | Literal["drawing"]) -> Path:
    """The file, where it is one that can be read for this use. Raises UnreadableError."""
    endings = {"drawing": DRAWINGS, "keep_out": SOLIDS}.get(use, (*SOLIDS, *DRAWINGS))
    ending = os.path.splitext(name)[1].lower()
    if ending not in endings:
        known = ", ".join(one.removeprefix(".").upper() for one in endings)
        raise UnreadableError("is of an unsupported type", f"give one of {known}", name)
    remedy = "paths are relative to the folder of the file that names them"
    try:
        facts = os.stat(path)
        if stat.S_ISREG(facts.st_mode) or stat.S_ISDIR(facts.st_mode):  # a pipe would wait
            with open(path, "rb"):
                pass
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise UnreadableError(f"can't be read: {why}", remedy, name) from error
    if not stat.S_ISREG(facts.st_mode):
        raise UnreadableError("can't be read: it is not a regular file", remedy, name)
    if facts.st_size > LARGEST_BYTES:
        raise UnreadableError(
            f"is larger than {LARGEST_BYTES // 1_000_000} MB", "give a coarser mesh", name
        )
    return Path(path)


def _scale(
    own: tuple[str, float] | None,
    asked: str | None,
    size: Sequence[float],
    name: str,
    use: Use,
) -> tuple[float, tuple[str, ...]]:
    """Length in mm of what a file's numbers count, once its size has been looked at."""
    if own is not None and asked is not None and asked != own[0]:
        raise UnreadableError(
            f"contradicts {name}, which is in {own[0]}",
            f"write {own[0]} or delete it",
            asked,
            key=("units",),
        )
    scale = own[1] if own is not None else MM[asked or "mm"]
    mm = [side * scale for side in size]
    largest = max(mm)
    told = size_words(mm)
    guessed = own is None and asked is None
    smallest = SMALLEST_ROOM_MM if use == "room" else SMALLEST_BODY_MM
    limit = LARGEST_ROOM_MM if use == "room" or guessed else LARGEST_MM
    if smallest <= largest <= limit:
        small = guessed and use != "room" and largest < SMALL_BODY_MM
        return scale, (f"{name}: read in mm, {told}; add units if it is larger",) if small else ()
    which = "small" if largest < smallest else "large"
    why = (
        f"too {which} for the space of a pack" if use == "room" else f"too {which} to be plausible"
    )
    if guessed:
        raise UnreadableError(
            f"is {told} if its unit is mm, {why}", f"add units: {sizes_by_unit(size)}", name
        )
    raise UnreadableError(f"is {told}, {why}", "check its unit", name)
