"""Small solids whose faults are known to the figure."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from layouts import defaults
from layouts.parts.convex import ConvexPiece, prism
from layouts.parts.feature import Effect, Feature
from layouts.parts.given import GivenShape
from layouts.parts.part import Part
from layouts.printable.finding import Look, PrintCheck
from layouts.printable.layers import PartLayers
from layouts.slabs.bore import Bore
from layouts.slabs.profile import Loop
from tests.layouts.printing.shapes import part_of

__all__ = ["cut", "given", "lean_to", "look_at", "slab", "stand"]

PRINTER = replace(defaults.printer(), nozzle_mm=0.4, layer_mm=0.2, line_mm=0.45)


def slab(loop: Loop, z0_mm: float, z1_mm: float) -> Feature:
    """Material over a loop."""
    return Feature(name="slab", loops=(loop,), z0_mm=z0_mm, z1_mm=z1_mm)


def cut(loop: Loop, z0_mm: float, z1_mm: float) -> Feature:
    """Air in what was added before."""
    return Feature(name="cut", loops=(loop,), z0_mm=z0_mm, z1_mm=z1_mm, effect=Effect.CUT)


def stand(*features: Feature, bores: tuple[Bore, ...] = ()) -> Part:
    """One part; features are named by their order."""
    named = [replace(one, name=f"{one.name}-{k}") for k, one in enumerate(features)]
    return part_of(named, bores=bores)


def look_at(kind: PrintCheck, part: Part) -> Look:
    """What one kind of check finds, in layers of 0.2 and lines of 0.45."""
    return kind.look(PartLayers(part, PRINTER))


def lean_to(deg: float, *, high_mm: float = 10.0, wide_mm: float = 12.0) -> Part:
    """A block of 10 mm whose one side leans out by an angle from upright."""
    out = high_mm * math.tan(math.radians(deg))
    return given(
        prism([(0.0, 0.0), (10.0, 0.0), (10.0 + out, high_mm), (0.0, high_mm)], 0, wide_mm)
    )


def given(piece: ConvexPiece) -> Part:
    """A convex piece as a given shape, its y upwards: what was drawn in the plan stands."""
    x, y, z = piece.vertices_mm.T
    shape = GivenShape(
        vertices_mm=np.column_stack([x, -z, y]), faces=piece.faces, solid=b"", solid_mm3=1.0,
        curved_mm2=0.0, pieces=(piece,),
    )  # fmt: skip
    return Part(
        name="given", role="bracket", field="mount", drawing=shape, placed=(np.eye(4),),
        colour=(0.5, 0.5, 0.5),
    )  # fmt: skip
