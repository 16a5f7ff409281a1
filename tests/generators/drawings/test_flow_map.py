"""Maps of currents and temperatures: figures are those of the plan, tints can be read."""

from __future__ import annotations

import re

import numpy as np
import pytest

from generators.drawings.flow_map import DARK_FROM, current_map, ramp_colour, temperature_map
from generators.shaded.palette import lightness, rgb
from layouts.pack import Face
from layouts.planning.pack_plan import PackPlan, plan_pack
from tests.samples import linked_pack


@pytest.fixture(scope="module")
def plan() -> PackPlan:
    """A small pack with straight strips."""
    return plan_pack(linked_pack(3, 2))


def drawn(plan: PackPlan, face: Face) -> tuple[list[float], list[float]]:
    """Widths of the lines of a face's map, and the figures on it."""
    of = plan.electrical
    svg = current_map(plan.cell_layout, plan.interconnect, face, of.link_a,
                      can_mm=plan.pack.cell.diameter_mm)  # fmt: skip
    widths = [
        float(found)
        for found in re.findall(r'<path d="M[^"]*" stroke="#000" stroke-width="([\d.]+)"', svg)
    ]
    return widths, [float(found) for found in re.findall(r">([\d.]+)</text>", svg)]


def test_lines_are_as_wide_as_their_currents(plan: PackPlan) -> None:
    """Over both faces every link once; the widest is that with the highest current, a fifth of
    a can wide, and figures are the currents."""
    upper, lower = drawn(plan, Face.UPPER), drawn(plan, Face.LOWER)
    amps = np.sort(np.abs(plan.electrical.link_a))
    widths = np.sort(np.array([*upper[0], *lower[0]]))
    assert len(widths) == len(amps)
    widest = plan.pack.cell.diameter_mm / 5
    assert widths == pytest.approx(np.maximum(widest * amps / amps[-1], 0.15), abs=0.006)
    told = sorted([*upper[1], *lower[1]])
    assert told == pytest.approx(amps[amps >= 0.1 * amps[-1]].tolist(), abs=0.051)


def test_currents_must_be_those_of_the_links(plan: PackPlan) -> None:
    """Another count is another pack's."""
    with pytest.raises(ValueError, match="currents for"):
        current_map(plan.cell_layout, plan.interconnect, Face.UPPER,
                    plan.electrical.link_a[1:], can_mm=18.0)  # fmt: skip


def test_each_cell_has_its_temperature(plan: PackPlan) -> None:
    """One figure a cell; the coldest lightest; less than 5 K look alike, and the legend says so."""
    count = len(plan.cell_layout.xy_mm)
    celsius = np.linspace(30.0, 32.0, count)
    svg = temperature_map(plan.cell_layout, celsius, can_mm=18.0, about="at rest")
    figures = re.findall(r">([\d.]+)</text>", svg)
    assert [float(text) for text in figures[:count]] == pytest.approx(celsius.tolist(), abs=0.051)
    assert [float(text) for text in figures[count:]] == pytest.approx(
        [30, 31.25, 32.5, 33.75, 35], abs=0.051
    )
    tints = re.findall(r'<circle [^>]*fill="(#\w+)"', svg)
    assert tints[0] == ramp_colour(0.0) and tints[-1] == ramp_colour(0.4)


def test_figures_can_be_read_on_every_tint() -> None:
    """The ramp darkens from end to end; contrast of black or white figures is 4.5 at least (WCAG
    2.2, success criterion 1.4.3)."""
    tints = [ramp_colour(share) for share in np.linspace(0.0, 1.0, 101)]
    steps = np.diff([lightness(tint) for tint in tints])
    assert (steps <= 0).all() and lightness(tints[0]) - lightness(tints[-1]) > 50
    for share, tint in zip(np.linspace(0.0, 1.0, 101), tints, strict=True):
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in rgb(tint)]
        luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
        white = share >= DARK_FROM
        assert (1.05 / (luminance + 0.05) if white else (luminance + 0.05) / 0.05) >= 4.5
