"""The error of a pack that can't be planned."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layouts.errors import PlanError
from layouts.pack import Pack
from layouts.planning.pack_plan import plan_pack
from tests.samples import sample_pack


def test_the_text_names_field_reason_value_and_mend() -> None:
    """The order is that of a fault's line; a value is given only where there is one."""
    told = PlanError(field="mount.holes_mm", why="are too near", remedy="move them", value="3 mm")
    assert str(told) == "mount.holes_mm: are too near (3 mm), move them"
    bare = PlanError(field="leads", why="is lacking", remedy="add it")
    assert str(bare) == "leads: is lacking, add it"
    assert bare.value is None


def _pack(**sections: dict[str, object]) -> Pack:
    pack = sample_pack(2, 2)
    changed = {name: replace(getattr(pack, name), **keys) for name, keys in sections.items()}
    return replace(pack, **changed)


@pytest.mark.one_in(3)
@pytest.mark.parametrize(
    ("pack", "field", "remedy"),
    [
        (_pack(bms={"board_mm": (400.0, 60.0, 10.0)}), "bms.board_mm", "smaller board"),
        (_pack(leads={"outside_mm": 25.0}), "leads.outside_mm", "at most 21"),
        (_pack(mount={"screw": "M8", "holes_mm": ((0.0, 0.0), (15.5, 0.0))}), "mount.holes_mm",
         "16.5 mm apart"),
        (_pack(enclosure={"lid_mm": 10.0}), "enclosure.lid_mm", "use 9"),
        (_pack(enclosure={"vent": "closed"}), "enclosure.vent", "write open"),
    ],
)  # fmt: skip
def test_a_pack_without_a_plan_names_its_field(pack: Pack, field: str, remedy: str) -> None:
    """Each impossible requirement is reported at the key that must change."""
    with pytest.raises(PlanError) as caught:
        plan_pack(pack)
    assert caught.value.field == field
    assert remedy in caught.value.remedy
