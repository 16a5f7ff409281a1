"""A tub whose mounting pads stand on the +y and -y walls: blocks, insert holes, seams."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layouts.enclosures.box import room
from layouts.enclosures.box.checks import seam_screw_access, seams_clear
from layouts.enclosures.box.seams import TUB_JOINT, forbidden
from layouts.enclosures.box.sizes import EnclosureDesign
from layouts.enclosures.box.tub import tub_bores, tub_drawing
from layouts.pack import Side
from layouts.parts.shell import Rect
from tests.layouts.enclosed import enclosed, enclosed_pack
from tests.layouts.enclosures.box.test_seams import cut_pack
from tests.oracles.tub_formula import tub_formula_mm3

OUT_MM = 10.0


def with_pads_on_y(design: EnclosureDesign, along_mm: float = 0.0) -> EnclosureDesign:
    """The same with a pad on each of the y walls in place of its own."""
    usual = design.pads[0]
    walls = ((Side.PLUS_Y, design.outer.y1), (Side.MINUS_Y, -design.outer.y0))
    return replace(
        design,
        pads=tuple(
            replace(usual, side=side, along_mm=along_mm, face_mm=wall + OUT_MM)
            for side, wall in walls
        ),
    )


def test_the_tub_gets_a_block_on_each_wall() -> None:
    """From half a wall inside to the pad's face; its volume is the formula's."""
    design = with_pads_on_y(enclosed("1S1P").design, along_mm=-3.0)
    o, half = design.outer, design.pad_width_mm / 2
    back, front = (design.pad_rect(pad) for pad in design.pads)
    for rect, y0, y1 in (
        (back, o.y1 - design.wall_mm / 2, o.y1 + OUT_MM),
        (front, o.y0 - OUT_MM, o.y0 + design.wall_mm / 2),
    ):
        found = (rect.x0, rect.x1, rect.y0, rect.y1)
        assert found == pytest.approx((-3.0 - half, -3.0 + half, y0, y1))
    assert design.tub_box.y1 - design.tub_box.y0 >= o.y1 - o.y0 + 2 * OUT_MM
    assert tub_drawing(design).volume_mm3() == pytest.approx(tub_formula_mm3(design), rel=1e-9)


def test_insert_holes_go_in_from_the_faces() -> None:
    """Two in each pad, square to its wall, which they leave whole inside."""
    design = with_pads_on_y(enclosed("1S1P").design, along_mm=-3.0)
    for k, pad in enumerate(design.pads):
        left, right = tub_bores(design)[2 * k : 2 * k + 2]
        way = 1.0 if pad.side is Side.PLUS_Y else -1.0
        assert (left.start, right.start) == (
            (-13.0, way * pad.face_mm, pad.up_mm),
            (7.0, way * pad.face_mm, pad.up_mm),
        )
        for bore in (left, right):
            assert bore.direction == (0.0, -way, 0.0)
            inside = design.cavity.y1 if way > 0 else design.cavity.y0
            assert abs(bore.start[1]) - bore.depth_mm - abs(inside) > 2.0


def test_a_seam_through_such_a_pad_is_found() -> None:
    """The check of the tub's seams sees the block, the choice of places avoids its stretch."""
    design = cut_pack("both ways").design
    (at,) = design.tub_seams.x_mm
    assert seams_clear(with_pads_on_y(design, along_mm=at + 60.0)).holds
    check = seams_clear(with_pads_on_y(design, along_mm=at))
    assert not check.holds and check.where.endswith("lug")
    free, taken = (
        forbidden(
            0, cavity=Rect(x0=0.0, y0=0.0, x1=200.0, y1=100.0), bosses=(), support_pads=(),
            drains=(), rects=(), glands=(), pads=pads, wall_mm=2.4, screw="M3",
        )
        for pads in ([], [(70.0, 110.0)])
    )  # fmt: skip
    assert free.allows(90.0, TUB_JOINT) and not taken.allows(90.0, TUB_JOINT)
    # beside the pad, but its flange's screw is put in where the pad stands
    assert free.allows(120.0, TUB_JOINT) and not taken.allows(120.0, TUB_JOINT)
    assert free.allows(124.0, TUB_JOINT) and taken.allows(124.0, TUB_JOINT)


def test_seams_keep_clear_of_pads_wherever_these_stand(monkeypatch: pytest.MonkeyPatch) -> None:
    """A tub designed with pads on the y walls where its seam usually is gets the seam elsewhere."""
    usual = cut_pack("both ways")
    (at,) = usual.design.tub_seams.x_mm
    pads = with_pads_on_y(usual.design, along_mm=at).pads
    monkeypatch.setattr(room, "mounting_pads", lambda *_: [pads])
    design = enclosed_pack(usual.pack).design
    assert design.pads == pads
    (seam,) = design.tub_seams.x_mm
    assert abs(seam - at) > design.pad_width_mm / 2
    assert seams_clear(design).holds and seam_screw_access(design).holds
