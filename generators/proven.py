"""What the proofs of a run find."""

from __future__ import annotations

from dataclasses import dataclass

from generators.proofs.meshes import MeshFacts
from layouts.checks import Check
from layouts.fitting.box_fit import BoxFit

__all__ = ["Proofs"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Proofs:
    """What was measured on the meshes, and how the pack stands in its space.

    ``facts``: of each part's mesh. ``together``: checks of all parts in their places.
    """

    in_space: tuple[Check, ...]
    facts: tuple[MeshFacts, ...]
    together: tuple[Check, ...]
    box_fit: BoxFit | None
    size_mm: tuple[float, float, float]
