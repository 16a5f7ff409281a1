"""A long plain tub and lid with rounded corners, larger than a small bed, all numbers by hand."""

from __future__ import annotations

from dataclasses import replace

import shapely

from layouts.brackets.kind import MountingPad
from layouts.enclosures.board_seat import BoardSeat
from layouts.enclosures.fitted.cutting import cut_to_the_bed
from layouts.enclosures.fitted.lid_screws import LidScrew
from layouts.enclosures.fitted.loops import parallel
from layouts.enclosures.fitted.outline import ShellOutline
from layouts.enclosures.fitted.rooms import PARTITION_MM
from layouts.enclosures.fitted.shell import LID_LIP_MM, LIP_PLAY_MM, Levels, ShellPlan
from layouts.enclosures.fitted.sizes import FittedSizes, FloorDrain, FuseSeat
from layouts.enclosures.fitted.splice_notes import cut_sizes
from layouts.enclosures.support_pads import SupportPad
from layouts.pack import Load, Pack, Side
from layouts.parts.shell import Rect
from layouts.slabs.profile import rectangle
from tests.samples import sample_pack

__all__ = ["HELD", "LONG_MM", "WALL_MM", "WIDE_MM", "cut", "small_bed", "whole"]

LONG_MM, WIDE_MM, WALL_MM = 260.0, 120.0, 1.68
HELD = shapely.box(-125.0, -55.0, 70.0, 55.0)
LEVELS = Levels(under_mm=-8.5, floor_mm=-5.1, rim_mm=76.0, lid_mm=79.4)
Y_MM = WIDE_MM / 2 + 4.2


def _pads() -> tuple[SupportPad, ...]:
    places = [(x, y) for x in (-110.0, -30.0, 55.0) for y in (-40.0, 40.0)]
    return tuple(SupportPad(x_mm=x, y_mm=y, radius_mm=5.0, hole_radius_mm=3.3) for x, y in places)


def whole() -> FittedSizes:
    """Cells on the left, one dry room on the right; pads for brackets at both ends."""
    long, wide = LONG_MM / 2, WIDE_MM / 2
    inner = rectangle(-long, -wide, long, wide, 6.0)
    cells = rectangle(-long, -wide, 80.0, wide, 6.0)
    lip = parallel(inner, WALL_MM + LIP_PLAY_MM, 0.5)
    screws = tuple(
        LidScrew(x_mm=x, y_mm=side * Y_MM, insert=True, foot_mm=(x, side * wide))
        for x in (-100.0, -40.0, 20.0, 80.0)
        for side in (-1.0, 1.0)
    )
    shell = ShellPlan(
        rooms=(), inner=ShellOutline(loop=inner, figures=(), seats=()),
        outer=parallel(inner, WALL_MM, 0.5), cells=cells,
        partition=parallel(cells, PARTITION_MM, 1.0),
        lip_inner=lip, lip_outer=parallel(lip, LID_LIP_MM, 0.5), screws=screws, levels=LEVELS,
        wall_mm=WALL_MM,
    )  # fmt: skip
    board = Rect(x0=95.0, x1=110.0, y0=-40.0, y1=40.0)
    guide = Rect(x0=94.0, x1=112.0, y0=-44.0, y1=-41.0)
    return FittedSizes(
        shell=shell, insert_deep_mm=6.2, lid_hole_radius_mm=1.7, support_pads_floor=_pads(),
        support_pads_lid=_pads(), support_pad_floor_mm=3.5, support_pad_lid_mm=3.4, openings=(),
        notches=(), stops=(), stop_z1_mm=5.0, gas_side=Side.MINUS_X, ducts=(),
        drains=(FloorDrain(x_mm=0.0, y_mm=20.0, radius_mm=2.0),),
        board=BoardSeat(
            board=board, z0_mm=-1.6, z1_mm=50.0, guides=(guide,), guide_z1_mm=40.0, rests=()
        ),
        fuse=FuseSeat(plan=Rect(x0=115.0, x1=125.0, y0=-20.0, y1=20.0), walls=(), wall_z1_mm=0.0),
        tie_lugs=(), holes=(),
        pads=tuple(
            MountingPad(side=side, face_mm=long + 12.0, along_mm=0.0, underside_mm=-8.5)
            for side in (Side.PLUS_X, Side.MINUS_X)
        ),
        pad_width_mm=34.0, pad_hole_radius_mm=2.8, pad_hole_deep_mm=8.6,
    )  # fmt: skip


def small_bed(side_mm: float = 200.0, *, upright_g: float = 6.0) -> Pack:
    """A pack with a load, on a printer with a square bed."""
    pack = sample_pack(10, 4)
    return replace(
        pack,
        load=Load(acceleration_g=(4.0, 4.0, upright_g)),
        printer=replace(pack.printer, bed_mm=(side_mm, side_mm, 250.0)),
    )


def cut(pack: Pack, sizes: FittedSizes | None = None) -> FittedSizes:
    """In pieces for the pack's bed."""
    sizes = sizes or whole()
    return cut_sizes(sizes, cut_to_the_bed(pack, sizes, HELD))
