"""Limits of what a usual printer prints without support, and where each comes from.

All for a nozzle that lays lines of plastic from below: common practice, no source, unless a line
says judged.
"""

from __future__ import annotations

__all__ = [
    "BRIDGE_FAILS_MM",
    "BRIDGE_WARNS_MM",
    "FLOOR_LAYERS",
    "FREE_MM2",
    "FREE_SHARE",
    "LEANING_MM2",
    "LEAN_DEG",
    "PRACTICE",
    "THIN_FLOOR_MM2",
]

PRACTICE = "common practice, no source"
LEAN_DEG = 45.0  # from upright, that each layer still rests on the one below
LEANING_MM2 = 5.0  # of a face that leans more; judged: less is the edge of something else
FREE_MM2 = 5.0  # of a ceiling that no line with two ends carries; judged
FREE_SHARE = 0.1  # and so much of its whole: less is at corners; judged
BRIDGE_WARNS_MM = 10.0  # a line so long sags
BRIDGE_FAILS_MM = 20.0  # a line so long falls
FLOOR_LAYERS = 3  # of a floor that is closed and does not tear
THIN_FLOOR_MM2 = 1.0  # of a floor with fewer; judged
WALL_NOZZLES = 2.0  # two lines side by side, pressed a little into each other
SLIVER_LINES = 0.8  # of a line on average: what is narrower gets none, and is told only; judged
SLIVER_LOW_MM = 1.0  # but only so near to the bed, in a holder's lip; a wall is higher
GAP_MM = 0.4  # lines on both sides of a narrower gap run into each other
BED_PIECE_MM2 = 5.0  # of the first layer, or a piece tears off the bed; judged
SLENDER = 5.0  # height to narrow side, from where a brim is wanted
STROKE_LINES = 1.5  # width of a figure's stroke, that it is drawn at all
USUAL_FOOT_MM = 0.15  # by which a first layer bulges on each side, where it was not measured
STROKE_TOLD_LINES = 3.0  # wider ones are no strokes
FIGURE_LAYERS = 5  # higher or deeper than a figure is ever sunk or raised
