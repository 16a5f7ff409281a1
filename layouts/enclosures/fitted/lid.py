"""The lid: a plate with a lip all round, screw holes and pads, printed outer face down.

On a gasket it is a plate without a lip, as wide as the tub's flange.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import shapely

from layouts.enclosures.fitted.cord import PLINTH_MM
from layouts.enclosures.fitted.lid_screws import LidScrew
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.pad_blocks import block_gaps
from layouts.enclosures.fitted.shell import LID_LIP_MM, LIP_DEEP_MM, LIP_PLAY_MM, ShellPlan
from layouts.enclosures.fitted.sizes import Clamp, FittedSizes
from layouts.enclosures.fitted.tub import support_pad_holes, support_pad_loops
from layouts.enclosures.printed import FIELD, LEVEL_DIGITS, loop_of
from layouts.parts.drawing import Drawing, drawing_of
from layouts.parts.feature import Effect, Feature
from layouts.parts.shell import disc
from layouts.slabs.profile import Arc, Line, Loop, circle, mirrored_x

__all__ = ["lid_drawing", "lid_features", "lip_gaps", "plinth_loops"]

LEAST_LIP_MM = 0.84  # two lines of a 0.4 nozzle are left beside a boss, or nothing


def lip_gaps(shell: ShellPlan) -> tuple[Loop, ...]:
    """Where the lip is left out round bosses.

    A round where the boss takes but a little of its inner side, or stands in the lip itself; a
    stadium across it where a thin skin would be left."""
    inner, outer = loop_polygon(shell.lip_inner), loop_polygon(shell.lip_outer)
    lip = outer.difference(inner)
    shapely.prepare(lip)
    shapely.prepare(inner)
    found = []
    for screw in shell.screws:
        radius = screw.radius_mm + LIP_PLAY_MM
        taken = disc(*screw.at_mm, radius).intersection(lip)
        if taken.is_empty:
            continue
        depth = float(shapely.distance(inner, shapely.points(shapely.get_coordinates(taken))).max())
        within = inner.contains(shapely.Point(screw.at_mm))
        if within and depth > LID_LIP_MM - LEAST_LIP_MM:
            found.append(_stadium(screw, radius))
        else:
            found.append(circle(screw.at_mm, radius))
    return tuple(found)


def _stadium(screw: LidScrew, radius_mm: float) -> Loop:
    """Straight out from a boss, past the lip, as wide as the round itself."""
    (x, y), (u, v) = screw.at_mm, screw.foot_mm
    way = math.atan2(y - v, x - u)
    far = radius_mm + LID_LIP_MM
    end = (x + far * math.cos(way), y + far * math.sin(way))
    back = Arc((x, y), radius_mm, way + math.pi / 2, math.pi)
    front = Arc(end, radius_mm, way - math.pi / 2, math.pi)
    return (
        back,
        Line(back.at(back.start_rad + back.sweep_rad), front.at(front.start_rad)),
        front,
        Line(front.at(front.start_rad + front.sweep_rad), back.at(back.start_rad)),
    )


def lid_features(sizes: FittedSizes) -> tuple[Feature, ...]:
    """The lid's features in their order, x mirrored as the part is printed."""
    shell = sizes.shell
    plate = shell.levels.lid_mm - shell.levels.rim_mm
    lip, pad = plate + LIP_DEEP_MM, plate + sizes.support_pad_lid_mm
    lipped = shell.flange is None
    bosses = [circle(s.at_mm, s.radius_mm) for s in shell.screws]
    holes = [circle(s.at_mm, sizes.lid_hole_radius_mm) for s in shell.screws]

    def one(
        name: str, loops: Iterable[Loop], z0: float, z1: float, effect: Effect = Effect.ADD
    ) -> Feature:
        return Feature(
            name=name,
            loops=tuple(mirrored_x(loop) for loop in loops),
            z0_mm=round(z0, LEVEL_DIGITS),
            z1_mm=round(z1, LEVEL_DIGITS),
            effect=effect,
        )

    return (
        one("plate", [shell.lip_outer], 0.0, lip if lipped else plate),
        *(
            (
                one("lip inner", [shell.lip_inner], plate, lip, Effect.CUT),
                one("lip gap", lip_gaps(shell), plate, lip, Effect.CUT),
                one("block gap", map(loop_of, block_gaps(sizes)), plate, lip, Effect.CUT),
            )
            if lipped
            else ()
        ),
        one("boss", bosses, 0.0, plate),
        one("hole", holes, 0.0, plate, Effect.CUT),
        *(
            ()
            if sizes.clamp is None
            else (one("plinth", plinth_loops(sizes.clamp), plate, plate + sizes.clamp.plinth_mm),)
        ),
        one("pad", support_pad_loops(sizes.support_pads_lid), plate, pad),
        one("pad hole", support_pad_holes(sizes.support_pads_lid), plate, pad, Effect.CUT),
    )


def plinth_loops(clamp: Clamp) -> tuple[Loop, ...]:
    """Plinths of cords and saddles of discs in the plan."""
    return (
        *(cord.band(PLINTH_MM) for cord in clamp.cords),
        *support_pad_loops(clamp.disc_pads),
    )


def lid_drawing(sizes: FittedSizes) -> Drawing:
    """The lid, outer face on z = 0, plan with x mirrored.

    Raises PlanError where its features make no one sound body."""
    return drawing_of(lid_features(sizes), part="lid", field=FIELD)
