"""The order of work fits this pack and omits no hazard."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from generators.report.order import after_building, order_of_work
from layouts.pack import EnclosureStyle, Mount
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.ratings.fuse import Fuse
from layouts.spaces.space import box_space
from tests.samples import linked_pack


def words(plan: PackPlan) -> str:
    """All steps of the build sheet after each other."""
    return " ".join(step for stage in order_of_work(plan) for step in stage.steps)


def test_steps_come_in_an_order_that_keeps_fingers_whole() -> None:
    """Rings before strips, welding before leads, leads before the lid, with this pack's counts."""
    text = words(plan_pack(linked_pack(4, 2)))
    places = [
        text.index(word) for word in ("insulating ring", "Weld", "balance lead", "Fit the lid")
    ]
    assert places == sorted(places)
    assert "each of the 8 positive ends" in text
    assert "each of the 5 joints" in text
    assert "within 180 mm of pack plus" in text


def test_a_strip_that_lies_bare_beside_other_groups_is_a_caution() -> None:
    """Folded into a short space, pack minus passes other lanes: said at the top, not in a note."""
    folded = plan_pack(linked_pack(20, 2, space=box_space((240.0, 240.0, 120.0))))
    straight = plan_pack(linked_pack(10, 4))
    assert folded.cell_layout.lanes > 1
    assert any("sleeve it" in caution for caution in folded.cautions)
    assert not any("sleeve it" in caution for caution in straight.cautions)


def test_a_frame_is_drilled_before_a_cell_is_near() -> None:
    """Through caps of clamps and slotted feet while the enclosure is empty; not where no hole of
    the frame follows from the brackets."""
    holes = ((0.0, 0.0), (40.0, 0.0))
    drilled, caps = "Drill the frame now, while the enclosure is empty", "caps and rubber round"
    for mount, is_drilled, has_caps in (
        (Mount(kind="round_clamp", screw="M5", holes_mm=holes, tube_mm=25.0), True, True),
        (
            Mount(kind="square_clamp", screw="M5", holes_mm=holes, tube_mm=25.0, cross_bolt=False),
            False,
            True,
        ),
        (Mount(kind="angle", screw="M5", holes_mm=holes, slot_mm=4.0), True, False),
        (Mount(kind="angle", screw="M5", holes_mm=holes), False, False),
    ):
        text = words(plan_pack(replace(linked_pack(4, 2), mount=mount)))
        assert (drilled in text, caps in text) == (is_drilled, has_caps)
        if is_drilled:
            assert text.index(drilled) < text.index("Insert the cells")
            assert "chips short cells" in text


def test_without_an_enclosure_nothing_is_said_of_tub_and_lid() -> None:
    """The case is the user's: said at the top, and what the cell block needs in it."""
    pack = linked_pack(4, 2)
    bare = plan_pack(replace(pack, enclosure=replace(pack.enclosure, style=EnclosureStyle.NONE)))
    text = words(bare)
    assert "tub" not in text and "Lid" not in text
    assert "Line the case with insulating sheet" in text
    assert any("no tub, lid or bracket" in caution for caution in bare.cautions)
    with pytest.raises(ValueError, match="no enclosure of its own"):
        _ = bare.enclosure


def test_every_step_is_ticked_and_the_dangers_stand_in_their_order() -> None:
    """Same volts, rings, test welds, polarity, taps, BMS, insulation, first charge, label."""
    stages = order_of_work(plan_pack(linked_pack(4, 2)))
    assert all(stage.ticked and stage.steps for stage in stages)
    text = " ".join(step for stage in stages for step in stage.steps)
    in_order = (
        "within 20 mV of each other",
        "insulating ring",
        "peeled to destruction",
        "never bridge",
        "polarity and group of every cell",
        "measure each contact against B0",
        "Only then connect the BMS",
        "megohm",
        "Main fuse",
        "never unattended",
        "14.4 V nominal, 16.8 V full, 115 Wh, nmc",  # 4 x 3.6 V, 4 x 4.2 V, 14.4 V x 2 x 4.0 Ah
    )
    places = [text.index(word) for word in in_order]
    assert places == sorted(places)


def test_figures_are_those_of_the_pack() -> None:
    """Current between two cells 20 mV apart, a fifth of the capacity, strips of each face."""
    plan = plan_pack(linked_pack(4, 2))
    text = words(plan)
    assert "drives 0.7 A through two cells" in text  # 20 mV over 2 x 15 mohm
    assert "at 1.6 A or less" in text  # 0.2 x 2 x 4.0 Ah
    strips = plan.interconnect.strips
    lower = sum(strip.face.value == "lower" for strip in strips)
    assert f"strips 1 to {lower} in their order" in text
    assert f"strips {lower + 1} to {len(strips)} in their order" in text


def test_layers_are_told_where_there_are_several() -> None:
    """A strip of one layer needs no second pass."""
    pack = linked_pack(4, 2)
    double = replace(pack, strip=replace(pack.strip, thickness_mm=0.15, layers=2))
    assert "Strips of 2 layers" in words(plan_pack(double))
    assert "layers" not in words(plan_pack(pack))


def test_what_comes_after_is_told_and_not_ticked() -> None:
    """Rework, storage, transport, crash and water, end of life, and that nothing is certified."""
    stages = after_building(plan_pack(linked_pack(4, 2)))
    assert not any(stage.ticked for stage in stages)
    text = " ".join(step for stage in stages for step in stage.steps)
    for word in (
        "Remove a strip cold",
        "A cell is scrap if",
        "30 to 50 %",
        "38.3; a home-made pack has not",
        "115 Wh",
        "do not charge it",
        "collection point",
        "None. Not",
        "local rules and licensed practice",
    ):
        assert word in text


def test_the_main_fuse_stands_with_its_three_ratings() -> None:
    """As given in the file; of a proposed one what its DC volts and breaking capacity must be."""
    given = linked_pack(4, 2, fuse=Fuse(rating_a=25.0, dc_v=32.0, breaking_a=3000.0))
    assert "Main fuse (25 A, 32 V DC, breaking capacity 3000 A) within" in words(plan_pack(given))
    proposed = plan_pack(linked_pack(4, 2))
    short_a = proposed.electrical.fuse_protection.short.current_a
    told = re.search(r"Main fuse \((\S+) A, at least 16.8 V DC, breaking capacity at least (\d+) A",
                     words(proposed))  # fmt: skip
    assert told is not None
    assert float(told[1]) == proposed.electrical.fuse_protection.fuse.rating_a
    assert 0 <= int(told[2]) - short_a < 1
