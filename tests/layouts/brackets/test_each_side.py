"""Brackets on walls that face any way: the same ones turned, as strong, each in its own plan."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from generators.dummy.card_parts import drill_plans
from layouts.brackets.kind import Bracket, MountingPad
from layouts.brackets.registry import KINDS, kind_of
from layouts.pack import Load, Mount, Pack, Side
from layouts.parts.fasteners import Into
from tests.layouts.brackets.test_script import given
from tests.layouts.enclosed import enclosed
from tests.samples import sample_pack

HOLES = ((0.0, 0.0), (20.0, 0.0), (4.0, 25.0))  # no symmetry of any kind
# two opposite walls that are not equally far from the middle, and the same turned by 90 degrees:
# (x, y) becomes (-y, x)
ON_X = tuple(
    MountingPad(side=side, face_mm=face, along_mm=along, underside_mm=-8.1)
    for side, face, along in ((Side.PLUS_X, 130.0, 45.0), (Side.MINUS_X, 80.0, -20.0))
)
ON_Y = tuple(
    MountingPad(side=side, face_mm=face, along_mm=along, underside_mm=-8.1)
    for side, face, along in ((Side.PLUS_Y, 130.0, -45.0), (Side.MINUS_Y, 80.0, 20.0))
)
QUARTER = np.array([[0, -1, 0, 0], [1, 0, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]], dtype=np.float64)
EACH_KIND = pytest.mark.parametrize("kind", KINDS)
CLAMPS = ("round_clamp", "square_clamp")  # these hold a tube, and bolt to no holes


def pack_of(kind: str, load_g: tuple[float, float, float] = (4.0, 4.0, 6.0)) -> Pack:
    """The sample pack under a load; a script's shape is the angle's own."""
    mount = Mount(kind=kind, screw="M5", holes_mm=HOLES, tube_mm=25.0)
    pack = sample_pack(mount=mount, load=Load(continuous_a=20.0, acceleration_g=load_g))
    return pack if kind != "script" else replace(pack, mount=replace(mount, given=given(pack)))


def made(kind: str, pads: tuple[MountingPad, ...]) -> Bracket:
    """Brackets for these pads."""
    pack = pack_of(kind)
    return kind_of(pack).design(pack, pads, mass_kg=None)


@pytest.mark.parametrize(
    ("side", "middle_mm"),
    [
        (Side.PLUS_X, (90.0, 7.0)),
        (Side.MINUS_X, (-90.0, 7.0)),
        (Side.PLUS_Y, (7.0, 90.0)),
        (Side.MINUS_Y, (7.0, -90.0)),
    ],
)
def test_a_pad_lies_on_its_wall(side: Side, middle_mm: tuple[float, float]) -> None:
    """``face_mm`` away from the origin the way it faces; right is that of who looks at it."""
    pad = MountingPad(side=side, face_mm=90.0, along_mm=7.0, underside_mm=0.0)
    assert pad.middle_mm == middle_mm
    assert np.array(pad.middle_mm) @ pad.normal == 90.0
    right = np.cross((*(-np.array(pad.normal)), 0.0), (0.0, 0.0, 1.0))
    assert right[:2].tolist() == list(pad.right)
    beside = np.array(pad.at_mm(8.0, 92.0)) - pad.middle_mm
    assert beside[pad.along_axis] == 1.0 and beside @ pad.normal == 2.0


@EACH_KIND
def test_brackets_on_the_y_walls_are_those_of_the_x_walls_turned(kind: str) -> None:
    """By 90 degrees, to the last digit; the part itself is the same and nothing is mirrored."""
    for on_x, on_y in zip(made(kind, ON_X).parts, made(kind, ON_Y).parts, strict=True):
        for at_x, at_y in zip(on_x.placed, on_y.placed, strict=True):
            assert at_y == pytest.approx(QUARTER @ at_x, abs=1e-12)
            assert np.linalg.det(at_y[:3, :3]) == pytest.approx(1.0)
        assert on_y.drawing.volume_mm3() == on_x.drawing.volume_mm3()
        assert not np.allclose(on_y.placed[0], on_y.placed[1])


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in CLAMPS])
def test_screws_stand_in_the_pads_and_the_frames_holes(kind: str) -> None:
    """Those into a pad point along its normal, ``apart_mm`` apart along its wall."""
    on_x, on_y = made(kind, ON_X).screws, made(kind, ON_Y).screws
    assert len(on_x) == len(on_y) == 2 * (2 + len(HOLES))
    for one, turned in zip(on_x, on_y, strict=True):
        assert (one.where, one.on, one.into) == (turned.where, turned.on, turned.into)
        assert turned.out == pytest.approx(QUARTER[:3, :3] @ one.out)
        assert turned.at_mm == pytest.approx(QUARTER[:3, :3] @ one.at_mm)
    for number, pad in enumerate(ON_Y, start=1):
        mine = [one for one in on_y if one.on == number]
        into_pad = [one for one in mine if one.into is Into.INSERT]
        assert all(one.out.tolist() == [*pad.normal, 0.0] for one in into_pad)
        holes = sorted((*one.point(-one.through_mm)[:2], one.at_mm[2]) for one in into_pad)
        y = {Side.PLUS_Y: 130.0, Side.MINUS_Y: -80.0}[pad.side]
        middle, z = pad.along_mm, pad.underside_mm + pad.up_mm
        assert np.array(holes) == pytest.approx(
            np.array([(middle - 10.0, y, z), (middle + 10.0, y, z)])
        )
        frame = np.array([one.at_mm for one in mine if one.into is Into.FRAME])
        # read from outside as (right, away from the wall); a flat plate's holes go down instead
        out = -frame[:, 2] if kind == "flat" else frame[:, :2] @ pad.normal
        pattern = np.column_stack([frame[:, :2] @ pad.right, out])
        assert pattern - pattern[0] == pytest.approx(np.array(HOLES))


def _value(kind: str, pads: tuple[MountingPad, ...], load_g: tuple[float, float, float]) -> float:
    """Stress of the brackets that a pack of 40 kg gets under a load."""
    pack = pack_of(kind, load_g)
    (check,) = kind_of(pack).design(pack, pads, mass_kg=40.0).checks(pack, pads, mass_kg=40.0)
    assert check.value is not None
    return check.value


@pytest.mark.parametrize("kind", ["angle", "flat"])
def test_a_load_across_the_y_walls_is_as_one_across_the_x_walls(kind: str) -> None:
    """A bracket is stressed alike whichever way its wall faces, and whichever way it is pulled:
    the pack may be turned."""
    on_x = _value(kind, ON_X, (5.0, 0.0, 0.0))
    assert _value(kind, ON_X, (0.0, 5.0, 0.0)) == on_x > 0.0
    assert _value(kind, ON_Y, (0.0, 5.0, 0.0)) == pytest.approx(on_x)
    assert _value(kind, ON_Y, (0.0, 6.0, 0.0)) > on_x
    upright = _value(kind, ON_X, (0.0, 0.0, 5.0))
    assert _value(kind, ON_Y, (0.0, 0.0, 5.0)) == pytest.approx(upright)
    assert upright != pytest.approx(on_x)


@pytest.mark.parametrize("kind", ["angle", "flat"])
def test_brackets_on_all_walls_share_the_mass(kind: str) -> None:
    """Four bear less each than two; two more on the same walls carry about half."""
    load_g = (4.0, 4.0, 6.0)
    on_two = _value(kind, ON_X, load_g)
    assert _value(kind, (*ON_X, *ON_Y), load_g) < on_two
    assert _value(kind, (*ON_X, *ON_X), load_g) == pytest.approx(on_two / 2)


def test_each_face_of_the_frame_has_a_plan_of_its_own_brackets() -> None:
    """Also where a bracket on the +x wall stands behind the middle of the pack."""
    second = replace(ON_X[0], along_mm=-45.0)
    plans = drill_plans(enclosed("1S1P").enclosure.shell, made("flat", (*ON_X, second, *ON_Y)))
    # lines: each bracket's outline, and the tub's underside
    assert {one.name: (len(one.places) - 1, len(one.drills)) for one in plans} == {
        "drill-face-right": (2, 6),
        "drill-face-left": (1, 3),
        "drill-face-back": (1, 3),
        "drill-face-front": (1, 3),
    }
