"""One thing of a finished pack as all its pictures show it: solids in place, and the bill's row."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from generators.meshes.mesh import Mesh
from generators.shaded.palette import Paint

__all__ = ["Placed", "Scene", "Thing", "Wedge", "kept"]

# half spaces (n . x > d); what lies in all of them is cut away
Wedge = tuple[tuple[tuple[float, float, float], float], ...]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Placed:
    """One copy: a closed mesh, its (4, 4) place in the pack's coordinates, and how it moves where
    the pack is pulled apart. ``rides_mm``: the place of the part that carries it, gone with that;
    None: its own middle."""

    mesh: Mesh
    place: NDArray[np.float64]
    apart_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    rides_mm: tuple[float, float, float] | None = None

    @property
    def vertices_mm(self) -> NDArray[np.float64]:
        """(n, 3) corners in the pack's coordinates."""
        if np.array_equal(self.place[:3, :3], np.eye(3)):
            return self.mesh.vertices_mm + self.place[:3, 3]
        x, y, z = self.mesh.vertices_mm.T
        return np.stack([a * x + b * y + c * z + d for a, b, c, d in self.place[:3]], axis=1)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Thing:
    """Equal or alike solids of one row of the bill.

    ``row``: of the bill, from 1. ``cut``: the wedge that cuts it open, "" for none: what is bought
    is never sawn, but for sheets. ``rides``: the wedge that takes a copy away whole where the part
    that carries it is cut away."""

    name: str
    row: int
    paint: Paint
    copies: tuple[Placed, ...]
    cut: str = ""
    rides: str = ""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Scene:
    """All things of a pack. ``undrawn``: rows of the bill without one, each with the reason.

    ``middle_mm``: of the walls, or of the held cells; ``size_mm``: of these in x and y; ``tall_mm``
    of a can. ``floor_mm``, ``top_mm``: z of the floor's upper face and of the upper holder's outer
    face. ``front``: signs of x and y of the side that is seen."""

    things: tuple[Thing, ...]
    undrawn: Mapping[int, str]
    middle_mm: tuple[float, float]
    size_mm: tuple[float, float]
    tall_mm: float
    floor_mm: float
    top_mm: float
    front: tuple[float, float]

    @property
    def rows(self) -> frozenset[int]:
        """Rows of the bill that have a thing."""
        return frozenset(one.row for one in self.things)


def kept(things: Sequence[Thing], wedges: Mapping[str, Wedge]) -> tuple[Thing, ...]:
    """Things as a cutaway shows them: without copies whose carrying part is cut away there."""
    return tuple(
        replace(one, copies=tuple(c for c in one.copies if not _gone(c, wedges.get(one.rides, ()))))
        for one in things
    )


def _gone(copy: Placed, wedge: Wedge) -> bool:
    if not wedge:
        return False
    at = copy.vertices_mm.mean(axis=0) if copy.rides_mm is None else np.asarray(copy.rides_mm)
    return all(float(np.dot(normal, at)) > far for normal, far in wedge)
