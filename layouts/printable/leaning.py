"""Faces that lean out farther than each layer rests on the one below.

Exact for what is drawn as a cone and for shapes that are given as a mesh; of a row of thin steps
what a few of them reach over the lowest. Level faces are ceilings
and looked at there; so are crowns of sideways bores, layer by layer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely.geometry.base import BaseGeometry

from layouts.parts.drawing import Drawing
from layouts.parts.given import GivenShape
from layouts.printable.bridging import bridge_of, mitred
from layouts.printable.finding import Look, PrintCheck, PrintFinding, Severity
from layouts.printable.layers import PartLayers, pieces_of
from layouts.printable.leaning_steps import LeaningSteps, leaning_steps
from layouts.printable.limits import (
    BRIDGE_WARNS_MM,
    FREE_SHARE,
    LEAN_DEG,
    LEANING_MM2,
    PRACTICE,
)
from layouts.printing.sections import disc_at
from layouts.slabs.body import ConeWall

__all__ = ["LEANING", "Leaning", "leaning_of"]

LEAN_SLACK_DEG = 0.01  # float noise of a face at exactly the limit
LEVEL_DEG = 79.0  # from here on a face is a ceiling
TINY_MM2 = 1e-9  # no facet, and no height


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Leaning:
    """A face, or neighbours; ``lean_deg``: from upright, the steepest; ``plan``: what it covers,
    ceilings that it goes on as with it; ``z_mm``: its lowest."""

    lean_deg: float
    area_mm2: float
    z_mm: float
    plan: BaseGeometry


def leaning_of(shape: Drawing | GivenShape) -> tuple[Leaning, ...]:
    """All that leans out more than the limit."""
    if isinstance(shape, GivenShape):
        return tuple(_leaning_facets(shape.vertices_mm, shape.faces))
    cones = (_leaning_cone(shape, cone) for cone in shape.body.cones)
    return tuple(one for one in cones if one is not None)


def _leaning_cone(shape: Drawing, cone: ConeWall) -> Leaning | None:
    lower, upper = shape.body.circles[cone.lower[0]], shape.body.circles[cone.upper]
    rise = cone.z1_mm - cone.z0_mm
    run = cone.side * float(upper[2] - lower[2])  # > 0: material above is wider than below
    lean_deg = math.degrees(math.atan2(run, rise))
    if lean_deg < LEAN_DEG + LEAN_SLACK_DEG:
        return None
    discs = [disc_at(shape.body, cone, z) for z in (cone.z0_mm, cone.z1_mm)]
    return Leaning(
        lean_deg=lean_deg,
        area_mm2=math.pi * float(lower[2] + upper[2]) * math.hypot(run, rise),
        z_mm=cone.z0_mm,
        plan=shapely.symmetric_difference(*discs),
    )


def _leaning_facets(vertices_mm: NDArray[np.float64], faces: NDArray[np.int64]) -> list[Leaning]:
    """Neighbouring facets that lean out are one face; level ones that they go on as with them."""
    corners = vertices_mm[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    twice_mm2 = np.linalg.norm(normals, axis=1)
    down = -normals[:, 2] / np.maximum(twice_mm2, TINY_MM2)
    lean_deg = np.degrees(np.arcsin(np.clip(down, -1.0, 1.0)))
    lowest = corners[:, :, 2].min(axis=1)
    leans = (lean_deg > LEAN_DEG + LEAN_SLACK_DEG) & (twice_mm2 > TINY_MM2)
    leans &= (lean_deg < LEVEL_DEG) | (lowest > TINY_MM2)  # not what lies on the bed
    numbers = np.flatnonzero(leans)
    found = []
    for group in _neighbours(faces[numbers]):
        own = numbers[group]
        steep = own[lean_deg[own] < LEVEL_DEG]
        if not len(steep):
            continue
        plan = shapely.union_all(shapely.polygons(corners[own][:, :, :2]))
        found.append(
            Leaning(
                lean_deg=float(lean_deg[steep].max()),
                area_mm2=float(twice_mm2[steep].sum() / 2.0),
                z_mm=float(lowest[own].min()),
                plan=plan,
            )
        )
    return found


def _neighbours(faces: NDArray[np.int64]) -> list[NDArray[np.int64]]:
    """Numbers of facets (m, 3) in groups that hang together by edges."""
    edges = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    _, edge = np.unique(edges, axis=0, return_inverse=True)
    count, edge = len(faces), edge.reshape(-1)
    of_facet = np.tile(np.arange(count), 3)
    both = count + int(edge.max(initial=-1)) + 1
    links = coo_array((np.ones(len(edge)), (of_facet, count + edge)), shape=(both, both))
    _, label = connected_components(links, directed=False)
    label = label[:count]
    return [np.flatnonzero(label == one) for one in np.unique(label)]


def _look(layers: PartLayers) -> Look:
    found: list[PrintFinding] = []
    worst = 0.0
    for one in leaning_of(layers.part.drawing):
        if one.area_mm2 < LEANING_MM2 or _is_arch(one, layers):
            continue
        worst = max(worst, one.lean_deg)
        found.append(_finding(one, layers))
    for steps in leaning_steps(layers):
        worst = max(worst, steps.lean_deg)
        found.append(_finding_of_steps(steps, layers))
    return Look(worst=worst, findings=tuple(found))


def _is_arch(face: Leaning, layers: PartLayers) -> bool:
    """Whether lines across the face rest at both ends on what is below it, and are short: the
    crown of a bore."""
    below = layers.section(_number_below(face, layers))
    left = shapely.difference(face.plan, mitred(below, layers.layer_mm))
    bridges = [
        (piece.area, bridge_of(piece, below, layer_mm=layers.layer_mm)) for piece in pieces_of(left)
    ]
    whole = math.fsum(area for area, _ in bridges)
    carried = math.fsum(area * bridge.carried for area, bridge in bridges)
    longest = max((bridge.span_mm for _, bridge in bridges), default=0.0)
    return carried >= (1.0 - FREE_SHARE) * whole and longest <= BRIDGE_WARNS_MM


def _number_below(face: Leaning, layers: PartLayers) -> int:
    return layers.stack.of[max(round(face.z_mm / layers.layer_mm) - 1, 0)]


def _finding(face: Leaning, layers: PartLayers) -> PrintFinding:
    at = face.plan.representative_point()
    return PrintFinding(
        kind=LEANING.id,
        part=layers.part.name,
        what=f"{face.area_mm2:.0f} mm2 lean out up to {face.lean_deg:.0f} degrees from upright",
        at_mm=(at.x, at.y, face.z_mm),
        value=face.lean_deg,
        unit="deg",
        limit=LEAN_DEG,
        severity=Severity.FAILS,
        region=face.plan,
        outline=layers.section(_number_below(face, layers)),
    )


def _finding_of_steps(steps: LeaningSteps, layers: PartLayers) -> PrintFinding:
    at = steps.piece.representative_point()
    return PrintFinding(
        kind=LEANING.id,
        part=layers.part.name,
        what=f"steps that lean out by {steps.lean_deg:.0f} degrees from upright",
        at_mm=(at.x, at.y, layers.floor_mm(steps.layer + 1)),
        value=steps.lean_deg,
        unit="deg",
        limit=LEAN_DEG,
        severity=Severity.FAILS,
        region=steps.piece,
        outline=layers.section(layers.stack.of[steps.layer]),
    )


LEANING = PrintCheck(
    id="print_leaning",
    title="leaning face",
    about="steepest lean of an underside, from upright",
    limit=LEAN_DEG,
    unit="deg",
    source=PRACTICE,
    remedy="let the slicer set support beneath the marked place; in a bracket's script lean it by "
    "45 degrees at most",
    look=_look,
)
