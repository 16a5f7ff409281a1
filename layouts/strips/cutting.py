"""The cutting list: which strips come out of which length of stock, and what is left over.

Cutting lengths out of bars is the one-dimensional cutting stock problem. Longest pieces first, each
into the first bar with space, comes near the least number of bars. How near is said by a count of
pieces and by bound L2 of Martello and Toth (Lower bounds and reduction procedures for the bin
packing problem, Discrete Applied Mathematics 28, 1990, pp. 59-70; cited from memory). Where bars
and bound differ, a search by whole bars with a counted number of steps either finds a list of fewer
bars or raises the bound."""

from __future__ import annotations

import math
from collections import Counter, deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from layouts.errors import PlanError
from layouts.pack import Pack
from layouts.strips.joining import Interconnect

__all__ = [
    "COIL_MM",
    "KERF_MM",
    "STRAIGHT_MM",
    "Bar",
    "CutList",
    "Stock",
    "StripPiece",
    "cut_list",
    "stock_of",
    "stock_words",
    "strip_cut_lists",
    "strip_piece_rows",
    "usual_stock",
]

STRAIGHT_MM = 1000.0  # straight lengths; common practice, no source
COIL_MM = 10_000.0  # where a strip is longer than those; common practice, no source
KERF_MM = 0.5  # for an end cut square with shears; common practice, no source
SEARCH_STEPS = 20_000  # bars tried before the search gives up; counted, so always the same
SEARCHED_MOST = 100  # bars or different lengths: with more, first fit and bound are near anyway


@dataclass(frozen=True, kw_only=True, slots=True)
class Stock:
    """Lengths that are bought, and what each cut takes away [mm]."""

    length_mm: float = STRAIGHT_MM
    kerf_mm: float = KERF_MM


@dataclass(frozen=True, kw_only=True, slots=True)
class StripPiece:
    """One piece to cut; ``name`` is the strip's, with its layer where it has several."""

    name: str
    length_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Bar:
    """One length of stock and its pieces, longest first; ``rest_mm`` is left of it."""

    pieces: tuple[StripPiece, ...]
    rest_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class CutList:
    """All pieces of one width and thickness, cut from one stock.

    ``least_bars``: no list needs fewer; ``proven``: this one needs no more.
    """

    width_mm: float
    thickness_mm: float
    stock: Stock
    bars: tuple[Bar, ...]
    least_bars: int

    @property
    def proven(self) -> bool:
        """Whether no list with fewer bars exists."""
        return len(self.bars) == self.least_bars

    @property
    def used_mm(self) -> float:
        """Length of all pieces together."""
        return math.fsum(piece.length_mm for bar in self.bars for piece in bar.pieces)

    @property
    def waste_mm(self) -> float:
        """Stock less pieces: kerfs and rests."""
        return len(self.bars) * self.stock.length_mm - self.used_mm

    @property
    def least_waste_mm(self) -> float:
        """What no list can stay below."""
        return self.least_bars * self.stock.length_mm - self.used_mm

    @property
    def waste_ratio(self) -> float:
        """Waste as a share of the stock."""
        stock_mm = len(self.bars) * self.stock.length_mm
        return self.waste_mm / stock_mm if stock_mm else 0.0


def cut_list(
    pieces: Sequence[StripPiece], stock: Stock, *, width_mm: float, thickness_mm: float
) -> CutList:
    """Pieces of one section, cut from as few bars as are found.

    Raises PlanError where a piece is longer than the stock, or a length is not above zero.
    """
    if not (stock.length_mm > 0 and stock.kerf_mm >= 0):
        raise PlanError(
            field="strip.stock_mm", value=f"{stock.length_mm:g} mm, kerf {stock.kerf_mm:g} mm",
            why="a stock length and a kerf are required",
            remedy="give a length above 0 and a kerf of 0 or more",
        )  # fmt: skip
    for piece in pieces:
        if not 0 < piece.length_mm <= stock.length_mm:
            raise PlanError(
                field="strip.stock_mm", value=f"{piece.name}: {piece.length_mm:g} mm",
                why=f"is longer than the stock of {stock.length_mm:g} mm",
                remedy="use a longer stock",
            )  # fmt: skip
    # every piece with its cut, the bar with one cut more: its last piece needs none
    # in whole micrometres, since sums of floats are not exact
    room = _micrometres(stock.length_mm + stock.kerf_mm, up=False)
    longest = sorted(pieces, key=lambda piece: (-piece.length_mm, piece.name))
    sizes = [min(_micrometres(p.length_mm + stock.kerf_mm, up=True), room) for p in longest]
    first, least = _first_fit(sizes, room), _least_bars(sizes, room)
    filled, least = _searched(sizes, room, first, least)
    by_size: dict[int, deque[StripPiece]] = {}
    for size, piece in zip(sizes, longest, strict=True):
        by_size.setdefault(size, deque()).append(piece)
    bars = []
    for bar in filled:
        cut = tuple(by_size[size].popleft() for size in bar)
        kerfs = stock.kerf_mm * len(cut)
        rest = stock.length_mm - math.fsum(piece.length_mm for piece in cut) - kerfs
        bars.append(Bar(pieces=cut, rest_mm=max(rest, 0.0)))
    return CutList(
        width_mm=width_mm,
        thickness_mm=thickness_mm,
        stock=stock,
        bars=tuple(bars),
        least_bars=least,
    )


def stock_of(pack: Pack) -> Stock | None:
    """The lengths that the pack file says strip is bought in; None: the usual ones."""
    return None if pack.strip.stock_mm is None else Stock(length_mm=pack.strip.stock_mm)


def strip_cut_lists(interconnect: Interconnect, stock: Stock | None = None) -> tuple[CutList, ...]:
    """Lists for all strips of a pack, one for each width and thickness, narrow ones first.

    ``stock`` None: straight lengths of 1 m, of a width with a longer strip coils of 10 m (as many
    times that as the longest strip needs).
    """
    found: dict[tuple[float, float], list[StripPiece]] = {}
    for strip in interconnect.strips:
        length = math.dist(strip.start_mm, strip.end_mm)
        for layer in range(1, strip.layers + 1):
            name = strip.name if strip.layers == 1 else f"{strip.name}-layer-{layer}"
            found.setdefault((strip.width_mm, strip.thickness_mm), []).append(
                StripPiece(name=name, length_mm=length)
            )
    return tuple(
        cut_list(pieces, stock or usual_stock(pieces), width_mm=width, thickness_mm=thick)
        for (width, thick), pieces in sorted(found.items())
    )


def strip_piece_rows(cut: CutList) -> tuple[tuple[float, int], ...]:
    """Lengths [mm, rounded to 0.1] and how many of each, longest first."""
    counted = Counter(round(piece.length_mm, 1) for bar in cut.bars for piece in bar.pieces)
    return tuple(sorted(counted.items(), reverse=True))


def stock_words(cut: CutList) -> str:
    """How much stock to buy, and what of it is waste, in words."""
    many = len(cut.bars)
    lengths = "length" if many == 1 else "lengths"
    waste = f"{100.0 * cut.waste_ratio:.0f} % waste"
    return f"{many} {lengths} of {cut.stock.length_mm / 1000.0:g} m, {waste}"


def usual_stock(pieces: Iterable[StripPiece]) -> Stock:
    """Straight lengths of 1 m; coils where a piece is longer, as long as the longest needs."""
    longest = max(piece.length_mm for piece in pieces)
    if longest <= STRAIGHT_MM:
        return Stock()
    return Stock(length_mm=COIL_MM * math.ceil(longest / COIL_MM))


def _micrometres(length_mm: float, *, up: bool) -> int:
    """Whole micrometres; a float's noise of a thousandth of one changes nothing."""
    many = round(length_mm * 1000.0, 3)
    return math.ceil(many) if up else math.floor(many)


def _first_fit(sizes: Sequence[int], room: int) -> list[list[int]]:
    """Falling sizes, each into the first bar with space."""
    bars: list[list[int]] = []
    left = np.zeros(len(sizes), dtype=np.int64)
    for size in sizes:
        fits = left[: len(bars)] >= size
        k = int(fits.argmax()) if fits.any() else len(bars)
        if k == len(bars):
            bars.append([])
            left[k] = room
        bars[k].append(size)
        left[k] -= size
    return bars


def _least_bars(sizes: Sequence[int], room: int) -> int:
    """The larger of two bounds.

    L2: sizes above half a bar each need their own; what fits beside them is counted. For every
    ``small`` up to half a bar: sizes above ``room - small`` stand alone, those down to half a bar
    have space for the ones from ``small`` to half a bar. By number: of sizes from any one upwards a
    bar holds no more than of that one alone."""
    if not len(sizes):
        return 0
    rising = np.sort(np.asarray(sizes, dtype=np.int64))
    below = np.concatenate([[0], np.cumsum(rising)])
    half = int(np.searchsorted(rising, room // 2, side="right"))
    small = np.unique(np.concatenate([[0], rising[:half]]))
    alone = np.searchsorted(rising, room - small, side="right")
    first = np.searchsorted(rising, small, side="left")
    beside = (alone - half) * room - (below[alone] - below[half])
    rest = np.maximum(below[half] - below[first] - beside, 0)
    by_length = int((len(rising) - half + -(-rest // room)).max())
    each, smaller = np.unique(rising, return_index=True)
    by_number = int((-(-(len(rising) - smaller) // (room // each))).max())
    return max(by_length, by_number)


class _SpentError(Exception):
    """All steps of the search are used up."""


class _Steps:
    """Counts down."""

    def __init__(self, most: int) -> None:
        self.left = most

    def take(self) -> None:
        """One step; raises _SpentError where none is left."""
        if self.left == 0:
            raise _SpentError
        self.left -= 1


def _searched(
    sizes: Sequence[int], room: int, first: list[list[int]], least: int
) -> tuple[list[list[int]], int]:
    """A list with fewer bars than ``first`` where one is found, and the bound that is proven."""
    if max(len(first), len(set(sizes))) > SEARCHED_MOST:
        return first, least
    steps = _Steps(SEARCH_STEPS)
    try:
        while least < len(first):
            found = _into(Counter(sizes), room, least, steps)
            if found is not None:
                return found, least
            least += 1
    except _SpentError:
        return first, least  # the bound as far as it is proven
    return first, least


def _into(counted: Counter[int], room: int, bars: int, steps: _Steps) -> list[list[int]] | None:
    """Sizes into so many bars, one bar at a time; None where all ways were tried in vain.

    The largest size left goes into the next bar, which is then filled in every way; the bars'
    rests together must not grow past what the sum of the sizes leaves.
    """
    sizes = sorted(counted, reverse=True)
    done: list[list[int]] = []

    def placed(spare: int) -> bool:
        largest = next((size for size in sizes if counted[size]), None)
        if largest is None:
            return True
        if len(done) == bars:
            return False
        for bar in _fillings(counted, sizes, room, largest, spare, steps):
            counted.subtract(bar)
            done.append(bar)
            if placed(spare - (room - sum(bar))):
                return True
            done.pop()
            counted.update(bar)
        return False

    spare = bars * room - sum(size * count for size, count in counted.items())
    return done if spare >= 0 and placed(spare) else None


def _fillings(
    counted: Counter[int],
    sizes: Sequence[int],
    room: int,
    largest: int,
    spare: int,
    steps: _Steps,
) -> Iterator[list[int]]:
    """Ways to fill a bar with its largest piece given, most of the large pieces first.

    Each leaves at most ``spare``, and no left-over size would still go in: a bar that takes one
    piece more is never worse.
    """
    free = Counter(counted)
    free[largest] -= 1

    def on(k: int, left: int) -> Iterator[list[int]]:
        steps.take()
        while k < len(sizes) and not free[sizes[k]]:
            k += 1
        if k == len(sizes):
            if left <= spare:
                yield []
            return
        size = sizes[k]
        for many in range(min(free[size], left // size), -1, -1):
            rest = left - many * size
            for tail in on(k + 1, rest):
                if many == free[size] or size > rest - sum(tail):
                    yield [size] * many + tail

    for tail in on(sizes.index(largest), room - largest):
        yield [largest, *tail]
