"""What holds a part on the bed: small pieces of its first layer, and how slender it stands."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.printable.finding import Look, PrintCheck, PrintFinding, Severity
from layouts.printable.layers import PartLayers
from layouts.printable.limits import BED_PIECE_MM2, PRACTICE, SLENDER
from layouts.printable.standing import BedPiece, bed_pieces, narrow_side_mm

__all__ = ["FIRST_LAYER", "STANDING", "bed_area_mm2"]


def bed_area_mm2(layers: PartLayers) -> float:
    """Area with which one copy lies on the bed."""
    return float(_first(layers).area)


def _first(layers: PartLayers) -> BaseGeometry:
    return layers.section(layers.stack.of[0])


def _pieces(layers: PartLayers) -> tuple[BedPiece, ...]:
    return layers.once("bed pieces", lambda one: bed_pieces(one.stack))


def _first_layer(layers: PartLayers) -> Look:
    pieces = shapely.get_parts(_first(layers))
    small = pieces[shapely.area(pieces) < BED_PIECE_MM2]
    least = float(min(shapely.area(pieces), default=0.0))
    if not len(small):
        return Look(worst=least)
    what = (
        f"{len(small)} piece{'s' if len(small) > 1 else ''} on the bed of less than "
        f"{BED_PIECE_MM2:g} mm2, the smallest {least:.1f}, of {bed_area_mm2(layers):.0f} in all"
    )
    at = small[shapely.area(small).argmin()].representative_point()
    region = shapely.MultiPolygon(small.tolist())
    return Look(
        worst=least, findings=(_finding(layers, FIRST_LAYER, region, (at.x, at.y), least, what),)
    )


def _standing(layers: PartLayers) -> Look:
    """Each piece up to where another joins it, and all of them together."""
    pieces = _pieces(layers)
    whole = shapely.convex_hull(_first(layers))
    high_mm = len(layers.stack.of) * layers.layer_mm
    found = [(high_mm / narrow_side_mm(whole), high_mm, whole)] if pieces else []
    if len(pieces) > 1:
        found += [(one.slenderness, one.free_mm, one.region) for one in pieces]
    return Look(
        worst=max((slender for slender, _, _ in found), default=None),
        findings=tuple(
            _finding(
                layers, STANDING, region, _inside(region), slender,
                f"{free_mm:.1f} mm high on {narrow_side_mm(region):.1f} mm: give it a brim",
            )
            for slender, free_mm, region in found
            if slender > SLENDER
        ),
    )  # fmt: skip


def _inside(region: BaseGeometry) -> tuple[float, float]:
    at = region.representative_point()
    return float(at.x), float(at.y)


def _finding(
    layers: PartLayers,
    kind: PrintCheck,
    region: BaseGeometry,
    at_mm: tuple[float, float],
    value: float,
    what: str,
) -> PrintFinding:
    return PrintFinding(
        kind=kind.id,
        part=layers.part.name,
        what=what,
        at_mm=(*at_mm, 0.0),
        value=value,
        unit=kind.unit,
        limit=BED_PIECE_MM2 if kind.id == FIRST_LAYER.id else SLENDER,
        severity=Severity.FAILS if kind.id == FIRST_LAYER.id else Severity.WARNS,
        region=region,
        outline=_first(layers),
    )


FIRST_LAYER = PrintCheck(
    id="print_first_layer",
    title="small piece on the bed",
    about="smallest piece of the first layer: smaller ones tear off the bed",
    limit=BED_PIECE_MM2,
    unit="mm2",
    source="judged, no source",
    remedy="in a bracket's script join it to its surroundings, or lift it off the bed by a layer",
    look=_first_layer,
    at_least=True,
)
STANDING = PrintCheck(
    id="print_standing",
    title="slender",
    about="height of a part, or of a piece of it before others join it, to its narrow side on the "
    "bed",
    limit=None,
    unit="",
    source=PRACTICE,
    remedy="set a brim round it in the slicer",
    look=_standing,
    only_told=True,
)
