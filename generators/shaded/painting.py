"""Cutaway and exploded view of a pack, with balloons, drawn by a second process."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from generators.exports.whole_bill import bill_ahead
from generators.made_part import MeshedPart
from generators.second_process import serve_one
from generators.shaded.balloons import balloons_of
from generators.shaded.framed import framed_picture
from generators.shaded.painted import CUTAWAY, EXPLODED, Painted, PaintedPicture
from generators.shaded.png import png_bytes
from generators.shaded.scene import scene_of
from generators.shaded.shading import View, shaded_picture
from generators.shaded.things import Scene, Wedge, kept
from layouts.placing.compiled import COMPILED
from layouts.planning.pack_plan import PackPlan

__all__ = [
    "cut_view", "cut_wedges", "exploded_view", "paint_plan", "paint_scene", "serve",
]  # fmt: skip

CUT_PX, EXPLODED_PX = (1240, 900), (860, 1700)
# of the scene's size across: how far each layer is cut back from the middle, towards the front
ACROSS_MM = 300.0
CUT_WAY = (0.75, 1.0)  # of the cut's normal in the plan, before the front's signs


def cut_view(scene: Scene, wide: int = CUT_PX[0], high: int = CUT_PX[1]) -> View:
    """From above the front corner."""
    x, y = scene.front
    return View(towards=(x, 1.25 * y, 1.12), wide=wide, high=high)


def exploded_view(scene: Scene, wide: int = EXPLODED_PX[0], high: int = EXPLODED_PX[1]) -> View:
    """From lower down: the layers hide less of each other."""
    x, y = scene.front
    return View(towards=(x, 1.25 * y, 0.62), wide=wide, high=high, apart_ratio=1.0, ground=False)


def cut_wedges(scene: Scene) -> dict[str, Wedge]:
    """Stepped from above: most of the lid, less of what lies beneath, the tub down to its floor."""
    (sx, sy), (mx, my) = scene.front, scene.middle_mm
    normal = (CUT_WAY[0] * sx, CUT_WAY[1] * sy, 0.0)
    unit = float((scene.size_mm[0] ** 2 + scene.size_mm[1] ** 2) ** 0.5) / ACROSS_MM
    base = normal[0] * mx + normal[1] * my
    up = (0.0, 0.0, 1.0)
    return {
        "lid": ((normal, base - 62 * unit),),
        "sheet": ((normal, base - 46 * unit),),
        "metal": ((normal, base + 10 * unit), (up, scene.tall_mm / 2)),
        "holder": ((normal, base + 46 * unit),),
        "paper": ((normal, base + 36 * unit),),
        "tub": ((normal, base + 50 * unit), (up, scene.floor_mm + 5.0)),
    }


def paint_plan(plan: PackPlan, meshed: Sequence[MeshedPart]) -> Painted:
    """Both pictures of a plan; none without a compiler."""
    if not COMPILED:
        return Painted(pictures={}, names={}, undrawn={}, undrawn_names={})
    bill = bill_ahead(plan, meshed)
    scene = scene_of(plan, meshed, bill)
    return Painted(
        pictures=paint_scene(scene),
        names={row: (bill[row - 1].item, bill[row - 1].size) for row in sorted(scene.rows)},
        undrawn=scene.undrawn,
        undrawn_names={row: bill[row - 1].item for row in scene.undrawn},
    )


def paint_scene(scene: Scene) -> dict[str, PaintedPicture]:
    """The cutaway, then the exploded view."""
    wedges = cut_wedges(scene)
    return {
        CUTAWAY: _painted(scene, cut_view(scene), wedges),
        EXPLODED: _painted(scene, exploded_view(scene), {}),
    }


def _painted(scene: Scene, view: View, wedges: Mapping[str, Wedge]) -> PaintedPicture:
    things = [one for one in kept(scene.things, wedges) if one.copies]
    drawn = shaded_picture(things, view, wedges)
    balloons = balloons_of(drawn.thing, [one.row for one in things])
    high, wide = drawn.thing.shape
    return PaintedPicture(
        image=png_bytes(drawn.image),
        framed=png_bytes(framed_picture(drawn.image, balloons)),
        wide=wide,
        high=high,
        balloons=balloons,
    )


def serve() -> None:
    """The painting process."""
    serve_one(lambda job: paint_plan(*job))
