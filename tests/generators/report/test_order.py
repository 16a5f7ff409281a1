"""The order of work speaks of the pack at hand and forgets nothing that bites."""

from __future__ import annotations

from dataclasses import replace

import pytest

from generators.report.order import order_of_work
from layouts.pack import EnclosureStyle
from layouts.pack_plan import plan_pack
from layouts.spaces.space import box_space
from tests.samples import sample_pack


def test_steps_come_in_an_order_that_keeps_fingers_whole() -> None:
    """Rings before strips, welding before leads, leads before the lid, with this pack's counts."""
    steps = order_of_work(plan_pack(sample_pack(4, 2)))
    text = " ".join(steps)
    places = [text.index(word) for word in ("insulating ring", "Weld", "balance wire", "Lid on")]
    assert places == sorted(places)
    assert "each of the 8 positive ends" in text
    assert "each of the 5 joints" in text
    assert "within 180 mm of pack plus" in text


def test_a_strip_that_lies_bare_beside_other_groups_is_a_caution() -> None:
    """Folded into a short space, pack minus passes other lanes: said at the top, not in a note."""
    folded = plan_pack(sample_pack(20, 2, space=box_space((240.0, 240.0, 120.0))))
    straight = plan_pack(sample_pack(10, 4))
    assert folded.arrangement.lanes > 1
    assert any("sleeve it" in caution for caution in folded.cautions)
    assert not any("sleeve it" in caution for caution in straight.cautions)


def test_without_an_enclosure_nothing_is_said_of_tub_and_lid() -> None:
    """The case is the user's: said at the top, and what the core needs in it."""
    pack = sample_pack(4, 2)
    bare = plan_pack(replace(pack, enclosure=replace(pack.enclosure, style=EnclosureStyle.NONE)))
    text = " ".join(order_of_work(bare))
    assert "tub" not in text and "Lid" not in text
    assert "Line the case with insulating sheet" in text
    assert any("no tub, lid or bracket" in caution for caution in bare.cautions)
    with pytest.raises(ValueError, match="no enclosure of its own"):
        _ = bare.enclosure
