"""Does the second holder go on by hand? Every pocket meets its can at once, over all cells.

Upright cans stand in the lower holder's pockets and have to enter the upper one's. Where the two
prints differ (scale, squareness, places of pockets), a can is off the upper pocket's centre; the
clearance of both pockets takes that up. The question is answered three ways: by worst case, by the
root of the sum of squares (RSS), and by chance, drawn many times from a seeded generator. All
lengths in mm, scale and squareness as ratios. Shrinkage that both prints have in common cancels.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "FitSpread",
    "TileJoints",
    "chance_of",
    "clearance_for",
    "clearances_needed_mm",
    "farthest_mm",
    "rss_clearance_mm",
    "rss_radius_mm",
    "worst_clearance_mm",
]

SIGMAS = 3.0  # of limits and of RSS: 99.7 % of one normal value; common practice, no source
DRAWN_AT_ONCE = 400_000  # cells of all trials in one go: some 30 MB


@dataclass(frozen=True, kw_only=True, slots=True)
class FitSpread:
    """What two prints and their cans differ by; one standard deviation each where not said.

    ``scale``, ``skew``: of one print, along each axis and of x to y [ratio]; ``place_mm``: of a
    pocket's centre, each axis; ``pocket_mm``: of its diameter; ``under_mm``: by what all pockets
    come out too small, the mean; ``can_mm``: of can diameters, whose mean lies ``can_below_mm``
    under the largest. ``turned``: scale along x less that along y of the printer, which counts
    where the two holders lie a quarter turn apart on the bed; ``out_of_square``: shear of the
    printer itself [ratio]. Each holder is printed with its outer face down, so one is turned over
    before they meet: their shears are opposite, and add up where they lie the same way round.
    """

    scale: float = 0.0005
    skew: float = 0.0003
    place_mm: float = 0.03
    pocket_mm: float = 0.04
    under_mm: float = 0.0
    can_mm: float = 0.03
    can_below_mm: float = 0.10
    turned: float = 0.0
    out_of_square: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class TileJoints:
    """Where tiles of one holder are joined. ``tiles`` (m, 2), ``at_mm`` (m, 2); ``play_mm``: by
    which a joint of either holder gives way, in any direction."""

    tiles: NDArray[np.int64]
    at_mm: NDArray[np.float64]
    play_mm: float


def farthest_mm(xy_mm: NDArray[np.float64]) -> float:
    """Distance of the farthest of (N, 2) cells from their centre."""
    return float(np.hypot(*(xy_mm - xy_mm.mean(axis=0)).T).max())


def worst_clearance_mm(radius_mm: float, spread: FitSpread) -> float:
    """Clearance with which a holder of that radius goes on with every error at its limit and the
    largest cans: u + 3 pocket + 6 sqrt(2) place + 6 (scale + skew) R, and what is not by chance."""
    z, s = SIGMAS, spread
    by_chance = z * s.pocket_mm + 2 * z * (sqrt(2.0) * s.place_mm + (s.scale + s.skew) * radius_mm)
    return s.under_mm + by_chance + _fixed(s) * radius_mm


def rss_clearance_mm(radius_mm: float, spread: FitSpread) -> float:
    """The same where errors add by their squares and cans are as wide as usual: u - below +
    3 sqrt(pocket^2/2 + can^2 + 2 place^2 + 2 (scale^2 + skew^2/2) R^2)."""
    s = spread
    squares = _squares_mm2(s) + 2 * (s.scale**2 + s.skew**2 / 2) * radius_mm**2
    return s.under_mm - s.can_below_mm + SIGMAS * sqrt(squares) + _fixed(s) * radius_mm


def rss_radius_mm(clearance_mm: float, spread: FitSpread) -> float:
    """Largest radius that a clearance does for by ``rss_clearance_mm``, found by halving; 0: none
    does."""
    low, high = 0.0, 1e4  # 10 m: larger than any holder
    while high - low > 0.1:
        middle = (low + high) / 2
        enough = rss_clearance_mm(middle, spread) <= clearance_mm
        low, high = (middle, high) if enough else (low, middle)
    return low


def _squares_mm2(s: FitSpread) -> float:
    return s.pocket_mm**2 / 2 + s.can_mm**2 + 2 * s.place_mm**2


def _fixed(s: FitSpread) -> float:
    """Errors that are the printer's own, as displacement for each mm of radius."""
    return abs(s.turned) + abs(s.out_of_square)


def chance_of(needed_mm: NDArray[np.float64], clearance_mm: float) -> float:
    """Share of trials that a clearance does for, 0 to 1."""
    return float(np.mean(needed_mm <= clearance_mm))


def clearance_for(needed_mm: NDArray[np.float64], share: float) -> float:
    """Least clearance that does for such a share of the trials."""
    return float(np.quantile(needed_mm, share, method="higher"))


def clearances_needed_mm(
    xy_mm: NDArray[np.float64],
    spread: FitSpread,
    *,
    trials: int,
    seed: int = 1,
    tile: NDArray[np.int64] | None = None,
    joints: TileJoints | None = None,
) -> NDArray[np.float64]:
    """(trials,) least clearance with which each drawn pair of holders goes on.

    ``xy_mm`` (N, 2). A pair goes on where every can enters both its pockets and, standing upright,
    is off the upper pocket's centre by no more than half the sum of both clearances. The upper
    holder is shifted and turned by least squares; a hand that feels its way does better, so the
    chance is a lower bound. ``tile`` (N,): of holders in tiles, which carries each cell: each pair
    of tiles is two prints of its own, shifted and turned by itself; where neighbours would part by
    more than the play of both holders' ``joints``, both are moved back, which costs clearance."""
    rng = np.random.default_rng(seed)
    step = max(1, DRAWN_AT_ONCE // len(xy_mm))
    of = np.zeros(len(xy_mm), dtype=np.int64) if tile is None else tile
    found = [
        _drawn(rng, xy_mm, spread, min(step, trials - begun), of, joints)
        for begun in range(0, trials, step)
    ]
    return np.concatenate(found)


def _drawn(
    rng: np.random.Generator,
    xy_mm: NDArray[np.float64],
    spread: FitSpread,
    trials: int,
    tile: NDArray[np.int64],
    joints: TileJoints | None,
) -> NDArray[np.float64]:
    tiles = [
        _TilePair(rng, xy_mm[tile == one], spread, trials) for one in range(int(tile.max()) + 1)
    ]
    needed = np.max([one.needed_mm for one in tiles], axis=0)
    if joints is None:
        return np.asarray(needed)
    play = max(0.0, joints.play_mm - spread.under_mm / 2)
    over: dict[tuple[int, int], NDArray[np.float64]] = {}
    for (i, j), at in zip(joints.tiles.tolist(), joints.at_mm, strict=True):
        apart = np.hypot(*(tiles[i].off_mm(at) - tiles[j].off_mm(at)))
        most = np.maximum(apart - 2 * play, 0.0)  # both holders' joints give way
        over[i, j] = np.maximum(over.get((i, j), 0.0), most)
    # each of two neighbours goes half the way back
    return np.asarray(needed + sum(over.values()) / 2)


class _TilePair:
    """A lower piece and the upper one over it, each drawn so many times."""

    def __init__(
        self, rng: np.random.Generator, xy_mm: NDArray[np.float64], s: FitSpread, trials: int
    ) -> None:
        self._centre = xy_mm.mean(axis=0)
        x, y = (xy_mm - self._centre).T
        two = sqrt(2.0)  # the difference of two prints
        self._x_scale = rng.normal(s.turned, s.scale * two, (trials, 1))
        self._y_scale = rng.normal(-s.turned, s.scale * two, (trials, 1))
        self._shear = rng.normal(2 * s.out_of_square, s.skew * two, (trials, 1))
        dx = rng.normal(0.0, s.place_mm * two, (trials, len(x)))
        dy = rng.normal(0.0, s.place_mm * two, (trials, len(x)))
        dx += self._x_scale * x + self._shear * y
        dy += self._y_scale * y
        self._shift = -dx.mean(axis=1, keepdims=True), -dy.mean(axis=1, keepdims=True)
        square = float((x**2 + y**2).sum())
        self._turn = (dx @ y - dy @ x)[:, None] / square if square else np.zeros((trials, 1))
        dx += self._shift[0] - self._turn * y
        dy += self._shift[1] + self._turn * x
        can = np.minimum(rng.normal(-s.can_below_mm, s.can_mm, dx.shape), 0.0) + s.under_mm
        lower, upper = rng.normal(0.0, s.pocket_mm, (2, *dx.shape))
        enters = can - np.minimum(lower, upper)
        meets = can - (lower + upper) / 2 + np.hypot(dx, dy)
        self.needed_mm: NDArray[np.float64] = np.maximum(enters, meets).max(axis=1)

    def off_mm(self, at_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """(2, trials) by which the upper piece is off the lower one at a place."""
        x, y = at_mm - self._centre
        dx = self._x_scale * x + self._shear * y + self._shift[0] - self._turn * y
        dy = self._y_scale * y + self._shift[1] + self._turn * x
        return np.array([dx[:, 0], dy[:, 0]])
