"""A small pack from its pack file as placed meshes: sound, or with a fault in a drawing."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import cache

import manifold3d
import numpy as np
import pytest

from generators.meshes.of_part import part_mesh
from generators.packfile.resolve import parse_pack
from generators.proofs.as_planned import as_planned
from generators.proofs.holes import HoleAxis
from generators.proofs.together import PlacedMesh, placed_mesh
from layouts.checks import Check
from layouts.enclosures.box import form
from layouts.parts.part import Part
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.planning.parts_list import parts_of
from layouts.planning.steps import with_holders

TEXT = "name: pond-lamp\ncell: {format: '18650'}\nseries: 3\nparallel: 1\nlattice: honeycomb\n"

Patch = Callable[[pytest.MonkeyPatch], None]


@cache
def planned(text: str = TEXT) -> PackPlan:
    """The pack file's plan."""
    return plan_pack(parse_pack(text.encode(), "pack.yaml").pack)


def placed_parts(parts: Iterable[Part]) -> tuple[PlacedMesh, ...]:
    """The meshes of some parts, as they are printed, in their places."""
    made = [(part, part_mesh(part)) for part in parts]
    return tuple(
        placed_mesh(part.name, part.role, mesh.vertices_mm, mesh.faces, matrix)
        for part, mesh in made
        for matrix in part.placed
    )


@cache
def sound_parts(text: str = TEXT) -> tuple[PlacedMesh, ...]:
    """All parts as they are."""
    return placed_parts(parts_of(planned(text)))


def checks_of(plan: PackPlan, placed: Iterable[PlacedMesh]) -> dict[str, Check]:
    """The proofs against the plan, by their ids."""
    return {check.id: check for check in as_planned(plan, tuple(placed))}


def checks_with(patch: Patch, roles: Iterable[str], text: str = TEXT) -> dict[str, Check]:
    """The proofs with a fault in the drawings.

    ``patch`` puts the fault in; parts of ``roles`` are designed, drawn and made anew with it, the
    others taken as they are. The plan of cells, strips, screws and outlets is the sound one. A
    fault in holders is looked at without the enclosure.
    """
    plan, roles = planned(text), tuple(roles)
    if all(role.startswith("holder") for role in roles):
        plan = replace(plan, enclosure_set=None)
    with pytest.MonkeyPatch.context() as monkeypatch:
        patch(monkeypatch)
        form._parts.cache_clear()  # drawings are kept from one plan to the next
        wrong = plan if plan.enclosure_set else replace(plan, tiles=with_holders(plan).tiles)
        anew = placed_parts(part for part in parts_of(wrong) if part.role in roles)
    form._parts.cache_clear()
    kept = [one for one in sound_parts(text) if one.role not in roles]
    return checks_of(plan, (*kept, *anew))


def failing(checks: dict[str, Check]) -> set[str]:
    """Ids of those that do not hold."""
    return {id_ for id_, check in checks.items() if not check.holds}


def tube(
    at_mm: Iterable[float], way: Iterable[float], inner_mm: float, outer_mm: float, long_mm: float
) -> manifold3d.Manifold:
    """A tube that begins at a point and runs along a unit vector; radii, 0 for a full rod."""
    start, along = np.array(list(at_mm)), np.array(list(way))
    made = manifold3d.Manifold.cylinder(long_mm, outer_mm, outer_mm, 200)
    if inner_mm:
        bore = manifold3d.Manifold.cylinder(long_mm + 2.0, inner_mm, inner_mm, 200)
        made -= bore.translate([0.0, 0.0, -1.0])
    spoke = HoleAxis(at_mm=start, into=along).spokes(4)[0]
    return made.transform(np.column_stack([spoke, np.cross(along, spoke), along, start]))


def altered(
    role: str, *, more: manifold3d.Manifold | None = None, less: manifold3d.Manifold | None = None
) -> tuple[PlacedMesh, ...]:
    """All parts, some material added to those of a role, or taken from them."""
    made = []
    for part in sound_parts():
        solid = part.solid
        if part.role == role:
            solid = solid if more is None else solid + more
            solid = solid if less is None else solid - less
        made.append(replace(part, solid=solid))
    return tuple(made)
