"""Rules of the section ``mount``: what its values require of each other."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from math import dist

from generators.packfile.rules import Finding
from layouts import defaults
from layouts.formats import CellFormat, screws
from layouts.pack import Pack

__all__ = ["MOUNT_RULES"]

CLAMPS = ("round_clamp", "square_clamp")  # kinds that hold a tube

FOOT_WEB_MM = 2.0  # plastic between two screw heads on a bracket's foot


def foot(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Holes of a bracket's foot: the first is the origin, heads stay clear of each other."""
    field, holes = ("mount", "holes_mm"), pack.mount.holes_mm
    if holes[0] != (0.0, 0.0):
        yield Finding(
            field=field,
            reads=(),
            value=f"[{holes[0][0]:g}, {holes[0][1]:g}]",
            why="does not start with [0, 0], the hole from which all are measured",
            remedy="write [0, 0] first",
        )
    apart = screws()[pack.mount.screw].head_diameter_mm + FOOT_WEB_MM
    nearest = min((dist(a, b) for a, b in combinations(holes, 2)), default=apart)
    if nearest < apart:
        yield Finding(
            field=field,
            reads=(("mount", "screw"),),
            value=f"{nearest:g} mm apart",
            why=f"has two holes too close together for the heads of {pack.mount.screw} screws",
            remedy=f"place them at least {apart:g} mm apart",
        )


def scripted(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """A script where the brackets come from one, and only there."""
    field, reads = ("mount", "script"), (("mount", "kind"),)
    required = pack.mount.kind == "script"
    if required and pack.mount.script is None:
        remedy = "give the path of a Python file as seen from this file's folder"
        yield Finding(field=field, reads=reads, value="script", why="is not given", remedy=remedy)
    if pack.mount.script is not None and not required:
        remedy = "write that, or delete it"
        yield Finding(field=field, reads=reads, why="goes with kind: script alone", remedy=remedy)


def slotted(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Slots are those of an angle's foot."""
    if pack.mount.slot_mm and pack.mount.kind != "angle":
        yield Finding(
            field=("mount", "slot_mm"), reads=(("mount", "kind"),),
            why="goes with kind: angle alone", remedy="write that, or delete it",
        )  # fmt: skip


def clamped_tube(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """A tube where clamps hold one, and only there; holes of a frame go with other kinds."""
    mount, reads = pack.mount, (("mount", "kind"),)
    clamp = mount.kind in CLAMPS
    if clamp and mount.tube_mm is None:
        yield Finding(
            field=("mount", "tube_mm"), reads=reads, value=mount.kind, why="is not given",
            remedy="give the tube's outside diameter, or the side of a square one, in mm",
        )  # fmt: skip
    usual = defaults.mount()
    given = {
        "tube_mm": mount.tube_mm is not None, "liner_mm": mount.liner_mm != usual.liner_mm,
        "cross_bolt": mount.cross_bolt != usual.cross_bolt,
    }  # fmt: skip
    for key, set_ in given.items():
        if set_ and not clamp:
            yield Finding(
                field=("mount", key), reads=reads, why=f"goes with kind: {' or '.join(CLAMPS)}",
                remedy="write that, or delete it",
            )  # fmt: skip
    if clamp and mount.holes_mm != usual.holes_mm:
        yield Finding(
            field=("mount", "holes_mm"), reads=reads, value=f"{len(mount.holes_mm)} holes",
            why=f"has no meaning with kind: {mount.kind}, which bolts to no holes",
            remedy="delete it",
        )  # fmt: skip


MOUNT_RULES = (clamped_tube, foot, scripted, slotted)
