"""Whether tie posts, and places where the enclosure clamps the holders, are enough and near."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.holders.holder import Post
from layouts.holders.outline import Outline
from layouts.holders.posts import (
    LONG_SIDE_MM,
    NEAR_SIDE,
    POSTS_APART_MM,
    cell_outline,
    ends_of_side,
    on_side,
    rim_reach_mm,
)
from layouts.holders.spans import longest_step_mm
from layouts.pack import Pack

__all__ = ["post_checks", "rim_cells"]

PRACTICE = "common practice, no source"
TAKE_POSTS = (
    "a larger holder.web_mm, narrower strips or a smaller holder.post_mm, so that posts fit the "
    "gaps"
)
LEVEL_MM = 1e-6  # float noise in sums of millimetres


def post_checks(
    pack: Pack,
    cell_layout: CellLayout,
    posts: Sequence[Post],
    clamped_mm: Sequence[Sequence[tuple[float, float]]] = (),
) -> tuple[Check, ...]:
    """Enough posts, not too far apart; ``clamped_mm``: as in ``fastening_checks``."""
    xy = np.array([(post.x_mm, post.y_mm) for post in posts]).reshape(-1, 2)
    clamped = np.array([at for place in clamped_mm for at in place]).reshape(-1, 2)
    enough = _enough_posts(cell_layout, len(xy), len(clamped_mm))
    if not len(xy) + len(clamped):
        return (enough,)
    return enough, _post_spacing(pack, cell_layout, xy, clamped)


def _enough_posts(cell_layout: CellLayout, posts: int, clamped: int) -> Check:
    least, count = 3 if len(cell_layout.xy_mm) < 4 else 4, posts + clamped
    about = "number of tie posts that set the distance between the holders"
    if clamped:
        about = "number of tie posts, and of places where the lid clamps the holders on the cans"
    return Check(
        id="tie_posts",
        about=about,
        holds=count >= least,
        value=float(count),
        limit=float(least),
        unit="",
        source=PRACTICE,
        remedy="" if count >= least else TAKE_POSTS,
    )


def _post_spacing(
    pack: Pack,
    cell_layout: CellLayout,
    posts: NDArray[np.float64],
    clamped: NDArray[np.float64],
) -> Check:
    about = "largest spacing of posts along a long side"
    if len(clamped):
        about = "largest spacing of posts and clamped places along a long side"
    limit, xy = POSTS_APART_MM, np.vstack([posts, clamped])
    if cell_layout.room is None:
        step, where = _longest_step(pack, cell_layout, xy)
    else:
        about, limit = "largest distance from an outer cell to a post", rim_reach_mm(pack)
        rim = rim_cells(cell_layout, cell_outline(pack, cell_layout))
        far = cKDTree(xy).query(rim)[0]
        step = float(far.max())
        where = "cell at {:.0f}, {:.0f}".format(*rim[int(far.argmax())])
    holds = step <= limit + LEVEL_MM
    return Check(
        id="post_spacing",
        about=about,
        holds=holds,
        value=step,
        limit=limit,
        unit="mm",
        source=PRACTICE,
        remedy=""
        if holds
        else "narrower strips along the sides, a larger holder.web_mm or a smaller holder.post_mm",
        at_least=False,
        where=where,
    )


def rim_cells(cell_layout: CellLayout, outline: Outline) -> NDArray[np.float64]:
    """(n, 2) centres of the cells that the outline (of cells alone) touches."""
    outer = sorted({arc.disc for arc in outline.arcs if arc.disc >= 0})
    return np.asarray(cell_layout.xy_mm[outer], dtype=np.float64)


def _longest_step(
    pack: Pack, cell_layout: CellLayout, xy: NDArray[np.float64]
) -> tuple[float, str]:
    """Longest way between two posts next to each other along a long side [mm]; which side."""
    rim = pack.pocket_mm / 2 + pack.holder.wall_mm
    low, high = cell_layout.xy_mm.min(axis=0) - rim, cell_layout.xy_mm.max(axis=0) + rim
    box = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))  # the cells' own
    worst, where = 0.0, "no side is long"
    for axis, end, name in ((1, 0, "-x"), (1, 1, "+x"), (0, 0, "-y"), (0, 1, "+y")):
        if box[2 + axis] - box[axis] < LONG_SIDE_MM:
            continue
        mine = on_side(xy, box, axis, end, NEAR_SIDE * pack.pitch_mm)
        mine[list(ends_of_side(xy, box, axis, end))] = True
        row = xy[mine][np.argsort(xy[mine][:, axis], kind="stable")]
        step = longest_step_mm(row) if len(row) > 1 else box[2 + axis] - box[axis]
        if step > worst:
            worst, where = step, f"{name} side"
    return worst, where
