"""Levels of the printed parts in whole layers, whatever the printer's layer height."""

from __future__ import annotations

from functools import cache

import pytest

from generators.packfile.resolve import parse_pack
from layouts.holders.levels import holder_heights
from layouts.pack import Face, Pack
from layouts.parts.drawing import Drawing
from layouts.parts.whole_layers import layers_down_mm, layers_up_mm, whole_layers
from layouts.planning.pack_plan import PackPlan, plan_checks, plan_pack
from layouts.planning.parts_list import parts_of
from layouts.strips.lip import seat_checks
from tests.oracles.holder_formula import holder_formula_mm3

LAYERS_MM = (0.15, 0.2, 0.28, 0.3)
ASKED = {"lip_mm": 1.6, "seat_mm": 0.4, "web_recess_mm": 0.4, "bar_mm": 0.6, "depth_mm": 10.0}
# levels of tub and lid that take half a layer more or less: ends of what stands free, depths of
# openings, holes for inserts, and the lid's pads, which end 0.1 above the holder
TAKE_HALF = {"lug", "block", "guide", "slot", "insert", "pad", "ear", "skirt"}
TEXT = "name: levels\ncell: {format: '21700'}\nseries: 4\nparallel: 2\n"


def read(more: str = "") -> Pack:
    """The pack of a file, and what it cautions of."""
    return parse_pack((TEXT + more).encode(), "levels.yaml").pack


@cache
def planned(layer_mm: float) -> PackPlan:
    """A small pack in layers of that height."""
    return plan_pack(read(f"printer: {{layer_mm: {layer_mm}}}\n"))


def test_heights_go_to_the_next_layer() -> None:
    """Up or down, within float noise of a whole one they stay."""
    assert layers_up_mm(1.6, 0.28) == pytest.approx(1.68) and layers_down_mm(1.6, 0.28) == 1.4
    assert layers_up_mm(3.0, 0.2) == layers_down_mm(3.0, 0.2) == 3.0
    assert whole_layers(3.0, 0.2) and not whole_layers(3.1, 0.2)


@pytest.mark.parametrize("layer_mm", LAYERS_MM)
def test_nothing_is_thinner_or_shallower_than_asked(layer_mm: float) -> None:
    """Whole layers, none below what is asked, few above it; at 0.2 all stay. What is
    left of the lip behind a ring's seat counts; strips lie on the cans all the same."""
    plan = planned(layer_mm)
    pack, holder = plan.pack, plan.pack.holder
    for name, asked in ASKED.items():
        taken = getattr(holder, name)
        assert whole_layers(taken, layer_mm), name
        more = 2 * layer_mm if name in ("lip_mm", "web_recess_mm") else layer_mm
        assert asked - 1e-9 <= taken < asked + more, name
        assert layer_mm != 0.2 or taken == pytest.approx(asked)
    assert holder.lip_mm - holder.seat_mm >= 1.2 - 1e-9
    for thick_mm in (pack.enclosure.floor_mm, pack.enclosure.lid_mm):
        assert whole_layers(thick_mm, layer_mm) and 3.0 <= thick_mm < 3.0 + layer_mm
    checks = seat_checks(pack, plan.cell_layout, plan.interconnect)
    assert all(check.holds for check in checks), checks
    assert all(check.holds for check in plan_checks(plan, mass_kg=1.0))


@pytest.mark.parametrize("layer_mm", LAYERS_MM)
def test_each_level_of_each_part_is_a_whole_number_of_layers(layer_mm: float) -> None:
    """Holders, bracket, floors and the rest; in fine layers the ends of posts, the rim and pads lie
    half a layer off at most, which the cans' play takes."""
    plan = planned(layer_mm)
    fine = layer_mm <= 0.2
    for tile in plan.tiles:
        heights = holder_heights(tile)
        assert holder_formula_mm3(tile) > 0.0
        for name in heights.__dataclass_fields__:
            off = name == "end_mm" and fine  # half the distance of the lips
            assert off or whole_layers(getattr(heights, name), layer_mm), name
        assert whole_layers(tile.sign_deep_mm, layer_mm) and 0.3 <= tile.sign_deep_mm < 0.6
        floor_mm = tile.lip_mm - tile.seat_mm - tile.sign_deep_mm
        assert floor_mm >= 3 * layer_mm - 1e-9
    for part in parts_of(plan):
        assert isinstance(part.drawing, Drawing)
        for feature in part.drawing.features:
            for z in (feature.z0_mm, feature.z1_mm):
                named = any(word in feature.name for word in TAKE_HALF)
                rim = part.role == "tub" and z == max(f.z1_mm for f in part.drawing.features)
                post = part.role.startswith("holder") and feature.name in ("post", "hole", "mask")
                ends = part.role in ("tub", "lid") or post
                assert whole_layers(z, layer_mm) or named or (fine and (rim or ends)), (
                    part.name, feature.name, z,
                )  # fmt: skip


@pytest.mark.parametrize("layer_mm", LAYERS_MM)
def test_the_stack_is_held(layer_mm: float) -> None:
    """Posts of both holders meet as printed: the longest can goes in and has less than a layer and
    0.2 of play; the stack of floor, gaps and holders ends at the rim."""
    plan = planned(layer_mm)
    pack = plan.pack
    ends = {tile.face: holder_heights(tile).end_mm for tile in plan.tiles}
    printed = sum(round(end / layer_mm) * layer_mm for end in ends.values())
    play = printed - 2 * pack.holder.lip_mm - pack.cell.length_mm
    assert -1e-9 <= play < layer_mm + 0.2
    assert sum(ends.values()) - 2 * pack.holder.lip_mm == pytest.approx(pack.lip_to_lip_mm)
    assert 0.0 <= ends[Face.UPPER] - ends[Face.LOWER] <= layer_mm + 1e-9


def test_what_the_file_asks_is_told_where_it_is_changed() -> None:
    """A lip of 1.7 is made 1.8, with the key; a value in whole layers is not spoken of."""
    odd = parse_pack((TEXT + "holder: {lip_mm: 1.7, bar_mm: 0.8}\n").encode(), "levels.yaml")
    told = {caution.field: caution.text for caution in odd.cautions}
    assert "1.7 is made 1.8" in told["holder.lip_mm"] and "holder.bar_mm" not in told
