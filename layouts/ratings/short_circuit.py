"""What a pack drives into a short circuit: the most, which a fuse must break, and the least."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.ratings.given import PRACTICE, above_zero, counted, not_negative
from layouts.ratings.wire import wire_ohm

__all__ = [
    "COLD_RATIO",
    "AlternatingResistance",
    "LeastFault",
    "ShortCircuit",
    "alternating_resistance",
    "least_fault",
    "prospective",
]

DC_OF_AC = 3.0  # direct current against 1 kHz resistance: 1.5 to 3; the most, so the current too
COLD_RATIO = 3.0  # resistance of a cell at -20 C against 25 C; common practice, no source
HOT_WIRE_C = 75.0  # a lead that was in use before the fault


@dataclass(frozen=True, kw_only=True, slots=True)
class AlternatingResistance:
    """Resistance of one cell at 1 kHz; ``assumed``: a third of its direct current one."""

    mohm: float
    assumed: bool
    source: str


@dataclass(frozen=True, kw_only=True, slots=True)
class ShortCircuit:
    """Prospective short-circuit current of a pack.

    ``current_a`` from all cells at full volts, ``ohm`` what limits it, ``cell_a`` of each cell;
    ``assumed``: the cells' 1 kHz resistance was not given.
    """

    current_a: float
    ohm: float
    cell_a: float
    assumed: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class LeastFault:
    """Smallest current of a dead short at the far end of a wire: cells empty and cold.

    ``ohm``: cold cells, strips and hot wire together.
    """

    current_a: float
    ohm: float


def alternating_resistance(*, ac_mohm: float | None, dc_mohm: float) -> AlternatingResistance:
    """The 1 kHz resistance given, else a third of the direct current one, marked as assumed."""
    above_zero(dc_mohm, "dc_mohm")
    if ac_mohm is not None:
        return AlternatingResistance(
            mohm=above_zero(ac_mohm, "ac_mohm"), assumed=False, source="the cell's data sheet"
        )
    return AlternatingResistance(
        mohm=dc_mohm / DC_OF_AC, assumed=True, source=f"assumed: a third of the other; {PRACTICE}"
    )


def prospective(
    *,
    series: int,
    parallel: int,
    full_v: float,
    resistance: AlternatingResistance,
    strips_ohm: float,
    lead_ohm: float = 0.0,
) -> ShortCircuit:
    """Prospective short-circuit current I = S V / (S R / P + strips + lead) [A], by Ohm's law.

    ``full_v`` of one cell; ``lead_ohm``, both conductors, up to the fault: 0 just behind a fuse at
    the pack, where it is most. Arc and inductance are left out: both would lower it."""
    counted(series, "series")
    counted(parallel, "parallel")
    cells_ohm = series * above_zero(resistance.mohm, "resistance.mohm") / 1000.0 / parallel
    ohm = cells_ohm + not_negative(strips_ohm, "strips_ohm") + not_negative(lead_ohm, "lead_ohm")
    current = series * above_zero(full_v, "full_v") / ohm
    return ShortCircuit(
        current_a=current, ohm=ohm, cell_a=current / parallel, assumed=resistance.assumed
    )


def least_fault(
    *,
    series: int,
    parallel: int,
    empty_v: float,
    dc_mohm: float,
    strips_ohm: float,
    area_mm2: float,
    length_mm: float,
    cold_ratio: float = COLD_RATIO,
) -> LeastFault:
    """Least fault current that a fuse must still open [A].

    Empty cells, ``cold_ratio`` times their direct current resistance, strips at 20 C as given, and
    the whole of a hot wire of ``length_mm``, both conductors."""
    counted(series, "series")
    counted(parallel, "parallel")
    if above_zero(cold_ratio, "cold_ratio") < 1.0:
        raise ValueError(f"cold_ratio must be at least 1, got {cold_ratio!r}")
    cells_ohm = series * above_zero(dc_mohm, "dc_mohm") / 1000.0 * cold_ratio / parallel
    hot_ohm = wire_ohm(area_mm2=area_mm2, length_mm=length_mm, temperature_c=HOT_WIRE_C)
    ohm = cells_ohm + not_negative(strips_ohm, "strips_ohm") + hot_ohm
    return LeastFault(current_a=series * above_zero(empty_v, "empty_v") / ohm, ohm=ohm)
