"""A flat sheet as a conductor between its contacts: finite volumes on a raster.

Every square of the raster is a node, neighbours are joined by thickness / resistivity; the squares
under a contact are one node. All other nodes are eliminated (Kron reduction, any textbook on
networks): what is left are conductances between the contacts, exact for the raster. Heat follows
the same network, since by Wiedemann and Franz a metal conducts it in proportion to electricity.
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

STEP_MM = 0.5  # against 0.25: 3 % more ohms
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
    volts of every other node for a volt at each contact. ``node`` (rows, columns): number of each
    square's node, contacts first, -1 outside. ``siemens`` (rows, columns): of each square.
    ``links_between`` (m, 2) and ``links_siemens`` (m,): nodes side by side and what lies between
    their middles. ``laplacian`` (n, n): of the nodes that are no contacts. ``step_mm``: of the
    raster."""

    conductance: NDArray[np.float64]
    inner: NDArray[np.float64]
    node: NDArray[np.int64]
    siemens: NDArray[np.float64]
    links_between: NDArray[np.int64]
    links_siemens: NDArray[np.float64]
    laplacian: csc_array
    step_mm: float

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
            siemens=self.siemens * siemens,
            links_siemens=self.links_siemens * siemens,
            laplacian=csc_array(self.laplacian * siemens),
        )

    def density_a_mm(self, volts: NDArray[np.float64]) -> NDArray[np.float64]:
        """(rows, columns) current per mm of width [A/mm]; nan at contacts, edges and outside.

        ``volts`` (k,): at the contacts."""
        spread = np.concatenate([volts, self.inner @ volts])
        field = np.where(self.node >= 0, spread[self.node], np.nan)
        along = np.full(field.shape, np.nan)
        across = np.full(field.shape, np.nan)
        along[:, 1:-1] = (field[:, 2:] - field[:, :-2]) / (2.0 * self.step_mm)
        across[1:-1] = (field[2:] - field[:-2]) / (2.0 * self.step_mm)
        dense = np.hypot(along, across) * self.siemens
        return np.where(self.node >= self.contacts, dense, np.nan)

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
    film = film_w_m2k * (field.step_mm / 1000.0) ** 2
    heat = field.laplacian * heat_w_k_siemens + film * diags_array(np.ones(len(field.inner)))
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
    covering: Covering | None = None,
    step_mm: float = STEP_MM,
) -> SheetField:
    """The sheet over ``shape`` (and its covering's), reduced to its contacts.

    ``siemens``: thickness / resistivity of the sheet, all layers. Raises ValueError where a contact
    covers no square of the raster.
    """
    whole = shape if covering is None else shapely.union(shape, covering.shape)
    x0, y0, x1, y1 = whole.bounds
    x, y = np.meshgrid(
        np.arange(x0 + step_mm / 2.0, x1, step_mm), np.arange(y0 + step_mm / 2.0, y1, step_mm)
    )
    square = np.where(shapely.contains_xy(shape, x, y), siemens, 0.0)
    if covering is not None:
        square += np.where(shapely.contains_xy(covering.shape, x, y), covering.siemens, 0.0)
    node = np.full(square.shape, -1, dtype=np.int64)
    for number, contact in enumerate(contacts):
        under = (square > 0) & shapely.contains_xy(contact, x, y)
        if not under.any():
            raise ValueError(f"contact {number} covers no square of the sheet")
        node[under] = number
    rest = (square > 0) & (node < 0)
    node[rest] = len(contacts) + np.arange(int(rest.sum()))
    squares, between, side_by_side = _neighbours(node, square)
    share = _share_outside(squares, between, x, y, contacts)
    return _reduced(node, square, between, side_by_side / share, len(contacts), step_mm)


def _neighbours(
    node: NDArray[np.int64], square: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    """Squares side by side of different nodes: (m, 2) their places in the flat raster, (m, 2) their
    nodes, (m,) siemens between their middles: two half squares in series."""
    place = np.arange(node.size).reshape(node.shape)
    squares = np.vstack(
        [
            np.column_stack([place[:, :-1].ravel(), place[:, 1:].ravel()]),
            np.column_stack([place[:-1].ravel(), place[1:].ravel()]),
        ]
    )
    nodes = node.ravel()[squares]
    joined = (nodes >= 0).all(axis=1) & (nodes[:, 0] != nodes[:, 1])
    squares, nodes = squares[joined], nodes[joined]
    first, second = square.ravel()[squares].T
    return squares, nodes, 2.0 * first * second / (first + second)


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
    node: NDArray[np.int64],
    square: NDArray[np.float64],
    between: NDArray[np.int64],
    siemens: NDArray[np.float64],
    count: int,
    step_mm: float,
) -> SheetField:
    a, b = between.T
    nodes = int(node.max()) + 1
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
        node=node,
        siemens=square,
        links_between=between,
        links_siemens=siemens,
        laplacian=laplacian,
        step_mm=step_mm,
    )
