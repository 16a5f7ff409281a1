"""The compartment of a tub that wires lie in: its bodies, and the posts wires are tied to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from layouts.enclosures.board_seat import BoardSeat
from layouts.enclosures.box.sizes import Boss, EnclosureDesign, Gland, TiePost
from layouts.enclosures.box.wire_ends import NUT_MM, TAIL_MM, face_z_mm, plug_block
from layouts.pack import Pack
from layouts.parts.shell import Rect
from layouts.strips.joining import Interconnect
from layouts.wiring.obstacles import Block, Obstacle, Round, UprightPost, WireRoom

__all__ = [
    "CELL_SIDE_MM", "BayRoom", "bay_room", "obstacles_in", "room_of",
]  # fmt: skip

CELL_SIDE_MM = 0.6  # paper and play beside the held cells
TAIL_SIDE_MM = 4.0  # a folded tail with its wire
TAIL_WIDE_MM = 7.0


@dataclass(frozen=True, kw_only=True, slots=True)
class BayRoom:
    """The compartment beside the held cells and what stands in it, before any wire."""

    cells: Rect
    cavity: Rect
    z_floor_mm: float
    z_rim_mm: float
    bay: BoardSeat
    bosses: tuple[Boss, ...]
    glands: tuple[Gland, ...]
    wall_mm: float
    posts: tuple[TiePost, ...]


def room_of(bay_room: BayRoom) -> WireRoom:
    """The compartment from the held cells to the walls."""
    c = bay_room.cavity
    return WireRoom(
        rect=Rect(x0=bay_room.cells.x1 + CELL_SIDE_MM, y0=c.y0, x1=c.x1, y1=c.y1),
        z0_mm=bay_room.z_floor_mm,
        z1_mm=bay_room.z_rim_mm,
        names=("held cells", "-y wall", "floor", "+x wall", "+y wall", "lid"),
    )


def obstacles_in(pack: Pack, interconnect: Interconnect, bay_room: BayRoom) -> list[Obstacle]:
    """All bodies in the compartment but wires."""
    d, bay = bay_room, bay_room.bay
    low, high = d.z_floor_mm, d.z_rim_mm
    found: list[Obstacle] = [
        UprightPost(name=f"boss at ({b.x_mm:.0f}, {b.y_mm:.0f})", x_mm=b.x_mm, y_mm=b.y_mm,
             radius_mm=b.radius_mm, z0_mm=low, z1_mm=high)
        for b in d.bosses if b.x_mm > d.cells.x1 - b.radius_mm
    ]  # fmt: skip
    found += [
        Block(name="boss's web", rect=b.web, z0_mm=low, z1_mm=high)
        for b in d.bosses
        if b.web is not None and b.web.x1 > d.cells.x1
    ]
    found.append(Block(name="board", rect=bay.board, z0_mm=bay.z0_mm, z1_mm=bay.z1_mm))
    found += [Block(name="guide", rect=g, z0_mm=low, z1_mm=bay.guide_z1_mm) for g in bay.guides]
    found += [Block(name="rest", rect=r, z0_mm=low, z1_mm=bay.z0_mm) for r in bay.rests]
    plug, z0, z1 = plug_block(pack, bay)
    found.append(Block(name="balance plug", rect=plug, z0_mm=z0, z1_mm=z1))
    found += [
        Round(name=f"gland {g.purpose}", axis=0, from_mm=d.cavity.x1 - NUT_MM, to_mm=d.cavity.x1,
              across_mm=g.y_mm, z_mm=g.z_mm, radius_mm=g.keep_radius_mm)
        for g in d.glands
    ]  # fmt: skip
    for post in d.posts:
        found += _post_blocks(post, low)
    found += _metal(pack, interconnect, d.cells)
    return found


def _post_blocks(post: TiePost, floor_mm: float) -> list[Obstacle]:
    """A post and its foot, from the floor up."""
    found: list[Obstacle] = [
        Block(name=post.name, rect=post.block, z0_mm=floor_mm, z1_mm=post.z1_mm)
    ]
    if post.foot is not None:
        found.append(Block(name=post.name, rect=post.foot, z0_mm=floor_mm, z1_mm=post.foot_z1_mm))
    return found


def _metal(pack: Pack, interconnect: Interconnect, cells: Rect) -> Iterator[Obstacle]:
    """Bars' ends with their lugs, and folded tails, beside the held cells."""
    for plate in interconnect.plates:
        z, out = face_z_mm(pack, plate.face)
        for lug in () if plate.bar is None else plate.bar.lugs:
            x0, y0, x1, y1 = lug.shape.bounds
            ends = sorted((z + out * lug.outward_mm, z - out * lug.inward_mm))
            name = "bridge" if not plate.is_end else (
                "bar of pack minus" if plate.is_minus else "bar of pack plus"
            )  # fmt: skip
            rect = Rect(x0=max(x0, cells.x1), y0=y0, x1=x1, y1=y1)
            yield Block(name=name, rect=rect, z0_mm=ends[0], z1_mm=ends[1])
    for lead in interconnect.balance_leads:
        if lead.tail_mm is None or lead.number in (0, pack.series):
            continue
        if lead.tail_mm[0] <= cells.x1:
            continue
        z, out = face_z_mm(pack, lead.face)
        low, high = sorted((z, z - out * TAIL_MM))
        y, half = lead.tail_mm[1], TAIL_WIDE_MM / 2
        rect = Rect(x0=cells.x1, y0=y - half, x1=cells.x1 + TAIL_SIDE_MM, y1=y + half)
        yield Block(name=f"tail of B{lead.number}", rect=rect, z0_mm=low, z1_mm=high)


def bay_room(design: EnclosureDesign, cells: Rect) -> BayRoom:
    """The compartment of a design, its posts too; ``cells``: box of the held cells in the plan."""
    return BayRoom(
        cells=cells, cavity=design.cavity, z_floor_mm=design.z_floor_mm, z_rim_mm=design.z_rim_mm,
        bay=design.bay, bosses=design.bosses, glands=design.glands, wall_mm=design.wall_mm,
        posts=design.tie_posts,
    )  # fmt: skip
