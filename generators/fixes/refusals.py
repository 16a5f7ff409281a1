"""A pack that can't be planned: a change of a key, tried, with which it can."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from generators.fixes.geometry import BEDS_MM
from generators.fixes.judging import Changed, in_space
from generators.fixes.steps import WIRES_MM2, Changes, changes_words, thicker_mm2, up
from layouts.errors import PlanError
from layouts.pack import EnclosureStyle, Lattice, Pack
from layouts.placing.values import Effort
from layouts.planning.layout_search import cells_may_go_in
from layouts.planning.pack_plan import completed
from layouts.planning.steps import outside_plan

__all__ = ["with_tried_remedy"]

IN_SPACE = ("space", "enclosure.style")  # fields of which the space decides
CELLS_FIT = re.compile(r"(\d+) of \d+ cells fit")  # of cells placed in an outline
TUB = "enclosure: {style: tub}"  # as the plan's own remedies have it
FEWER_MOST = 2
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
        if _can_be_planned(changes, changed, stands=error.field in IN_SPACE):
            use = f"use {changes_words(changes)} (tried: it can then be planned)"
            own = _own(error)
            return _told(error, f"{use}; or {own}" if own else use)
        tried.append(changes)
    if not tried:
        return error
    last = "; ".join(changes_words(one) for one in tried[-3:])
    own = _own(error)
    none = f"no fix was found; tried without success: {last}"
    return _told(error, f"{own}; {none}" if own else none)


def _own(error: PlanError) -> str:
    """The plan's own remedy where it is about the space of an enclosure; less the tub, which is one
    of the changes that are tried."""
    if error.field not in IN_SPACE or CELLS_FIT.match(error.value or ""):
        return ""
    return re.sub(rf"(; or )?{re.escape(TUB)}$", "", error.remedy)


def _told(error: PlanError, remedy: str) -> PlanError:
    return PlanError(field=error.field, why=error.why, value=error.value, remedy=remedy)


def _can_be_planned(changes: Changes, changed: Changed, *, stands: bool) -> bool:
    """``stands``: and lies in its space then."""
    try:
        # a quick search places no more cells than a long one, so what it finds is there
        plan = completed(outside_plan(changed(changes), effort=Effort.QUICK, advise=False))
    except ValueError:  # refused by the file's rules or by the plan
        return False
    return not stands or all(check.holds for check in in_space(plan))


def _fitted(error: PlanError, pack: Pack) -> Iterator[Changes]:
    """A tub, the other lattice, fewer cells as far as they find room, then no enclosure."""
    if pack.enclosure.style is not EnclosureStyle.FITTED:
        return
    yield {"enclosure.style": EnclosureStyle.TUB.value}
    other = Lattice.HONEYCOMB if pack.lattice is Lattice.GRID else Lattice.GRID
    if cells_may_go_in(replace(pack, lattice=other)):
        yield {"lattice": other.value}
    fewer = range(pack.parallel - 1, 0, -1)
    likely = [one for one in fewer if cells_may_go_in(replace(pack, parallel=one))]
    yield from ({"parallel": one} for one in likely[:FEWER_MOST])
    yield {"enclosure.style": EnclosureStyle.NONE.value}


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
    found = CELLS_FIT.match(error.value or "")
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
    "enclosure.style": _fitted,
    "enclosure.side_gap_mm": _side_gap,
    "space": _space,
    "printer.bed_mm": _bed,
    "grouping.volts_limit": _volts_limit,
    "leads.wire_mm2": _wire,
}
