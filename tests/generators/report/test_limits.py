"""Shares of limits and groups of checks, by figures worked by hand."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from generators.report.check_groups import GROUPS, group_of, grouped
from generators.report.limits import (
    bar_svg,
    figure_text,
    is_at_limit,
    nearest,
    percent_words,
    share_used,
)
from layouts.checks import Check

TOP = Path(__file__).parents[3]
WEB = Check(
    id="web_mm", about="web", holds=True, value=1.5, limit=1.2, unit="mm", source="", remedy=""
)
LOAD = replace(WEB, id="load_current_a", value=20.0, limit=25.0, unit="A", at_least=False)


@pytest.mark.parametrize(
    ("check", "share", "words"),
    [
        (WEB, 0.8, "80 %"),  # 1.2 / 1.5
        (LOAD, 0.8, "80 %"),  # 20 / 25
        (replace(LOAD, value=24.99), 0.9996, "99 %"),  # never told as used up while it holds
        (replace(LOAD, value=25.0), 1.0, "set to its limit"),
        (replace(LOAD, value=40.0, limit=40.0, unit="", at_least=True), 1.0, "all"),
        (replace(LOAD, value=25.01, holds=False), 1.0004, "101 %"),  # never as 100 while it fails
        (replace(LOAD, value=45.0, holds=False), 1.8, "180 %"),
        (replace(WEB, value=-0.5, holds=False), float("inf"), "past it"),
        (replace(LOAD, value=0.0), 0.0, "0 %"),
        (replace(WEB, limit=0.0), None, "yes"),
        (replace(WEB, value=None, limit=None, holds=False), None, "no"),
    ],
)
def test_share_of_the_limit(check: Check, share: float | None, words: str) -> None:
    """Limit over value where at least so much is asked, value over limit where at most."""
    used = share_used(check)
    assert used == (None if share is None else pytest.approx(share))
    assert percent_words(check) == words


def test_bar_has_its_mark_at_four_fifths_and_ends_at_its_end() -> None:
    """A bar of 125 units with the limit at 100: 80 % of the width; nothing is drawn beyond."""
    assert 'viewBox="0 0 125 10"' in bar_svg(LOAD) and 'd="M100 0' in bar_svg(LOAD)
    assert 'class="used" y="2" width="80.0"' in bar_svg(LOAD)
    past = replace(LOAD, value=27.5, holds=False)
    assert 'class="over" y="2" width="110.0"' in bar_svg(past)
    assert 'width="125.0"' in bar_svg(replace(past, value=100.0))
    assert bar_svg(replace(LOAD, value=25.0)) == bar_svg(replace(LOAD, value=None)) == ""


def test_nearest_limits_are_failing_ones_then_those_with_the_least_left() -> None:
    """What was set to its limit and what has no share are passed over."""
    chosen = replace(LOAD, id="chosen", value=25.0)
    fails = replace(WEB, id="fails", value=1.1, holds=False)  # 109 %
    worse = replace(WEB, id="worse", value=0.6, holds=False)  # 200 %
    near = replace(LOAD, id="near", value=24.0)  # 96 %
    found = nearest([WEB, chosen, fails, near, worse, replace(WEB, limit=0.0)], 4)
    assert [check.id for check in found] == ["worse", "fails", "near", "web_mm"]
    assert is_at_limit(chosen) and not is_at_limit(near)


def test_figures_have_four_digits() -> None:
    """Large and small ones are told by their power of ten."""
    assert [figure_text(v) for v in (0.0, 1.23456, 1645.3, 2.5e7, 3.1e-5)] == [
        "0", "1.235", "1645", "2.5e+07", "3.1e-05",
    ]  # fmt: skip


def test_groups_keep_all_checks_with_failing_ones_first() -> None:
    """None is lost, and an id that no group names is a printed part's."""
    checks = [WEB, LOAD, replace(WEB, id="web_spans", holds=False), replace(WEB, id="odd")]
    found = grouped(checks)
    assert [group.title for group in found] == [
        "Cells and holders", "Currents, fuses, wires, charging", "Printed parts as made",
    ]  # fmt: skip
    assert [check.id for check in found[0].checks] == ["web_spans", "web_mm"]
    assert found[0].failed == 1


@pytest.mark.parametrize(
    ("check_id", "title"),
    [
        ("wire_a", "Currents, fuses, wires, charging"),
        ("wire_plastic_c", "Heat"),  # the longer beginning decides
        ("charge_temperature", "Heat"),
        ("wall_bending", "Mounting and strength"),
        ("ring_present", "Short circuits"),
        ("strip_gap_mm", "Short circuits"),
        ("strip_stack_mm", "Strips and welds"),
        ("gas_way", "Space, tub and lid"),
        ("clamp_floor", "Space, tub and lid"),
        ("clamp_bolt", "Mounting and strength"),  # of a tube's clamp, not of the lid's cord
        ("clamp_slip", "Mounting and strength"),
        ("frame_holes", "Mounting and strength"),
        ("screw_access", "Mounting and strength"),
        ("volume_formula", "Printed parts as made"),
    ],
)
def test_a_check_is_found_under_its_subject(check_id: str, title: str) -> None:
    """The longest beginning of an id that a group names decides."""
    assert group_of(check_id) == title


def test_beginnings_of_ids_are_those_of_checks() -> None:
    """Each that a group names begins a word of the code, so that none is out of date."""
    text = "\n".join(
        path.read_text(encoding="utf-8")
        for folder in ("layouts", "generators")
        for path in (TOP / folder).rglob("*.py")
        if path.name != "check_groups.py"
    )
    words = set(re.findall(r"[a-z_]+", text))
    for _, starts in GROUPS:
        for start in filter(None, starts):
            assert any(word.startswith(start) for word in words), start
