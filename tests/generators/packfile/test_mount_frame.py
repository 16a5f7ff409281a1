"""``mount.frame``, ``mount.hold`` and ``mount.use`` from the pack file: what is placed, every check
that fails, and every refusal."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from generators.drawings.enclosed_plan import enclosed_plan
from generators.packfile.faults import PackFileError
from generators.packfile.resolve import parse_pack
from layouts.brackets.angle_holds import frame_holds
from layouts.brackets.drilling import free_to_drill
from layouts.brackets.framed import FrameBrackets, NoBrackets
from layouts.checks import Check
from layouts.errors import PlanError
from layouts.frame_spec import FrameHole, FramePlate
from layouts.mount_spec import USES
from layouts.planning.held import frame_screws
from layouts.planning.mounting import mounting_checks
from layouts.planning.pack_plan import completed
from layouts.planning.steps import (
    OutsidePlan,
    bracketed,
    enclosed,
    fastened,
    interconnected,
    laid_out,
)
from layouts.spaces.space import box_space
from tests.generators.packfile.frame_of_box import box_body

PACK = """name: barrow-light
cell: {format: "18650", capacity_ah: 2.5, continuous_a: 8, internal_resistance_mohm: 25, mass_g: 47}
series: 3
parallel: 2
bms: {board_mm: [45, 20, 5]}
enclosure: {style: fitted}
space: {box_mm: [260, 220, 100], open_sides: ["+z"]}
"""
LOAD = "load: {continuous_a: 4}\n"
PLATE = "outline_mm: [[0, 0], [260, 0], [260, 220], [0, 220]], thick_mm: 2"
HOLES = ", ".join(
    f"{{at_mm: [{x}, {y}], screw: M5}}"
    for x, y in ((100, 20), (130, 20), (160, 20), (100, 200), (130, 200), (160, 200), (130, 60),
                 (130, 160), (100, 60), (100, 160), (30, 110), (230, 110))
)  # fmt: skip
GIVEN = f'{{at_mm: [0, 0, 0], normal: "+z", {PLATE}, holes: [{HOLES}]}}'
END = "[260, 220], [0, 220]"
FREE = f'{{at_mm: [0, 0, 0], normal: "+z", {PLATE}, drill: true}}'


def text_of(plate: str, *, hold: str = "{most: 4}", use: str = "road-cargo") -> str:
    """A pack file with one plate."""
    mount = (
        f"mount:\n  use: {use}\n  hold: {hold}\n  frame:\n    - name: floor\n      plate: {plate}\n"
    )
    return PACK + LOAD + mount


@cache
def planned(text: str) -> OutsidePlan:
    """Up to the brackets."""
    pack = parse_pack(text.encode(), "x.yaml").pack
    return bracketed(enclosed(fastened(interconnected(laid_out(pack)))))


def checks_of(plan: OutsidePlan, *, mass_kg: float = 0.8) -> dict[str, Check]:
    """What carries the pack."""
    return {one.id: one for one in mounting_checks(plan, mass_kg=mass_kg)}


def test_a_use_gives_what_the_file_leaves_out() -> None:
    """Accelerations and shock of each use; those that the file gives stay."""
    # 2 x the weight: ISO 10133:2012 5.2; 0.8 forward: EN 12195-1 and 49 CFR 393.102
    assert USES["stationary"].acceleration_g == (2.0, 2.0, 2.0)
    assert USES["road-cargo"].acceleration_g[0] == 0.8
    for word, use in USES.items():
        pack = parse_pack((PACK + LOAD + f"mount: {{use: {word}}}\n").encode(), "x.yaml").pack
        assert pack.load is not None
        assert (pack.load.acceleration_g, pack.mount.shock) == (use.acceleration_g, use.shock)
    own = "load: {continuous_a: 4, acceleration_g: [1, 2, 3]}\n"
    own += "mount: {use: trolley, shock: {g: 5, ms: 8}}\n"
    pack = parse_pack((PACK + own).encode(), "x.yaml").pack
    assert pack.load is not None and pack.mount.shock is not None
    assert pack.load.acceleration_g == (1.0, 2.0, 3.0) and pack.mount.shock.g == 5.0
    read = parse_pack((PACK + LOAD + "mount: {use: crash-car}\n").encode(), "x.yaml")
    assert any("printed brackets break" in one.told() for one in read.cautions)


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        (text_of(GIVEN.replace("[30, 110]", "[300, 110]")), 14, "does not lie within the outline"),
        (text_of(GIVEN.replace("[100, 160]", "[130, 160]")), 14, "runs into hole 8 of floor"),
        (text_of(FREE.replace("[0, 0, 0]", "[0, 0, 400]")), 14, "lies outside the space"),
        (text_of(FREE.replace("thick_mm: 2", "thick_mm: -2")), 14, "thick_mm"),
        (text_of(FREE.replace(END, "[0, 220], [260, 220]")), 14, "crosses itself"),
        (text_of(FREE.replace('"+z"', '"up"')), 14, "normal"),
        (text_of(FREE, hold="{most: 20}"), 11, "mount.hold.most"),
        (text_of(FREE, hold="{faces: []}"), 11, "mount.hold.faces"),
        (text_of(FREE, hold='{faces: ["+z"]}'), 11, "names no side wall"),
        (text_of(FREE, hold="some"), 11, "mount.hold"),
        (text_of(FREE, use="moon"), 10, "mount.use"),
        (text_of(FREE).replace(LOAD, ""), 9, "gives the accelerations of a load"),
        (text_of(FREE).replace("enclosure: {style: fitted}\n", ""), 11, "enclosure.style tub"),
        (text_of(FREE).replace("  hold:", "  kind: flat\n  hold:"), 13, "kind: flat"),
    ],
)  # fmt: skip
def test_bad_input_is_refused_by_its_line(text: str, line: int, words: str) -> None:
    """Each fault names the line, the field and the way out."""
    with pytest.raises(PackFileError) as caught:
        parse_pack(text.encode(), "x.yaml")
    told = [one for one in caught.value.lines() if words in one]
    assert told, caught.value.lines()
    assert told[0].startswith(f"x.yaml:{line}: ")


@pytest.mark.slow
def test_brackets_stand_on_the_holes_that_are_there() -> None:
    """All checks hold at the finished mass; each fails where what it looks at is changed."""
    plan = planned(text_of(GIVEN, hold="{most: 6}"))
    checks = checks_of(plan)
    assert {one.id for one in checks.values() if not one.holds} == set()
    held = {"mount_held", "mount_positive", "mount_use", "frame_holes", "screw_access"}
    assert set(checks) == held
    assert isinstance(plan.bracket, FrameBrackets)
    # heavier: the use grows with the mass, and level forces are too great
    heavy = checks_of(plan, mass_kg=80.0)
    a, b = checks["mount_use"].value, heavy["mount_use"].value
    assert a is not None and b == pytest.approx(100.0 * a) and not heavy["mount_use"].holds
    assert not checks_of(plan, mass_kg=500.0)["mount_positive"].holds
    # a frame that is not as it was told
    (plate,) = plan.pack.mount.frame
    assert isinstance(plate, FramePlate)
    x, y, z = plate.at_mm
    aside = replace(plan.pack.mount, frame=(replace(plate, at_mm=(x + 0.5, y, z)),))
    off = checks_of(replace(plan, pack=replace(plan.pack, mount=aside)))["frame_holes"]
    assert off.value == pytest.approx(0.5) and not off.holds
    # a wall of the space beside a frame screw
    pose = plan.enclosure.pose
    assert pose is not None
    at = [
        pose[:3, :3] @ one.at_mm + pose[:3, 3]
        for one in plan.bracket.screws
        if one.length_mm is None
    ]
    beside = max(float(one[0]) for one in at) + 4.0
    narrow = replace(plan, pack=replace(plan.pack, space=box_space((beside, 220.0, 100.0))))
    access = checks_of(narrow)["screw_access"]
    assert access.value == pytest.approx(4.0) and not access.holds
    drawn = enclosed_plan(completed(plan))
    assert drawn.count('fill="#000" stroke="#000" stroke-width="0.4"') == len(at)


@pytest.mark.slow
def test_one_bracket_does_not_hold_a_pack() -> None:
    """It is drawn, and the checks tell which motions are free; new holes stand off the edge."""
    plan = planned(text_of(FREE, hold="{most: 1}"))
    checks = checks_of(plan)
    assert not checks["mount_held"].holds and not checks["mount_use"].holds
    assert checks["mount_held"].where != ""
    assert "that holds" in " ".join(plan.enclosure.notes)
    holes = checks["frame_holes"]
    assert holes.holds and "2 to be drilled" in holes.about
    # a hole that the frame has 2 mm beside the first new one
    (plate,) = plan.pack.mount.frame
    assert isinstance(plate, FramePlate)
    x, y, _ = frame_screws(plan)[0].at_mm - plate.at_mm
    there = replace(plate, holes=(FrameHole(at_mm=(float(x) + 2.0, float(y)), screw="M5"),))
    mount = replace(plan.pack.mount, frame=(there,))
    beside = checks_of(replace(plan, pack=replace(plan.pack, mount=mount)))["frame_holes"]
    assert not beside.holds and beside.value == pytest.approx(6.75, abs=0.05)


@pytest.mark.slow
def test_none_is_no_pad_and_no_bracket() -> None:
    """Neither on a frame nor without one, in both forms of enclosure."""
    bare = planned(text_of(FREE, hold="none"))
    tub = PACK.replace("enclosure: {style: fitted}\n", "") + LOAD + "mount: {hold: none}\n"
    for plan in (bare, planned(tub)):
        assert isinstance(plan.bracket, NoBrackets)
        assert plan.enclosure.pads == () and plan.bracket.parts == ()
        assert checks_of(plan) == {}


@pytest.mark.slow
def test_a_frame_out_of_reach_is_refused() -> None:
    """With what each feature lacks."""
    high = FREE.replace("[0, 0, 0]", "[0, 0, 40]")
    with pytest.raises(PlanError) as caught:
        planned(text_of(high))
    assert caught.value.field == "mount.frame"
    assert "floor lies at z 40, feet stand at z 0" in caught.value.why


def test_the_box_of_the_key_tests_is_held_alike_both_ways() -> None:
    """Its lug places are symmetrical: the pads stand as far out on both sides."""
    body = box_body()
    assert body.lug_at is not None
    low, high = body.lug_at("-x", 100.0, 40.0, 20.0), body.lug_at("+x", 100.0, 40.0, 20.0)
    assert low is not None and high is not None
    assert np.isclose(-low - body.low_mm[0], -10.0) and np.isclose(high - body.high_mm[0], 10.0)
    assert body.lug_at("+x", 50.0, 40.0, 20.0) is None


def test_new_holes_keep_off_holes_that_are_there() -> None:
    """No place is offered whose new hole would run into one that the plate has; the places beside
    it stay, and those on the hole itself come as before."""
    bare = FramePlate(
        name="floor", at_mm=(0.0, 0.0, 0.0), normal="+z", thick_mm=2.0, drill=True,
        outline_mm=((-100.0, -100.0), (400.0, -100.0), (400.0, 400.0), (-100.0, 400.0)),
    )  # fmt: skip
    everywhere = {one.holes_mm for one in frame_holds(box_body(), bare, thick_mm=6.0)}
    (x, y, _), _ = min(everywhere)
    there = replace(bare, holes=(FrameHole(at_mm=(x + 4.0, y), screw="M5"),))
    offered = list(frame_holds(box_body(), there, thick_mm=6.0))
    new = {one.holes_mm for one in offered if one.drilled}
    # 6 mm of plate between a new hole's middle and the edge of a hole of 5.5 mm
    near = {
        holes
        for holes in everywhere
        if any(np.hypot(a - x - 4.0, b - y) < 8.7 for a, b, _ in holes)
    }
    assert near and new == everywhere - near
    # a hole told half a millimetre off where one is: it is not drilled anew beside it
    assert free_to_drill(there).distance(shapely.Point(x + 4.5, y)) == pytest.approx(8.25, abs=0.05)
