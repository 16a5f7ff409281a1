"""``bms.place``, ``fuse.place``, ``space.place``: taken, refused, and kept by the plan."""

from __future__ import annotations

import re
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from generators.fitting import given_pose
from generators.fixes.judging import in_space
from generators.fixes.strength import STRENGTH
from generators.form_choice import plan_with_form
from generators.packfile.resolve import parse_pack
from layouts.checks import Check
from layouts.enclosures.fitted.form import FittedEnclosure
from layouts.errors import PlanError
from layouts.pack import Pack
from layouts.place_spec import RoomWish
from layouts.planning.layout_search import layouts_in_space
from layouts.planning.steps import OutsidePlan, outside_plan
from tests.generators.packfile.files import PLAIN, added, read

FITTED = "enclosure: {style: fitted}\n"
HALL = "space: {box_mm: [300, 260, 95]}\n"
FRAME = (
    'mount:\n  frame:\n    - {name: floor, plate: {at_mm: [0, 0, 0], normal: "+z", thick_mm: 3, '
    "drill: true, outline_mm: [[0, 0], [300, 0], [300, 260], [0, 260]]}}\n"
)
FOUR = "name: four\ncell: {format: '18650'}\nseries: 4\nparallel: 2\nload: {continuous_a: 4}\n"


def space(place: str, size: str = "[300, 260, 95]") -> str:
    """A box with a pack placed in it."""
    return f"space:\n  box_mm: {size}\n  place: {{{place}}}\n"


def four(more: str) -> Pack:
    """A small pack with more keys."""
    return parse_pack((FOUR + more).encode(), "four.yaml").pack


def test_wishes_reach_the_pack() -> None:
    """A side, or a rectangle by any two of its corners; jolts are turned with the pack."""
    pack = read(PLAIN + FITTED + HALL + "bms: {place: -y}\n").pack
    assert pack.bms.place == RoomWish(side="-y") and pack.fuse_place is None
    asked = "fuse: {rating_a: 30, place_mm: [[90, 60], [0, 5]]}\n"
    pack = read(PLAIN + FITTED + HALL + asked).pack
    assert pack.fuse_place == RoomWish(area_mm=(0.0, 5.0, 90.0, 60.0)) and pack.fuse is not None
    jolts = "load: {continuous_a: 4, acceleration_g: [2, 3, 9]}\n"
    lying = read(PLAIN + FITTED + space("turns_deg: [0, 90, 0]", "[120, 300, 280]") + jolts)
    assert lying.pack.load is not None and lying.pack.load.acceleration_g == (9.0, 3.0, 2.0)
    assert any(one.field == "space.place.turns_deg" for one in lying.cautions)


def test_smaller_jolts_are_told_along_the_axes_of_the_file() -> None:
    """Of a pack that lies: what is proposed goes into the file, which has the space's axes."""
    jolts = "load: {continuous_a: 4, acceleration_g: [2, 3, 9]}\n"
    lying = read(PLAIN + FITTED + space("turns_deg: [0, 90, 0]", "[120, 300, 280]") + jolts).pack
    check = Check(
        id="foot_lock_bearing", about="", holds=False, value=10.0, limit=5.0, unit="MPa",
        source="", remedy="", at_least=False,
    )  # fmt: skip
    plan: Any = SimpleNamespace(pack=lying)
    told = list(STRENGTH["foot_lock_bearing"](check, plan))
    assert told[-1] == {"load.acceleration_g": [1.0, 1.5, 4.5]}


@pytest.mark.parametrize(
    ("keys", "field", "why"),
    [
        (HALL + "bms: {place: +y}\n", "bms.place", "is only for the fitted form"),
        (FITTED + "bms: {place_mm: [[0, 0], [9, 9]]}\n", "bms.place_mm", "is a place in a space"),
        (FITTED + HALL + "fuse: {rating_a: 9, place_mm: [[400, 0], [500, 50]]}\n", "fuse.place_mm",
         "lies outside of the space, which reaches from x 0, y 0 to x 300, y 260"),
        (FITTED + HALL + "bms: {place: up}\n", "bms.place", ""),
        (FITTED + space("at_mm: [10, 10, 200]"), "space.place.at_mm", "105.0 mm outside"),
        (space("turns_deg: [0, 0, 90]"), "space.place", "a tub needs at_mm"),
        (FITTED + space("turns_deg: [0, 0, 45]"), "space.place.turns_deg", ""),
        ("enclosure: {style: none}\n" + space("at_mm: [0, 0, 0]"), "space.place", "of its own"),
        (FITTED + space("turns_deg: [90, 0, 0]") + "bms: {place_mm: [[0, 0], [90, 90]]}\n",
         "bms.place_mm", "the pack lies in it"),
        (FITTED + space("turns_deg: [90, 0, 0]") + "bms: {place: +y}\n", "bms.place",
         "is no side of the cells"),
    ],
)  # fmt: skip
def test_what_can_not_be_kept_is_refused(keys: str, field: str, why: str) -> None:
    """One line with the field and the way out."""
    told = added(keys)
    assert len(told) >= 1
    assert all(f" {field}" in one for one in told) and any(why in one for one in told), told


def test_a_frame_and_a_place_of_the_pack_exclude_each_other() -> None:
    """The frame's holes decide where it stands; a side of the cells goes with both."""
    why = "is given together with mount.frame"
    for keys, field in (
        (space("at_mm: [10, 10, 3]"), "space.place"),
        (HALL + "bms: {place_mm: [[0, 0], [90, 90]]}\n", "bms.place_mm"),
    ):
        told = added(FITTED + keys + "load: {continuous_a: 4}\n" + FRAME)
        assert len(told) == 1 and f" {field}: {why}" in told[0], told
    read(PLAIN + FITTED + HALL + "bms: {place: +y}\nload: {continuous_a: 4}\n" + FRAME)


@pytest.mark.slow
def test_a_tub_out_of_its_space_is_refused() -> None:
    """Placed so that it fits it is planned there; too high it is refused with how far."""
    inside = four(space("turns_deg: [0, 0, 90], at_mm: [60, 70, 4]", "[300, 300, 120]"))
    plan, _ = plan_with_form(inside, None)
    pose = given_pose(plan)
    assert pose is not None and np.allclose(pose[:2, :2], [[0, -1], [1, 0]])
    assert all(one.holds for one in in_space(plan))
    above = four(space("turns_deg: [0, 0, 90], at_mm: [60, 70, 60]", "[300, 300, 120]"))
    with pytest.raises(PlanError) as told:
        plan_with_form(above, None)
    assert told.value.field == "space.place.at_mm"
    past_mm = plan.enclosure.shell.z_lid_mm - plan.enclosure.shell.z_under_mm + 60.0 - 120.0
    said = re.search(r"puts the pack (\d+\.\d) mm out", told.value.why)
    assert said is not None
    assert past_mm - 0.06 < float(said[1]) < past_mm + 4.0  # and the heads of the lid's screws


def one_layout(pack: Pack) -> OutsidePlan:
    """The outside with the first layout of the cells that may go in, no other tried."""
    return outside_plan(pack, shape=next(layouts_in_space(pack)))


def rooms_in_space(plan: OutsidePlan) -> dict[str, tuple[float, float, float, float]]:
    """Bounds of each room in the plan of the space."""
    pose = given_pose(plan)
    assert pose is not None
    found = {}
    for room in plan.enclosure.compartments:
        x0, y0, x1, y1 = room.plan.bounds
        there = np.array([(x0, y0), (x1, y1)]) @ pose[:2, :2].T + pose[:2, 3]
        found[room.name] = (*there.min(axis=0).tolist(), *there.max(axis=0).tolist())
    return found


@pytest.mark.slow
def test_rooms_stand_where_they_are_asked_for() -> None:
    """The board's within a rectangle, the fuse's at a side, all of it in the space; where that is
    too narrow for the board it is refused by the key."""
    asked = "bms: {place_mm: [[0, 150], [300, 260]]}\nfuse: {rating_a: 15, place: -x}\n"
    plan = one_layout(four(FITTED + HALL + asked))
    assert [one.id for one in in_space(plan) if not one.holds] == []
    rooms = rooms_in_space(plan)
    board, fuse = rooms["protection board"], rooms["main fuse and cable glands"]
    assert board[1] >= 150.0 - 0.01
    cells = plan.cell_layout.xy_mm
    pose = given_pose(plan)
    assert pose is not None
    there = cells @ pose[:2, :2].T + pose[:2, 3]
    assert (fuse[0] + fuse[2]) / 2 < there[:, 0].min() - 9.0
    narrow = "space: {box_mm: [300, 128, 95]}\nbms: {place: +y, board_mm: [90, 80, 30]}\n"
    with pytest.raises(PlanError) as told:
        one_layout(four(FITTED + narrow))
    assert told.value.field == "bms.place" and "at +y of the cells" in told.value.why


@pytest.mark.slow
def test_a_fitted_pack_stands_or_lies_as_asked() -> None:
    """Upright at a point; on its side in a space that is too low for it upright; refused where the
    lid leaves the space, or where brackets stand below its floor."""
    plan = one_layout(four(FITTED + space("turns_deg: [0, 0, 90], at_mm: [90, 60, 3]")))
    assert isinstance(plan.enclosure, FittedEnclosure)
    pose, shell = given_pose(plan), plan.enclosure.shell
    assert pose is not None
    x0, y0, x1, y1 = shell.outer.bounds
    there = np.array([(x0, y0, shell.z_under_mm), (x1, y1, shell.z_lid_mm)]) @ pose[:3, :3].T
    assert np.allclose((there + pose[:3, 3]).min(axis=0), (90, 60, 3))
    assert all(one.holds for one in in_space(plan))

    lying = one_layout(four(FITTED + space("turns_deg: [0, 90, 0]", "[120, 300, 280]")))
    pose = given_pose(lying)
    assert pose is not None and np.allclose(pose[:3, 2], (1, 0, 0))  # the lid looks along x
    assert all(one.holds for one in in_space(lying))

    for at, why in (
        ("[1, 60, 3]", "the lid leaves the space"),
        ("[90, 60, 1]", "2.0 mm out of the space"),
    ):
        with pytest.raises(PlanError) as told:
            one_layout(four(FITTED + space(f"at_mm: {at}")))
        assert told.value.field == "space.place.at_mm" and why in told.value.why
