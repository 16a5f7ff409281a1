"""Invented pack files with a bracket script, and scripts that are right or wrong."""

from __future__ import annotations

from pathlib import Path

__all__ = ["PACK", "SCRIPT_LINE", "angle", "pack_file"]

PACK = (
    "name: pond-lamp\ncell: {format: '18650'}\nseries: 2\nparallel: 2\n"
    "mount: {kind: script, script: own.py}\n"
)
SCRIPT_LINE = 5  # where PACK names the script


def pack_file(folder: Path, script: str | None, text: str = PACK) -> Path:
    """A pack file, and beside it its script where there is one."""
    if script is not None:
        (folder / "own.py").write_text(script, encoding="utf-8")
    file = folder / "pack.yaml"
    file.write_text(text, encoding="utf-8")
    return file


def angle(*, pad_mm: float = 6.0, last: str = "return whole") -> str:
    """A plain angle of two plates, a foot of 6 mm and ``pad_mm`` on the pad; then ``last``."""
    return f"""\
import cadquery as cq

def plate(wide, high, half):
    start = cq.Workplane("XY").workplane(offset=-half)
    return start.rect(wide, high, centered=False).extrude(2 * half)

def pin(plane, a, b, radius, deep):
    return cq.Workplane(plane).center(a, b).circle(radius).extrude(deep)

def bracket(sizes):
    half = 20.0
    long = max(x for x, _ in sizes.frame_holes_mm) + sizes.frame_washer_mm / 2 + 3
    whole = plate(long, 6, half).union(plate({pad_mm!r}, sizes.top_mm, half))
    for y, z in sizes.pad_holes_mm:
        whole = whole.cut(pin("YZ", y, z, sizes.pad_hole_mm / 2, {pad_mm!r}))
    for x, z in sizes.frame_holes_mm:
        whole = whole.cut(pin("XZ", x, z, sizes.frame_hole_mm / 2, -6))
    {last}
"""


ENTRY_LINE = 10  # of ``angle``'s function
