"""The shaded pictures as the report shows them: a PNG in the page, numbered balloons, a key."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from dataclasses import dataclass
from html import escape

from generators.shaded.painted import (
    BESIDE_PX,
    CUTAWAY,
    EXPLODED,
    RADIUS_PX,
    Balloon,
    Painted,
    PaintedPicture,
)

__all__ = ["ShadedFigure", "ShadedFigures", "shaded_figures", "shaded_html"]

KNEE_PX = 16
TEXT_DOWN_PX = 6  # from a balloon's middle to the line that its number stands on
CUT_CAPTION = (
    "Cut open from the front corner, in steps; what is bought is shown whole, or left out with "
    "what carries it. Hatched: cut faces."
)
APART_CAPTION = "Pulled apart in the order in which it goes together."
NUMBERS = "Numbers are the rows of the bill of materials."
LEADS = "The ways of the main leads are examples."


@dataclass(frozen=True, kw_only=True, slots=True)
class ShadedFigure:
    """``picture`` with what it shows; ``key``: (row, words) of all its balloons, ``absent``: what
    no picture shows, with the reason."""

    name: str
    title: str
    caption: str
    picture: PaintedPicture
    key: tuple[tuple[int, str], ...]
    absent: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class ShadedFigures:
    """Both pictures of a pack."""

    cutaway: ShadedFigure
    exploded: ShadedFigure


def shaded_figures(painted: Painted, pack_name: str) -> ShadedFigures | None:
    """Both figures; None where nothing was painted."""
    if not painted.pictures:
        return None
    absent = (
        *(f"{row} {painted.undrawn_names[row]} ({why})" for row, why in painted.undrawn.items()),
        *(f"{row} {_words(*painted.names[row])} (hidden)" for row in painted.hidden),
    )
    leads = (
        f" {LEADS}"
        if any(name.startswith("main lead") for name, _ in painted.names.values())
        else ""
    )
    cutaway, exploded = (
        ShadedFigure(
            name=name,
            title=f"{pack_name}, {words}",
            caption=f"{caption} {NUMBERS}{leads}",
            picture=painted.pictures[name],
            key=_key(painted.pictures[name], painted.names),
            absent=absent if name == EXPLODED else (),
        )
        for name, words, caption in (
            (CUTAWAY, "cut open", CUT_CAPTION), (EXPLODED, "pulled apart", APART_CAPTION),
        )
    )  # fmt: skip
    return ShadedFigures(cutaway=cutaway, exploded=exploded)


def _key(
    picture: PaintedPicture, names: Mapping[int, tuple[str, str]]
) -> tuple[tuple[int, str], ...]:
    rows = sorted(one.row for one in picture.balloons)
    return tuple((row, _words(*names[row])) for row in rows)


def _words(item: str, size: str) -> str:
    if item == "printed part":
        return f"{size}, printed"
    return f"{item}, {size}" if size else item


def shaded_html(figure: ShadedFigure) -> str:
    """The picture, its balloons leading to their rows of the bill; on a narrow screen without
    balloons, and larger with them where that is asked for; below it its key."""
    picture, box = figure.picture, f"numbers-{figure.name}"
    data = base64.b64encode(picture.image).decode("ascii")
    wide, high = picture.wide, picture.high
    balloons = "".join(map(_balloon, picture.balloons))
    rows = "".join(
        f'<li><a href="#bill-{row}"><b>{row}</b>{escape(words)}</a></li>'
        for row, words in figure.key
    )
    absent = (
        f'<p class="small">Not shown: {escape("; ".join(figure.absent))}.</p>'
        if figure.absent
        else ""
    )
    return (
        f'<figure class="shaded {figure.name}">'
        f'<input type="checkbox" id="{box}"><label for="{box}">larger, with numbers</label>'
        f'<div class="view"><svg xmlns="http://www.w3.org/2000/svg" role="img" '
        f'viewBox="{-BESIDE_PX} 0 {wide + 2 * BESIDE_PX} {high}" '
        f'aria-label="{escape(figure.title)}"><image width="{wide}" height="{high}" '
        f'href="data:image/png;base64,{data}"/>{balloons}</svg></div>'
        f'<figcaption>{escape(figure.caption)}</figcaption><ul class="key">{rows}</ul>{absent}'
        "</figure>"
    )


def _balloon(one: Balloon) -> str:
    x, y = one.middle_px
    (ax, ay), edge = one.anchor_px, x - one.side * RADIUS_PX
    way = f"M{edge:g} {y:g}H{edge - one.side * KNEE_PX:g}L{ax} {ay}"
    return (
        f'<a class="balloon" href="#bill-{one.row}" tabindex="-1">'
        f'<path class="halo" d="{way}"/><path d="{way}"/>'
        f'<circle class="dot" cx="{ax}" cy="{ay}" r="3.4"/>'
        f'<circle cx="{x:g}" cy="{y:g}" r="{RADIUS_PX}"/>'
        f'<text x="{x:g}" y="{y + TEXT_DOWN_PX:g}">{one.row}</text></a>'
    )
