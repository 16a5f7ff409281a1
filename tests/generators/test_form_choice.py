"""The enclosure's form where the pack file leaves it open: by the space."""

from __future__ import annotations

import pytest

from generators.form_choice import outside_with_form, plan_with_form
from generators.packfile.resolve import ReadPack, parse_pack
from layouts.pack import EnclosureStyle
from tests.layouts.enclosures.fitted.made_spaces import pack_text

# Two packs in spaces made by chance: in the first a tub stands too, in the second it does not
ROOMY, TIGHT = 0, 5
OPEN, FITTED, TUB = "", "enclosure: {style: fitted}\n", "enclosure: {style: tub}\n"


def _read(seed: int, style: str) -> ReadPack:
    return parse_pack(pack_text(seed).replace(FITTED, style).encode(), "p.yaml")


def test_a_tub_that_goes_in_stays() -> None:
    """Nothing else is planned, and no note says so."""
    read = _read(ROOMY, OPEN)
    plan, changed = plan_with_form(read.pack, read.changed)
    assert plan.pack.enclosure.style is EnclosureStyle.TUB and changed == read.changed
    assert not [note for note in plan.notes if "left open" in note]


@pytest.mark.parametrize(
    ("style", "box_mm"),
    [(TUB, "[190, 60, 95]"), pytest.param(OPEN, "[70, 60, 95]", marks=pytest.mark.slow)],
    ids=["asked", "hopeless"],
)
def test_a_tub_that_does_not_go_in_stays(style: str, box_mm: str) -> None:
    """Where it is asked for, and where the fitted form does not go in either: the check of the
    space then says by how much it is too large."""
    text = pack_text(ROOMY).replace(FITTED, style)
    read = parse_pack(f"{text[: text.index('space:')]}space: {{box_mm: {box_mm}}}\n".encode(), "p")
    plan, _ = plan_with_form(read.pack, read.changed)
    assert plan.pack.enclosure.style is EnclosureStyle.TUB


@pytest.mark.slow
def test_where_a_tub_does_not_go_in_walls_follow_the_cells() -> None:
    """A note tells by how much it did not, further changes of keys keep the form, and ``fit``
    judges the same."""
    read = _read(TIGHT, OPEN)
    plan, changed = plan_with_form(read.pack, read.changed)
    assert plan.pack.enclosure.style is EnclosureStyle.FITTED and plan.enclosure.pose is not None
    note = next(note for note in plan.notes if note.startswith("enclosure.style is left open"))
    assert "a tub reaches 1.4 mm out of the space" in note
    assert changed is not None
    assert changed({"bms.continuous_a": 50.0}).enclosure.style is EnclosureStyle.FITTED
    assert read.pack.space is not None
    outside = outside_with_form(read.pack, read.pack.space, read.changed)
    assert outside.pack.enclosure.style is EnclosureStyle.FITTED
