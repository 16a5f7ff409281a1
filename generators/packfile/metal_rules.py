"""Keys of sheet metal brackets checked against each other."""

from __future__ import annotations

from collections.abc import Iterator

from generators.packfile.rules import Finding
from layouts.formats import CellFormat
from layouts.pack import Pack

__all__ = ["METAL_RULES"]

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
    metal = mount.sheet_metal
    if mount.thickness_mm not in metal.stock_mm:
        yield Finding(
            field=("mount", "thickness_mm"),
            reads=(("mount", "metal"),),
            value=f"{mount.thickness_mm:g}",
            why=f"is no usual thickness of {metal.metal}",
            remedy="take one of " + ", ".join(f"{one:g}" for one in metal.stock_mm),
        )


METAL_RULES = (metal_keys, in_stock)
