"""From the solved pack to every holder tile's plan, and the checks of its walls."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from layouts.cells.arrangement import Arrangement
from layouts.checks import Check
from layouts.holders.barriers import GROOVE_LAND_MM, GROOVE_MM, barrier_line_mm, groove_quads_mm
from layouts.holders.channels import bars_mm, cuts_mm
from layouts.holders.fastening import Core
from layouts.holders.holder import HolderTile, Key, Post
from layouts.holders.keys import LEAST_KNOBS, Knob, choose_knobs, key_of_tile, seam_count
from layouts.holders.outline import mirrored_outline
from layouts.pack import Face, Pack
from layouts.parts.tie_screw import LEAD_IN_DEEP_MM, lead_in_mm, tie_screw
from layouts.strips.joining import Joining
from layouts.strips.lip import positive_end

__all__ = ["holder_checks", "holder_tiles", "number_cells"]

PRACTICE = "common practice, no source"
ALL_NUMBERED = 200  # cells; above this numbers stand at row ends only; common practice
SIGN_DEEP_MM = 0.4  # two layers; common practice, no source
WEB_LINES = 3  # lines of the nozzle that a web between pockets needs; common practice, no source
LAND_LEAST_MM = 0.4  # one line of a 0.4 nozzle
LEVEL_MM = 1e-6  # float noise in sums of millimetres

TilePolygons = Sequence[NDArray[np.float64] | None]


def holder_tiles(
    pack: Pack,
    arrangement: Arrangement,
    joining: Joining,
    core: Core,
    tile_polygons: TilePolygons,
) -> tuple[HolderTile, ...]:
    """Every tile of the lower, then of the upper holder, each in the plan of its part file.

    ``tile_polygons``: one (k, 2) polygon a tile in pack coordinates, counter-clockwise,
    ``[None]`` for a holder in one piece. The upper holder's plan is mirrored in x. Raises
    ValueError where there are more or fewer polygons than tiles.
    """
    count = int(arrangement.tile.max()) + 1
    if len(tile_polygons) != count:
        raise ValueError(f"tile_polygons: {len(tile_polygons)} given for {count} tiles")
    grooves = _grooves(pack, arrangement, core)
    return tuple(
        tile
        for face in (Face.LOWER, Face.UPPER)
        for tile in _face_tiles(pack, arrangement, joining, core, tile_polygons, grooves, face)
    )


def number_cells(arrangement: Arrangement) -> NDArray[np.bool_]:
    """(N,) cells whose group number is cut beside the sign: all, or row ends above 200 cells."""
    count = len(arrangement.xy_mm)
    if count <= ALL_NUMBERED:
        return np.ones(count, dtype=np.bool_)
    chosen = np.zeros(count, dtype=np.bool_)
    order = np.lexsort((arrangement.sites[:, 0], arrangement.sites[:, 1], arrangement.group))
    key = np.column_stack([arrangement.group, arrangement.sites[:, 1]])[order]
    new = np.any(np.diff(key, axis=0) != 0, axis=1)
    chosen[order[np.append(True, new)]] = True
    chosen[order[np.append(new, True)]] = True
    return chosen


def tile_lead_in_mm(pack: Pack, arrangement: Arrangement) -> float:
    """Lead-in of all pockets: less than usual where a barrier's groove needs the width."""
    width = lead_in_mm(pack)
    for seam in arrangement.seams:
        if seam.barrier and len(seam.pairs):
            web = _seam_web_mm(pack, arrangement, seam.pairs)
            width = min(width, (web - GROOVE_MM) / 2 - GROOVE_LAND_MM)
    return max(0.0, width)


def holder_checks(
    pack: Pack,
    arrangement: Arrangement,
    tiles: tuple[HolderTile, ...],
) -> tuple[Check, ...]:
    """Webs, lands at the pockets' mouths and at barriers, posts and interlock tabs of tiles."""
    xy = arrangement.xy_mm
    checks: list[Check] = []
    if len(xy) > 1:
        apart, other = cKDTree(xy).query(xy, k=2)
        worst = int(np.argmin(apart[:, 1]))
        web = float(apart[worst, 1]) - pack.pocket_mm
        where = f"cells {worst + 1} and {int(other[worst, 1]) + 1}"
        least = WEB_LINES * pack.printer.nozzle_mm
        checks.append(
            _check(
                "web_mm",
                "web between two pockets, printed in whole lines",
                web,
                least,
                f"holder.web_mm {least:g} or more",
                where,
            )
        )
        checks.append(
            _check(
                "lead_in_land_mm",
                "land between the lead-ins of two pockets",
                web - 2 * tiles[0].lead_in_mm,
                LAND_LEAST_MM,
                "a larger holder.web_mm",
                where,
            )
        )
    checks.append(_lip_land(pack))
    checks += _groove_land(pack, arrangement, tiles)
    if int(arrangement.tile.max()) > 0:
        checks += _tile_checks(arrangement, tiles)
    return tuple(checks)


def _check(id: str, about: str, value: float, limit: float, mend: str, where: str = "") -> Check:
    holds = value >= limit - LEVEL_MM
    return Check(
        id=id,
        about=about,
        holds=holds,
        value=value,
        limit=limit,
        unit="mm",
        source=PRACTICE,
        how_to_mend="" if holds else mend,
        where=where,
    )


def _grooves(pack: Pack, arrangement: Arrangement, core: Core) -> NDArray[np.float64]:
    """(g, 4, 2) grooves of all barriers, in pack coordinates."""
    quads = [
        groove_quads_mm(barrier_line_mm(pack, arrangement, seam, core.outline))
        for seam in arrangement.seams
        if seam.barrier and len(seam.pairs)
    ]
    return np.concatenate(quads) if quads else np.zeros((0, 4, 2))


def _face_tiles(
    pack: Pack,
    arrangement: Arrangement,
    joining: Joining,
    core: Core,
    polygons: TilePolygons,
    grooves: NDArray[np.float64],
    face: Face,
) -> list[HolderTile]:
    mirrored = face is Face.UPPER
    outline = mirrored_outline(core.outline) if mirrored else core.outline
    channels = cuts_mm(pack, arrangement, joining, core.outline, (face,))
    bars = bars_mm(pack, arrangement, joining, face, core.outline)
    knobs = _knobs(pack, arrangement, core, channels, grooves, len(polygons))
    of_channels, of_bars, of_grooves = _Quads(channels), _Quads(bars), _Quads(grooves)
    positive, numbered = positive_end(arrangement, face), number_cells(arrangement)
    carrier = _post_tiles(arrangement, core)
    screw = tie_screw(pack)
    lead_in = tile_lead_in_mm(pack, arrangement)
    made = []
    for index, polygon in enumerate(polygons):
        cells = np.flatnonzero(arrangement.tile == index)
        shape = None if polygon is None else shapely.Polygon(polygon)
        made.append(
            HolderTile(
                name=f"holder-{face.value}" + (f"-{index + 1}" if shape is not None else ""),
                face=face,
                index=index,
                cells=cells,
                xy_mm=_points(arrangement.xy_mm[cells], mirrored),
                positive_end=positive[cells],
                group=arrangement.group[cells],
                number_cells=numbered[cells],
                outline=outline,
                mask_mm=None if polygon is None else _quads(polygon[None], mirrored)[0],
                channels=_quads(of_channels.touching(shape), mirrored),
                bars=_quads(of_bars.touching(shape), mirrored),
                grooves=_quads(of_grooves.touching(shape), mirrored),
                posts=_posts(core, carrier, index, mirrored),
                keys=_keys(knobs, index, mirrored),
                pocket_mm=pack.pocket_mm,
                window_mm=pack.holder.window_mm,
                lip_mm=pack.holder.lip_mm,
                seat_mm=pack.holder.seat_mm,
                depth_mm=pack.holder.depth_mm,
                web_recess_mm=pack.holder.web_recess_mm,
                bar_mm=pack.holder.bar_mm,
                lead_in_mm=lead_in,
                lead_in_deep_mm=LEAD_IN_DEEP_MM,
                post_high_mm=pack.holder.lip_mm + pack.lip_to_lip_mm / 2,
                screw_hole_mm=screw.hole_mm,
                recess_mm=screw.head_hole_mm if mirrored else screw.nut_flats_mm,
                recess_deep_mm=screw.head_recess_mm if mirrored else screw.nut_recess_mm,
                sign_deep_mm=SIGN_DEEP_MM,
                nozzle_mm=pack.printer.nozzle_mm,
            )
        )
    return made


def _knobs(
    pack: Pack,
    arrangement: Arrangement,
    core: Core,
    channels: NDArray[np.float64],
    grooves: NDArray[np.float64],
    tiles: int,
) -> tuple[Knob, ...]:
    """Interlock tabs on the seams between tiles; none for a holder in one piece."""
    if tiles <= 1:
        return ()
    return choose_knobs(pack, arrangement, channels=channels, grooves=grooves, posts=core.posts)


def _posts(core: Core, carrier: list[int], tile: int, mirrored: bool) -> tuple[Post, ...]:
    """Posts of one tile in its plan."""
    return tuple(
        _post(post, mirrored) for post, own in zip(core.posts, carrier, strict=True) if own == tile
    )


def _post_tiles(arrangement: Arrangement, core: Core) -> list[int]:
    """Tile that carries each post: that of the nearest cell."""
    if not core.posts:
        return []
    points = [(post.x_mm, post.y_mm) for post in core.posts]
    return [int(t) for t in arrangement.tile[cKDTree(arrangement.xy_mm).query(points)[1]]]


def _points(xy: NDArray[np.float64], mirrored: bool) -> NDArray[np.float64]:
    return xy * np.array([-1.0, 1.0]) if mirrored else xy.copy()


def _quads(quads: NDArray[np.float64], mirrored: bool) -> NDArray[np.float64]:
    """(m, k, 2) loops, counter-clockwise again where they are mirrored."""
    flip = np.array([-1.0, 1.0])
    plan = (quads * flip)[:, ::-1] if mirrored else quads.copy()
    return np.asarray(plan, dtype=np.float64)


class _Quads:
    """Rectangles (m, 4, 2) that are queried tile after tile."""

    def __init__(self, quads: NDArray[np.float64]) -> None:
        self._quads = quads
        self._shapes = shapely.polygons(quads)
        self._tree = shapely.STRtree(self._shapes)

    def touching(self, shape: shapely.Polygon | None) -> NDArray[np.float64]:
        """Those that share area with a tile; all of them where the holder is one piece."""
        if shape is None:
            return self._quads
        near = np.sort(self._tree.query(shape, predicate="intersects"))
        shared = shapely.area(shapely.intersection(self._shapes[near], shape))
        return np.asarray(self._quads[near[shared > LEVEL_MM]], dtype=np.float64)


def _post(post: Post, mirrored: bool) -> Post:
    x = -post.x_mm if mirrored else post.x_mm
    return Post(x_mm=x, y_mm=post.y_mm, radius_mm=post.radius_mm)


def _keys(knobs: tuple[Knob, ...], tile: int, mirrored: bool) -> tuple[Key, ...]:
    seen = (key_of_tile(knob, tile, mirrored=mirrored) for knob in knobs)
    return tuple(key for key in seen if key is not None)


def _lip_land(pack: Pack) -> Check:
    """How far the lip reaches over a can that lies against its pocket's side."""
    land = (pack.cell.diameter_mm - pack.holder.window_mm - pack.holder.clearance_mm) / 2
    return _check(
        "lip_land_mm",
        "lip overlap over the can's edge, the can shifted to one side",
        land,
        WEB_LINES * pack.printer.nozzle_mm,
        "a smaller holder.window_mm",
    )


def _seam_web_mm(pack: Pack, arrangement: Arrangement, pairs: NDArray[np.int64]) -> float:
    xy = arrangement.xy_mm
    return float(np.hypot(*(xy[pairs[:, 0]] - xy[pairs[:, 1]]).T).min()) - pack.pocket_mm


def _groove_land(
    pack: Pack, arrangement: Arrangement, tiles: tuple[HolderTile, ...]
) -> list[Check]:
    webs = [
        _seam_web_mm(pack, arrangement, seam.pairs)
        for seam in arrangement.seams
        if seam.barrier and len(seam.pairs)
    ]
    if not webs:
        return []
    land = (min(webs) - GROOVE_MM) / 2 - tiles[0].lead_in_mm
    return [
        _check(
            "groove_land_mm",
            "land between a barrier's groove and the mouth of a pocket",
            land,
            LAND_LEAST_MM,
            "a larger holder.web_mm: the seam needs more width",
        )
    ]


def _tile_checks(arrangement: Arrangement, tiles: tuple[HolderTile, ...]) -> list[Check]:
    """Two interlock tabs on every seam between tiles, on both faces; posts have notes."""
    count = {}
    for face in (Face.LOWER, Face.UPPER):
        mine = [tile for tile in tiles if tile.face is face]
        for seam, gaps in seam_count(arrangement).items():
            if not gaps:  # two cells side by side, at a corner where four tiles meet
                continue
            shared = sum(
                any(_same(key, other) for other in mine[seam[1]].keys) for key in mine[seam[0]].keys
            )
            # a seam too short for two gaps requires what it has
            count[face, seam] = (shared, min(LEAST_KNOBS, gaps))
    if not count:
        return []
    face, seam = min(count, key=lambda one: (count[one][0] - count[one][1], one[1], one[0].value))
    have, need = count[face, seam]
    where = f"{face.value} face, tiles {seam[0] + 1} and {seam[1] + 1}"
    holds = have >= need
    return [
        Check(
            id="tile_keys",
            about="interlock tabs between two holder tiles, fewest on a seam",
            holds=holds,
            value=float(have),
            limit=float(need),
            unit="",
            source=PRACTICE,
            how_to_mend="" if holds else "narrower strips, a larger web, or a larger bed",
            where=where,
        )
    ]


def _same(a: Key, b: Key) -> bool:
    """Whether two are tab and socket of each other."""
    return a.knob is not b.knob and (a.x_mm, a.y_mm) == (b.x_mm, b.y_mm)
