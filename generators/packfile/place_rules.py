"""Places that a pack file asks for, checked against the enclosure and the space."""

from __future__ import annotations

from collections.abc import Iterator

from generators.packfile.rules import Finding
from layouts.formats import CellFormat
from layouts.pack import EnclosureStyle, Pack
from layouts.place_spec import RoomWish
from layouts.spaces.space import Space

__all__ = ["PLACE_RULES"]

STYLE = ("enclosure", "style")


def rooms(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Rooms have places of their own in a fitted enclosure alone; a rectangle lies in the space."""
    for section, wish in (("bms", pack.bms.place), ("fuse", pack.fuse_place)):
        if wish is None:
            continue
        field = (section, "place" if wish.area_mm is None else "place_mm")
        if pack.enclosure.style is not EnclosureStyle.FITTED:
            yield Finding(
                field=field,
                reads=(STYLE,),
                why="is only for the fitted form: another has one place for it",
                remedy="write enclosure: {style: fitted}, or delete it",
            )
        elif pack.mount.frame and wish.area_mm is not None:
            yield _on_frame(field)
        elif wish.area_mm is not None:
            yield from _area(pack, field, wish)
        elif pack.space is not None and _faces_none(pack.space, wish):
            yield Finding(
                field=field,
                reads=(("space", "place"),),
                why="is no side of the cells: the pack lies so that its lid or floor is there",
                remedy="give another side, or delete it",
            )


def _on_frame(field: tuple[str, ...]) -> Finding:
    """Where holes of a frame decide where the pack stands."""
    return Finding(
        field=field,
        reads=(("mount", "frame"),),
        why="is given together with mount.frame, whose holes decide where the pack stands",
        remedy="delete one of the two",
    )


def _faces_none(space: Space, wish: RoomWish) -> bool:
    """Whether a side of the space's plan is faced by the pack's lid or floor."""
    turn = ((1, 0, 0), (0, 1, 0), (0, 0, 1)) if space.place is None else space.place.turn
    return wish.side is not None and turn["xy".index(wish.side[1])][2] != 0


def _area(pack: Pack, field: tuple[str, ...], wish: RoomWish) -> Iterator[Finding]:
    assert wish.area_mm is not None
    x0, y0, x1, y1 = wish.area_mm
    if pack.space is None:
        yield Finding(
            field=field, reads=(("space",),), why="is a place in a space, and none is given",
            remedy="give a space, or a side of the cells such as +y",
        )  # fmt: skip
        return
    if pack.space.place is not None and not pack.space.place.is_upright:
        yield Finding(
            field=field,
            reads=(("space", "place"),),
            why="is a place in the plan of the space, and the pack lies in it",
            remedy="give a side of the cells such as +y, or delete it",
        )
        return
    (a, b, _), (wide, deep, _) = pack.space.low_mm, pack.space.box_mm
    if x1 <= a or y1 <= b or x0 >= a + wide or y0 >= b + deep:
        yield Finding(
            field=field,
            reads=(("space",),),
            why=f"lies outside of the space, which reaches from x {a:g}, y {b:g} "
            f"to x {a + wide:g}, y {b + deep:g}",
            remedy="give corners within it, or delete it",
        )


def pose(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """A pose is for what goes into a space as a whole, and begins within it."""
    space, field = pack.space, ("space", "place")
    if space is None or space.place is None:
        return
    style, at = pack.enclosure.style, space.place.at_mm
    if pack.mount.frame:
        yield _on_frame(field)
    elif style is EnclosureStyle.NONE:
        yield Finding(
            field=field, reads=(STYLE,), why="is for a pack with an enclosure of its own",
            remedy="delete it: cells are placed in the space themselves",
        )  # fmt: skip
    elif at is None and style is EnclosureStyle.TUB:
        yield Finding(
            field=field, reads=(STYLE,), why="has turns alone, and a tub needs at_mm too",
            remedy="add at_mm, or write enclosure: {style: fitted}",
        )  # fmt: skip
    if at is not None:
        low, size_mm = space.low_mm, space.box_mm
        past = [max(a - x, x - a - s) for x, a, s in zip(at, low, size_mm, strict=True)]
        if max(past) > 0.0:
            yield Finding(
                field=(*field, "at_mm"),
                reads=(("space",),),
                why=f"lies {max(past):.1f} mm outside of the space",
                remedy="give the least corner of the enclosure's box within it, or delete it",
            )


PLACE_RULES = (rooms, pose)
