"""From the solved pack to every holder tile's plan, and the checks of its walls."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from layouts.cells.arrangement import CellLayout
from layouts.cells.cuts import LEAST_INTERLOCKS
from layouts.checks import Check
from layouts.holders.barriers import GROOVE_LAND_MM, GROOVE_MM, barrier_line_mm, groove_quads_mm
from layouts.holders.channels import bars_mm, cut_shapes, cuts_mm, pegs_mm, plate_channels
from layouts.holders.fastening import CellBlock
from layouts.holders.holder import HolderTile, InterlockTab, Post
from layouts.holders.keys import (
    TileInterlock,
    choose_interlocks,
    seam_count,
    tab_of_tile,
)
from layouts.holders.outline import mirrored_outline
from layouts.holders.polarity_marks import sign_deep_mm
from layouts.holders.support_pins import with_support_pins
from layouts.pack import FINE_LAYER_MM, Face, Pack
from layouts.parts.tie_screw import lead_in_deep_mm, lead_in_mm, tie_screw
from layouts.parts.whole_layers import layers_down_mm
from layouts.strips.joining import Interconnect
from layouts.strips.lip import positive_end

__all__ = ["holder_checks", "holder_tiles", "number_cells"]

PRACTICE = "common practice, no source"
ALL_NUMBERED = 200  # cells; above this numbers stand at row ends only; common practice
# Lines of the nozzle that a web between pockets needs: public design rules of filament printing ask
# for 1.2 mm with a nozzle of 0.4 where a wall carries something, 0.8 at least anywhere
WEB_LINES = 3
LAND_LEAST_MM = 0.4  # one line of a 0.4 nozzle
LEVEL_MM = 1e-6  # float noise in sums of millimetres

TilePolygons = Sequence[NDArray[np.float64] | None]


def holder_tiles(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    cell_block: CellBlock,
    tile_polygons: TilePolygons,
) -> tuple[HolderTile, ...]:
    """Every tile of the lower, then of the upper holder, each in the plan of its part file.

    ``tile_polygons``: one (k, 2) polygon a tile in pack coordinates, counter-clockwise,
    ``[None]`` for a holder in one piece. The upper holder's plan is mirrored in x. Raises
    ValueError where there are more or fewer polygons than tiles.
    """
    count = int(cell_layout.tile.max()) + 1
    if len(tile_polygons) != count:
        raise ValueError(f"tile_polygons: {len(tile_polygons)} given for {count} tiles")
    grooves = _grooves(pack, cell_layout, cell_block)
    return tuple(
        with_support_pins(pack, cell_layout, tile)
        for face in (Face.LOWER, Face.UPPER)
        for tile in _face_tiles(
            pack, cell_layout, interconnect, cell_block, tile_polygons, grooves, face
        )
    )


def number_cells(cell_layout: CellLayout) -> NDArray[np.bool_]:
    """(N,) cells whose group number is cut beside the sign: all, or row ends above 200 cells."""
    count = len(cell_layout.xy_mm)
    if count <= ALL_NUMBERED:
        return np.ones(count, dtype=np.bool_)
    chosen = np.zeros(count, dtype=np.bool_)
    order = np.lexsort((cell_layout.sites[:, 0], cell_layout.sites[:, 1], cell_layout.group))
    key = np.column_stack([cell_layout.group, cell_layout.sites[:, 1]])[order]
    new = np.any(np.diff(key, axis=0) != 0, axis=1)
    chosen[order[np.append(True, new)]] = True
    chosen[order[np.append(new, True)]] = True
    return chosen


def tile_lead_in_mm(pack: Pack, cell_layout: CellLayout) -> float:
    """Lead-in of all pockets: less than usual where a barrier's groove needs the width."""
    width = lead_in_mm(pack)
    for seam in cell_layout.seams:
        if seam.barrier and len(seam.pairs):
            web = _seam_web_mm(pack, cell_layout, seam.pairs)
            width = min(width, (web - GROOVE_MM) / 2 - GROOVE_LAND_MM)
    return max(0.0, width)


def holder_checks(
    pack: Pack,
    cell_layout: CellLayout,
    tiles: tuple[HolderTile, ...],
) -> tuple[Check, ...]:
    """Webs, lands at the pockets' mouths and at barriers, posts and interlock tabs of tiles."""
    xy = cell_layout.xy_mm
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
    checks += _groove_land(pack, cell_layout, tiles)
    if int(cell_layout.tile.max()) > 0:
        checks += _tile_checks(cell_layout, tiles)
    return tuple(checks)


def _check(id: str, about: str, value: float, limit: float, remedy: str, where: str = "") -> Check:
    holds = value >= limit - LEVEL_MM
    return Check(
        id=id,
        about=about,
        holds=holds,
        value=value,
        limit=limit,
        unit="mm",
        source=PRACTICE,
        remedy="" if holds else remedy,
        where=where,
    )


def _grooves(pack: Pack, cell_layout: CellLayout, cell_block: CellBlock) -> NDArray[np.float64]:
    """(g, 4, 2) grooves of all barriers, in pack coordinates."""
    quads = [
        groove_quads_mm(barrier_line_mm(pack, cell_layout, seam, cell_block.outline))
        for seam in cell_layout.seams
        if seam.barrier and len(seam.pairs)
    ]
    return np.concatenate(quads) if quads else np.zeros((0, 4, 2))


def _face_tiles(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    cell_block: CellBlock,
    polygons: TilePolygons,
    grooves: NDArray[np.float64],
    face: Face,
) -> list[HolderTile]:
    mirrored = face is Face.UPPER
    outline = mirrored_outline(cell_block.outline) if mirrored else cell_block.outline
    channels = cuts_mm(pack, cell_layout, interconnect, cell_block.outline, (face,))
    bars = bars_mm(pack, cell_layout, interconnect, face, cell_block.outline)
    interlocks = _knobs(pack, cell_layout, interconnect, cell_block, grooves, face, len(polygons))
    plates, pegs = plate_channels(pack, interconnect, face), pegs_mm(pack, interconnect, face)
    of_channels, of_bars, of_grooves = _Quads(channels), _Quads(bars), _Quads(grooves)
    positive, numbered = positive_end(cell_layout, face), number_cells(cell_layout)
    carrier, screw = _post_tiles(cell_layout, cell_block), tie_screw(pack)
    made = []
    for index, polygon in enumerate(polygons):
        cells = np.flatnonzero(cell_layout.tile == index)
        shape = None if polygon is None else shapely.Polygon(polygon)
        made.append(
            HolderTile(
                name=f"holder-{face.value}" + (f"-{index + 1}" if shape is not None else ""),
                face=face,
                index=index,
                cells=cells,
                xy_mm=_points(cell_layout.xy_mm[cells], mirrored),
                positive_end=positive[cells],
                group=cell_layout.group[cells],
                number_cells=numbered[cells],
                outline=outline,
                mask_mm=None if polygon is None else _quads(polygon[None], mirrored)[0],
                channels=_quads(of_channels.touching(shape), mirrored),
                bars=_quads(of_bars.touching(shape), mirrored),
                grooves=_quads(of_grooves.touching(shape), mirrored),
                posts=_posts(cell_block, carrier, index, mirrored),
                tabs=_tabs(interlocks, index, mirrored),
                pocket_mm=pack.pocket_mm,
                window_mm=pack.holder.window_mm,
                lip_mm=pack.holder.lip_mm,
                seat_mm=pack.holder.seat_mm,
                depth_mm=pack.holder.depth_mm,
                web_recess_mm=pack.holder.web_recess_mm,
                bar_mm=pack.holder.bar_mm,
                lead_in_mm=tile_lead_in_mm(pack, cell_layout),
                lead_in_deep_mm=lead_in_deep_mm(pack.printer.layer_mm),
                post_high_mm=pack.holder.lip_mm + _half_stack_mm(pack, face),
                screw_hole_diameter_mm=screw.hole_diameter_mm,
                recess_mm=screw.head_hole_diameter_mm if mirrored else screw.nut_flats_mm,
                recess_deep_mm=screw.head_recess_mm if mirrored else screw.nut_recess_mm,
                sign_deep_mm=sign_deep_mm(pack),
                line_mm=pack.printer.line_wide_mm,
                layer_mm=pack.printer.layer_mm,
                plate_channels=_rings_in(plates, shape, mirrored),
                pegs=_rings_in(pegs, shape, mirrored),
            )
        )
    return made


def _half_stack_mm(pack: Pack, face: Face) -> float:
    """From a holder's lip to the end of its posts: half the distance of the lips, in thick layers
    whole ones, the odd one on the upper holder."""
    stack_mm, layer_mm = pack.lip_to_lip_mm, pack.printer.layer_mm
    if layer_mm <= FINE_LAYER_MM:
        return stack_mm / 2
    lower_mm = layers_down_mm(stack_mm / 2, layer_mm)
    return lower_mm if face is Face.LOWER else stack_mm - lower_mm


def _knobs(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    cell_block: CellBlock,
    grooves: NDArray[np.float64],
    face: Face,
    tiles: int,
) -> tuple[TileInterlock, ...]:
    """Interlock tabs on the seams between tiles; none for a holder in one piece."""
    if tiles <= 1:
        return ()
    channels = cut_shapes(pack, cell_layout, interconnect, cell_block.outline, (face,))
    return choose_interlocks(
        pack, cell_layout, channels=channels, grooves=grooves, posts=cell_block.posts
    )


def _posts(
    cell_block: CellBlock, carrier: list[int], tile: int, mirrored: bool
) -> tuple[Post, ...]:
    """Posts of one tile in its plan."""
    return tuple(
        _post(post, mirrored)
        for post, own in zip(cell_block.posts, carrier, strict=True)
        if own == tile
    )


def _post_tiles(cell_layout: CellLayout, cell_block: CellBlock) -> list[int]:
    """Tile that carries each post: that of the nearest cell."""
    if not cell_block.posts:
        return []
    points = [(post.x_mm, post.y_mm) for post in cell_block.posts]
    return [int(t) for t in cell_layout.tile[cKDTree(cell_layout.xy_mm).query(points)[1]]]


def _points(xy: NDArray[np.float64], mirrored: bool) -> NDArray[np.float64]:
    return xy * np.array([-1.0, 1.0]) if mirrored else xy.copy()


def _quads(quads: NDArray[np.float64], mirrored: bool) -> NDArray[np.float64]:
    """(m, k, 2) loops, counter-clockwise again where they are mirrored."""
    flip = np.array([-1.0, 1.0])
    plan = (quads * flip)[:, ::-1] if mirrored else quads.copy()
    return np.asarray(plan, dtype=np.float64)


def _rings_in(
    plates: Sequence[shapely.Polygon], shape: shapely.Polygon | None, mirrored: bool
) -> tuple[NDArray[np.float64], ...]:
    """(k, 2) outlines of the shapes that share area with a tile, in its plan, counter-clockwise."""
    mine = [
        plate
        for plate in plates
        if shape is None or shapely.area(shapely.intersection(plate, shape)) > LEVEL_MM
    ]
    rings = [shapely.get_coordinates(shapely.orient_polygons(plate))[:-1] for plate in mine]
    return tuple(_quads(ring[None], mirrored)[0] for ring in rings)


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


def _tabs(
    interlocks: tuple[TileInterlock, ...], tile: int, mirrored: bool
) -> tuple[InterlockTab, ...]:
    seen = (tab_of_tile(interlock, tile, mirrored=mirrored) for interlock in interlocks)
    return tuple(tab for tab in seen if tab is not None)


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


def _seam_web_mm(pack: Pack, cell_layout: CellLayout, pairs: NDArray[np.int64]) -> float:
    xy = cell_layout.xy_mm
    return float(np.hypot(*(xy[pairs[:, 0]] - xy[pairs[:, 1]]).T).min()) - pack.pocket_mm


def _groove_land(pack: Pack, cell_layout: CellLayout, tiles: tuple[HolderTile, ...]) -> list[Check]:
    webs = [
        _seam_web_mm(pack, cell_layout, seam.pairs)
        for seam in cell_layout.seams
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


def _tile_checks(cell_layout: CellLayout, tiles: tuple[HolderTile, ...]) -> list[Check]:
    """Two interlock tabs on every seam between tiles, on both faces; posts have notes."""
    count = {}
    for face in (Face.LOWER, Face.UPPER):
        mine = [tile for tile in tiles if tile.face is face]
        for seam, gaps in seam_count(cell_layout).items():
            if not gaps:  # two cells side by side, at a corner where four tiles meet
                continue
            shared = sum(
                any(_same(tab, other) for other in mine[seam[1]].tabs) for tab in mine[seam[0]].tabs
            )
            # a seam too short for two gaps requires what it has
            count[face, seam] = (shared, min(LEAST_INTERLOCKS, gaps))
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
            remedy=""
            if holds
            else "narrower strips, a larger holder.web_mm, or a larger printer.bed_mm",
            where=where,
        )
    ]


def _same(a: InterlockTab, b: InterlockTab) -> bool:
    """Whether two are tab and socket of each other."""
    return a.is_tab is not b.is_tab and (a.x_mm, a.y_mm) == (b.x_mm, b.y_mm)
