"""Fixes are tried before they are told: written in the file, the check holds."""

from __future__ import annotations

import json
import re
from functools import cache
from typing import Any

import pytest

from generators.fixes.electrical import ELECTRICAL
from generators.fixes.fixing import CANDIDATES, with_fixes
from generators.fixes.geometry import GEOMETRY
from generators.fixes.judging import Judge
from generators.fixes.refusals import with_tried_remedy
from generators.packfile.loader import load
from generators.packfile.resolve import ReadPack, parse_pack
from layouts.checks import Check
from layouts.errors import PlanError
from layouts.placing.values import Effort
from layouts.planning.pack_plan import PackPlan, plan_pack
from tests.generators.fixes.failing_packs import FAILING, REFUSED, text_of
from tests.sampled import sampled

MASS_KG = 1.0
FIX = re.compile(r"use (.+) \(tried: it (then holds|can then be planned)\)")
QUICK = {"thin strips", "a small fuse", "a fuse that breaks little"}
LEAST_MENDED = 25


def read_text(text: str) -> ReadPack:
    """A sound file, read."""
    return parse_pack(text.encode(), "p.yaml")


@cache
def planned(text: str) -> tuple[ReadPack, PackPlan, tuple[Check, ...]]:
    """A file, its plan and all that is judged of it."""
    read = read_text(text)
    plan = plan_pack(read.pack, effort=Effort.QUICK)
    judge = Judge(plan, mass_kg=MASS_KG, changed=read.changed)
    return read, plan, judge.now().checks


def failing(text: str) -> set[str]:
    """The checks of a file that fail."""
    return {check.id for check in planned(text)[2] if not check.holds}


@cache
def remedies(name: str) -> dict[str, str]:
    """What is told of each failing check of one of the packs."""
    read, plan, checks = planned(text_of(FAILING[name][1]))
    told = with_fixes(checks, plan, mass_kg=MASS_KG, changed=read.changed)
    assert [one.id for one in told] == [one.id for one in checks]
    return {one.id: one.remedy for one in told if not one.holds}


def written(text: str, remedy: str) -> str:
    """The file with the keys of a remedy at its values, read off its words."""
    words = FIX.fullmatch(remedy)
    assert words is not None, remedy
    file = json.loads(text)
    pairs = re.findall(r"([a-z0-9_.]+): (\[.*?\]\]|\[.*?\]|\"[^\"]*\"|[^, ]+)", words[1])
    assert pairs
    for key, value in pairs:
        inner: Any = file
        *sections, last = key.split(".")
        for section in sections:
            inner = inner.setdefault(section, {})
        inner[last] = load(f"value: {value}".encode()).values["value"]
    return json.dumps(file)


@pytest.mark.one_in(9)
@pytest.mark.parametrize("name", sampled(FAILING, lambda name: name in QUICK))
def test_a_told_fix_holds_when_it_is_written(name: str) -> None:
    """Of each failing check: it holds then, and no other fails that did not fail before."""
    check_id, changed = FAILING[name]
    text = text_of(changed)
    before = failing(text)
    assert check_id in before
    told = remedies(name)
    assert set(told) == before
    for one, remedy in told.items():
        if FIX.fullmatch(remedy):
            after = failing(written(text, remedy))
            assert one not in after, remedy
            assert after <= before, remedy
        else:
            told_why = ("no fix was found", "no fix was tried", "no value of a key")
            assert remedy.startswith(told_why), remedy


@pytest.mark.slow
def test_most_packs_get_a_fix() -> None:
    """Of the check that each is made for; the others are told that none was found."""
    mended = [name for name in FAILING if FIX.fullmatch(remedies(name)[FAILING[name][0]])]
    print(f"{len(mended)} of {len(FAILING)}", sorted(set(FAILING) - set(mended)))
    assert len(FAILING) >= 30
    assert len(mended) >= LEAST_MENDED * len(FAILING) / 30


@pytest.mark.slow
@pytest.mark.parametrize("name", REFUSED)
def test_a_refusal_tells_a_change_with_which_it_is_planned(name: str) -> None:
    """Or that none of those tried does; the field is the same."""
    field, changed = REFUSED[name]
    text = text_of(changed)
    read = read_text(text)
    with pytest.raises(PlanError) as caught:
        plan_pack(read.pack, effort=Effort.QUICK)
    told = with_tried_remedy(caught.value, read.pack, read.changed)
    assert (told.field, told.why) == (field, caught.value.why)
    assert plan_pack(read_text(written(text, told.remedy)).pack, effort=Effort.QUICK)


def test_a_fix_that_does_not_hold_is_not_told() -> None:
    """A file that takes no change mends nothing: it is said, with what was tried."""
    read, plan, checks = planned(text_of(FAILING["a fuse that breaks little"][1]))
    told = with_fixes(checks, plan, mass_kg=MASS_KG, changed=lambda changes: read.pack)
    (one,) = [check for check in told if not check.holds]
    assert one.remedy == "no fix was found; tried without success: fuse.breaking_a: 1000"


def test_checks_that_hold_are_left_alone() -> None:
    """Nothing is planned again where nothing fails."""
    _, plan, checks = planned(text_of({}))
    assert all(check.holds for check in checks)

    def changed(changes: object) -> Any:
        raise AssertionError("nothing is to be tried")

    assert with_fixes(checks, plan, mass_kg=MASS_KG, changed=changed) == checks


def test_every_check_has_one_list_of_changes() -> None:
    """None stands in both tables."""
    assert not set(ELECTRICAL) & set(GEOMETRY)
    assert len(CANDIDATES) == len(ELECTRICAL) + len(GEOMETRY)


@pytest.mark.slow
def test_cells_in_an_outline_are_not_placed_anew_for_a_trial() -> None:
    """A fuse is tried, since it moves no cell; more layers are not, and that is said."""
    changes = {
        "enclosure": {"style": "none"},
        "space": {"outline_mm": [[0, 0], [95, 0], [95, 80], [0, 80]], "height_mm": 90},
        "load": {"continuous_a": 9.0},
        "strip": {"joints": "links", "thickness_mm": 0.05},
        "fuse": {"rating_a": 15.0, "dc_v": 32.0, "breaking_a": 150.0},
    }
    read, plan, checks = planned(text_of(changes))
    told = with_fixes(checks, plan, mass_kg=MASS_KG, changed=read.changed)
    remedy = {check.id: check.remedy for check in told if not check.holds}
    assert remedy["fuse_breaking_a"] == "use fuse.breaking_a: 1000 (tried: it then holds)"
    assert FIX.fullmatch(remedy["load_current_a"])  # less load moves no cell either
    assert "strip." not in remedy["load_current_a"]
