"""The tub: floor, walls along cells and rooms, partition, bosses, fittings; printed floor down."""

from __future__ import annotations

from collections.abc import Iterable

from layouts.enclosures.fitted.bosses import (
    LEAN_STEP_MM,
    leaning_bosses,
    leaning_discs,
)
from layouts.enclosures.fitted.gasket import slope_steps
from layouts.enclosures.fitted.hole_walls import refuse_thin_walls
from layouts.enclosures.fitted.lid_screws import BOSS_HIGH_MM, FORMING_DEEP_MM
from layouts.enclosures.fitted.pad_blocks import pad_block
from layouts.enclosures.fitted.shell import SLOT_DEEP_MM
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.fitted.stubs import notch_stubs, partition_stubs, slot_stubs
from layouts.enclosures.pad_walls import BLOCK_UNDER_MM
from layouts.enclosures.printed import FIELD, LEVEL_DIGITS, loop_of
from layouts.enclosures.support_pads import SupportPad
from layouts.parts.drawing import Drawing, drawing_of
from layouts.parts.feature import Effect, Feature
from layouts.parts.shell import Rect
from layouts.slabs.bore import Bore, through
from layouts.slabs.profile import Loop, circle, polygon

__all__ = ["support_pad_holes", "support_pad_loops", "tub_bores", "tub_drawing", "tub_features"]

PARTITION_UNDER_MM = 1.0  # it ends so far under the rim: the lid lies on the walls alone


class _Tub:
    """Collects features, heights given in pack coordinates."""

    def __init__(self, sizes: FittedSizes) -> None:
        """``sizes``: of the tub to be drawn."""
        levels = sizes.shell.levels
        self.under, self.floor, self.rim = levels.under_mm, levels.floor_mm, levels.rim_mm
        self.features: list[Feature] = []

    def add(self, name: str, loops: Iterable[Loop], z0: float, z1: float, within: str = "") -> None:
        """Material between two heights."""
        self._put(name, loops, z0, z1, within, Effect.ADD)

    def cut(self, name: str, loops: Iterable[Loop], z0: float, z1: float, within: str = "") -> None:
        """No material between two heights."""
        self._put(name, loops, z0, z1, within, Effect.CUT)

    def _put(
        self, name: str, loops: Iterable[Loop], z0: float, z1: float, within: str, effect: Effect
    ) -> None:
        self.features.append(
            Feature(
                name=name,
                loops=tuple(loops),
                z0_mm=round(z0 - self.under, LEVEL_DIGITS),
                z1_mm=round(z1 - self.under, LEVEL_DIGITS),
                effect=effect,
                within=within,
            )
        )

    def stand(self, name: str, rects: Iterable[Rect], z1: float) -> None:
        """Blocks on the floor; where they reach into a wall they end at its inner face."""
        self.add(name, (loop_of(rect) for rect in rects), self.floor, z1, within="inner")


def tub_features(sizes: FittedSizes) -> tuple[Feature, ...]:
    """The tub's features in their order: what is cut comes before what it must not cut."""
    tub = _Tub(sizes)
    _walls(tub, sizes)
    _inside(tub, sizes)
    return tuple(tub.features)


def _walls(tub: _Tub, sizes: FittedSizes) -> None:
    """Floor, walls, slots in them, bosses and mounting pads outside, partition and bosses inside.

    The cavity is cut after all that stands outside, so that nothing of it gets in; the cells' space
    after partition and bosses of dry rooms."""
    shell = sizes.shell
    top = tub.rim - PARTITION_UNDER_MM
    bosses = leaning_bosses(shell)
    tub.add("outer", [shell.outer], tub.under, tub.rim)
    _flange(tub, sizes)
    slots = (polygon(slot.corners_mm) for slot in sizes.slots)
    tub.cut("slot", slots, tub.rim - SLOT_DEEP_MM, tub.rim)
    between = (loop_of(r) for r in slot_stubs(sizes))
    tub.cut("slot stub", between, tub.rim - SLOT_DEEP_MM, tub.rim)
    outside = leaning_discs([b for b in bosses if not b.inside])
    _bosses(tub, "boss", outside, solid=shell.flange is not None)
    for k, pad in enumerate(sizes.pads):
        z1 = pad.underside_mm + pad.high_mm
        tub.add(f"mounting pad {k}", [loop_of(pad_block(sizes, pad))], pad.underside_mm, z1)
        if pad.block_mm:
            block = loop_of(pad_block(sizes, pad, pad.block_mm))
            # a block wider than its pad would hang over it
            z0 = pad.underside_mm if pad.block_mm > sizes.pad_width_mm else z1
            tub.add(f"block {k}", [block], z0, tub.rim - BLOCK_UNDER_MM)
    _groove_and_vent(tub, sizes)
    tub.cut("inner", [shell.inner.loop], tub.floor, tub.rim)
    tub.add("partition", [shell.partition], tub.floor, top, within="inner")
    tub.cut("opening", (loop_of(r) for r in sizes.openings), tub.floor, top, within="inner")
    stubs = (loop_of(r) for r in partition_stubs(sizes))
    tub.cut("stub", stubs, tub.floor, top, within="inner")
    for k, notch in enumerate(sizes.notches):
        tub.cut(f"notch {k}", [loop_of(notch.rect)], notch.z0_mm, top, within="inner")
    z0, rects = notch_stubs(sizes)
    tub.cut("notch stub", (loop_of(r) for r in rects), z0, top, within="inner")
    _bosses(tub, "corner boss", leaning_discs([b for b in bosses if b.inside]), within="outer")
    tub.cut("cells", [shell.cells], tub.floor, tub.rim, within="inner")


def _flange(tub: _Tub, sizes: FittedSizes) -> None:
    """The rim's flange, where there is a gasket, and the slope that it is printed on."""
    flange = sizes.shell.flange
    if flange is None:
        return
    tub.add("flange", [flange.edge], tub.rim - flange.groove.thick_mm, tub.rim)
    for k, (loop, z0, z1) in enumerate(slope_steps(flange, tub.rim)):
        tub.add(f"slope {k}", [loop], z0, z1, within="flange")


def _groove_and_vent(tub: _Tub, sizes: FittedSizes) -> None:
    """The cord's groove, past bosses and pads; the vent's block and its opening."""
    flange, vent = sizes.shell.flange, sizes.vent
    if flange is None:
        return
    if vent is not None:
        tub.add("vent block", [loop_of(vent.block)], tub.under, tub.rim - flange.groove.thick_mm)
        tub.cut("vent", [loop_of(vent.opening)], vent.z0_mm, vent.z1_mm)
    z0 = tub.rim - flange.groove.deep_mm
    tub.cut("groove", [flange.groove_outer], z0, tub.rim)
    tub.add("groove inner", [flange.groove_inner], z0, tub.rim)


def _bosses(
    tub: _Tub, name: str, steps: list[list[Loop]], within: str = "", *, solid: bool = False
) -> None:
    """Bosses upright under the rim, then step by step into the wall.

    ``solid``: each step goes up to the rim, so that nothing is shut in between a boss and the slope
    under a flange."""
    z1, z0 = tub.rim, tub.rim - BOSS_HIGH_MM
    for k, discs in enumerate(steps):
        tub.add(f"{name} {k}", discs, z0, tub.rim if solid else z1, within=within)
        z0, z1 = z0 - LEAN_STEP_MM, z0


def _inside(tub: _Tub, sizes: FittedSizes) -> None:
    """What stands on the floor, and holes along z."""
    floor, rim = tub.floor, tub.rim
    pad_top = floor + sizes.support_pad_floor_mm
    tub.add("pad", support_pad_loops(sizes.support_pads_floor), floor, pad_top)
    tub.cut("pad hole", support_pad_holes(sizes.support_pads_floor), floor, pad_top)
    tub.stand("stop", sizes.stops, sizes.stop_z1_mm)
    tub.stand("rest", sizes.board.rests, sizes.board.z0_mm)
    tub.stand("guide", sizes.board.guides, sizes.board.guide_z1_mm)
    tub.stand("fuse seat", sizes.fuse.walls, sizes.fuse.wall_z1_mm)
    for k, lug in enumerate(sizes.tie_lugs):
        tub.stand(f"tie lug {k}", [lug.block], lug.z1_mm)
    drains = (circle((d.x_mm, d.y_mm), d.radius_mm) for d in sizes.drains)
    tub.cut("drain", drains, tub.under, floor)
    for name, insert, deep in (
        ("insert", True, sizes.insert_deep_mm),
        ("thread", False, FORMING_DEEP_MM),
    ):
        holes = (
            circle(s.at_mm, s.hole_radius_mm) for s in sizes.shell.screws if s.insert is insert
        )
        tub.cut(name, holes, rim - deep, rim)


def support_pad_loops(pads: Iterable[SupportPad]) -> tuple[Loop, ...]:
    """Pads' rounds in the plan."""
    return tuple(circle((p.x_mm, p.y_mm), p.radius_mm) for p in pads)


def support_pad_holes(pads: Iterable[SupportPad]) -> tuple[Loop, ...]:
    """Holes of those pads that have one."""
    return tuple(circle((p.x_mm, p.y_mm), p.hole_radius_mm) for p in pads if p.hole_radius_mm)


def tub_bores(sizes: FittedSizes) -> tuple[Bore, ...]:
    """Bores from outside through the walls and into mounting pads, and those of the tie lugs."""
    under = sizes.shell.levels.under_mm
    bores = []
    for pad in sizes.pads:
        x, y = pad.normal
        for side in (-0.5, 0.5):
            at = pad.at_mm(pad.along_mm + side * pad.apart_mm, pad.face_mm)
            start = (*at, pad.underside_mm - under + pad.up_mm)
            way = (0.0 - x, 0.0 - y, 0.0)
            bores.append(Bore(start, way, sizes.pad_hole_radius_mm, sizes.pad_hole_deep_mm))
    for hole in sizes.holes:
        (x, y, z), (u, v) = hole.at_mm, hole.out
        way = (0.0 - u, 0.0 - v, 0.0)
        radius = hole.gland.hole_radius_mm
        bores.append(through((x, y, z - under), way, radius, sizes.shell.wall_mm))
    for lug in sizes.tie_lugs:
        (x, y), long = lug.block.centre_mm, lug.block.size_mm[lug.axis]
        z = lug.hole_z_mm - under
        start = (lug.block.x0, y, z) if lug.axis == 0 else (x, lug.block.y0, z)
        way = (1.0, 0.0, 0.0) if lug.axis == 0 else (0.0, 1.0, 0.0)
        bores.append(through(start, way, lug.hole_radius_mm, long))
    return tuple(bores)


def tub_drawing(sizes: FittedSizes) -> Drawing:
    """The tub, floor's underside on z = 0, plan as in the pack.

    Raises PlanError where a hole leaves too little plastic, a boss has no wall to lean into, or all
    of it makes no one sound body."""
    refuse_thin_walls(sizes)
    return drawing_of(tub_features(sizes), part="tub", field=FIELD, bores=tub_bores(sizes))
