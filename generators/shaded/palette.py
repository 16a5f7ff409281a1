"""What a thing is painted with: lightness alone tells the paints apart where colour is not seen."""

from __future__ import annotations

from enum import Enum

__all__ = ["INK", "PAPER", "Paint", "lightness", "rgb"]


class Paint(Enum):
    """Materials by their colour as sRGB; none tells a group or a pole."""

    TUB = "#94a5a8"
    LID = "#aab8ba"
    HOLDER = "#e6dfcf"
    BRACKET = "#c7a872"
    SLEEVE = "#2f6b70"
    CAN = "#cfd2d0"
    RING = "#f6f3ea"
    SHEET_METAL = "#b6bab8"
    COPPER = "#b6723a"
    BRASS = "#c9a24e"
    STEEL = "#454d52"
    BOARD = "#3d5a46"
    SHEET = "#ead9a4"
    PAPER_WRAP = "#d8cdb0"
    GLAND = "#2b3033"
    WIRE = "#5b2f2a"
    FUSE = "#6d6a76"
    SILICONE = "#dfe6ea"

    @property
    def shines(self) -> bool:
        """Whether light glints on it."""
        return self in (Paint.CAN, Paint.SHEET_METAL, Paint.COPPER, Paint.BRASS, Paint.STEEL)


PAPER = "#fbf9f4"
INK = "#1d2426"


def rgb(colour: str) -> tuple[float, float, float]:
    """Red, green and blue of ``#rrggbb``, each 0 to 1."""
    red, green, blue = (int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5))
    return red, green, blue


def lightness(colour: str) -> float:
    """CIE L* of a colour, 0 to 100 (IEC 61966-2-1 for sRGB, CIE 15 for L*; from memory)."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in rgb(colour)]
    y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    root = y ** (1 / 3) if y > (6 / 29) ** 3 else y / (3 * (6 / 29) ** 2) + 4 / 29
    return 116.0 * root - 16.0
