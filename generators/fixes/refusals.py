"""A pack that can't be planned: a change of a key, tried, with which it can."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping

from generators.fixes.geometry import BEDS_MM
from generators.fixes.judging import Changed
from generators.fixes.steps import WIRES_MM2, Changes, changes_words, thicker_mm2, up
from layouts.errors import PlanError
from layouts.pack import Lattice, Pack
from layouts.placing.values import Effort
from layouts.planning.pack_plan import plan_pack

__all__ = ["with_tried_remedy"]

MOST_TRIALS = 6  # each as long as the plan that was refused
# Boards that defaults are taken from, largest first; common practice, no source
BOARDS_MM = ((110.0, 60.0, 12.0), (80.0, 50.0, 10.0), (60.0, 25.0, 8.0))

Candidates = Callable[[PlanError, Pack], Iterator[Changes]]


def with_tried_remedy(error: PlanError, pack: Pack, changed: Changed) -> PlanError:
    """The same refusal with a tried change as its remedy, or told that none was found.

    Refusals whose remedy names its value already stay as they are."""
    if error.field not in _CANDIDATES:
        return error
    tried: list[Changes] = []
    for changes in _CANDIDATES[error.field](error, pack):
        if len(tried) == MOST_TRIALS:
            break
        if _can_be_planned(changes, changed):
            return _told(error, f"use {changes_words(changes)} (tried: it can then be planned)")
        tried.append(changes)
    if not tried:
        return error
    last = "; ".join(changes_words(one) for one in tried[-3:])
    return _told(error, f"no fix was found; tried without success: {last}")


def _told(error: PlanError, remedy: str) -> PlanError:
    return PlanError(field=error.field, why=error.why, value=error.value, remedy=remedy)


def _can_be_planned(changes: Changes, changed: Changed) -> bool:
    try:
        # a quick search places no more cells than a long one, so what it finds is there
        plan_pack(changed(changes), effort=Effort.QUICK)
    except ValueError:  # refused by the file's rules or by the plan
        return False
    return True


def _board(error: PlanError, pack: Pack) -> Iterator[Changes]:
    """The largest usual board that is smaller, then thinner wires."""
    board = pack.bms.board_mm
    for one in BOARDS_MM:
        if one[0] < board[0] or one[1] < board[1]:
            yield {"bms.board_mm": list(one)}
    for wire in [one for one in reversed(WIRES_MM2) if one < pack.leads.wire_mm2][:2]:
        yield {"leads.wire_mm2": wire}


def _side_gap(error: PlanError, pack: Pack) -> Iterator[Changes]:
    for more in (0.5, 1.0, 2.0, 4.0, 8.0):
        yield {"enclosure.side_gap_mm": min(20.0, pack.enclosure.side_gap_mm + more)}


def _space(error: PlanError, pack: Pack) -> Iterator[Changes]:
    """As many in parallel as were found to fit, the other lattice, a thinner web."""
    other = "honeycomb" if pack.lattice is Lattice.GRID else "grid"
    yield {"lattice": other}
    found = re.match(r"(\d+) of \d+ cells fit", error.value or "")
    most = int(found[1]) // pack.series if found else pack.parallel - 1
    for parallel in range(most, max(most - 2, 0), -1):
        yield {"parallel": parallel}
    for web in (1.2, 0.8):
        if web < pack.holder.web_mm:
            yield {"holder.web_mm": web}


def _bed(error: PlanError, pack: Pack) -> Iterator[Changes]:
    bed = pack.printer.bed_mm
    for side in BEDS_MM:
        if side > min(bed[:2]):
            yield {"printer.bed_mm": [max(side, bed[0]), max(side, bed[1]), bed[2]]}


def _volts_limit(error: PlanError, pack: Pack) -> Iterator[Changes]:
    """The voltage of the best grouping that was found."""
    found = re.search(r"the best has ([0-9.]+) V", error.why)
    if found:
        yield {"grouping.volts_limit": up(float(found[1]), 0.1)}


def _wire(error: PlanError, pack: Pack) -> Iterator[Changes]:
    for wire in thicker_mm2(pack.leads.wire_mm2, 3):
        yield {"leads.wire_mm2": wire}


_CANDIDATES: Mapping[str, Candidates] = {
    "bms.board_mm": _board,
    "enclosure.side_gap_mm": _side_gap,
    "space": _space,
    "printer.bed_mm": _bed,
    "grouping.volts_limit": _volts_limit,
    "leads.wire_mm2": _wire,
}
