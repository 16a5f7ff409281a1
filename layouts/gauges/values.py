"""What is known of a printed fit gauge: its drawn lengths, its readings, what they tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from layouts.gauges.sizes import GaugeSizes, hundredths_words

__all__ = [
    "AllOrNoneFitError",
    "GaugeDrawn",
    "GaugeReadings",
    "MeasuredValue",
    "PrinterMeasured",
    "ReadingError",
    "drawn_of",
]


class ReadingError(ValueError):
    """Readings that can't be used: ``field`` of the form, what is wrong and the remedy."""

    def __init__(self, *, field: str, why: str, remedy: str, value: str | None = None) -> None:
        """``value``: what it holds, where the form's own text says less."""
        super().__init__(f"{field}: {why}, {remedy}")
        self.field, self.why, self.remedy, self.value = field, why, remedy, value


class AllOrNoneFitError(ReadingError):
    """The can went into all pockets, or into none: the steps must be moved."""


@dataclass(frozen=True, kw_only=True, slots=True)
class GaugeDrawn:
    """The gauge as drawn [mm]: diameters of pockets and holes and widths of slots and notches from
    the least, the long and short lengths along x, y, z. ``can_mm``: what pockets are told by."""

    can_mm: float
    pockets_mm: tuple[float, ...]
    long_mm: tuple[float, float, float]
    short_mm: tuple[float, float, float]
    inserts_mm: tuple[float, ...]
    screws_mm: tuple[float, ...]
    slots_mm: tuple[float, ...]
    notches_mm: tuple[float, ...]

    @property
    def pockets(self) -> dict[str, float]:
        """Diameter of each pocket by the figure beside it."""
        return {hundredths_words(one - self.can_mm): one for one in self.pockets_mm}

    @property
    def inserts(self) -> dict[str, float]:
        """The same of holes for the insert."""
        return _numbered(self.inserts_mm)

    @property
    def screws(self) -> dict[str, float]:
        """The same of holes for the screw."""
        return _numbered(self.screws_mm)

    @property
    def slots(self) -> dict[str, float]:
        """Width of each slot by its figure."""
        return _numbered(self.slots_mm)

    @property
    def notches(self) -> dict[str, float]:
        """Width of each notch by its figure."""
        return _numbered(self.notches_mm)


def _numbered(sizes_mm: Sequence[float]) -> dict[str, float]:
    return {str(number): size for number, size in enumerate(sizes_mm, start=1)}


def drawn_of(sizes: GaugeSizes) -> GaugeDrawn:
    """What is read against, of a gauge's sizes."""
    return GaugeDrawn(
        can_mm=sizes.can_mm,
        pockets_mm=tuple(one.diameter_mm for one in sizes.pockets),
        long_mm=sizes.lengths.long_mm,
        short_mm=sizes.lengths.short_mm,
        inserts_mm=tuple(one.diameter_mm for one in sizes.inserts),
        screws_mm=tuple(one.diameter_mm for one in sizes.screws),
        slots_mm=tuple(one.wide_mm for one in sizes.slots),
        notches_mm=tuple(one.wide_mm for one in sizes.notches),
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class GaugeReadings:
    """What was measured and tried [mm]; None or empty: left blank, where the form allows it.

    ``took_can``, ``took_screw``, ``took_strip``, ``slots_open``, ``walls_whole``: figures beside
    what did.
    ``insert_best``: beside the hole that an insert stands in by itself. ``foot_mm``: the long
    lengths at the bed, x and y."""

    can_mm: float
    took_can: tuple[str, ...]
    long_mm: tuple[float, float, float | None]
    short_mm: tuple[float, float, float | None]
    foot_mm: tuple[float, float]
    took_screw: tuple[str, ...] = ()
    took_strip: tuple[str, ...] = ()
    insert_best: str | None = None
    slots_open: tuple[str, ...] = ()
    walls_whole: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class MeasuredValue:
    """A value and by how much it may be off, 19 times of 20."""

    value: float
    plus_minus: float


@dataclass(frozen=True, kw_only=True, slots=True)
class PrinterMeasured:
    """``hole_mm``: holes come out less by it, in diameter; ``outside_mm``: sides grow by it, each;
    ``shrink_percent``: along x, y, z, z None where it was not measured; ``foot_mm``: bulge of the
    first layer, each side. ``notes``: what else the gauge tells, a line each."""

    hole_mm: MeasuredValue
    outside_mm: MeasuredValue
    shrink_percent: tuple[MeasuredValue, MeasuredValue, MeasuredValue | None]
    foot_mm: MeasuredValue
    notes: tuple[str, ...] = ()
