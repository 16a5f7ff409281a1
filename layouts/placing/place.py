"""The most cells in a cavity, or the required number in the most compact form."""

from __future__ import annotations

from dataclasses import replace
from math import isfinite

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from layouts.pack import Lattice
from layouts.placing.bounds import Bound, bound_of
from layouts.placing.cells import CellCentres, PackingArea, of_placed_centres, of_seat
from layouts.placing.compact import (
    centred,
    chosen_sites,
    compact_cost,
    form_cost,
    neighbour_lists,
)
from layouts.placing.lattice import best_offset
from layouts.placing.region import Region, region_of
from layouts.placing.search import LatticePosition, lattice_seats
from layouts.placing.values import LATTICE_PLAY_MM, Effort, PlacedCentres, touching_pairs

__all__ = ["decks", "place_most", "place_number"]

NUMBER_SEATS = {Effort.QUICK: 3, Effort.BEST: 12}  # seats from which a number's sites are taken


def place_most(
    cavity: Polygon | MultiPolygon,
    *,
    pitch_mm: float,
    reach_mm: float,
    lattice: Lattice,
    free: bool = False,
    shifted: bool = True,
    effort: Effort = Effort.QUICK,
) -> PlacedCentres:
    """As many cells as go in.

    ``pitch_mm``: least distance between centres; ``reach_mm``: least distance from a centre to
    a wall. Effort ``QUICK`` answers from the most promising angles of the lattice; ``BEST``
    tries all walls and a sweep, proves how good the lattice is, and on a honeycomb tries rows
    shifted against each other, unless ``shifted`` is off: cells then stay on one lattice.
    ``free`` lets cells leave the lattice where that gains (``BEST`` only). Where no cell goes
    in, the placement has none. Raises ValueError for a cavity that is no valid polygon and for
    lengths that make no sense.
    """
    area = PackingArea(
        region=_asked(cavity, pitch_mm=pitch_mm, reach_mm=reach_mm),
        pitch_mm=pitch_mm,
        lattice=lattice,
    )
    bound = bound_of(area.region, pitch_mm=pitch_mm)
    seats, proven = _seats(area, effort)
    seat = seats[0]
    notes = _told(seat, lattice, proven)
    found = of_seat(area, seat)
    if effort is Effort.BEST and found.count < bound.most and (free or shifted):
        found, more = _beyond(area, found, free=free, bound=bound.most)
        notes += more
    if free and effort is Effort.QUICK:
        notes += ("free spacing is looked for with the best effort only",)
    return _finished(area, found, bound, proven=proven, notes=notes)


def place_number(
    cavity: Polygon | MultiPolygon,
    count: int,
    *,
    pitch_mm: float,
    reach_mm: float,
    lattice: Lattice,
    free: bool = False,
    shifted: bool = True,
    effort: Effort = Effort.QUICK,
    low: tuple[float, float] | None = None,
) -> PlacedCentres:
    """The required number in the most compact form: connected, round, its mass central.

    ``low``: a direction in the plan towards which the mass shall lie (down in the machine). The
    lattice is left (as in ``place_most``, and when that is allowed) only where it has too few
    sites. Where fewer cells go in at all, they are all given: see ``count`` of the placement.
    Raises ValueError as ``place_most`` does, and for a number below 1."""
    if count < 1:
        raise ValueError(f"count: must be 1 or more, is {count}")
    area = PackingArea(
        region=_asked(cavity, pitch_mm=pitch_mm, reach_mm=reach_mm),
        pitch_mm=pitch_mm,
        lattice=lattice,
    )
    bound = bound_of(area.region, pitch_mm=pitch_mm)
    seats = lattice_seats(area.region, lattice, pitch_mm=pitch_mm, effort=effort)
    tried = [of_seat(area, seat) for seat in seats if seat.count >= count]
    tried = tried[: NUMBER_SEATS[effort]]
    notes: tuple[str, ...] = ()
    if not tried:
        found = place_most(
            cavity,
            pitch_mm=pitch_mm,
            reach_mm=reach_mm,
            lattice=lattice,
            free=free,
            shifted=shifted,
            effort=effort,
        )
        if found.count <= count:
            short = f"{count} cells required, {found.count} fit"
            return replace(found, notes=found.notes + ((short,) if found.count < count else ()))
        tried, notes = [of_placed_centres(found)], found.notes
    middle = np.array(shapely.centroid(cavity).coords[0])
    taken = _most_compact(tried, count, middle_mm=middle, pitch_mm=pitch_mm, low=low)
    return _finished(area, taken, bound, proven=None, notes=notes, even=low is None)


def _most_compact(
    tried: list[CellCentres],
    count: int,
    *,
    middle_mm: NDArray[np.float64],
    pitch_mm: float,
    low: tuple[float, float] | None,
) -> CellCentres:
    """That many cells of the seat from which the most compact form can be taken."""
    ranked = []
    for rank, one in enumerate(tried):
        pairs = touching_pairs(one.xy_mm, pitch_mm=pitch_mm)
        chosen = chosen_sites(
            one.xy_mm,
            pairs,
            count,
            middle_mm=middle_mm,
            pitch_mm=pitch_mm,
            low=low,
        )
        cost = compact_cost(one.xy_mm[chosen], middle_mm=middle_mm, pitch_mm=pitch_mm, low=low)
        cost += form_cost(neighbour_lists(one.count, pairs), chosen.tolist())
        ranked.append((round(cost, 9), rank, chosen))
    _, rank, chosen = min(ranked, key=lambda one: one[:2])
    return tried[rank].some(chosen)


def decks(height_mm: float, *, deck_mm: float) -> int:
    """Layers of cells, ends up, that a height holds; ``deck_mm``: what one of them takes."""
    if not (deck_mm > 0 and isfinite(deck_mm)):
        raise ValueError(f"deck_mm: must be above 0, is {deck_mm}")
    return max(0, int((height_mm + 1e-9) // deck_mm))


def _asked(cavity: Polygon | MultiPolygon, *, pitch_mm: float, reach_mm: float) -> Region:
    """The region of centres, the lengths checked."""
    if not (pitch_mm > 0 and isfinite(pitch_mm)):
        raise ValueError(f"pitch_mm: must be above 0, is {pitch_mm}")
    return region_of(cavity, reach_mm=reach_mm)


def _seats(area: PackingArea, effort: Effort) -> tuple[list[LatticePosition], int | None]:
    """Lattice seats, the fullest first; and what no seat with play beats, where proven."""
    region, lattice, pitch_mm = area.region, area.lattice, area.pitch_mm
    seats = lattice_seats(region, lattice, pitch_mm=pitch_mm, effort=effort)
    if effort is Effort.QUICK:
        return seats, None
    # compiled code is loaded only where it is used: a first answer must not wait for it
    from layouts.placing.branch import prove_lattice

    proof = prove_lattice(region, lattice, pitch_mm=pitch_mm, known=seats[0].count)
    if proof.offset is not None:
        met = LatticePosition(count=proof.most, offset=proof.offset, angle_deg=proof.angle_deg)
        many, offset = best_offset(region, lattice, pitch_mm=pitch_mm, angle_deg=proof.angle_deg)
        exact = LatticePosition(count=many, offset=offset, angle_deg=proof.angle_deg)
        seats.insert(0, max(exact, met, key=lambda seat: seat.count))
    return seats, seats[0].count if proof.closed else None


def _told(seat: LatticePosition, lattice: Lattice, proven: int | None) -> tuple[str, ...]:
    """What is known of the best lattice."""
    if proven is None:
        return ()
    return (
        f"no {lattice.value} at any offset and angle, with more than {LATTICE_PLAY_MM} mm of "
        f"play to every wall, holds more than {proven}",
    )


def _beyond(
    area: PackingArea, found: CellCentres, *, free: bool, bound: int
) -> tuple[CellCentres, tuple[str, ...]]:
    """Shifted rows and free spacing, where they hold more than the lattice."""
    from layouts.placing.polish import freed
    from layouts.placing.rows import best_rows

    notes: tuple[str, ...] = ()
    if area.lattice is Lattice.HONEYCOMB or free:
        rows = best_rows(area.region, pitch_mm=area.pitch_mm)
        if len(rows.xy_mm) > found.count:
            notes += (f"shifted rows hold {len(rows.xy_mm)}, the lattice {found.count}",)
            found = CellCentres(
                xy_mm=rows.xy_mm, sites=None, angle_deg=rows.angle_deg, method="rows"
            )
    if free:
        loose = freed(area.region, found.xy_mm, pitch_mm=area.pitch_mm, bound=bound)
        if len(loose) > found.count:
            notes += (f"free spacing holds {len(loose)}, {found.method} {found.count}",)
            found = CellCentres(xy_mm=loose, sites=None, angle_deg=0.0, method="free")
    return found, notes


def _finished(
    area: PackingArea,
    cells: CellCentres,
    bound: Bound,
    *,
    proven: int | None,
    notes: tuple[str, ...],
    even: bool = True,
) -> PlacedCentres:
    """The placement of these cells; ``even``: shifted away from the walls where there is play."""
    xy = cells.xy_mm
    if even:
        xy = centred(area.region, xy, pitch_mm=area.pitch_mm)
    return PlacedCentres(
        xy_mm=xy,
        lattice=area.lattice,
        sites=cells.sites,
        neighbours=touching_pairs(xy, pitch_mm=area.pitch_mm),
        angle_deg=cells.angle_deg,
        method=cells.method,
        bound=bound.most,
        bound_name=bound.name,
        lattice_bound=proven,
        notes=notes,
    )
