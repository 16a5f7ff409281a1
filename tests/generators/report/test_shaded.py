"""The shaded pictures in the report: every balloon in the key, text that can be read."""

from __future__ import annotations

import base64
import re
from importlib.resources import files
from typing import Any

import pytest

from generators.report.shaded import shaded_figures, shaded_html
from generators.shaded.painted import CUTAWAY, EXPLODED, Balloon, Painted, PaintedPicture
from generators.shaded.palette import INK, PAPER, rgb

CSS = files("generators.report").joinpath("report.css").read_text(encoding="utf-8")
LEAST_CONTRAST = 4.5  # WCAG 2.2, success criterion 1.4.3, text of usual size


def picture(*rows: int) -> PaintedPicture:
    """A picture of nothing with a balloon for each row."""
    balloons = tuple(
        Balloon(row=row, anchor_px=(40, 20 + k), middle_px=(-45.0, 20.0 + 40 * k))
        for k, row in enumerate(rows)
    )
    return PaintedPicture(image=b"png", framed=b"on paper", wide=80, high=200, balloons=balloons)


PAINTED = Painted(
    pictures={CUTAWAY: picture(1, 3), EXPLODED: picture(1, 2, 3)},
    names={
        1: ("cells", "18650"),
        2: ("printed part", "tub"),
        3: ("<nuts>", ""),
        5: ("gland", "M12"),
    },
    undrawn={4: "no part"},
    undrawn_names={4: "work on the joints"},
)


def luminance(colour: str) -> float:
    """Relative luminance of a colour (WCAG 2.2, definition)."""
    full = colour if len(colour) == 7 else "#" + "".join(2 * c for c in colour[1:])
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in rgb(full)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (WCAG 2.2, definition)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def themes() -> list[dict[str, str]]:
    """The style sheet's colours by their names: light, dark, on paper."""
    found = [dict(re.findall(r"--(\w+): (#\w+)", block)) for block in re.findall(
        r":root \{([^}]*)\}", CSS)]  # fmt: skip
    assert len(found) == 3
    return found


def test_contrast_is_that_of_the_standard() -> None:
    """Black on white is 21:1; #767676 on white is the lightest grey that passes (4.54:1, a worked
    value often shown with the standard, from memory)."""
    assert contrast("#000000", "#fff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)
    assert contrast("#777777", "#ffffff") < LEAST_CONTRAST


@pytest.mark.parametrize("theme", themes(), ids=["light", "dark", "paper"])
def test_text_can_be_read_in_all_themes(theme: dict[str, str]) -> None:
    """Every colour of text on every ground that it stands on."""
    for text in ("ink", "soft", "accent", "fail"):
        for ground in ("paper", "card"):
            assert contrast(theme[text], theme[ground]) >= LEAST_CONTRAST, (text, ground)
    assert contrast(theme["ink"], theme["marked"]) >= LEAST_CONTRAST
    assert contrast(INK, PAPER) >= LEAST_CONTRAST


def test_each_balloon_stands_in_the_key() -> None:
    """By number and words; the picture is in the page; what no picture shows is told once."""
    figures = shaded_figures(PAINTED, "pond-pump")
    assert figures is not None
    for figure, rows in ((figures.cutaway, ["1", "3"]), (figures.exploded, ["1", "2", "3"])):
        html = shaded_html(figure)
        assert re.findall(r"<text[^>]*>(\d+)</text>", html) == rows
        assert re.findall(r'<li><a href="#bill-\d+"><b>(\d+)</b>', html) == rows
        assert base64.b64encode(b"png").decode() in html
        assert "&lt;nuts&gt;" in html and "<nuts>" not in html
    assert "tub, printed" in shaded_html(figures.exploded)
    assert "4 work on the joints (no part)" in shaded_html(figures.exploded)
    assert "5 gland, M12 (hidden)" in shaded_html(figures.exploded)
    assert "work on the joints" not in shaded_html(figures.cutaway)


def test_nothing_is_shown_where_nothing_was_painted() -> None:
    """A run without a compiler has no pictures in its report."""
    nothing: dict[Any, Any] = {}
    empty = Painted(pictures=nothing, names=nothing, undrawn=nothing, undrawn_names=nothing)
    assert shaded_figures(empty, "pond-pump") is None
