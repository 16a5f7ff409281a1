"""Strip channels and what stands on them: rectangles in the plan, play included."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.holders.outline import Outline, exit_mm
from layouts.pack import Face, Lattice, Pack
from layouts.strips.joining import Interconnect, Strip
from layouts.strips.lip import notch_mm
from layouts.strips.lip_left import channel_of

__all__ = [
    "bars_mm",
    "box_along_mm",
    "channels_mm",
    "cut_shapes",
    "cuts_mm",
    "notches_mm",
    "pegs_mm",
    "plate_channels",
    "strip_channel_mm",
    "web_line",
    "web_to_wall",
]

BAR_CLEAR_MM = 0.05  # a bar keeps so far from both pockets: their walls stay two curves
BAR_OVER_MM = 0.8  # a bar is held by two lines of web on each side of the channel
BAR_LEAST_MM = 1.0  # a shorter stretch of web needs none: three lines
NOTCH_IN_MM = 1.0  # a notch begins so far inside its window: no sliver of lip stays between
PAST_OUTLINE_MM = 1.0  # a lead exit's channel and bar end clear of the outline
# cells up to so much further from a gap's middle than the nearest are at it: those beyond a seam,
# which may be wider, too; cells of the next gap lie at more than 1.9 times
GAP_FACTOR = 1.3
AT_GAP = 3  # cells round a gap, at least


def box_along_mm(
    start: NDArray[np.float64], end: NDArray[np.float64], width_mm: float
) -> NDArray[np.float64]:
    """(4, 2) corners of a rectangle along start-end, counter-clockwise."""
    along = (end - start) / np.hypot(*(end - start))
    across = np.array([-along[1], along[0]]) * width_mm / 2
    return np.array([start - across, end - across, end + across, start + across])


def strip_channel_mm(
    pack: Pack, strip: Strip, outline: Outline | None = None
) -> NDArray[np.float64]:
    """(4, 2) channel of one strip: play all round; a lead exit reaches past the outline."""
    play = pack.holder.channel_play_mm
    start, end = np.asarray(strip.start_mm), np.asarray(strip.end_mm)
    unit = (end - start) / np.hypot(*(end - start))
    past = play / 2
    if strip.runs_out and outline is not None:
        way = exit_mm(outline, (float(start[0]), float(start[1])), (float(unit[0]), float(unit[1])))
        short = 0.0 if way is None else way + PAST_OUTLINE_MM - float(np.hypot(*(end - start)))
        past = max(past, short)
    return box_along_mm(start - unit * play / 2, end + unit * past, strip.width_mm + play)


def channels_mm(
    pack: Pack, strips: Iterable[Strip], outline: Outline | None = None
) -> NDArray[np.float64]:
    """(m, 4, 2) channels of several strips, in their order."""
    quads = [strip_channel_mm(pack, strip, outline) for strip in strips]
    return np.array(quads) if quads else np.zeros((0, 4, 2))


def notches_mm(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, face: Face, outline: Outline
) -> NDArray[np.float64]:
    """(t, 4, 2) notches of one face's balance leads, from their window to past the outline."""
    quads, wide = [], notch_mm(pack)
    for balance_lead in interconnect.balance_leads:
        if balance_lead.face is not face or not balance_lead.notch:
            continue
        x, y = cell_layout.xy_mm[balance_lead.cell].tolist()
        way = exit_mm(outline, (x, y), (1.0, 0.0))
        if way is None:
            raise ValueError(f"tap {balance_lead.number}: its cell lies outside the outline")
        inside = math.sqrt((pack.holder.window_mm / 2) ** 2 - (wide / 2) ** 2)
        start = np.array([x + inside - NOTCH_IN_MM, y])
        quads.append(box_along_mm(start, np.array([x + way + PAST_OUTLINE_MM, y]), wide))
    return np.array(quads) if quads else np.zeros((0, 4, 2))


def cuts_mm(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    outline: Outline,
    faces: Iterable[Face] = (Face.LOWER, Face.UPPER),
) -> NDArray[np.float64]:
    """(m, 4, 2) all that is open through the lip of some faces: strips' channels, then notches."""
    faces = tuple(faces)
    strips = channels_mm(pack, (s for s in interconnect.strips if s.face in faces), outline)
    notches = [notches_mm(pack, cell_layout, interconnect, face, outline) for face in faces]
    return np.concatenate([strips, *notches])


def plate_channels(pack: Pack, interconnect: Interconnect, face: Face) -> list[shapely.Polygon]:
    """The channels of one face's plates, play all round; holes in them are for lip to stand in.

    They go as far as the plates do: tails and bars leave the holder through its wall."""
    play = pack.holder.channel_play_mm / 2
    return [
        shapely.Polygon(shapely.get_exterior_ring(channel_of(plate.shape, play)))
        for plate in interconnect.plates
        if plate.face is face
    ]


def pegs_mm(pack: Pack, interconnect: Interconnect, face: Face) -> list[shapely.Polygon]:
    """The lip that stands in the holes of one face's plates: round punches, and posts."""
    play = pack.holder.channel_play_mm / 2
    return [
        shapely.Polygon(ring)
        for plate in interconnect.plates
        if plate.face is face
        for ring in channel_of(plate.shape, play).interiors
    ]


def cut_shapes(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    outline: Outline,
    faces: Iterable[Face] = (Face.LOWER, Face.UPPER),
) -> NDArray[np.object_]:
    """(m,) all that is open through the lip of some faces, as shapes: strips' channels and notches,
    then plates' channels."""
    faces = tuple(faces)
    quads = shapely.polygons(cuts_mm(pack, cell_layout, interconnect, outline, faces))
    play = pack.holder.channel_play_mm / 2
    plates = [
        channel_of(plate.shape, play)
        for face in faces
        for plate in interconnect.plates
        if plate.face is face
    ]
    return np.array([*quads.tolist(), *plates], dtype=np.object_)


def bars_mm(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, face: Face, outline: Outline
) -> NDArray[np.float64]:
    """(b, 4, 2) straight bars of one face: one in each web under a channel, one under each lead
    exit.

    A bar lies across its strip and carries the first layers of the web, which would else be
    printed as arcs in the air. Where two strips share a web, the wider one counts.
    """
    play, xy = pack.holder.channel_play_mm, cell_layout.xy_mm
    widest: dict[tuple[int, int], float] = {}
    quads = []
    for strip in interconnect.strips:
        if strip.face is not face:
            continue
        width = strip.width_mm + play
        for i, j in strip.links:
            pair = (min(i, j), max(i, j))
            widest[pair] = max(width, widest.get(pair, 0.0))
        if strip.runs_out:
            quads.append(_lead_exit_bar(pack, xy[strip.cells[-1]], strip, outline))
    quads += _bars_under_plates(pack, cell_layout, interconnect, face, outline)
    for (i, j), width in sorted(widest.items()):
        between = xy[j] - xy[i]
        apart = float(np.hypot(*between))
        middle, unit = (xy[i] + xy[j]) / 2, between / apart
        across = np.array([-unit[1], unit[0]]) * (width / 2 + BAR_OVER_MM)
        thick = apart - pack.pocket_mm - 2 * BAR_CLEAR_MM
        quads.append(box_along_mm(middle - across, middle + across, thick))
    return np.array(quads) if quads else np.zeros((0, 4, 2))


def _lead_exit_bar(
    pack: Pack, last: NDArray[np.float64], strip: Strip, outline: Outline
) -> NDArray[np.float64]:
    """Bar under a lead exit, from its last pocket through the holder's wall."""
    way = np.asarray(strip.end_mm) - np.asarray(strip.start_mm)
    unit = way / np.hypot(*way)
    far = exit_mm(outline, (float(last[0]), float(last[1])), (float(unit[0]), float(unit[1])))
    if far is None:
        raise ValueError(f"strip {strip.name}: its last cell lies outside the outline")
    near = pack.pocket_mm / 2 + BAR_CLEAR_MM
    width = strip.width_mm + pack.holder.channel_play_mm + 2 * BAR_OVER_MM
    return box_along_mm(last + unit * near, last + unit * (far + PAST_OUTLINE_MM), width)


def _bars_under_plates(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    face: Face,
    outline: Outline,
) -> list[NDArray[np.float64]]:
    """A bar in each web that crosses a plate's channel, from what it stands on to what it reaches.

    A web runs between two pockets, at right angles to the line of their centres, from gap to gap;
    at the edge of the holder on through its wall, which begins on the bar.
    """
    xy = cell_layout.xy_mm
    found = []
    for plate, channel in zip(
        [plate for plate in interconnect.plates if plate.face is face],
        plate_channels(pack, interconnect, face),
        strict=True,
    ):
        shapely.prepare(channel)
        for i, j in _touching(cell_layout, plate.cells):
            apart = float(np.hypot(*(xy[j] - xy[i])))
            web = web_to_wall(pack, xy, (i, j), outline)
            for part in shapely.get_parts(shapely.intersection(web, channel)):
                if part.length < BAR_LEAST_MM:
                    continue
                ends = shapely.get_coordinates(part)[[0, -1]]
                along = (ends[1] - ends[0]) / part.length * BAR_OVER_MM
                thick = apart - pack.pocket_mm - 2 * BAR_CLEAR_MM
                found.append(box_along_mm(ends[0] - along, ends[1] + along, thick))
    return found


def web_line(pack: Pack, ends_mm: NDArray[np.float64]) -> shapely.LineString:
    """The middle of the web between two touching cells (2, 2), from gap to gap."""
    between = ends_mm[1] - ends_mm[0]
    root = math.sqrt(3.0) if pack.lattice is Lattice.HONEYCOMB else 1.0
    across = np.array([-between[1], between[0]]) / (2.0 * root)
    middle = ends_mm.mean(axis=0)
    return shapely.LineString([middle - across, middle + across])


def web_to_wall(
    pack: Pack, xy_mm: NDArray[np.float64], pair: Sequence[int], outline: Outline
) -> shapely.LineString:
    """As ``web_line`` for a pair of cells (n, 2); on past the outline where no gap ends it.

    ``outline``: of the holder, in the plan of ``xy_mm``."""
    ends = xy_mm[list(pair)]
    web = shapely.get_coordinates(web_line(pack, ends))
    middle = web.mean(axis=0)
    for k, end in enumerate(web):
        away = np.hypot(*(xy_mm - end).T)
        reach = float(np.hypot(*(end - ends[0]))) * GAP_FACTOR
        if int((away <= reach).sum()) >= AT_GAP:
            continue
        half = float(np.hypot(*(end - middle)))
        x, y = ((end - middle) / half).tolist()
        way = exit_mm(outline, (float(middle[0]), float(middle[1])), (x, y), last=False)
        if way is None or not half < way <= half + pack.pitch_mm / 2:
            continue  # a recess that other pockets lie round, or far more than a wall
        past = middle + (way + PAST_OUTLINE_MM) * np.array([x, y])
        beyond = shapely.distance(shapely.LineString([end, past]), shapely.points(xy_mm))
        if float(beyond.min()) > pack.pocket_mm / 2:
            web[k] = past
    return shapely.LineString(web)


def _touching(cell_layout: CellLayout, cells: tuple[int, ...]) -> list[tuple[int, int]]:
    """Touching pairs among some cells."""
    mine = np.isin(cell_layout.neighbours.reshape(-1, 2), list(cells)).all(axis=1)
    return [(int(i), int(j)) for i, j in cell_layout.neighbours.reshape(-1, 2)[mine]]
