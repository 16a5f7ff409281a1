"""The blanks of the form of readings: one list for the form, the sheet and the reading."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum

from layouts.gauges.sizes import WALLS
from layouts.gauges.values import GaugeDrawn

__all__ = ["DATE_PATTERN", "Blank", "BlankKind", "blanks_of"]

DATE_PATTERN = r"2[0-9]{3}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])"


class BlankKind(Enum):
    """What a blank takes."""

    DAY = "day"
    TEXT = "text"
    LENGTH = "length"  # mm
    FIGURE = "figure"  # one figure beside an opening
    FIGURES = "figures"  # a list of them


@dataclass(frozen=True, kw_only=True, slots=True)
class Blank:
    """``figures``: those that the gauge has, for figures, each with its size or lines as drawn;
    ``needed``: it may not stay blank."""

    key: str
    kind: BlankKind
    text: str
    needed: bool = True
    figures: Mapping[str, float] = field(default_factory=dict)


def blanks_of(drawn: GaugeDrawn) -> tuple[Blank, ...]:
    """All blanks for a gauge, in the order of the work."""
    day, text = BlankKind.DAY, BlankKind.TEXT
    return (
        Blank(key="date", kind=day, text="day of the print, such as 2026-03-31"),
        Blank(
            key="filament",
            kind=text,
            text="material and colour: another filament needs a gauge of its own",
        ),
        Blank(
            key="can_mm",
            kind=BlankKind.LENGTH,
            text="diameter of the can that is tried, sleeve on, the most of three places",
        ),
        Blank(
            key="took_can",
            kind=BlankKind.FIGURES,
            text="figures beside the pockets that this can went through by hand, straight, "
            "without force; [] for none",
            figures=drawn.pockets,
        ),
        *_lengths(drawn),
        *_small_openings(drawn),
    )


def _lengths(drawn: GaugeDrawn) -> Iterator[Blank]:
    """Those for the calliper; heights may stay blank."""
    (long_x, long_y, long_z), (short_x, short_y, short_z) = drawn.long_mm, drawn.short_mm
    for key, text in (
        ("long_x_mm", f"outer faces at the lower bar's ends, {long_x:g} drawn"),
        ("short_x_mm", f"across the upper head, {short_x:g} drawn"),
        ("long_y_mm", f"outer faces at the left bar's ends, {long_y:g} drawn"),
        ("short_y_mm", f"across the right head, {short_y:g} drawn"),
        ("foot_x_mm", "long_x_mm at the bed: the jaws' edges on the first layers alone"),
        ("foot_y_mm", "long_y_mm at the bed, likewise"),
        ("long_z_mm", f"underside to the top of the post, {long_z:g} drawn; or leave blank"),
        ("short_z_mm", f"thickness of the plate beside the post, {short_z:g} drawn; or blank"),
    ):
        yield Blank(key=key, kind=BlankKind.LENGTH, text=text, needed="_z_" not in key)


def _small_openings(drawn: GaugeDrawn) -> Iterator[Blank]:
    """What no profile follows from, but is told."""
    walls = {str(lines): float(lines) for lines in WALLS}
    for key, openings, text in (
        (
            "took_screw",
            drawn.screws,
            "figures beside the holes that an M3 screw went through by hand",
        ),
        (
            "insert_best",
            drawn.inserts,
            "figure beside the hole in which an M3 insert stands by its lead, cold",
        ),
        ("slots_open", drawn.slots, "figures of the slots that light comes through"),
        ("walls_whole", walls, "figures of the walls that are whole, without gaps"),
        (
            "took_strip",
            drawn.notches,
            "figures of the notches that the strip went into, on edge",
        ),
    ):
        one = key == "insert_best"
        yield Blank(
            key=key,
            kind=BlankKind.FIGURE if one else BlankKind.FIGURES,
            text=text,
            needed=False,
            figures=openings,
        )
