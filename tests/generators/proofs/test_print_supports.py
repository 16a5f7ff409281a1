"""The proofs of what holders stand on as they are printed fail on a print with a fault."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from generators.made_part import MeshedPart, meshed_part
from generators.meshes.mesh import Mesh
from generators.proofs.print_supports import print_support_proofs
from layouts.holders.drawing import holder_part
from tests.layouts.holders.test_support_pins import HONEYCOMB, held


@cache
def printed() -> tuple[MeshedPart, ...]:
    """Both holders with their pins."""
    plan = held(HONEYCOMB)
    high = plan.pack.lip_to_lip_mm
    return tuple(meshed_part(holder_part(tile, lip_to_lip_mm=high)) for tile in plan.tiles)


def failing(made: Sequence[MeshedPart]) -> set[str]:
    """Ids of the proofs that don't hold."""
    plan = held(HONEYCOMB)
    found = print_support_proofs(plan.pack, plan.cell_layout, plan.tiles, made)
    assert len(found) == 3
    return {check.id for check in found if not check.holds}


def with_first(pins: tuple[Mesh, ...]) -> tuple[MeshedPart, ...]:
    """The lower holder with other pins."""
    lower, *others = printed()
    return (replace(lower, supports=pins), *others)


def moved(mesh: Mesh, x: float, y: float, z: float) -> Mesh:
    """A mesh shifted."""
    return Mesh(mesh.vertices_mm + (x, y, z), mesh.faces)


def hulls(rings: Sequence[NDArray[np.float64]]) -> tuple[NDArray[np.float64], ...]:
    """Convex outlines round outlines, counter-clockwise."""
    shapes = [shapely.orient_polygons(shapely.Polygon(ring).convex_hull) for ring in rings]
    return tuple(shapely.get_coordinates(one)[:-1] for one in shapes)


def test_as_drawn_all_hold() -> None:
    """Pins loose, as many as planned, and webs hang no further than planned."""
    assert all(one.supports for one in printed())
    assert failing(printed()) == set()


def test_a_pin_left_out_is_found() -> None:
    """Its web hangs further, and there is one body too few."""
    pins = printed()[0].supports
    assert failing(with_first(pins[1:])) >= {"pins_as_planned"}
    assert failing(with_first(())) == {"spans_as_planned", "pins_as_planned"}


@pytest.mark.parametrize("shift", [(0.0, 0.0, 0.15), (0.0, 0.0, 0.6)], ids=["near", "through"])
def test_a_pin_that_is_not_loose_is_found(shift: tuple[float, float, float]) -> None:
    """Raised towards its web, or into it."""
    first, *rest = printed()[0].supports
    assert "pins_loose" in failing(with_first((moved(first, *shift), *rest)))


def test_pins_aside_carry_nothing() -> None:
    """All of them six to the side: webs hang as if there were none."""
    aside = tuple(moved(pin, 6.0, 0.0, 0.0) for pin in printed()[0].supports)
    assert "spans_as_planned" in failing(with_first(aside))


def test_a_channel_wider_than_planned_is_found() -> None:
    """Lip missing under webs: their bridges are longer on the mesh than in the plan."""
    plan = held(HONEYCOMB)
    lower = plan.tiles[0]
    # without the lip in its holes and slots a plate's channel is its outline's hull
    wide = replace(lower, plate_channels=hulls(lower.plate_channels), pegs=())
    part = meshed_part(holder_part(wide, lip_to_lip_mm=plan.pack.lip_to_lip_mm))
    assert "spans_as_planned" in failing((part, *printed()[1:]))
