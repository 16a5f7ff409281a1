"""Keys of sheet metal, brackets and plates to cut, checked against each other."""

from __future__ import annotations

import math
from collections.abc import Iterator

from generators.packfile.rules import Field, Finding
from layouts.formats import CellFormat, SheetMetal, screws
from layouts.pack import CutPlate, Pack

__all__ = ["METAL_RULES"]

THICKEST_BRACKET_MM = 6.0  # that the pack file permits
KEYS = ("metal", "thickness_mm", "bend_radius_mm", "k_factor", "kerf_mm")


def metal_keys(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Only brackets of sheet metal have them."""
    if pack.mount.kind == "sheet":
        return
    for key in KEYS:
        value = getattr(pack.mount, key)
        if value is not None:
            yield Finding(
                field=("mount", key),
                reads=(("mount", "kind"),),
                value=f"{value} with kind {pack.mount.kind}",
                why="is of sheet metal brackets alone",
                remedy="write kind: sheet, or delete it",
            )


def in_stock(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """A thickness that the metal is sold in."""
    mount = pack.mount
    if mount.kind != "sheet" or mount.thickness_mm is None:
        return
    yield from _stocked(
        mount.thickness_mm, mount.sheet_metal, ("mount", "thickness_mm"), ("mount", "metal"),
        what="", most_mm=THICKEST_BRACKET_MM,
    )  # fmt: skip


def _stocked(
    thickness_mm: float, metal: SheetMetal, field: Field, by: Field, *, what: str, most_mm: float
) -> Iterator[Finding]:
    if thickness_mm in metal.stock_mm:
        return
    sold = [one for one in metal.stock_mm if one <= most_mm]
    yield Finding(
        field=field,
        reads=(by,),
        value=f"{what}{thickness_mm:g}",
        why=f"is no usual thickness of {metal.metal}",
        remedy="take one of " + ", ".join(f"{one:g}" for one in sold),
    )


def cut_plates(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Names that files can have beside each other, thicknesses sold, corners and kerf within the
    size."""
    field: Field = ("plates_to_cut",)
    taken = {"bracket"} if pack.mount.kind == "sheet" else set()
    for plate in pack.plates_to_cut:
        if plate.name.lower() in taken:
            yield Finding(
                field=field, reads=(), value=plate.name,
                why="is the name of another piece of sheet metal too", remedy="give each its own",
            )  # fmt: skip
        taken.add(plate.name.lower())
        yield from _stocked(
            plate.thickness_mm, plate.sheet_metal, field, field,
            what=f"{plate.name}: thickness_mm ", most_mm=math.inf,
        )  # fmt: skip
        if plate.corner_mm > min(plate.size_mm) / 2.0:
            yield Finding(
                field=field, reads=(), value=f"{plate.name}: corner_mm {plate.corner_mm:g}",
                why="is more than half the plate's width",
                remedy=f"take at most {min(plate.size_mm) / 2.0:g}",
            )  # fmt: skip
        least = _smallest_hole_mm(plate)
        if plate.kerf_mm >= least:
            yield Finding(
                field=field, reads=(), value=f"{plate.name}: kerf_mm {plate.kerf_mm:g}",
                why="is as wide as a hole", remedy=f"take less than {least:g}",
            )  # fmt: skip


def _smallest_hole_mm(plate: CutPlate) -> float:
    """Diameter or width; infinite where there is none."""
    named = [one.screw for one in plate.circles] + [one.screw for one in plate.holes]
    named += [one.screw for one in plate.slots]
    by_screws = [screws()[screw].clearance_diameter_mm for screw in named]
    pilots = [one.pilot_mm for one in plate.circles if one.pilot_mm]
    return min((*by_screws, *pilots), default=math.inf)


METAL_RULES = (metal_keys, in_stock, cut_plates)
