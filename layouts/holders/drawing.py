"""One holder end as a body of slabs, outer face down on the bed.

From below: screw recesses and signs in the outer face; the lip, cut through by windows and strip
channels, with ring seats on positive ends; the webs' floors behind the can ends, bars under them;
pockets, their lead-in; tie posts. Which cell, strip and post stand where is decided in ``layouts``.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.holders.holder import HolderTile, SupportPin
from layouts.holders.levels import HolderHeights, hexagon_mm, holder_heights, slot_half_mm
from layouts.holders.polarity_marks import PlacedMarks, place_signs, sign_loops
from layouts.holders.tile_plan import LipPiece, lip_pieces, tab_neck_mm
from layouts.pack import Face
from layouts.parts.drawing import Drawing, drawing_of
from layouts.parts.feature import Effect, Feature
from layouts.parts.part import Part
from layouts.slabs.profile import Arc, Loop, circle, polygon
from layouts.slabs.slabs import Cone, Engraved

__all__ = [
    "_support_pin_note",
    "holder_drawing",
    "holder_features",
    "holder_part",
    "holder_placement",
    "outline_loop",
]

COLOURS = {Face.LOWER: (0.55, 0.60, 0.64), Face.UPPER: (0.75, 0.79, 0.82)}
# Regions in the order in which their vertices are numbered
ORDER = (
    "outline", "mask", "socket", "window", "positive", "negative", "channel", "plate", "peg",
    "bar", "dropped", "groove", "post", "hole", "recess", "slot", "square",
)  # fmt: skip
PLACES_TOLD = 4  # in a print note
FIELD = "holder"  # of the pack file: its sizes come from there
PRINT_NOTE = (
    "outer face down (as in the file), no support; webs over channels are bridges: print them "
    "slowly; set the slicer's elephant's-foot compensation to 0.1 to 0.2 mm, or polarity marks "
    "and channels close up"
)


def outline_loop(tile: HolderTile) -> Loop:
    """The cell block's outline as one loop of tangent arcs."""
    arcs = tile.outline.arcs
    return tuple(Arc(arc.centre_mm, arc.radius_mm, arc.start_rad, arc.sweep_rad) for arc in arcs)


def holder_drawing(
    tile: HolderTile,
    *,
    pieces: tuple[LipPiece, ...] | None = None,
    placed: PlacedMarks | None = None,
) -> Drawing:
    """The tile drawn, outer face on z = 0, pockets opening upwards.

    ``pieces``, ``placed``: the lip's pieces and the signs where they are known already, else
    they are worked out. Raises SolidError (from the engine) for shapes that touch each other.
    """
    pieces = lip_pieces(tile) if pieces is None else pieces
    placed = place_signs(tile, pieces) if placed is None else placed
    heights = holder_heights(tile)
    radius = tile.pocket_mm / 2
    cones = (
        [Cone((float(x), float(y)), radius, radius + tile.lead_in_mm) for x, y in tile.xy_mm]
        if tile.lead_in_mm > 0
        else []
    )
    return drawing_of(
        holder_features(tile, pieces, heights),
        part=tile.name,
        field=FIELD,
        cones=cones,
        cones_z0_mm=heights.mouth_mm if cones else None,
        engraved=[
            Engraved(loops, tile.sign_deep_mm)
            for text in placed.texts
            for loops in sign_loops(text)
        ],
        order=ORDER,
    )


def holder_features(
    tile: HolderTile, pieces: tuple[LipPiece, ...], heights: HolderHeights
) -> tuple[Feature, ...]:
    """The tile's features in their order.

    A recess's ceiling would hang in the air round the screw hole: its first layer leaves a slot
    across the recess, the second a square, and only then the round hole follows.
    """
    regions, h = _regions(tile, pieces), heights
    cut, keep = Effect.CUT, Effect.KEEP

    def one(
        name: str, z0_mm: float, z1_mm: float, effect: Effect = Effect.ADD, within: str = ""
    ) -> Feature:
        return Feature(
            name=name, loops=tuple(regions[name]), z0_mm=z0_mm, z1_mm=z1_mm, effect=effect,
            within=within,
        )  # fmt: skip

    found = [
        one("outline", 0.0, h.top_mm),
        one("channel", 0.0, h.bar_mm, cut),
        one("plate", 0.0, h.bar_mm, cut),
        one("peg", 0.0, h.bar_mm, within="outline"),
        one("bar", h.web_mm, h.bar_mm, within="outline"),
        one("dropped", 0.0, h.web_mm, cut),
        one("dropped", h.web_mm, h.bar_mm, within="outline"),
        one("mask", 0.0, h.top_mm, keep),
        one("socket", 0.0, h.top_mm, cut),
        one("window", 0.0, tile.lip_mm, cut),
        one("positive", h.seat_mm, h.top_mm, cut),
        one("negative", tile.lip_mm, h.top_mm, cut),
        one("groove", h.groove_mm, h.top_mm, cut),
        one("post", h.top_mm, h.end_mm),
        one("recess", 0.0, h.recess_mm, cut),
        one("slot", h.recess_mm, h.slot_mm, cut, within="recess"),
        one("square", h.slot_mm, h.square_mm, cut),
        one("hole", h.square_mm, h.end_mm, cut),
    ]
    return tuple(feature for feature in found if feature.z1_mm > feature.z0_mm)


def _regions(tile: HolderTile, pieces: tuple[LipPiece, ...]) -> dict[str, list[Loop]]:
    """All regions of the plan by name; empty ones too."""
    cells = [
        ((float(x), float(y)), bool(p))
        for (x, y), p in zip(tile.xy_mm, tile.positive_end, strict=True)
    ]
    posts = [((post.x_mm, post.y_mm), post.radius_mm) for post in tile.posts]
    holes = tile.screw_hole_diameter_mm > 0
    recess = holes and tile.recess_mm > 0 and tile.recess_deep_mm > 0
    half = slot_half_mm(tile)
    reach = tile.recess_mm  # slots reach beyond any recess; the recess cuts them off
    dropped = [piece.shape for piece in pieces if piece.dropped]
    tabs = {
        is_tab: [
            loop
            for tab in tile.tabs
            if tab.is_tab is is_tab
            for loop in (circle((tab.x_mm, tab.y_mm), tab.radius_mm), _quad(tab_neck_mm(tab)))
        ]
        for is_tab in (True, False)
    }
    return {
        "outline": [outline_loop(tile)],
        "mask": [] if tile.mask_mm is None else [_quad(tile.mask_mm), *tabs[True]],
        "socket": tabs[False],
        "window": [circle(xy, tile.window_mm / 2) for xy, _ in cells],
        "positive": [circle(xy, tile.pocket_mm / 2) for xy, plus in cells if plus],
        "negative": [circle(xy, tile.pocket_mm / 2) for xy, plus in cells if not plus],
        "channel": [_quad(quad) for quad in tile.channels],
        "plate": [_quad(ring) for ring in tile.plate_channels],
        "peg": [_quad(ring) for ring in tile.pegs],
        "bar": [_quad(quad) for quad in tile.bars],
        "dropped": [loop for shape in dropped for loop in _polygon_loops(shape)],
        "groove": [_quad(quad) for quad in tile.grooves],
        "post": [circle(xy, radius) for xy, radius in posts],
        "hole": [circle(xy, tile.screw_hole_diameter_mm / 2) for xy, _ in posts if holes],
        "recess": [_recess_loop(tile, xy) for xy, _ in posts if recess],
        "slot": [_box(xy, half, reach) for xy, _ in posts if recess],
        "square": [_box(xy, half, half) for xy, _ in posts if recess],
    }


def _recess_loop(tile: HolderTile, centre: tuple[float, float]) -> Loop:
    """Round for a screw's head in the upper holder, six flats for the nut in the lower one."""
    if tile.face is Face.UPPER:
        return circle(centre, tile.recess_mm / 2)
    return _quad(hexagon_mm(tile.recess_mm) + np.asarray(centre))


def _box(centre: tuple[float, float], half_x: float, half_y: float) -> Loop:
    x, y = centre
    return polygon(
        [
            (x - half_x, y - half_y),
            (x + half_x, y - half_y),
            (x + half_x, y + half_y),
            (x - half_x, y + half_y),
        ]
    )


def _quad(points: NDArray[np.float64]) -> Loop:
    """A straight-edged loop through (k, 2) points."""
    return polygon([(float(x), float(y)) for x, y in points])


def _polygon_loops(shape: BaseGeometry) -> list[Loop]:
    """Outer loop of a polygon; dropped pieces are small and hold nothing within them."""
    return [_quad(shapely.get_coordinates(shapely.get_exterior_ring(shape))[:-1])]


def holder_placement(tile: HolderTile, *, lip_to_lip_mm: float) -> NDArray[np.float64]:
    """(4, 4) from the tile's file to the assembly: z = 0 is the plane of the lower can ends.

    Lower: down by the lip. Upper: half a turn about y, then up to its outer face.
    """
    matrix = np.eye(4)
    if tile.face is Face.LOWER:
        matrix[2, 3] = -tile.lip_mm
    else:
        matrix[0, 0] = matrix[2, 2] = -1.0
        matrix[2, 3] = lip_to_lip_mm + tile.lip_mm
    return matrix


def holder_part(tile: HolderTile, *, lip_to_lip_mm: float) -> Part:
    """The tile as a part: its drawing and its place in the assembly."""
    pieces = lip_pieces(tile)
    placed = place_signs(tile, pieces)
    note = PRINT_NOTE
    if placed.unmarked:
        note += (
            f"; no space for a polarity mark at {len(placed.unmarked)} of {len(tile.xy_mm)} pockets"
        )
    if tile.support_pins:
        note += f"; {_support_pin_note(len(tile.support_pins))}"
    if tile.hanging_mm:
        note += f"; {_hanging_note(tile.hanging_mm)}"
    return Part(
        name=tile.name,
        field=FIELD,
        role="holder_lower" if tile.face is Face.LOWER else "holder_upper",
        drawing=holder_drawing(tile, pieces=pieces, placed=placed),
        placed=(holder_placement(tile, lip_to_lip_mm=lip_to_lip_mm),),
        colour=COLOURS[tile.face],
        print_note=note,
        supports=tuple(_pin_drawing(pin, tile.name) for pin in tile.support_pins),
    )


def _support_pin_note(count: int) -> str:
    """What a builder does with the pins of one print."""
    return (
        f"support pins: {count} loose pins are in the file, under webs that would hang too far; "
        "print them with it, lift them off before use, and check that none stays in a channel"
    )


def _hanging_note(places_mm: Sequence[tuple[float, float]]) -> str:
    """What the slicer has to support."""
    at = ", ".join(f"({x:.0f}, {y:.0f})" for x, y in places_mm[:PLACES_TOLD])
    more = len(places_mm) - PLACES_TOLD
    at += f" and {more} more" if more > 0 else ""
    return f"webs hang far over a channel at {at}: use the slicer's support in channels there"


def _pin_drawing(pin: SupportPin, part: str) -> Drawing:
    """A pin as a body of its own, in the tile's file."""
    column = Feature(
        name="support_pin",
        loops=(circle((pin.x_mm, pin.y_mm), pin.diameter_mm / 2),),
        z0_mm=0.0,
        z1_mm=pin.high_mm,
    )
    return drawing_of([column], part=f"a support pin of {part}", field=FIELD)
