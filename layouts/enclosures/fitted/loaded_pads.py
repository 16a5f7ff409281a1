"""Mounting pads as the load asks for: screws, blocks, and a third pad between two on one side."""

from __future__ import annotations

from collections.abc import Sequence

from layouts.brackets.inserts import insert_pull
from layouts.brackets.kind import MountingPad
from layouts.brackets.loads import guessed_mass_kg
from layouts.brackets.registry import kind_of
from layouts.enclosures.fitted.faces import PAD_OUT_MM, BracketReach, PadPlace
from layouts.enclosures.pad_walls import PadWall, pad_wall, pads_for_load, wall_bending
from layouts.pack import Pack, Side

__all__ = ["PAD_WIDE_MM", "loaded_pads", "loaded_sets", "wall_at"]

PAD_WIDE_MM = 34.0  # a mounting pad along its wall; common practice, no source


def wall_at(pad: MountingPad, wall_mm: float) -> PadWall:
    """The wall at a pad, as if it were flat."""
    return pad_wall(pad, wall_mm=wall_mm, pad_mm=PAD_WIDE_MM, out_mm=PAD_OUT_MM)


def loaded_pads(
    pack: Pack, places: Sequence[PadPlace], *, under_mm: float
) -> tuple[MountingPad, ...]:
    """Pads in their places, with screws and blocks as the load asks for."""
    pads = [
        MountingPad(
            side=place.side, face_mm=place.face_mm, along_mm=place.along_mm, underside_mm=under_mm
        )
        for place in places
    ]
    wall = pack.enclosure.wall_mm
    return pads_for_load(pack, pads, lambda pad: wall_at(pad, wall), deep_mm=PAD_OUT_MM)


def loaded_sets(
    pack: Pack,
    chosen: tuple[PadPlace, ...],
    places: Sequence[PadPlace],
    reach: BracketReach,
    *,
    under_mm: float,
) -> tuple[tuple[PadPlace, ...], ...]:
    """The places alone where their pads hold, else first those with one more between each two that
    stand on one side. By the mass that is guessed."""
    if _hold(pack, chosen, under_mm):
        return (chosen,)
    more = [
        min(free, key=lambda place: _use(pack, (*chosen, place), under_mm))
        for side in Side
        if (free := _between(side, chosen, places, reach))
    ]
    return ((*chosen, *more), chosen) if more else (chosen,)


def _hold(pack: Pack, places: Sequence[PadPlace], under_mm: float) -> bool:
    """Inserts and walls under the load; always without one."""
    if pack.load is None:
        return True
    pads, mass_kg = loaded_pads(pack, places, under_mm=under_mm), guessed_mass_kg(pack)
    hold = kind_of(pack).design(pack, pads, mass_kg=mass_kg).hold
    walls = [wall_at(pad, pack.enclosure.wall_mm) for pad in pads]
    checks = (
        *insert_pull(pack, pads, hold, mass_kg=mass_kg),
        *wall_bending(pack, walls, hold, mass_kg=mass_kg),
    )
    return all(check.holds for check in checks)


def _use(pack: Pack, places: Sequence[PadPlace], under_mm: float) -> float:
    """Of the inserts, at most; 0 without a load."""
    pads, mass_kg = loaded_pads(pack, places, under_mm=under_mm), guessed_mass_kg(pack)
    hold = kind_of(pack).design(pack, pads, mass_kg=mass_kg).hold
    checks = insert_pull(pack, pads, hold, mass_kg=mass_kg)
    return max((check.value or 0.0 for check in checks), default=0.0)


def _between(
    side: Side, chosen: Sequence[PadPlace], places: Sequence[PadPlace], reach: BracketReach
) -> list[PadPlace]:
    """Places between two on a side, clear of both; none where there are not two."""
    two = sorted(place.along_mm for place in chosen if place.side is side)
    if len(two) != 2:
        return []
    low, high = two[0] + reach.wall_mm, two[1] - reach.wall_mm
    return [place for place in places if place.side is side and low <= place.along_mm <= high]
