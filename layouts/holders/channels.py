"""Strip channels and what stands on them: rectangles in the plan, play included."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.holders.outline import Outline, exit_mm
from layouts.pack import Face, Pack
from layouts.strips.joining import Interconnect, Strip
from layouts.strips.lip import notch_mm

__all__ = [
    "bars_mm",
    "box_along_mm",
    "channels_mm",
    "cuts_mm",
    "notches_mm",
    "strip_channel_mm",
]

BAR_CLEAR_MM = 0.05  # a bar keeps so far from both pockets: their walls stay two curves
BAR_OVER_MM = 0.8  # a bar is held by two lines of web on each side of the channel
NOTCH_IN_MM = 1.0  # a notch begins so far inside its window: no sliver of lip stays between
PAST_OUTLINE_MM = 1.0  # a lead exit's channel and bar end clear of the outline


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
