"""Units of length in files: how long they are, and what sizes give away."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["MM", "in_words", "size_words", "sizes_by_unit", "unit_named"]

# exact by definition; the inch is 25.4 mm since 1959 (international yard and pound agreement)
MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}

# what else formats carry, in mm
OTHERS = {"micron": 0.001, "foot": 304.8}

NAMES = {
    "millimeter": "mm",
    "centimeter": "cm",
    "meter": "m",
    "inch": "in",
    "millimetre": "mm",
    "centimetre": "cm",
    "metre": "m",
    "feet": "foot",
    "micrometer": "micron",
}


def unit_named(word: str) -> tuple[str, float] | None:
    """A unit's short name and its length in mm, None where it is not known."""
    plain = NAMES.get(word.strip().lower(), word.strip().lower())
    length = MM.get(plain, OTHERS.get(plain))
    return None if length is None else (plain, length)


def in_words(size_mm: Sequence[float]) -> str:
    """Sides as messages write them: three digits, ``200 x 150 x 80``."""
    return " x ".join(_short(side) for side in size_mm)


def size_words(size_mm: Sequence[float]) -> str:
    """The same with its unit."""
    return f"{in_words(size_mm)} mm"


def sizes_by_unit(size_in_file: Sequence[float]) -> str:
    """What a file's size would be in each unit: ``mm (8 x 6 x 3 mm), cm (...) ...``."""
    return ", ".join(
        f"{unit} ({size_words([side * length for side in size_in_file])})"
        for unit, length in MM.items()
    )


def _short(value: float) -> str:
    """At least three digits, no exponent."""
    if value >= 1000:
        return f"{value:.0f}"
    return f"{value:.3g}"
