"""What a slicer is told of one part: walls, infill, solid layers, by what the part is for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, pi

from layouts.printer_spec import Printer

__all__ = ["PrintSettings", "settings_of", "settings_words"]

WHOLE_NOISE = 1e-6  # of a layer: float noise, so that 3.0 mm are 15 layers of 0.2


@dataclass(frozen=True, kw_only=True, slots=True)
class PrintSettings:
    """``infill_share``: of the volume within walls and solid layers, 0 to 1."""

    layer_mm: float
    line_mm: float
    wall_lines: int
    top_layers: int
    bottom_layers: int
    infill_share: float

    @property
    def apart_mm(self) -> float:
        """Distance of two lines that lie side by side, w - h (1 - pi/4): their round edges overlap
        so that no void is left; common practice, no source."""
        return self.line_mm - self.layer_mm * (1.0 - pi / 4.0)


@dataclass(frozen=True, slots=True)
class _Usual:
    """Walls, solid plastic below top faces and above bottom faces, infill [%]."""

    walls: int
    top_mm: float
    bottom_mm: float
    infill: float


# Judged. Holders: pockets and posts are all walls. Tub and lid: large plates, held by their solid
# layers; straps across their seams are solid. Brackets carry the pack: what their print note asks
# for. Solid plastic by its thickness, so that layers of another height leave the part as stiff.
_USUAL = {
    "holder_lower": _Usual(3, 1.0, 0.8, 25.0),
    "holder_upper": _Usual(3, 1.0, 0.8, 25.0),
    "barrier": _Usual(3, 1.0, 0.8, 25.0),
    "tub": _Usual(2, 0.8, 0.6, 15.0),
    "lid": _Usual(2, 0.8, 0.6, 15.0),
    "floor_strap": _Usual(4, 1.0, 0.8, 100.0),
    "lid_strap": _Usual(4, 1.0, 0.8, 100.0),
    "bracket": _Usual(4, 1.0, 0.8, 50.0),
}


def settings_of(role: str, printer: Printer, *, solid_mm: float = 0.0) -> PrintSettings:
    """Settings of a part of a role: as the pack file has them, else as suggested.

    ``solid_mm``: thickness from the bed up that is counted on as solid plastic. KeyError: there is
    no such role.
    """
    usual = _USUAL[role]

    def layers(thick_mm: float) -> int:
        return ceil(thick_mm / printer.layer_mm - WHOLE_NOISE)

    suggested = PrintSettings(
        layer_mm=printer.layer_mm,
        line_mm=printer.line_wide_mm,
        wall_lines=usual.walls,
        top_layers=layers(usual.top_mm),
        bottom_layers=layers(max(usual.bottom_mm, solid_mm)),
        infill_share=usual.infill / 100.0,
    )
    given = {
        key: value
        for key in ("wall_lines", "top_layers", "bottom_layers")
        if (value := getattr(printer, key)) is not None
    }
    if printer.infill_percent is not None:
        given["infill_share"] = printer.infill_percent / 100.0
    return replace(suggested, **given)


def settings_words(settings: PrintSettings) -> str:
    """As they stand in a table."""
    return (
        f"{settings.wall_lines} walls, {100.0 * settings.infill_share:g} % infill, "
        f"{settings.top_layers} top and {settings.bottom_layers} bottom layers of "
        f"{settings.layer_mm:g}"
    )
