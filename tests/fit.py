"""Does a result fit together? Judged from result.json and the STL files alone.

Nothing of the tool is used here: only what a builder with another program would have.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import shapely
import trimesh
import yaml
from numpy.typing import NDArray
from scipy.spatial import cKDTree

LIFT_MM = 0.02  # a can stands on the lip: lifted so far, it touches nothing
SIDES = 256  # of a can's polygon; drawn inside the can's circle, it is thinner by 0.001 mm
SHARED_MM3 = 0.01  # faces in touch share less, with an STL's rounding of numbers
SINGLE_MM = 1e-5  # STL numbers have 24 bits: corners of a part 200 mm wide are off by so much


@dataclass(frozen=True)
class Result:
    """A run's folder."""

    folder: Path

    @cached_property
    def told(self) -> dict[str, Any]:
        """result.json."""
        read: dict[str, Any] = json.loads((self.folder / "result.json").read_text("utf-8"))
        return read

    @cached_property
    def parts(self) -> dict[str, trimesh.Trimesh]:
        """Each part's mesh as its STL has it, in print orientation."""
        return {part["name"]: self._without_pins(part)[0] for part in self.told["parts"]}

    def _without_pins(self, part: dict[str, Any]) -> tuple[trimesh.Trimesh, list[trimesh.Trimesh]]:
        """A part's mesh as its STL has it, and the loose pins that are thrown away after printing:
        so many of the smallest bodies as are told."""
        mesh = trimesh.load_mesh(self.folder / f"parts/{part['name']}.stl")
        count = part.get("support_pins", 0)
        if not count:
            return mesh, []
        bodies = sorted(mesh.split(only_watertight=False), key=lambda body: body.volume)
        return trimesh.util.concatenate(bodies[count:]), bodies[:count]

    def pins(self, part: dict[str, Any]) -> list[trimesh.Trimesh]:
        """The loose pins of a part."""
        return self._without_pins(part)[1]

    @cached_property
    def placed(self) -> list[tuple[str, str, trimesh.Trimesh]]:
        """Every copy of every part in the assembly: role, name, mesh."""
        return [
            (part["role"], part["name"], self.parts[part["name"]].copy().apply_transform(matrix))
            for part in self.told["parts"]
            for matrix in part["placed"]
        ]

    def cans(self, diameter_mm: float, shift_mm: float = 0.0) -> trimesh.Trimesh:
        """All cans at once, each thinner by a chord's height than its circle."""
        z0, z1 = LIFT_MM, self.told["can"]["length_mm"] - LIFT_MM
        rod = trimesh.creation.cylinder(
            radius=diameter_mm / 2, segment=[[0, 0, z0], [0, 0, z1]], sections=SIDES
        )
        return trimesh.util.concatenate(
            [
                rod.copy().apply_translation([cell["x_mm"] + shift_mm, cell["y_mm"], 0])
                for cell in self.told["cells"]
            ]
        )

    def bitten_mm3(
        self, diameter_mm: float, *, shift_mm: float = 0.0, roles: tuple[str, ...] = ()
    ) -> NDArray[np.float64]:
        """(cells,) volume that each cell's can shares with all parts of the given roles."""
        cans = self.cans(diameter_mm, shift_mm)
        centres = np.array([(cell["x_mm"] + shift_mm, cell["y_mm"]) for cell in self.told["cells"]])
        tree, bitten = cKDTree(centres), np.zeros(len(centres))
        for role, _, mesh in self.placed:
            if roles and role not in roles:
                continue
            shared = _shared(cans, mesh)
            with _quiet():
                for piece in shared.split(only_watertight=False) if len(shared.faces) else ():
                    bitten[tree.query(piece.vertices[:, :2].mean(axis=0))[1]] += piece.volume
        return bitten


def _quiet() -> np.errstate:
    """No warnings about the middle of what has no volume."""
    return np.errstate(divide="ignore", invalid="ignore")


def _shared(one: trimesh.Trimesh, other: trimesh.Trimesh) -> trimesh.Trimesh:
    """What lies in both; an empty mesh where nothing does."""
    if (one.bounds[0] >= other.bounds[1]).any() or (other.bounds[0] >= one.bounds[1]).any():
        return trimesh.Trimesh()
    with _quiet():
        return trimesh.boolean.intersection([one, other])


def faults(result: Result) -> list[str]:
    """Everything about a result that does not fit; empty where all of it does."""
    told, can = result.told, result.told["can"]
    wrong = _part_faults(result)
    if not all(mesh.is_volume for mesh in result.parts.values()):
        return wrong  # what is no volume shares none
    fits = result.bitten_mm3(can["diameter_mm"])
    if fits.sum() > 0.01:
        wrong.append(f"cans bite {fits.sum():.4f} mm3, most at cell {int(fits.argmax())}")
    thick = can["diameter_mm"] + 2 * can["clearance_mm"]
    for role in ("holder_lower", "holder_upper"):
        free = np.flatnonzero(result.bitten_mm3(thick, roles=(role,)) < 0.01)
        if len(free):
            wrong.append(f"{role}: a can of {thick:g} mm goes in at cells {free.tolist()}")
        side = 1.5 * can["clearance_mm"]
        free = np.flatnonzero(
            result.bitten_mm3(can["diameter_mm"], shift_mm=side, roles=(role,)) < 0.01
        )
        if len(free):
            wrong.append(f"{role}: a can {side:g} mm off its place goes in at {free.tolist()}")
    wrong += _overlaps(result)
    if "space" in told:
        wrong += space_faults(result)
    return wrong


def _part_faults(result: Result) -> list[str]:
    wrong: list[str] = []
    bed = np.array(result.told["pack"]["printer"]["bed_mm"])
    for part in result.told["parts"]:
        name, mesh = part["name"], result.parts[part["name"]]
        low, high = mesh.bounds
        size = high - low
        if not mesh.is_watertight or not mesh.is_winding_consistent:
            wrong.append(f"{name}: is not watertight")
        if mesh.body_count != 1:
            wrong.append(f"{name}: {mesh.body_count} bodies")
        pins = result.pins(part)
        thrown = sum(pin.volume for pin in pins)
        if not all(pin.is_volume and abs(pin.bounds[0][2]) < SINGLE_MM for pin in pins):
            wrong.append(f"{name}: a pin does not stand on the bed")
        if not math.isclose(thrown, part.get("support_pins_mm3", 0.0), rel_tol=5e-3):
            wrong.append(f"{name}: pins of {thrown:.1f} mm3, stated {part['support_pins_mm3']:.1f}")
        if not math.isclose(mesh.volume, part["volume_mm3"], rel_tol=5e-3):
            wrong.append(f"{name}: volume {mesh.volume:.1f}, stated {part['volume_mm3']:.1f}")
        if not math.isclose(part["volume_mm3"], part["formula_volume_mm3"], rel_tol=1e-6):
            wrong.append(f"{name}: volume and formula differ")
        if abs(low[2]) > SINGLE_MM:
            wrong.append(f"{name}: stands at z = {low[2]:.4f}, not on the bed")
        if not np.allclose(size, part["box_mm"], atol=2 * SINGLE_MM):
            wrong.append(f"{name}: box {size.round(3).tolist()}, stated {part['box_mm']}")
        if (np.sort(size[:2]) > np.sort(bed[:2])).any() or size[2] > bed[2]:
            wrong.append(f"{name}: {size.round(1).tolist()} is larger than the bed")
    return wrong


def _overlaps(result: Result) -> list[str]:
    """Parts that share volume. Faces in touch are off by the STL's rounding of numbers."""
    wrong = []
    for i, (_, first, mesh) in enumerate(result.placed):
        for _, second, other in result.placed[:i]:
            shared = _shared(mesh, other)
            with _quiet():
                volume = shared.volume if len(shared.faces) else 0.0
            if volume > 0.01 + SINGLE_MM * shared.area / 2:
                wrong.append(f"{first} and {second} share {volume:.4f} mm3")
    return wrong


def space_faults(result: Result) -> list[str]:
    """What of the placed parts leaves the space of the pack file, or stands in a body there."""
    pose = np.array(result.told["space"]["pose"])
    room, bodies = _space_of(yaml.safe_load((result.folder / "pack.yaml").read_text("utf-8")))
    wrong = []
    for _, name, mesh in result.placed:
        there = mesh.copy().apply_transform(pose)
        with _quiet():
            outside = trimesh.boolean.difference([there, room])
            past = float(outside.volume) if len(outside.faces) else 0.0
            within = {body: _shared(there, solid) for body, solid in bodies.items()}
            shared = {body: one.volume for body, one in within.items() if len(one.faces)}
        if past > SHARED_MM3:
            low, high = outside.bounds.round(2).tolist()
            wrong.append(f"{name}: {past:.2f} mm3 outside the space, {low} to {high}")
        for body, volume in shared.items():
            if volume > SHARED_MM3:
                wrong.append(f"{name}: {volume:.2f} mm3 within {body}")
    return wrong


def _space_of(file: dict[str, Any]) -> tuple[trimesh.Trimesh, dict[str, trimesh.Trimesh]]:
    """A pack file's free space, and the bodies in it by their names."""
    given, bodies = file["space"], {}
    if "box_mm" in given:
        room = _block([0.0, 0.0, 0.0], given["box_mm"])
    else:
        plan = shapely.Polygon(given["outline_mm"], given.get("holes_mm", ()))
        room = trimesh.creation.extrude_polygon(plan, given["height_mm"])
    for entry in given.get("keep_out", ()):
        if "box_mm" in entry:
            solid = _block(*entry["box_mm"])
        else:
            rod = entry["cylinder"]
            ends = [rod["from_mm"], rod["to_mm"]]
            solid = trimesh.creation.cylinder(rod["radius_mm"], segment=ends, sections=SIDES)
        bodies[entry["name"]] = solid
    return room, bodies


def _block(low: Sequence[float], high: Sequence[float]) -> trimesh.Trimesh:
    """A box between two corners."""
    return trimesh.creation.box(bounds=np.sort(np.array([low, high]), axis=0))
