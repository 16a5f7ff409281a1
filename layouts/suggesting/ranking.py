"""Which of the packs that fit come first, and why, in words.

Packs whose checks fail come last, before them those by estimate, before these cells without an
enclosure. Else those come first that no other beats: better in one of energy, current, mass,
clearance and cost, and worse in none. Within all kinds the score decides, greatest first. It adds
up, each share between 0 and 1, weighted as below (judgement, no source):

- energy, as a share of the most in the list; half the weight where an energy is required, since
  then all have enough;
- current beyond the requirement, up to as much again; without one, as a share of the most;
- mass and cost, less of it better, as shares of the greatest in the list;
- clearance: the smallest gap to the space, up to ``ROOMY_MM``;
- voltage off the requirement, up to a tenth.

Of one pack's ways of standing that are alike in all of these, the first beats the others.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from layouts.pack import EnclosureStyle, Side
from layouts.ratings.touch_voltage import DRY_V
from layouts.suggesting.rows import Row
from layouts.suggesting.setting import Asked, Axis

__all__ = ["Ranked", "ranked", "score", "without_twins"]

ENERGY, CURRENT, MASS, COST, ROOM, VOLTS = 1.0, 0.5, 0.6, 0.6, 0.3, 0.3
ROOMY_MM = 15.0  # a hand gets past: more clearance gains nothing; judgement
OFF_VOLTS_RATIO = 0.1
DIGITS = 9  # ranks must not hang on float noise


@dataclass(frozen=True, kw_only=True, slots=True)
class Ranked:
    """A row in its place.

    ``beaten_by``: number of a row that is better or equal on every count, None where none is.
    ``reasons``: its pros and cons, in words."""

    number: int
    row: Row
    score: float
    beaten_by: int | None
    reasons: tuple[str, ...]


def ranked(rows: Sequence[Row], asked: Asked) -> tuple[Ranked, ...]:
    """All rows, best first, numbered from 1."""
    marks = [_marks(row) for row in rows]
    names = [_identity(row) for row in rows]
    scores = [score(row, rows, asked) for row in rows]

    def beats(j: int, k: int) -> bool:
        """Better in some and worse in none; of one pack's ways that are alike, the first."""
        if _class(rows[j]) > _class(rows[k]):
            return False
        if marks[j] == marks[k]:
            return names[j][:PACK] == names[k][:PACK] and names[j] < names[k]
        return all(a >= b for a, b in zip(marks[j], marks[k], strict=True))

    everyone = range(len(rows))
    beaten = [any(beats(j, k) for j in everyone) for k in everyone]
    order = sorted(
        everyone,
        key=lambda k: (_class(rows[k]), beaten[k], -scores[k], names[k]),
    )
    found = []
    for number, k in enumerate(order, start=1):
        rivals = rows if rows[k].failed else [row for row in rows if not row.failed]
        by = next((n for n, j in enumerate(order, start=1) if beats(j, k)), None)
        found.append(
            Ranked(
                number=number,
                row=rows[k],
                score=scores[k],
                beaten_by=by,
                reasons=_reasons(rows[k], rivals, asked, by, alone=len(rows) == 1),
            )
        )
    return tuple(found)


def without_twins(rows: Sequence[Ranked]) -> list[Row]:
    """The rows less those that are the pack of a better row: standing otherwise, or on the other
    lattice without any gain."""
    kept: list[Row] = []
    seen: set[tuple[object, ...]] = set()
    by_number = {one.number: one.row.candidate for one in rows}
    for one in rows:
        of = one.row.candidate
        if (of.offer, of.series, of.parallel, of.lattice, of.form) in seen:
            continue
        better = None if one.beaten_by is None else by_number[one.beaten_by]
        pack = of.offer, of.series, of.parallel, of.form
        if better is not None and pack == (
            better.offer, better.series, better.parallel, better.form
        ):  # fmt: skip
            continue
        seen.add((of.offer, of.series, of.parallel, of.lattice, of.form))
        kept.append(one.row)
    return kept


def _class(row: Row) -> tuple[bool, bool, bool]:
    """What comes before all else: checks that fail, then estimates, then cells without an
    enclosure."""
    alone = row.candidate.form is EnclosureStyle.NONE
    return bool(row.failed), row.by_estimate, alone


def score(row: Row, rows: Sequence[Row], asked: Asked) -> float:
    """The sum of the shares; see the module."""
    weight = ENERGY / 2 if asked.energy_wh is not None else ENERGY
    total = weight * row.energy_wh / max(r.energy_wh for r in rows)
    if asked.current_a is None:
        total += CURRENT * row.current_a / max(r.current_a for r in rows)
    else:
        total += CURRENT * min(1.0, row.current_a / asked.current_a - 1)
    total += MASS * (1 - row.mass_kg / max(r.mass_kg for r in rows))
    costs = [r.cost for r in rows if r.cost is not None]
    if row.cost is not None and max(costs) > 0:
        total += COST * (1 - row.cost / max(costs))
    total += ROOM * min(1.0, row.fit.gap_mm / ROOMY_MM)
    if asked.volts_v is not None:
        total -= VOLTS * min(1.0, abs(row.nominal_v / asked.volts_v - 1) / OFF_VOLTS_RATIO)
    return round(total, DIGITS)


def _marks(row: Row) -> tuple[float, ...]:
    """What rows are compared by, greater better."""
    cost = 0.0 if row.cost is None else row.cost
    found = (row.energy_wh, row.current_a, -row.mass_kg, row.fit.gap_mm, -cost)
    return tuple(round(mark, 6) for mark in found)


FORM_WORDS = {
    EnclosureStyle.FITTED: "enclosure that follows the space",
    EnclosureStyle.NONE: "no enclosure: the space is the case",
}
PACK = 5  # so many parts of an identity name the pack, the others how it stands


def _identity(row: Row) -> tuple[int, int, int, str, str, int, int]:
    """Breaks ties the same way every time; upright cells, leads to +x first."""
    one, way = row.candidate, row.fit.way
    axis, side = (Axis.Z, Axis.X, Axis.Y).index(way.axis), list(Side).index(way.side)
    return (one.offer, one.series, one.parallel, one.lattice.value, one.form.value, axis, side)


def _reasons(
    row: Row, rows: Sequence[Row], asked: Asked, beaten_by: int | None, *, alone: bool
) -> tuple[str, ...]:
    words = ["the only one that fits"] if alone else _firsts(row, rows)
    if asked.current_a is not None:
        over = row.current_a - asked.current_a
        words.append(
            f"{over:.3g} A above the required {asked.current_a:g} A"
            if round(over, 6) > 0
            else f"exactly the required {asked.current_a:g} A"
        )
    if asked.energy_wh is not None:
        over = row.energy_wh - asked.energy_wh
        words.append(f"{over:.0f} Wh above the required {asked.energy_wh:g}")
    words.append("by estimate" if row.by_estimate else f"{row.fit.gap_mm:.1f} mm spare")
    words += _standing(row)
    words += _volts(row, asked)
    if row.failed:
        words.append(f"failed checks: {', '.join(row.failed)}")
    if beaten_by is not None:
        words.append(f"row {beaten_by} is better or equal in every respect")
    return tuple(words)


def _firsts(row: Row, rows: Sequence[Row]) -> list[str]:
    """Where it is the first of all, or of those no heavier than it in round figures."""
    words = []
    if row.energy_wh == max(r.energy_wh for r in rows):
        words.append("most energy")
    else:
        limit = _round_up(row.mass_kg)
        under = [r.energy_wh for r in rows if r.mass_kg <= limit]
        if row.energy_wh == max(under) and len(under) > 1:
            words.append(f"most energy of those under {limit:g} kg")
    if row.mass_kg == min(r.mass_kg for r in rows):
        words.append("lightest")
    if not row.by_estimate and row.fit.gap_mm == max(r.fit.gap_mm for r in rows):
        words.append("most clearance")
    if row.current_a == max(r.current_a for r in rows):
        words.append("most current")
    costs = [r.cost for r in rows if r.cost is not None]
    if row.cost is not None and row.cost == min(costs):
        words.append("cheapest cells")
    return words


def _round_up(mass_kg: float) -> float:
    """The next round figure: halves below 5 kg, else whole kilograms."""
    step = 0.5 if mass_kg < 5 else 1.0
    return math.ceil(mass_kg / step) * step


def _standing(row: Row) -> list[str]:
    one = row.candidate.form
    words = [FORM_WORDS[one]] if one in FORM_WORDS else []
    if row.fit.way.axis is not Axis.Z:
        words.append(f"cells lie along the space's {row.fit.way.axis.value}")
    if row.fit.way.side is not Side.PLUS_X:
        words.append(f"leads exit towards {row.fit.way.side.value}")
    if abs(row.fit.angle_deg) > 0.05:
        words.append(f"turned by {row.fit.angle_deg:.1f} degrees")
    return words


def _volts(row: Row, asked: Asked) -> list[str]:
    words = []
    if asked.volts_v is not None:
        off = row.nominal_v / asked.volts_v - 1
        if abs(off) >= 0.005:
            side = "over" if off > 0 else "under"
            words.append(f"{row.nominal_v:g} V nominal, {abs(off):.0%} {side} {asked.volts_v:g}")
    low = None if asked.window_v is None else asked.window_v[0]
    if low is not None and row.empty_v < low - 1e-9:
        words.append(
            f"the machine stops at {low:g} V, before the cells reach {row.empty_v:g} V (cut-off)"
        )
    if row.full_v > DRY_V:
        words.append(f"{row.full_v:.1f} V at full charge: dangerous to touch")
    return words
