"""A flat sheet as a conductor between its contacts: finite volumes on a raster.

Every square of the raster is a node, neighbours are joined by thickness / resistivity times the
share of their common side that lies in the sheet; the squares under a contact are one node. All
other nodes are eliminated (Kron reduction, any textbook on networks): what is left are conductances
between the contacts, exact for the raster. Heat follows the same network, since by Wiedemann and
Franz a metal conducts it in proportion to electricity. Gaps narrower than a square may be bridged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array, diags_array
from scipy.sparse.linalg import SuperLU, splu
from shapely.geometry.base import BaseGeometry

__all__ = ["STEP_MM", "Covering", "SheetField", "sheet_field"]

STEP_MM = 0.75  # within 0.7 % of the ohms by finite elements
LOOK_POINTS = 4  # of a square's side, that tell whether the sheet's edge crosses it
SIDE_POINTS = 64  # of a side that it crosses, that tell how much of it lies in the sheet
# of a contact's own resistance to the rest of the raster: crumbs that hang on nothing are left out
LEAST_SIEMENS = 1e-9
LEAST_SHARE = 0.05  # of a way between two squares that a contact's edge leaves outside
LINK_LEAST_SIEMENS = 1e-3  # links that carry less do not count: a kiloohm beside milliohms


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Covering:
    """A second conductor that lies on part of a sheet: its shape, thickness / resistivity [S]."""

    shape: BaseGeometry
    siemens: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SheetField:
    """The reduced sheet.

    ``conductance`` (k, k): siemens between its k contacts, rows sum to zero. ``inner`` (n, k):
    volts of every other node for a volt at each contact. ``links_between`` (m, 2) and
    ``links_siemens`` (m,): nodes side by side, contacts first, and what lies between their middles.
    ``laplacian`` (n, n): of the nodes that are no contacts. ``area_mm2`` (n,): of the sheet in
    each of their squares."""

    conductance: NDArray[np.float64]
    inner: NDArray[np.float64]
    links_between: NDArray[np.int64]
    links_siemens: NDArray[np.float64]
    laplacian: csc_array
    area_mm2: NDArray[np.float64]

    @property
    def contacts(self) -> int:
        """How many there are."""
        return len(self.conductance)

    def links(self) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
        """Pairs (m, 2) of contacts and the ohms (m,) of the link between each."""
        i, j = np.triu_indices(self.contacts, k=1)
        siemens = -self.conductance[i, j]
        kept = siemens > LINK_LEAST_SIEMENS
        return np.column_stack([i[kept], j[kept]]).astype(np.int64), 1.0 / siemens[kept]

    def scaled(self, siemens: float) -> SheetField:
        """The same sheet with every square's siemens times as much: volts inside stay."""
        return replace(
            self,
            conductance=self.conductance * siemens,
            links_siemens=self.links_siemens * siemens,
            laplacian=csc_array(self.laplacian * siemens),
        )

    def rises_k(
        self, volts: NDArray[np.float64], *, film_w_m2k: float, heat_w_k_siemens: float
    ) -> NDArray[np.float64]:
        """(m,) hottest place of the sheet over its contacts, held at their own temperature.

        ``volts`` (m, k): at the contacts, in each of m cases. The sheet's heat is conducted to the
        contacts and given off by ``film_w_m2k`` on one face. ``heat_w_k_siemens``: what conducts a
        siemens conducts of heat, the Lorenz number times the temperature in kelvin."""
        if not len(self.inner):
            return np.zeros(len(volts))
        spread = np.vstack([volts.T, self.inner @ volts.T])
        watts = np.zeros(spread.shape)
        a, b = self.links_between.T
        half = self.links_siemens[:, None] * (spread[a] - spread[b]) ** 2 / 2.0
        np.add.at(watts, a, half)
        np.add.at(watts, b, half)
        warm = _heat_solver(self, film_w_m2k, heat_w_k_siemens).solve(watts[self.contacts :])
        return np.asarray(warm.max(axis=0), dtype=np.float64)


@lru_cache(maxsize=32)  # limit, rise and choice of a pack ask for the same sheets
def _heat_solver(field: SheetField, film_w_m2k: float, heat_w_k_siemens: float) -> SuperLU:
    film = film_w_m2k * 1e-6 * field.area_mm2
    heat = field.laplacian * heat_w_k_siemens + diags_array(film)
    return _factored(heat.tocsc())


def _factored(matrix: csc_array) -> SuperLU:
    """Of a symmetric matrix whose diagonal outweighs the rest: no pivoting is needed."""
    return splu(
        matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
    )


def sheet_field(
    shape: BaseGeometry,
    contacts: Sequence[BaseGeometry],
    siemens: float,
    *,
    coverings: Sequence[Covering] = (),
    step_mm: float = STEP_MM,
) -> SheetField:
    """The sheet over ``shape`` (and its coverings'), reduced to its contacts.

    ``siemens``: thickness / resistivity of the sheet, all layers of its shape. Raises ValueError
    where a contact covers no square of the raster.
    """
    whole = shapely.union_all([shape, *(one.shape for one in coverings)])
    x0, y0, x1, y1 = whole.bounds
    x, y = np.meshgrid(
        np.arange(x0 - step_mm / 2.0, x1 + step_mm, step_mm),
        np.arange(y0 - step_mm / 2.0, y1 + step_mm, step_mm),
    )
    beside, above = (share * siemens for share in _sides_within(shape, x, y, step_mm))
    for covering in coverings:
        more = (share * covering.siemens for share in _sides_within(covering.shape, x, y, step_mm))
        beside, above = (one + two for one, two in zip((beside, above), more, strict=True))
    sides = np.zeros(x.shape)  # of four, those that conduct at all
    for part, open_sides in (
        (np.s_[:, :-1], beside), (np.s_[:, 1:], beside), (np.s_[:-1], above), (np.s_[1:], above),
    ):  # fmt: skip
        sides[part] += open_sides > 0
    node = np.full(x.shape, -1, dtype=np.int64)
    for number, contact in enumerate(contacts):
        here = _window(contact, x, y)
        under = (sides[here] > 0) & shapely.contains_xy(contact, x[here], y[here])
        if not under.any():
            raise ValueError(f"contact {number} covers no square of the sheet")
        node[here][under] = number
    rest = (sides > 0) & (node < 0)
    node[rest] = len(contacts) + np.arange(int(rest.sum()))
    squares, between, side_by_side = _neighbours(node, beside, above)
    share = _share_outside(squares, between, x, y, contacts)
    area_mm2 = sides[rest] / 4.0 * step_mm**2
    return _reduced(between, side_by_side / share, len(contacts), area_mm2)


def _window(
    shape: BaseGeometry, x: NDArray[np.float64], y: NDArray[np.float64]
) -> tuple[slice, slice]:
    """Rows and columns of the raster that a shape's box reaches."""
    x0, y0, x1, y1 = shape.bounds
    rows, columns = np.searchsorted(y[:, 0], (y0, y1)), np.searchsorted(x[0], (x0, x1))
    return slice(*rows.tolist()), slice(*columns.tolist())


def _sides_within(
    shape: BaseGeometry, x: NDArray[np.float64], y: NDArray[np.float64], step_mm: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Share of each side between two squares of a row (rows, columns - 1) and of a column
    (rows - 1, columns) that lies in the shape."""
    half = step_mm / 2.0
    beside = _share_within(shape, x[:, 1:] - half, y[:, 1:] - half, (0.0, step_mm))
    above = _share_within(shape, x[1:] - half, y[1:] - half, (step_mm, 0.0))
    return beside, above


def _share_within(
    shape: BaseGeometry,
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    way_mm: tuple[float, float],
) -> NDArray[np.float64]:
    """Share of each line from (x, y) on along ``way_mm`` that lies in the shape: points show which
    ones an edge crosses, more points on those how much."""
    shapely.prepare(shape)

    def within(share: float, at: NDArray[np.bool_] | tuple[()] = ()) -> NDArray[np.bool_]:
        a, b = x[at] + share * way_mm[0], y[at] + share * way_mm[1]
        return np.asarray(shapely.contains_xy(shape, a, b))

    found = np.mean([within(share) for share in np.linspace(0.0, 1.0, LOOK_POINTS)], axis=0)
    crossed = (found > 0.0) & (found < 1.0)
    fine = (np.arange(SIDE_POINTS) + 0.5) / SIDE_POINTS
    found[crossed] = np.mean([within(share, crossed) for share in fine], axis=0)
    return np.asarray(found)


def _neighbours(
    node: NDArray[np.int64], beside: NDArray[np.float64], above: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    """Squares side by side of different nodes: (m, 2) their places in the flat raster, (m, 2) their
    nodes, (m,) siemens between their middles, which are those of the side between them."""
    place = np.arange(node.size).reshape(node.shape)
    squares = np.vstack(
        [
            np.column_stack([place[:, :-1].ravel(), place[:, 1:].ravel()]),
            np.column_stack([place[:-1].ravel(), place[1:].ravel()]),
        ]
    )
    siemens = np.concatenate([beside.ravel(), above.ravel()])
    nodes = node.ravel()[squares]
    joined = (siemens > 0) & (nodes[:, 0] != nodes[:, 1])
    return squares[joined], nodes[joined], siemens[joined]


def _share_outside(
    squares: NDArray[np.int64],
    nodes: NDArray[np.int64],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    contacts: Sequence[BaseGeometry],
) -> NDArray[np.float64]:
    """(m,) of each way between two middles, what lies outside a contact that one of them is in.

    The contact's edge is where its volts begin, not the middle of its outermost square."""
    at = np.stack([x.ravel()[squares], y.ravel()[squares]], axis=2)
    share = np.ones(len(squares))
    for number, contact in enumerate(contacts):
        here = np.flatnonzero((nodes == number).sum(axis=1) == 1)
        ways = shapely.linestrings(at[here])
        outside = shapely.length(shapely.difference(ways, contact)) / shapely.length(ways)
        share[here] = np.maximum(outside, LEAST_SHARE)
    return share


def _reduced(
    between: NDArray[np.int64],
    siemens: NDArray[np.float64],
    count: int,
    area_mm2: NDArray[np.float64],
) -> SheetField:
    a, b = between.T
    nodes = count + len(area_mm2)
    whole = coo_array(
        (
            np.concatenate([siemens, siemens, -siemens, -siemens]),
            (np.concatenate([a, b, a, b]), np.concatenate([a, b, b, a])),
        ),
        shape=(nodes, nodes),
    ).tocsc()
    laplacian = csc_array(whole[count:, count:])
    edge = whole[count:, :count].toarray()
    grounded = laplacian + LEAST_SIEMENS * diags_array(np.ones(nodes - count))
    inner = -_factored(grounded.tocsc()).solve(edge) if nodes > count else edge
    return SheetField(
        conductance=whole[:count, :count].toarray() + edge.T @ inner,
        inner=inner,
        links_between=between,
        links_siemens=siemens,
        laplacian=laplacian,
        area_mm2=area_mm2,
    )
