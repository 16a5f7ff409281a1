"""Layout of the tub: board, mounting pads, glands and bosses, in a cavity for all."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.brackets.kind import MountingPad
from layouts.brackets.registry import kind_of
from layouts.enclosures.board_seat import BoardSeat
from layouts.enclosures.box.bosses import (
    BossKeepout,
    corner_bosses,
    locating_columns,
    wall_bosses,
    walls,
)
from layouts.enclosures.box.pads import mounting_pads, pads_shape
from layouts.enclosures.box.sizes import Boss, Gland, TiePost
from layouts.enclosures.box.tie_posts import charge_wire_mm, tie_posts
from layouts.errors import PlanError
from layouts.formats import screws
from layouts.holders.shape import cell_block_shape
from layouts.pack import Pack, Side
from layouts.parts.board_room import lead_bend_room_mm
from layouts.parts.outlet import GlandSize, gland_for
from layouts.parts.shell import Rect, box
from layouts.plates.ways_out import ways_out
from layouts.strips.joining import Interconnect

if TYPE_CHECKING:
    from layouts.holders.fastening import CellBlock

# All of these are common practice, no source
BOARD_PLAY_MM = 3.0  # beside the board's thickness: 1 to slide it in, 2 for the guides' hooks
WIRES_MM = 10.0  # wires beside the board
STRIP_FREE_MM = 2.0  # between a strip's end and what stands in the compartment
GUIDE_MM = 2.0  # guides' legs and hooks: five lines of a 0.4 nozzle
GUIDE_PLAY_MM = 0.5  # board to leg
HOOK_OVER_MM = 2.5  # hook over the board's face
GUIDE_SHARE = 0.75  # of the board's height that the guides hold
REST_MM = 6.0  # the board's ends stand on so much
SLOT_DEEP_MM = 8.0
SKIRT_DEEP_MM = 12.0  # 4 below the slots' lower edge
SIDE_STRIP_MM = 1.5  # wall beside a strip end that leaves the cell block other than towards +x
GROW_STEP_MM = 4.0
GLANDS_OUTWARD_MM = (0.0, 15.0, 30.0, 45.0, 60.0)  # tried in turn
GROW_MOST_MM = 240.0


@dataclass(frozen=True, kw_only=True, slots=True)
class EnclosureDatums:
    """What is fixed before anything is placed in the compartment."""

    cell_block: BaseGeometry
    way_down: BaseGeometry
    box: Rect
    seats: tuple[tuple[float, float], ...]
    least: Rect  # the least cavity
    z_under: float
    z_floor: float
    z_rim: float
    board_z0: float
    lead_y: tuple[float, float]  # where the strips to pack minus and pack plus run out


@dataclass(frozen=True, kw_only=True, slots=True)
class BayLayout:
    """Board, mounting pads, glands and bosses that go together, and the posts that leads are
    tied to."""

    cavity: Rect
    bay: BoardSeat
    pads: tuple[MountingPad, ...]
    glands: tuple[Gland, ...]
    bosses: tuple[Boss, ...]
    tie_posts: tuple[TiePost, ...] = ()


def enclosure_datums(
    pack: Pack, interconnect: Interconnect, cell_block: CellBlock
) -> EnclosureDatums:
    """Cell block, strip ends, least cavity and z levels."""
    case, board = pack.enclosure, pack.bms.board_mm
    shape = cell_block_shape(cell_block.outline)
    x0, y0, x1, y1 = cell_block.box_mm
    leaving = [way.space for way in ways_out(pack, interconnect, shape)]
    tails = shapely.union_all([shapely.Polygon(), *leaving])
    tx0, ty0, tx1, ty1 = (x0, y0, x1, y1) if tails.is_empty else tails.bounds
    past = max(0.0, tx1 - x1)
    room = max(
        board[2] + BOARD_PLAY_MM + max(WIRES_MM, past + STRIP_FREE_MM),
        lead_bend_room_mm(pack),
    )
    gap = case.side_gap_mm
    least = Rect(
        x0=min(x0 - gap, tx0 - SIDE_STRIP_MM), y0=min(y0 - gap, ty0 - SIDE_STRIP_MM),
        x1=x1 + room, y1=max(y1 + gap, ty1 + SIDE_STRIP_MM),
    )  # fmt: skip
    z_floor = -pack.holder.lip_mm - case.gas_gap_mm
    board_z0 = z_floor + case.gas_gap_mm
    z_rim = max(
        pack.lip_to_lip_mm + pack.holder.lip_mm + case.gas_gap_mm,
        board_z0 + board[1] + 1.0 + SLOT_DEEP_MM,  # a higher board would stand before the slots
    )
    return EnclosureDatums(
        cell_block=shape,
        way_down=shape.union(tails.buffer(0.7, join_style="mitre")),
        box=Rect(x0=x0, y0=y0, x1=x1, y1=y1),
        seats=tuple((float(s.x_mm), float(s.y_mm)) for s in cell_block.outline.seats),
        least=least,
        z_under=z_floor - case.floor_mm,
        z_floor=z_floor,
        z_rim=z_rim,
        board_z0=board_z0,
        lead_y=(_lead_y(interconnect, 1, y0), _lead_y(interconnect, pack.series, y1)),
    )


def _lead_y(interconnect: Interconnect, group: int, otherwise: float) -> float:
    """Mean y at which an end group's strips run out."""
    ends = [s.end_mm[1] for s in interconnect.strips if s.runs_out and group in s.groups]
    ends += [
        float(plate.bar.landing.centroid.y)
        for plate in interconnect.plates
        if plate.bar is not None and plate.groups == (group,)
    ]
    return float(np.mean(ends)) if ends else otherwise


def bay_layouts(pack: Pack, datums: EnclosureDatums) -> Iterator[tuple[BayLayout, tuple[str, ...]]]:
    """Layouts in which everything has its place and what is to be told of each; the least growth
    along y first.

    Raises PlanError where none within ``GROW_MOST_MM`` does.
    """
    steps = int(GROW_MOST_MM / GROW_STEP_MM) + 1
    found = False
    for outward in GLANDS_OUTWARD_MM:
        for grown in (GROW_STEP_MM * k for k in range(steps)):
            y1 = datums.least.y1 + grown
            cavity = Rect(x0=datums.least.x0, y0=datums.least.y0, x1=datums.least.x1, y1=y1)
            for small in (True, False):
                for share in (0.5, 0.0, 1.0):
                    layout = _bay_layout(
                        pack, datums, cavity, share=share, small_gland=small, outward_mm=outward
                    )
                    if layout is not None:
                        found = True
                        yield layout, _room_notes(grown, small)
    if found:
        return
    raise PlanError(
        field="bms.board_mm",
        value=" x ".join(f"{side:g}" for side in pack.bms.board_mm),
        why=f"does not fit beside glands for leads of {pack.leads.outside_mm:g} mm and the lid "
        f"screws in a tub up to {GROW_MOST_MM:.0f} mm longer than the cells",
        remedy="use a smaller board or thinner wires",
    )


def _room_notes(grown_mm: float, small_gland: bool) -> tuple[str, ...]:
    notes = []
    if grown_mm:
        notes.append(
            f"the tub is {grown_mm:.0f} mm longer than the held cells need, "
            "for the protection board, glands and lid screws"
        )
    if not small_gland:
        notes.append("no space for a third gland: charge and sense leads share the main ones")
    return tuple(notes)


def _bay_layout(
    pack: Pack,
    datums: EnclosureDatums,
    cavity: Rect,
    *,
    share: float,
    small_gland: bool,
    outward_mm: float,
) -> BayLayout | None:
    """Board at ``share`` of its free way along the +x wall; None where things don't fit.

    ``outward_mm``: the main leads' glands are wanted so much farther towards the corners than
    their strips, so that a lid screw finds its place between them and the board.
    """
    radius = screws()[pack.enclosure.screw].boss_diameter_mm / 2
    empty = BossKeepout(
        cavity=cavity, cell_block=datums.way_down, taken=shapely.Polygon(),
        wall_mm=pack.enclosure.wall_mm, radius_mm=radius,
    )  # fmt: skip
    corners = corner_bosses(empty)
    bay = _bay(pack, datums, cavity, corners, share)
    if bay is None:
        return None
    inside = shapely.union_all(
        [box(bay.board), *(box(g) for g in bay.guides), *(box(r) for r in bay.rests)]
    )
    for pads in mounting_pads(pack, datums.z_under, cavity):
        glands = _first_glands(
            pack, datums, cavity, corners, bay, pads, small=small_gland, outward_mm=outward_mm
        )
        if glands is None:
            continue
        posts = (
            tie_posts(pack, cavity, glands, bay, datums.z_floor) if pack.enclosure.wire_ways else ()
        )
        zones = _gland_zones(pack, cavity, glands)
        zones += [box(rect) for post in posts for rect in post.rects]
        keepout = BossKeepout(
            cavity=cavity, cell_block=datums.way_down, taken=shapely.union_all([inside, *zones]),
            wall_mm=pack.enclosure.wall_mm, radius_mm=radius, pads=pads_shape(pads),
        )  # fmt: skip
        bosses = _bosses(keepout, datums, corners)
        if bosses is not None:
            return BayLayout(
                cavity=cavity, bay=bay, pads=pads, glands=glands, bosses=bosses, tie_posts=posts
            )  # fmt: skip
    return None


def _gland_zones(pack: Pack, cavity: Rect, glands: tuple[Gland, ...]) -> list[shapely.Polygon]:
    """What glands take up in the plan, on both sides of the wall."""
    depth = pack.enclosure.wall_mm + 12.0  # nut and boss rib stand no farther from the wall
    return [
        shapely.box(
            cavity.x1 - 12.0,
            g.y_mm - g.keep_radius_mm,
            cavity.x1 + depth,
            g.y_mm + g.keep_radius_mm,
        )
        for g in glands
    ]


def _bosses(
    keepout: BossKeepout, datums: EnclosureDatums, corners: tuple[Boss, ...]
) -> tuple[Boss, ...] | None:
    """Bosses all round, then those that only locate; None where a wall has too few places."""
    round_walls = walls(keepout.cavity)
    stretches: dict[int, tuple[Boss, ...]] = {}
    for k in (1, 0, 2, 3):  # the +x wall first: glands and board leave it the fewest places
        wall = round_walls[k]
        seats = [] if wall.axis == 1 and wall.sign > 0 else datums.seats
        between = wall_bosses(keepout, wall, corners[k], corners[(k + 1) % 4], seats)
        if between is None:
            return None
        stretches[k] = between
    found: list[Boss] = []
    for k, wall in enumerate(round_walls):
        onward = wall.sign == (-1 if wall.axis == 0 else 1)  # -y and +x are walked upwards
        found += [corners[k], *(stretches[k] if onward else stretches[k][::-1])]
    found += locating_columns(keepout, found, datums.seats, datums.cell_block)
    return tuple(found)


def _bay(
    pack: Pack, datums: EnclosureDatums, cavity: Rect, corners: tuple[Boss, ...], share: float
) -> BoardSeat | None:
    length, high, thick = pack.bms.board_mm
    beside = GUIDE_PLAY_MM + GUIDE_MM + 1.0  # guide and a gap to the corner's boss
    low = corners[1].y_mm + corners[1].radius_mm + beside
    top = corners[2].y_mm - corners[2].radius_mm - beside - length
    if top < low:
        return None
    y0 = low + share * (top - low)
    y1, x1 = y0 + length, cavity.x1
    face = x1 - thick - (BOARD_PLAY_MM - GUIDE_MM)  # inner side of the hooks
    deep = x1 + pack.enclosure.wall_mm / 2  # guides reach half-way into the wall
    guides, rests = [], []
    for end, out in ((y0, -1), (y1, 1)):
        near, far = end + out * GUIDE_PLAY_MM, end + out * (GUIDE_PLAY_MM + GUIDE_MM)
        over = end - out * HOOK_OVER_MM
        guides.append(Rect(x0=face - GUIDE_MM, x1=deep, y0=min(near, far), y1=max(near, far)))
        guides.append(Rect(x0=face - GUIDE_MM, x1=face, y0=min(over, far), y1=max(over, far)))
        stop, middle = end - out * REST_MM, (near + far) / 2
        rests.append(Rect(x0=face + 1.0, x1=deep, y0=min(stop, middle), y1=max(stop, middle)))
    return BoardSeat(
        board=Rect(x0=x1 - thick, x1=x1, y0=y0, y1=y1),
        z0_mm=datums.board_z0,
        z1_mm=datums.board_z0 + high,
        guides=tuple(guides),
        guide_z1_mm=datums.board_z0 + GUIDE_SHARE * high,
        rests=tuple(rests),
    )


def _first_glands(
    pack: Pack,
    datums: EnclosureDatums,
    cavity: Rect,
    corners: tuple[Boss, ...],
    bay: BoardSeat,
    pads: tuple[MountingPad, ...],
    *,
    small: bool,
    outward_mm: float,
) -> tuple[Gland, ...] | None:
    """Glands at half the free height, else at its lower or upper end, high ones first where wires
    have ways; None where none fit."""
    # an upright lead bends into a high gland
    for z_share in (1.0, 0.5, 0.0) if pack.enclosure.wire_ways else (0.5, 0.0, 1.0):
        glands = _glands(
            pack,
            datums,
            cavity,
            corners,
            bay,
            pads,
            small=small,
            z_share=z_share,
            outward_mm=outward_mm,
        )
        if glands is not None:
            return glands
    return None


def _glands(
    pack: Pack,
    datums: EnclosureDatums,
    cavity: Rect,
    corners: tuple[Boss, ...],
    bay: BoardSeat,
    pads: tuple[MountingPad, ...],
    *,
    small: bool,
    z_share: float,
    outward_mm: float,
) -> tuple[Gland, ...] | None:
    """Places of the glands in the +x wall, clear of everything else on it.

    Each main lead's as near as can be to where its strips run out, at ``z_share`` of the
    free height; the third one beside the first. None where one finds no place.
    """
    half = kind_of(pack).wall_mm(pack) / 2
    wanted = _wanted_glands(pack, datums, small=small, outward_mm=outward_mm)
    placed: list[Gland] = []
    for gland, wire, purpose, lead_y in wanted:
        free = gland.keep_radius_mm + 1.0
        z_low, z_high = (
            datums.z_floor + gland.keep_radius_mm + 0.5,
            datums.z_rim - SKIRT_DEEP_MM - free,
        )
        y_low = corners[1].y_mm + corners[1].radius_mm + free
        y_high = corners[2].y_mm - corners[2].radius_mm - free
        if z_high < z_low or y_high < y_low:
            return None
        ys = np.arange(y_low, y_high + 1e-9, 1.0)
        zs = np.arange(z_low, z_high + 1e-9, 2.0)
        y, z = (grid.ravel() for grid in np.meshgrid(ys, zs))
        ok = (y < bay.guides[0].y0 - free) | (y > bay.guides[-1].y1 + free)
        ok |= z > bay.z1_mm + free  # above the board, which then goes in before the gland
        for pad in pads:
            if pad.side is Side.PLUS_X:
                top = pad.underside_mm + pad.high_mm
                aside = np.abs(y - pad.along_mm) - free
                ok &= (aside > half) | ((z > top + free) & (aside > _block_half_mm(pad)))
        for other in placed:
            ok &= np.hypot(y - other.y_mm, z - other.z_mm) > other.keep_radius_mm + free
        if not ok.any():
            return None
        y, z = y[ok], z[ok]
        level = z_low + z_share * (z_high - z_low)
        k = int(np.argmin(np.abs(y - lead_y) + 0.3 * np.abs(z - level)))
        placed.append(
            Gland(gland=gland, purpose=purpose, y_mm=float(y[k]), z_mm=float(z[k]), wire_mm=wire)
        )  # fmt: skip
    return tuple(placed)


def _wanted_glands(
    pack: Pack, datums: EnclosureDatums, *, small: bool, outward_mm: float
) -> list[tuple[GlandSize, float, str, float]]:
    """Each gland's size, its wire, its purpose, and the y that it is wanted at."""
    wire, third_mm = pack.leads.outside_mm, charge_wire_mm(pack)
    main, third = gland_for(wire), gland_for(third_mm)
    low, high = datums.lead_y[0] - outward_mm, datums.lead_y[1] + outward_mm
    wanted = [(main, wire, "pack minus", low), (main, wire, "pack plus", high)]
    if small:
        wanted.append((third, third_mm or third.wire_mm, "charge and sense leads", low))
    return wanted


def _block_half_mm(pad: MountingPad) -> float:
    """Half a pad's block; where there is none nothing is in the way."""
    return pad.block_mm / 2 if pad.block_mm else -np.inf
