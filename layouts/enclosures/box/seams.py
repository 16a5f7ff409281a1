"""Tub and lid in pieces, where they are larger than the printer's bed.

A cut is a straight seam right across. In floor and lid plate the two sides lap by steps of a third
of the thickness, each no wider than it prints without support, so that water finds no straight way.
In walls they lap in the plan, outer half over inner half. Outside the walls each side carries an
upright joining flange; the joining flanges' faces meet and are closed by screws into heat-set
inserts, so that no metal lies inside. The lid's seams stand off the tub's, so that each part
bridges the other's seams."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.box.sizes import (
    Boss,
    Drain,
    FlangeScrew,
    Gland,
    JoiningFlange,
    SeamDesign,
)
from layouts.enclosures.laps import (
    SEAM_GAP_MM,
    STEP_MM,
    WALL_INSIDE_MM,
    WALL_LAP_MM,
    Offsets,
)
from layouts.enclosures.seam_choice import fewest_cuts
from layouts.enclosures.support_pads import SupportPad
from layouts.formats import screws
from layouts.pack import Pack
from layouts.parts.bed import usable_bed_mm
from layouts.parts.fasteners import insert_screw_length_mm
from layouts.parts.shell import Rect

FLANGE_OUT_MM = 10.0
FLANGE_MM = 5.0  # joining flange that a screw passes
NUT_FLANGE_MM = 9.0  # joining flange that carries the insert
FLANGE_END_MM = 8.0  # from a joining flange's end to its outermost screw
SCREW_STEP_MM = 70.0  # between two screws of a joining flange; common practice, no source
STAGGER_MM = 26.0  # the lid's seams stand off the tub's by so much
LEAST_STAGGER_MM = 20.0  # where no seam is found else; both: common practice, no source
BESIDE_MM = 1.0  # between a joint and its neighbours
PUT_IN_MM = 1.0  # beside a seam screw's length with head, to put it in by hand
TRY_MM = 0.5  # places tried
FAR_MM = 1e4  # beyond any pack
LEVEL_MM = 1e-6  # float noise in sums of millimetres


@dataclass(frozen=True, kw_only=True, slots=True)
class Forbidden:
    """Stretches along one axis, (low, high), where nothing of a seam may lie."""

    line: tuple[tuple[float, float], ...]  # floor or plate line
    joint: tuple[tuple[float, float], ...]  # walls' laps and joining flanges
    before: tuple[tuple[float, float], ...] = ()  # the way the joining flanges' screws are put in
    ahead_mm: float = 0.0  # length of that way

    def allows(self, at: float, joint: tuple[float, float]) -> bool:
        """The seam at ``at`` with its joint from ``joint[0]`` to ``joint[1]`` beside it is free."""
        a, b = at - 2 * STEP_MM - BESIDE_MM, at + 2 * STEP_MM + BESIDE_MM
        if any(low < b and a < high for low, high in self.line):
            return False
        a, b = at + joint[0] - BESIDE_MM, at + joint[1] + BESIDE_MM
        if any(low < b and a < high for low, high in self.joint):
            return False
        face = at + joint[1] - NUT_FLANGE_MM - FLANGE_MM
        a, b = face - self.ahead_mm - LEVEL_MM, face
        return not any(low < b and a < high for low, high in self.before)


# How far a joint reaches before and behind its seam: tub joining flanges meet at the end of the
# wall's lap
TUB_JOINT = (-WALL_LAP_MM, WALL_LAP_MM + NUT_FLANGE_MM)
LID_JOINT = (-FLANGE_MM, NUT_FLANGE_MM)


def put_in_mm(screw: str) -> float:
    """Free way in line before a passing joining flange that its screw needs to be put in."""
    length = insert_screw_length_mm(screw, grip_mm=FLANGE_MM)
    return length + screws()[screw].head_high_mm + PUT_IN_MM


def screw_out_mm() -> float:
    """From a wall's outer face to the axis of the joining flanges' screws."""
    return (FLANGE_OUT_MM + LID_FLANGE_PLAY_MM) / 2


def forbidden(
    axis: int,
    *,
    cavity: Rect,
    bosses: Sequence[Boss],
    support_pads: Sequence[SupportPad],
    drains: Sequence[Drain],
    rects: Sequence[Rect],
    glands: Sequence[Gland],
    pads: Sequence[tuple[float, float]],
    wall_mm: float,
    screw: str,
) -> Forbidden:
    """Where a seam square to ``axis`` (0: x, 1: y) must not go.

    ``rects``: rests and guides. ``pads``: stretches along that axis that mounting pads and brackets
    take on the walls that such a seam crosses.
    ``support_pads``: those that can't be left out, under the tie posts. ``screw``: closes the
    joining flanges."""

    def stretch(rect: Rect) -> tuple[float, float]:
        return (rect.x0, rect.x1) if axis == 0 else (rect.y0, rect.y1)

    columns, beside = [], []
    for boss in bosses:
        at = boss.x_mm if axis == 0 else boss.y_mm
        mine = [(at - boss.radius_mm, at + boss.radius_mm)]
        if boss.web is not None:
            mine.append(stretch(boss.web))
        columns += mine
        across = boss.y_mm if axis == 0 else boss.x_mm
        low, high = (cavity.y0, cavity.y1) if axis == 0 else (cavity.x0, cavity.x1)
        free_mm = min(across - low, high - across) - boss.radius_mm
        if boss.web is not None or free_mm < WALL_INSIDE_MM + BESIDE_MM:
            beside += mine
    rounds = [(p.x_mm, p.y_mm, p.radius_mm) for p in support_pads]
    rounds += [(d.x_mm, d.y_mm, d.radius_mm) for d in drains]
    small = [(place[axis] - place[2], place[axis] + place[2]) for place in rounds]
    plain = [stretch(r) for r in rects]
    walls: list[tuple[float, float]] = []
    if axis == 1:
        walls += [(g.y_mm - g.keep_radius_mm, g.y_mm + g.keep_radius_mm) for g in glands]
    else:  # the +x and -x walls themselves
        walls += [(-FAR_MM, cavity.x0 + 6.0), (cavity.x1 - 6.0, FAR_MM)]
    # bosses that stand out of a wall as far as the heads of the joining flanges' screws
    outer = cavity.grown(wall_mm)
    near = screw_out_mm() - screws()[screw].head_diameter_mm / 2
    before = []
    for boss in bosses:
        at, across = (boss.x_mm, boss.y_mm) if axis == 0 else (boss.y_mm, boss.x_mm)
        low, high = (outer.y0, outer.y1) if axis == 0 else (outer.x0, outer.x1)
        if max(across - high, low - across) + boss.radius_mm > near:
            before.append((at - boss.radius_mm, at + boss.radius_mm))
    if axis == 1:
        before += walls
    before += pads
    return Forbidden(
        line=(*columns, *small, *plain), joint=(*beside, *walls, *pads, *plain),
        before=tuple(before), ahead_mm=put_in_mm(screw),
    )  # fmt: skip


def choose_seams(
    low: float,
    high: float,
    room_mm: float,
    banned: Forbidden,
    joint: tuple[float, float],
    *,
    apart_from: Sequence[float] = (),
    stagger_mm: float = STAGGER_MM,
) -> tuple[float, ...] | None:
    """The fewest seams that part ``low``..``high`` into lengths of at most ``room_mm``.

    Each piece's length counts the laps that stick out. Among equal numbers, the most even.
    None where no free places do. ``apart_from``: seams of the other part,
    to stand ``stagger_mm`` off.
    """
    places = [
        float(s)
        for s in np.arange(low + 20.0, high - 20.0 + 1e-9, TRY_MM)
        if banned.allows(float(s), joint) and all(abs(s - t) >= stagger_mm for t in apart_from)
    ]
    before, behind = WALL_LAP_MM, max(joint[1] - NUT_FLANGE_MM, 2 * STEP_MM)

    def fits(start: float | None, end: float | None) -> bool:
        if start is None:
            return (high if end is None else end + behind) - low <= room_mm
        return (high if end is None else end + behind) - start + before <= room_mm

    return fewest_cuts(places, low, high, fits)


@dataclass(frozen=True, kw_only=True, slots=True)
class Seams:
    """Seams square to x and to y."""

    x: tuple[float, ...] = ()
    y: tuple[float, ...] = ()

    @property
    def pieces(self) -> int:
        """How many a part falls into."""
        return (len(self.x) + 1) * (len(self.y) + 1)


def cut(
    pack: Pack,
    box: Rect,
    outer: Rect,
    banned: tuple[Forbidden, Forbidden],
    joint: tuple[float, float],
    *,
    apart_from: Seams,
    stagger_mm: float = STAGGER_MM,
) -> Seams | None:
    """Seams so that every piece fits the bed, either way round; the way with fewer pieces.

    ``box``: the uncut part with all that stands out of it; ``outer``: outside of its walls. None
    where no cut does it. Joining flanges are first taken to stand out of all of the box; where that
    finds no seams, or more pieces, as far as they do stand out of the walls."""
    found = [
        _fewest(pack, box, flanged, banned, joint, apart_from, stagger_mm)
        for flanged in (box.grown(FLANGE_OUT_MM), _around(box, outer.grown(FLANGE_OUT_MM)))
    ]
    options = [(seams.pieces, k, seams) for k, seams in enumerate(found) if seams is not None]
    return min(options, key=lambda option: option[:2])[2] if options else None


def _around(one: Rect, other: Rect) -> Rect:
    """The box of two rectangles."""
    return Rect(
        x0=min(one.x0, other.x0), x1=max(one.x1, other.x1),
        y0=min(one.y0, other.y0), y1=max(one.y1, other.y1),
    )  # fmt: skip


def _fewest(
    pack: Pack, box: Rect, flanged: Rect, banned: tuple[Forbidden, Forbidden],
    joint: tuple[float, float], apart_from: Seams, stagger_mm: float,
) -> Seams | None:  # fmt: skip
    """The way with fewer pieces; ``flanged``: the box with joining flanges on all sides."""
    options: list[tuple[int, int, Seams]] = []
    width, length = box.size_mm
    for bed_x, bed_y in (usable_bed_mm(pack.printer), usable_bed_mm(pack.printer)[::-1]):
        # where the part is cut the other way too, joining flanges stand out at both ends
        ends_x, ends_y = (flanged if length > bed_y else box), (flanged if width > bed_x else box)
        x = choose_seams(
            ends_x.x0, ends_x.x1, bed_x, banned[0], joint,
            apart_from=apart_from.x, stagger_mm=stagger_mm,
        )  # fmt: skip
        y = choose_seams(
            ends_y.y0, ends_y.y1, bed_y, banned[1], joint,
            apart_from=apart_from.y, stagger_mm=stagger_mm,
        )  # fmt: skip
        if x is not None and y is not None:
            seams = Seams(x=x, y=y)
            options.append((seams.pieces, len(options), seams))
    return min(options, key=lambda option: option[:2])[2] if options else None


def off_seams(support_pads: Sequence[SupportPad], seams: SeamDesign) -> tuple[SupportPad, ...]:
    """The pads that no seam meets: the few small ones that one does are left out."""
    free = 2 * STEP_MM + BESIDE_MM
    return tuple(
        p
        for p in support_pads
        if all(abs(p.x_mm - at) > p.radius_mm + free for at in seams.x_mm)
        and all(abs(p.y_mm - at) > p.radius_mm + free for at in seams.y_mm)
    )


def flanges(
    seams: Seams, outer: Rect, *, part: str, wall_mm: float, flange_z: tuple[float, float]
) -> tuple[JoiningFlange, ...]:
    """Pairs of joining flanges outside both walls that each seam crosses.

    ``flange_z``: their lower and upper end. The tub's begin half-way in the wall, the lid's hang
    beside it. The joining flange before the seam is passed by the screws, the one behind holds
    inserts."""
    shift = WALL_LAP_MM if part == "tub" else 0.0
    made = []
    for axis, places in ((0, seams.x), (1, seams.y)):
        for at in places:
            meet = at + shift
            for side in (-1, 1):
                for behind in (False, True):
                    along = (meet, meet + NUT_FLANGE_MM) if behind else (meet - FLANGE_MM, meet)
                    made.append(
                        _flange(axis, side, along, outer, part, wall_mm, flange_z, behind=behind)
                    )
    return tuple(made)


def _flange(
    axis: int, side: int, along: tuple[float, float], outer: Rect, part: str,
    wall_mm: float, flange_z: tuple[float, float], *, behind: bool,
) -> JoiningFlange:  # fmt: skip
    # a wall square to the other axis carries the joining flange
    face = ((outer.y0, outer.y1) if axis == 0 else (outer.x0, outer.x1))[side > 0]
    near = face - side * wall_mm / 2 if part == "tub" else face + side * LID_FLANGE_PLAY_MM
    far = face + side * FLANGE_OUT_MM
    across = (min(near, far), max(near, far))
    plate = (min(face - side * wall_mm / 2, far), max(face - side * wall_mm / 2, far))
    middle = face + side * screw_out_mm()
    high = flange_z[1] - flange_z[0]
    end = min(FLANGE_END_MM, high / 2)
    count = max(1, math.ceil((high - 2 * end) / SCREW_STEP_MM - 1e-9) + 1) if high > 2 * end else 1
    gap = SEAM_GAP_MM / 2
    start = along[0] + gap if behind else along[0]
    screws = tuple(
        FlangeScrew(
            x_mm=start if axis == 0 else middle, y_mm=middle if axis == 0 else start, z_mm=float(z)
        )
        for z in np.linspace(flange_z[0] + end, flange_z[1] - end, count)
    )

    def rect(span: tuple[float, float]) -> Rect:
        if axis == 0:
            return Rect(x0=along[0], x1=along[1], y0=span[0], y1=span[1])
        return Rect(x0=span[0], x1=span[1], y0=along[0], y1=along[1])

    return JoiningFlange(
        axis=axis, insert=behind, rect=rect(across), plate=rect(plate),
        z0_mm=flange_z[0], z1_mm=flange_z[1], thick_mm=along[1] - along[0] - gap, screws=screws,
    )  # fmt: skip


LID_FLANGE_PLAY_MM = 0.4


def seam_line(
    axis: int, at: float, cavity: Rect, *, part: str, wall_mm: float, offset: float
) -> list[tuple[float, float]]:
    """A seam's way right across, from far below to far above, as (across, along) corners.

    ``offset``: where the floor's (plate's) line lies at this height, from ``at``.
    """
    low, high = (cavity.y0, cavity.y1) if axis == 0 else (cavity.x0, cavity.x1)
    if part == "lid":
        stops = [(low, at, at + offset), (high, at + offset, at)]
    else:
        half, lap = wall_mm / 2, WALL_LAP_MM
        stops = [
            (low - half, at + lap, at - lap),
            (low + WALL_INSIDE_MM, at - lap, at + offset),
            (high - WALL_INSIDE_MM, at + offset, at - lap),
            (high + half, at - lap, at + lap),
        ]
    line = [(-FAR_MM, stops[0][1])]
    for across, before, after in stops:
        line += [(across, before), (across, after)]
    line.append((FAR_MM, stops[-1][2]))
    return line


def _half(axis: int, line: list[tuple[float, float]]) -> BaseGeometry:
    """Everything before a seam."""
    corners = [*line, (FAR_MM, -2 * FAR_MM), (-FAR_MM, -2 * FAR_MM)]
    return shapely.Polygon([(v, u) if axis == 0 else (u, v) for u, v in corners])


def masks(
    cuts: SeamDesign, cavity: Rect, *, part: str, wall_mm: float, offsets: Offsets
) -> tuple[BaseGeometry, ...]:
    """One straight-edged shape a piece, row by row from -y, each row from -x; gaps left out.

    ``offsets``: see ``lap_levels``.
    """
    everything = shapely.box(-FAR_MM, -FAR_MM, FAR_MM, FAR_MM)
    bands: list[list[BaseGeometry]] = []
    for axis, places in ((0, cuts.x_mm), (1, cuts.y_mm)):
        before, behind = (
            [
                _half(axis, seam_line(axis, at, cavity, part=part, wall_mm=wall_mm, offset=offset))
                for at in places
            ]
            for offset in offsets
        )
        mine = []
        for k in range(len(places) + 1):
            band = everything if k == len(places) else everything.intersection(before[k])
            mine.append(band.difference(behind[k - 1]) if k else band)
        bands.append(mine)
    return tuple(
        across.intersection(along).buffer(-SEAM_GAP_MM / 2, join_style="mitre")
        for along, across in product(bands[1], bands[0])
    )
