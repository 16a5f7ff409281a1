"""All looks at all parts of a pack, each kind as one check."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from layouts.checks import Check
from layouts.parts.part import Part
from layouts.printable.bed_item import BedItem
from layouts.printable.beginnings import BEGINNINGS
from layouts.printable.ceilings import BRIDGES, CEILINGS
from layouts.printable.finding import Look, PrintCheck, PrintFinding, Severity
from layouts.printable.first_layer import FIRST_LAYER, STANDING, bed_area_mm2
from layouts.printable.floors import FLOORS
from layouts.printable.foot import FOOT
from layouts.printable.layers import PartLayers
from layouts.printable.leaning import LEANING
from layouts.printable.strokes import STROKES
from layouts.printable.walls import GAPS, WALLS, WallMap, wall_map
from layouts.printer_spec import Printer

__all__ = ["PRINT_CHECKS", "Printability", "printability"]

# Each is looked for in each part; another kind is a further row
PRINT_CHECKS: tuple[PrintCheck, ...] = (
    CEILINGS, BRIDGES, LEANING, BEGINNINGS, FLOORS, WALLS, GAPS, STROKES, FIRST_LAYER, FOOT,
    STANDING,
)  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Printability:
    """``checks``: one of each kind that can fail, over all parts; ``findings``: each place, those
    that fail first; ``walls``: how thick the walls of each part are; ``bed_mm2``: by part, the
    area with which one copy lies on the bed."""

    checks: tuple[Check, ...]
    findings: tuple[PrintFinding, ...]
    walls: tuple[WallMap, ...]
    bed_mm2: Mapping[str, float]


def printability(
    parts: Sequence[Part],
    printer: Printer,
    items: Mapping[str, Sequence[BedItem]] | None = None,
) -> Printability:
    """Look at the layers of all parts; findings of each part in the order of the checks.

    ``items``: by part, what goes through its first layer when the pack is built."""
    looks: dict[str, list[tuple[str, Look]]] = {kind.id: [] for kind in PRINT_CHECKS}
    walls: list[WallMap] = []
    bed_mm2: dict[str, float] = {}
    for part in parts:
        layers = PartLayers(part, printer, (items or {}).get(part.name, ()))
        walls.append(wall_map(layers))
        bed_mm2[part.name] = bed_area_mm2(layers)
        for kind in PRINT_CHECKS:
            looks[kind.id].append((part.name, kind.look(layers)))
    findings = [
        finding for kind in PRINT_CHECKS for _, look in looks[kind.id] for finding in look.findings
    ]
    return Printability(
        checks=tuple(_check(kind, looks[kind.id]) for kind in PRINT_CHECKS if not kind.only_told),
        findings=tuple(sorted(findings, key=lambda one: one.severity is not Severity.FAILS)),
        walls=tuple(walls),
        bed_mm2=bed_mm2,
    )


def _check(kind: PrintCheck, looks: Sequence[tuple[str, Look]]) -> Check:
    """The worst of all parts, and where it is."""
    failing = [
        finding
        for _, look in looks
        for finding in look.findings
        if finding.severity is Severity.FAILS
    ]
    limits = [look.limit for _, look in looks if look.limit is not None]
    measured = [(look.worst, name) for name, look in looks if look.worst is not None]
    pick = min if kind.at_least else max
    value, name = pick(measured, default=(None, ""), key=lambda one: one[0])
    return Check(
        id=kind.id,
        about=kind.about,
        holds=not failing,
        value=value,
        limit=limits[0] if kind.limit is None and limits else kind.limit,
        unit=kind.unit,
        source=kind.source,
        remedy=kind.remedy,
        at_least=kind.at_least,
        where=_where(kind, failing) if failing else name,
    )


def _where(kind: PrintCheck, failing: Sequence[PrintFinding]) -> str:
    """The worst place in words, and how many more there are."""
    pick = min if kind.at_least else max
    worst = pick(failing, key=lambda one: one.value)
    x, y, z = worst.at_mm
    more = f", and {len(failing) - 1} more" if len(failing) > 1 else ""
    return f"{worst.part} at x {x:.1f}, y {y:.1f}, z {z:.1f} mm as printed{more}"
