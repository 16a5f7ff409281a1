"""Which cells, in which numbers, meet the requirements: before anything is placed.

Every rule here is sharp where it can be (full volts, energy, current, area) and otherwise a
judgement that is named.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import ceil, floor, sqrt

from layouts.cells.envelope import cell_block_mm
from layouts.pack import EnclosureStyle, Lattice, Side
from layouts.planning.estimate import ENVELOPE_OFF_MM, envelope
from layouts.ratings.charge import CHARGE_RATE, LOW_V
from layouts.suggesting.setting import Asked, Combination, Offer, Setting, Way, pack_of
from layouts.suggesting.turning import boxed, seen_along

__all__ = [
    "MOST_CELLS",
    "candidates",
    "energy_wh",
    "least_parallel",
    "most_cells",
    "series_choices",
    "steps",
    "ways_of",
]

MOST_CELLS = 10_000  # the largest pack that is planned

NEAR_RATIO = 0.07  # nominal voltages within this of the required one are the same system; judgement
FAR_RATIO = 0.12  # the nearest number is still offered up to here, where none is near; judgement
# A window's low end may lie so far above the empty volts: cells give little of their charge in
# the last tenth of their volts, where the curve falls steeply; common practice, no source
EARLY_RATIO = 0.10
FLOAT = 1e-9  # relative, above float noise in products of volts

# Numbers in parallel that are looked at for each cell, series and lattice: all up to the first,
# else as many as the second says
ALL_STEPS, STEPS = 12, 8
SERIES_STEPS = 6  # numbers in series, where only a wide window bounds them


def series_choices(offer: Offer, asked: Asked) -> tuple[int, ...]:
    """Numbers in series whose volts suit, least first; none where no number does."""
    cell = offer.cell
    lowest, highest = _series_bounds(offer, asked)
    if asked.volts_v is None:
        return steps(lowest, min(highest, MOST_CELLS), most=SERIES_STEPS, few=SERIES_STEPS)
    exact = asked.volts_v / cell.nominal_v

    def off(series: int) -> float:
        return abs(series / exact - 1)

    around = range(max(1, floor(exact * (1 - FAR_RATIO))), ceil(exact * (1 + FAR_RATIO)) + 1)
    within = [s for s in around if lowest <= s <= highest]
    near = tuple(s for s in within if off(s) <= NEAR_RATIO + FLOAT)
    if near:
        return near
    nearest = min(within, key=lambda s: (off(s), s), default=None)
    return () if nearest is None or off(nearest) > FAR_RATIO + FLOAT else (nearest,)


def _series_bounds(offer: Offer, asked: Asked) -> tuple[int, int]:
    """Fewest and most cells in series by the machine's window and by the charger."""
    cell = offer.cell
    lowest, highest = 1, MOST_CELLS
    low, high = asked.window_v or (None, None)
    if high is not None:
        highest = floor(high / cell.full_v * (1 + FLOAT))
        if asked.regeneration_a and highest * cell.full_v > high * (1 - FLOAT):
            highest -= 1  # a full pack that the motor charges rises above its full volts
    if low is not None:
        lowest = ceil(low * (1 - EARLY_RATIO) / cell.empty_v * (1 - FLOAT))
        # it must run on most of its charge, whatever the cell's own empty volts are
        lowest = max(lowest, ceil(low / cell.nominal_v * (1 - FLOAT)), 1)
    if asked.charger_v is not None:
        # it ends at no more than the full volts, and at little less, or cells are never full
        lowest = max(lowest, ceil(asked.charger_v / cell.full_v * (1 - FLOAT)))
        highest = min(highest, floor(asked.charger_v / (cell.full_v - LOW_V) * (1 + FLOAT)))
    return lowest, highest


def energy_wh(offer: Offer, series: int, parallel: int) -> float:
    """Rated charge times nominal volts of all cells."""
    return series * parallel * offer.cell.capacity_ah * offer.cell.nominal_v


def least_parallel(offer: Offer, series: int, asked: Asked) -> int:
    """Fewest cells in parallel that give the required energy and current, and take what motor and
    charger return: so that they charge no cell with more than it may take, and the motor raises a
    full pack no higher than the machine's window, by the cells' resistance alone."""
    cell = offer.cell
    least = 1
    if asked.energy_wh is not None:
        each = energy_wh(offer, series, 1)
        least = max(least, ceil(asked.energy_wh / each * (1 - FLOAT)))
    if asked.current_a is not None:
        least = max(least, ceil(asked.current_a / cell.continuous_a * (1 - FLOAT)))
    takes_a = cell.capacity_ah * CHARGE_RATE if cell.charge_a is None else cell.charge_a
    for back_a in (asked.regeneration_a, asked.charger_a):
        if back_a is not None:
            least = max(least, ceil(back_a / takes_a * (1 - FLOAT)))
    high = None if asked.window_v is None else asked.window_v[1]
    if asked.regeneration_a is not None and high is not None:
        spare_v = high - series * cell.full_v  # above 0, by ``series_choices``
        rise_v = asked.regeneration_a * series * cell.internal_resistance_mohm / 1000
        least = max(least, ceil(rise_v / spare_v * (1 - FLOAT)))
    return least


def most_cells(candidate: Combination, way: Way, setting: Setting) -> int:
    """No more cells than this go into the space standing this way, by its box's sides and area.

    What stands round the field is the envelope's, which is never more than ``ENVELOPE_OFF_MM``
    too large; in what is left each centre takes a lattice site. A site's share reaches up
    to pitch / sqrt(3) past its centre (honeycomb) or half a pitch (grid). 0 where the
    height or the board's length alone keeps it out.
    """
    pack = pack_of(replace(candidate, parallel=2), setting)
    across, along, high = boxed(seen_along(setting.space, way.axis)).box_mm
    if way.side in (Side.PLUS_Y, Side.MINUS_Y):
        across, along = along, across
    least = envelope(pack, cell_block_mm(pack, (0.0, 0.0)))
    spare = [
        room + ENVELOPE_OFF_MM - size
        for room, size in zip((across, along, high), least.outside_mm, strict=True)
    ]
    if min(spare) < 0:
        return 0
    case, pitch = pack.enclosure, pack.pitch_mm
    beside = least.cell_block_mm[1] + 2 * (case.side_gap_mm + case.wall_mm)
    honeycomb = pack.lattice is Lattice.HONEYCOMB
    site = pitch**2 * (sqrt(3) / 2 if honeycomb else 1.0)
    share = pitch * (2 / sqrt(3) if honeycomb else 1.0)
    area = (spare[0] + share) * (along + ENVELOPE_OFF_MM - beside + share)
    return min(floor(area / site), MOST_CELLS)


def steps(least: int, greatest: int, *, most: int, few: int) -> tuple[int, ...]:
    """All numbers from ``least`` to ``greatest`` where they are no more than ``most``.

    Else ``few`` of them in even ratios, both ends among them. None where least is greater.
    """
    if greatest < least:
        return ()
    if greatest - least < most:
        return tuple(range(least, greatest + 1))
    ratio = greatest / least
    return tuple(sorted({round(least * ratio ** (k / (few - 1))) for k in range(few)}))


def candidates(setting: Setting) -> tuple[Combination, ...]:
    """All in a tub that meet the requirements and that no bound keeps out of the space."""
    if EnclosureStyle.TUB not in setting.forms:
        return ()
    found = []
    ways = ways_of(setting)
    for number, offer in enumerate(setting.offers):
        for series, lattice in product(series_choices(offer, setting.asked), Lattice):
            least = least_parallel(offer, series, setting.asked)
            one = Combination(offer=number, series=series, parallel=least, lattice=lattice)
            most = max(most_cells(one, way, setting) for way in ways) // series
            found += [
                replace(one, parallel=parallel)
                for parallel in steps(least, most, most=ALL_STEPS, few=STEPS)
            ]
    return tuple(found)


def ways_of(setting: Setting) -> tuple[Way, ...]:
    """Ways of standing in the space that differ.

    A box is the same from both ends, so half of the sides do; where it is square, or has two
    axes alike, it is the same again.
    """
    ways: list[Way] = []
    seen: set[tuple[float, float, float]] = set()
    for axis in setting.axes:
        if not setting.space.is_box:
            ways += [Way(axis=axis, side=side) for side in Side]
            continue
        across, along, high = seen_along(setting.space, axis).box_mm
        for side, plan in ((Side.PLUS_X, (across, along)), (Side.PLUS_Y, (along, across))):
            if (*plan, high) not in seen:
                seen.add((*plan, high))
                ways.append(Way(axis=axis, side=side))
    return tuple(ways)
