"""Pictures of the parts and of the assembly pulled apart, drawn by a second process."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generators.drawings.hidden_lines import Triangles, visible_lines
from generators.drawings.svg import line_drawing
from generators.second_process import serve_one
from layouts.parts.view import VIEW_FROM_ABOVE

__all__ = [
    "Cans",
    "PartPicture",
    "PictureJob",
    "Pictures",
    "can_triangles",
    "draw",
    "pulled_apart",
    "serve",
]

# Printed size of a part's picture and of the assembly's, at most.
PART_WITHIN_MM = (82.0, 62.0)
EXPLODED_WITHIN_MM = (150.0, 215.0)
# A bracket turns its ribs to +x, +y; every other part is seen from the front right.
# The assembly is seen from lower down: its layers hide less of each other.
EXPLODED_VIEW = (1.0, -1.4, 0.8)
# From below. Each layer floats above the one before it.
LAYERS = (
    "floor_strap", "tub", "holder_lower", "cans", "barrier", "holder_upper", "lid", "lid_strap",
)  # fmt: skip
# Gap between layers as a share of the gap at which no layer hides any of the one below.
GAP_SHARE = 0.5
BRACKET_OUT_MM = 30.0
CAN_SIDES = 24


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PartPicture:
    """One part to be drawn.

    ``vertices_mm`` (n, 3), ``faces`` (m, 3): its closed mesh, as printed. ``placed``: (4, 4)
    places in the assembly that the picture of the assembly shows. ``aside``: of brackets the unit
    way (x, y) that each placed copy is moved out. ``alone``: whether it gets pictures of its own,
    seen from ``view``. ``supports``: loose bodies beside it as printed.
    """

    name: str
    role: str
    vertices_mm: NDArray[np.float64]
    faces: NDArray[np.int64]
    placed: tuple[NDArray[np.float64], ...]
    aside: tuple[tuple[float, float], ...] = ()
    alone: bool = True
    view: tuple[float, float, float] = VIEW_FROM_ABOVE
    supports: tuple[Triangles, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Cans:
    """The cells of the assembly's picture, (n, 2) centres [mm]."""

    xy_mm: NDArray[np.float64]
    diameter_mm: float
    length_mm: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PictureJob:
    """All that is to be drawn of one pack."""

    parts: tuple[PartPicture, ...]
    cans: Cans


@dataclass(frozen=True, kw_only=True, slots=True)
class Pictures:
    """SVG texts: from above and from below by part name, as printed; and the assembly."""

    above: dict[str, str]
    below: dict[str, str]
    exploded: str


def draw(job: PictureJob) -> Pictures:
    """Draw everything."""
    above: dict[str, str] = {}
    below: dict[str, str] = {}
    for part in job.parts:
        if not part.alone:
            continue
        x, y, z = part.view
        meshes = [(part.vertices_mm, part.faces), *part.supports]
        for drawn, view, way in ((above, (x, y, z), "above"), (below, (x, y, -z), "below")):
            drawn[part.name] = line_drawing(
                visible_lines(meshes, view=view, within_mm=PART_WITHIN_MM),
                title=f"{part.name}, as printed, from {way}",
                within_mm=PART_WITHIN_MM,
            )
    lines = visible_lines(pulled_apart(job), view=EXPLODED_VIEW, within_mm=EXPLODED_WITHIN_MM)
    return Pictures(
        above=above,
        below=below,
        exploded=line_drawing(lines, title="exploded view", within_mm=EXPLODED_WITHIN_MM),
    )


def pulled_apart(job: PictureJob) -> list[Triangles]:
    """Meshes of the assembly, its layers lifted off each other, brackets moved out sideways.

    The order from below is that of ``LAYERS``; brackets stay at the tub's height.
    """
    layers: dict[str, list[Triangles]] = {name: [] for name in LAYERS}
    brackets: list[Triangles] = []
    for part in job.parts:
        placed = [
            (part.vertices_mm @ matrix[:3, :3].T + matrix[:3, 3], part.faces)
            for matrix in part.placed
        ]
        if part.role == "bracket":
            brackets += [
                (points + (BRACKET_OUT_MM * x, BRACKET_OUT_MM * y, 0.0), faces)
                for (points, faces), (x, y) in zip(placed, part.aside, strict=True)
            ]
        else:
            layers[part.role] += placed
    layers["cans"] = [can_triangles(job.cans)] if len(job.cans.xy_mm) else []
    filled = {name: layer for name, layer in layers.items() if layer}
    carrying = "tub" if "tub" in filled else next(iter(filled), "")
    gap = _gap_mm(list(filled.values()))
    out: list[Triangles] = []
    level = 0.0
    for name, layer in filled.items():
        low, high = _heights(layer)
        lift = level - low
        out += _lifted(layer, lift)
        if name == carrying:
            out += _lifted(brackets, lift)
        level += high - low + gap
    return out


def _gap_mm(layers: Sequence[Sequence[Triangles]]) -> float:
    """Height between two layers, by how deep the widest layer reaches away from the eye."""
    x, y, z = EXPLODED_VIEW
    across = math.hypot(x, y)
    deep = max(
        float(
            np.ptp(
                np.concatenate([points[:, :2] @ (x / across, y / across) for points, _ in layer])
            )
        )
        for layer in layers
    )
    return GAP_SHARE * deep * z / across


def _heights(layer: Sequence[Triangles]) -> tuple[float, float]:
    return (
        min(float(points[:, 2].min()) for points, _ in layer),
        max(float(points[:, 2].max()) for points, _ in layer),
    )


def _lifted(layer: Sequence[Triangles], lift: float) -> list[Triangles]:
    return [(points + (0.0, 0.0, lift), faces) for points, faces in layer]


def can_triangles(cans: Cans) -> Triangles:
    """All cans as one mesh of prisms, lower ends on z = 0."""
    angle = np.arange(CAN_SIDES) * (math.tau / CAN_SIDES)
    ring = cans.diameter_mm / 2 * np.column_stack([np.cos(angle), np.sin(angle)])
    low = np.column_stack([ring, np.zeros(CAN_SIDES)])
    one = np.vstack([low, low + (0.0, 0.0, cans.length_mm)])
    k = np.arange(CAN_SIDES)
    after = (k + 1) % CAN_SIDES
    fan = np.arange(1, CAN_SIDES - 1)
    first = np.zeros_like(fan)
    sides = np.vstack(
        [
            np.column_stack([k, after, after + CAN_SIDES]),
            np.column_stack([k, after + CAN_SIDES, k + CAN_SIDES]),
            np.column_stack([first, fan + 1, fan]),
            np.column_stack([first, fan, fan + 1]) + CAN_SIDES,
        ]
    )
    count = len(cans.xy_mm)
    places = np.column_stack([cans.xy_mm, np.zeros(count)])
    points = (places[:, None] + one).reshape(-1, 3)
    faces = (np.arange(count)[:, None, None] * len(one) + sides).reshape(-1, 3)
    return points, faces.astype(np.int64)


def serve() -> None:
    """The drawing process."""
    serve_one(draw)
