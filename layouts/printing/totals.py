"""Hours, filament and cost of all printed parts: by part, by bed, in all, and after changes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil, fsum

from layouts.parts.part import Part
from layouts.printer_spec import Printer, PrintSpeeds
from layouts.printing.beds import OnBed, bed_of
from layouts.printing.estimate import PrintEffort, cost_of, effort_of
from layouts.printing.lines import PartLines, part_lines
from layouts.printing.sections import LayerStack, layer_stack
from layouts.printing.settings import PrintSettings, settings_of

__all__ = ["BedPrint", "PackPrint", "PartPrint", "PrintChange", "PrintSum", "pack_print"]

# Within so much of a general slicer's figures, on parts that nothing was fitted to
WITHIN_PERCENT, WITHIN_PERCENT_FAST = 10, 20
# what a stiff printer does; common practice, no source
FAST = PrintSpeeds(
    outer=80, inner=120, small=50, solid=120, sparse=150, top=80, bridge=40, first=40, travel=250
)
FAST_ACCELERATION_MM_S2 = 4000.0
THICK_OF_NOZZLE = 0.7  # layers of large plain parts; common practice, no source
COARSE_NOZZLE_MM, COARSE_LAYER_MM = 0.6, 0.3
HEAVY_WALLS, HEAVY_TOP, HEAVY_BOTTOM, HEAVY_INFILL = 3, 5, 4, 0.25  # as slicers often suggest
WHOLE_NOISE = 1e-9  # of a bed: float noise
PLAIN_ROLES = ("tub", "lid")  # no level of theirs holds a can or a strip


@dataclass(frozen=True, kw_only=True, slots=True)
class PrintSum:
    """Hours, filament and cost of something."""

    hours: float
    filament_g: float
    cost: float

    def __add__(self, other: PrintSum) -> PrintSum:
        return PrintSum(
            hours=self.hours + other.hours,
            filament_g=self.filament_g + other.filament_g,
            cost=self.cost + other.cost,
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class PartPrint:
    """One kind of part: ``effort`` and ``cost`` of each of ``count`` copies."""

    name: str
    count: int
    settings: PrintSettings
    effort: PrintEffort
    cost: float

    @property
    def total(self) -> PrintSum:
        """All copies."""
        return _times(self.effort, self.cost, self.count)


@dataclass(frozen=True, kw_only=True, slots=True)
class BedPrint:
    """What is printed in one go. ``used_share``: of the bed's area, by the parts' outlines."""

    laid: tuple[OnBed, ...]
    total: PrintSum
    used_share: float


@dataclass(frozen=True, kw_only=True, slots=True)
class PrintChange:
    """What another setting would add (> 0) or save (< 0)."""

    change: str
    adds: PrintSum


@dataclass(frozen=True, kw_only=True, slots=True)
class PackPrint:
    """All parts of a pack; ``refused``: names of those that no bed takes."""

    parts: tuple[PartPrint, ...]
    beds: tuple[BedPrint, ...]
    refused: tuple[str, ...]
    changes: tuple[PrintChange, ...]
    within_percent: int

    @property
    def total(self) -> PrintSum:
        """All copies of all parts."""
        return _sum([part.total for part in self.parts])

    @property
    def fewest_beds(self) -> int:
        """So many beds have the parts' area: with gaps between outlines none can do with fewer."""
        return ceil(fsum(bed.used_share for bed in self.beds) - WHOLE_NOISE)


def pack_print(
    parts: Sequence[Part],
    printer: Printer,
    laid: Sequence[OnBed],
    *,
    refused: Sequence[str] = (),
    solid_mm: Mapping[str, float] | None = None,
    plan_mm2: Mapping[str, float] | None = None,
) -> PackPrint:
    """Estimate all parts. ``laid``: where every copy lies, in the order of beds; ``solid_mm``: of
    roles whose plates are counted on as solid plastic, how thick these are; ``plan_mm2``: what each
    part covers of a bed, by its name, None: nothing is told of that."""
    solid, covers = solid_mm or {}, plan_mm2 or {}
    bed_mm2 = bed_of(printer).area
    kinds = [_Kind(part, printer, solid.get(part.role, 0.0)) for part in parts]
    known = {kind.row.name: kind.row for kind in kinds}
    beds: dict[int, list[OnBed]] = {}
    for one in laid:
        beds.setdefault(one.bed, []).append(one)
    return PackPrint(
        parts=tuple(kind.row for kind in kinds),
        beds=tuple(
            BedPrint(
                laid=tuple(copies),
                total=_sum([_one(known[one.name]) for one in copies]),
                used_share=fsum(covers.get(one.name, 0.0) for one in copies) / bed_mm2,
            )
            for _, copies in sorted(beds.items())
        ),
        refused=tuple(refused),
        changes=tuple(_changes(kinds, printer)),
        within_percent=WITHIN_PERCENT_FAST if printer.is_fast else WITHIN_PERCENT,
    )


class _Kind:
    """One part with its layers and lines, which changes of settings go on from."""

    def __init__(self, part: Part, printer: Printer, solid_mm: float) -> None:
        self.part, self._solid_mm = part, solid_mm
        self._stack: LayerStack = layer_stack(part, printer.layer_mm)
        settings = settings_of(part.role, printer, solid_mm=solid_mm)
        self._lines: PartLines = part_lines(self._stack, settings)
        effort = effort_of(self._lines, printer)
        self.row = PartPrint(
            name=part.name,
            count=len(part.placed),
            settings=settings,
            effort=effort,
            cost=cost_of(effort, printer),
        )

    def on(self, printer: Printer) -> PrintSum:
        """All copies on a printer whose lines are the same: speeds may differ."""
        return self._all_copies(effort_of(self._lines, printer), printer)

    def with_settings(self, settings: PrintSettings, printer: Printer) -> PrintSum:
        """All copies with other walls and infill, same layers."""
        return self._all_copies(effort_of(part_lines(self._stack, settings), printer), printer)

    def on_other(self, printer: Printer) -> PrintSum:
        """All copies on a printer with other layers or another nozzle."""
        settings = settings_of(self.part.role, printer, solid_mm=self._solid_mm)
        lines = part_lines(layer_stack(self.part, printer.layer_mm), settings)
        return self._all_copies(effort_of(lines, printer), printer)

    def _all_copies(self, effort: PrintEffort, printer: Printer) -> PrintSum:
        return _times(effort, cost_of(effort, printer), len(self.part.placed))


def _changes(kinds: Sequence[_Kind], printer: Printer) -> list[PrintChange]:
    plain = [kind for kind in kinds if kind.part.role in PLAIN_ROLES]
    found = []

    def add(change: str, of: Sequence[_Kind], after: Sequence[PrintSum]) -> None:
        now = _sum([kind.row.total for kind in of])
        found.append(PrintChange(change=change, adds=_sum([*after, _negative(now)])))

    if plain:
        heavy = [
            replace(
                kind.row.settings, wall_lines=HEAVY_WALLS, infill_share=HEAVY_INFILL,
                top_layers=HEAVY_TOP,
                bottom_layers=max(HEAVY_BOTTOM, kind.row.settings.bottom_layers),
            )
            for kind in plain
        ]  # fmt: skip
        if any(s != kind.row.settings for s, kind in zip(heavy, plain, strict=True)):
            add(
                f"tub and lid with {HEAVY_WALLS} walls, {100 * HEAVY_INFILL:g} % infill, "
                f"{HEAVY_TOP} top and {HEAVY_BOTTOM} bottom layers",
                plain,
                [k.with_settings(s, printer) for k, s in zip(plain, heavy, strict=True)],
            )
        thick = replace(printer, layer_mm=round(THICK_OF_NOZZLE * printer.nozzle_mm, 2))
        if thick.layer_mm > printer.layer_mm:
            add(
                f"tub and lid in layers of {thick.layer_mm:g} mm",
                plain,
                [kind.on_other(thick) for kind in plain],
            )
        if printer.nozzle_mm < COARSE_NOZZLE_MM:
            coarse = replace(
                printer, nozzle_mm=COARSE_NOZZLE_MM, layer_mm=COARSE_LAYER_MM, line_mm=None
            )
            add(
                f"tub and lid with a nozzle of {COARSE_NOZZLE_MM:g} mm, layers of "
                f"{COARSE_LAYER_MM:g} mm",
                plain,
                [kind.on_other(coarse) for kind in plain],
            )
    if not printer.is_fast:
        fast = replace(printer, speeds_mm_s=FAST, acceleration_mm_s2=FAST_ACCELERATION_MM_S2)
        add(
            f"all parts at {FAST.outer:g} to {FAST.inner:g} mm/s, {FAST_ACCELERATION_MM_S2:g} "
            "mm/s2, if your printer holds its accuracy at that",
            kinds,
            [kind.on(fast) for kind in kinds],
        )
    return found


def _times(effort: PrintEffort, cost: float, count: int) -> PrintSum:
    return PrintSum(
        hours=count * effort.hours, filament_g=count * effort.filament_g, cost=count * cost
    )


def _one(part: PartPrint) -> PrintSum:
    return _times(part.effort, part.cost, 1)


def _negative(one: PrintSum) -> PrintSum:
    return PrintSum(hours=-one.hours, filament_g=-one.filament_g, cost=-one.cost)


def _sum(sums: Sequence[PrintSum]) -> PrintSum:
    return PrintSum(
        hours=fsum(one.hours for one in sums),
        filament_g=fsum(one.filament_g for one in sums),
        cost=fsum(one.cost for one in sums),
    )
