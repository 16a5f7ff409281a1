"""What a part's mesh must be: closed, wound outwards, one body, of the right volume, on the bed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from layouts.checks import Check

__all__ = ["MESH_SHARE", "SOLID_SHARE", "MeshFacts", "mesh_checks"]

# The solid is exact; only the sums of many faces differ, by float noise.
SOLID_SHARE = 1e-6
# The most that a mesh may differ from its solid, whatever the chord tolerance would allow.
MESH_SHARE = 5e-3
# A part stands on z = 0; its lowest vertex may miss it by float noise only.
BED_NOISE_MM = 1e-6
TOOL_FAULT = "a fault of the tool, not of the pack file: keep the file and the log"


@dataclass(frozen=True, kw_only=True, slots=True)
class MeshFacts:
    """Measured on a part's mesh, in its own coordinates [mm, mm3]."""

    name: str
    watertight: bool
    volume: bool  # closed, consistently wound, outwards
    bodies: int
    volume_mm3: float
    box_mm: tuple[tuple[float, float, float], tuple[float, float, float]]


def mesh_checks(
    facts: MeshFacts,
    *,
    solid_mm3: float,
    drawn_mm3: float,
    chord_bound_mm3: float,
    bed_mm: tuple[float, float, float] | None,
) -> tuple[Check, ...]:
    """Every proof of one part: mesh, solid and drawing against each other, and the bed.

    ``chord_bound_mm3``: the most that chords of the mesh's tolerance can add or take. ``bed_mm``:
    None for a part that is not printed.
    """
    return (
        _yes(
            "watertight",
            f"{facts.name}: every edge of the mesh has two faces",
            facts.watertight,
            TOOL_FAULT,
        ),
        _yes("winding", f"{facts.name}: all triangles face outwards", facts.volume, TOOL_FAULT),
        _one_body(facts),
        _volume_formula(facts, solid_mm3, drawn_mm3),
        _mesh_volume(facts, solid_mm3, chord_bound_mm3),
        *(() if bed_mm is None else _bed_checks(facts, bed_mm)),
    )


def _bed_checks(facts: MeshFacts, bed_mm: tuple[float, float, float]) -> tuple[Check, Check]:
    return _on_the_bed(facts), bed_check(facts.name, facts.box_mm, bed_mm)


def _one_body(facts: MeshFacts) -> Check:
    return Check(
        id="one_body",
        about=f"{facts.name}: the part is one body",
        holds=facts.bodies == 1,
        value=float(facts.bodies),
        limit=1.0,
        unit="",
        at_least=False,
        source="geometry",
        remedy=TOOL_FAULT,
        where=facts.name,
    )


def _volume_formula(facts: MeshFacts, solid_mm3: float, drawn_mm3: float) -> Check:
    by_drawing = abs(solid_mm3 / drawn_mm3 - 1.0)
    return Check(
        id="volume_formula",
        about=f"{facts.name}: the solid's volume against the drawing's",
        holds=by_drawing <= SOLID_SHARE,
        value=by_drawing,
        limit=SOLID_SHARE,
        unit="share",
        at_least=False,
        source="geometry",
        remedy=TOOL_FAULT,
        where=facts.name,
    )


def _mesh_volume(facts: MeshFacts, solid_mm3: float, chord_bound_mm3: float) -> Check:
    by_mesh = abs(facts.volume_mm3 - solid_mm3)
    allowed = min(chord_bound_mm3, MESH_SHARE * solid_mm3)
    return Check(
        id="mesh_volume",
        about=f"{facts.name}: the mesh's volume against the solid's, within the chord error",
        holds=by_mesh <= allowed,
        value=by_mesh,
        limit=allowed,
        unit="mm3",
        at_least=False,
        source="geometry",
        remedy=TOOL_FAULT,
        where=facts.name,
    )


def _on_the_bed(facts: MeshFacts) -> Check:
    return Check(
        id="on_the_bed",
        about=f"{facts.name}: stands on z = 0 as printed",
        holds=abs(facts.box_mm[0][2]) <= BED_NOISE_MM,
        value=abs(facts.box_mm[0][2]),
        limit=BED_NOISE_MM,
        unit="mm",
        at_least=False,
        source="geometry",
        remedy=TOOL_FAULT,
        where=facts.name,
    )


def bed_check(
    name: str, box_mm: tuple[Sequence[float], Sequence[float]], bed_mm: tuple[float, float, float]
) -> Check:
    """The check ``fits_bed`` of a part by its box as printed."""
    size = sorted(h - low for low, h in zip(*(f[:2] for f in box_mm), strict=True))
    bed = sorted(bed_mm[:2])
    high = box_mm[1][2] - box_mm[0][2]
    over = max(size[0] - bed[0], size[1] - bed[1], high - bed_mm[2])
    return Check(
        id="fits_bed",
        about=f"{name}: overhang over the bed, a quarter turn allowed",
        holds=over <= 0.0,
        value=over,
        limit=0.0,
        unit="mm",
        at_least=False,
        source="geometry",
        remedy="a larger printer.bed_mm, or fewer cells: no way to split this part was found",
        where=name,
    )


def _yes(id_: str, about: str, holds: bool, remedy: str) -> Check:
    return Check(
        id=id_,
        about=about,
        holds=holds,
        value=float(holds),
        limit=1.0,
        unit="",
        source="geometry",
        remedy=remedy,
        where=about.split(":")[0],
    )
