"""A flat sheet as a conductor between its contacts: finite volumes on a raster.

Every square of the raster is a node, neighbours are joined by thickness / resistivity; the squares
under a contact are one node. All other nodes are eliminated (Kron reduction, any textbook on
networks): what is left are conductances between the contacts, exact for the raster. Heat follows
the same network, since by Wiedemann and Franz a metal conducts it in proportion to electricity.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array, diags_array
from scipy.sparse.linalg import splu
from shapely.geometry.base import BaseGeometry

__all__ = ["STEP_MM", "Covering", "SheetField", "sheet_field"]

STEP_MM = 0.5  # against 0.25: 3 % more ohms
# of a contact's own resistance to the rest of the raster: crumbs that hang on nothing are left out
LEAST_SIEMENS = 1e-9
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
    ``laplacian`` (n, n): of the other nodes. ``step_mm``: of the raster."""

    conductance: NDArray[np.float64]
    inner: NDArray[np.float64]
    node: NDArray[np.int64]
    siemens: NDArray[np.float64]
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

    def rise_k(
        self, volts: NDArray[np.float64], *, film_w_m2k: float, heat_w_k_siemens: float
    ) -> float:
        """Hottest place of the sheet over its contacts, which are held at their own temperature.

        Its heat is conducted to the contacts and given off by ``film_w_m2k`` on one face.
        ``heat_w_k_siemens``: what conducts a siemens conducts of heat, the Lorenz number times the
        temperature in kelvin."""
        spread = np.concatenate([volts, self.inner @ volts])
        watts = np.zeros(len(spread))
        for a, b, siemens in _neighbours(self.node, self.siemens):
            half = siemens * (spread[a] - spread[b]) ** 2 / 2.0
            np.add.at(watts, a, half)
            np.add.at(watts, b, half)
        if not len(self.inner):
            return 0.0
        film = film_w_m2k * (self.step_mm / 1000.0) ** 2
        heat = self.laplacian * heat_w_k_siemens + film * diags_array(np.ones(len(self.inner)))
        return float(splu(heat.tocsc()).solve(watts[self.contacts :]).max())


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
    return _reduced(node, square, len(contacts), step_mm)


def _neighbours(
    node: NDArray[np.int64], square: NDArray[np.float64]
) -> list[tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]]:
    """Nodes and siemens of all squares side by side: two half squares in series."""
    found = []
    for a, b, sa, sb in (
        (node[:, :-1], node[:, 1:], square[:, :-1], square[:, 1:]),
        (node[:-1], node[1:], square[:-1], square[1:]),
    ):
        joined = (a >= 0) & (b >= 0) & (a != b)
        first, second = sa[joined], sb[joined]
        found.append((a[joined], b[joined], 2.0 * first * second / (first + second)))
    return found


def _reduced(
    node: NDArray[np.int64], square: NDArray[np.float64], count: int, step_mm: float
) -> SheetField:
    pairs = _neighbours(node, square)
    a, b, siemens = (np.concatenate(column) for column in zip(*pairs, strict=True))
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
    inner = -splu(grounded.tocsc()).solve(edge) if nodes > count else edge
    return SheetField(
        conductance=whole[:count, :count].toarray() + edge.T @ inner,
        inner=inner,
        node=node,
        siemens=square,
        laplacian=laplacian,
        step_mm=step_mm,
    )
