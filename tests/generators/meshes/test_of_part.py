"""Meshes of parts: finer chords where two curves pass each other closely."""

from __future__ import annotations

import math

import numpy as np
import pytest

from generators.meshes.mesh import CrossingChordsError, mesh
from generators.meshes.of_part import part_mesh
from layouts.parts.drawing import CHORD_MM, Drawing
from layouts.parts.part import Part
from layouts.slabs.body import Body
from layouts.slabs.profile import circle, rectangle
from layouts.slabs.slabs import Slab, build
from tests.generators.kernel.sound import assert_sound_mesh


def part(body: Body) -> Part:
    """A part of that body alone."""
    return Part(
        name="sheet",
        role="bracket",
        field="holder",
        drawing=Drawing(features=(), body=body),
        placed=(np.eye(4),),
        colour=(0.5, 0.5, 0.5),
    )


def two_holes(apart_mm: float) -> Body:
    """A sheet of 60 x 30 x 1 with two holes of 20 so far apart."""
    off = 10.0 + apart_mm / 2.0
    return build(
        {
            "a": [rectangle(-30, -15, 30, 15)],
            "h": [circle((-off, 0), 10), circle((off, 0.02), 10)],
        },
        [Slab(0, 1, lambda m: m["a"] & ~m["h"])],
    )


def test_curves_nearer_than_a_chords_height_get_finer_chords() -> None:
    """At the usual chords the web between two holes would be crossed; the part is sound."""
    body = two_holes(0.0005)
    with pytest.raises(CrossingChordsError):
        mesh(body, CHORD_MM)
    made = part_mesh(part(body))
    assert_sound_mesh(made, 1800 - 200 * math.pi)
    assert len(made.vertices_mm) > 2 * len(mesh(two_holes(1.0), CHORD_MM).vertices_mm)


def test_other_parts_keep_the_usual_chords() -> None:
    """Nothing is finer than it must be."""
    body = two_holes(1.0)
    assert len(part_mesh(part(body)).vertices_mm) == len(mesh(body, CHORD_MM).vertices_mm)
