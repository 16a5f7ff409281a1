"""A sound pack, and the same with faults put in, for tests of the short check."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np

from layouts.cells.arrangement import CellLayout
from layouts.holders.fastening import CellBlock
from layouts.holders.holder import Post
from layouts.pack import Pack
from layouts.parts.screw import PlacedScrew
from layouts.shorts.short_check import shorts
from layouts.shorts.values import ShortReport
from layouts.strips.joining import Interconnect
from tests.layouts.enclosed import enclosed_pack
from tests.samples import sample_pack

__all__ = ["FAULTS", "Fault", "Plan", "judged", "sound_plan"]


@dataclass(frozen=True)
class Plan:
    """All that the short check looks at."""

    pack: Pack
    cell_layout: CellLayout
    interconnect: Interconnect
    cell_block: CellBlock
    screws: tuple[PlacedScrew, ...]


@cache
def sound_plan(
    series: int = 6, parallel: int = 3, format: str = "21700", enclosed: bool = True
) -> Plan:
    """An invented pack without a fault."""
    made = enclosed_pack(sample_pack(series, parallel, format=format))
    return Plan(
        made.pack,
        made.cell_layout,
        made.interconnect,
        made.cell_block,
        made.screws if enclosed else (),
    )


def judged(plan: Plan) -> ShortReport:
    """The report on a plan."""
    return shorts(plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block, plan.screws)


def _holder(plan: Plan, **changes: Any) -> Plan:
    return replace(plan, pack=replace(plan.pack, holder=replace(plan.pack.holder, **changes)))


def _strip(plan: Plan, name: str, **changes: Any) -> Plan:
    strips = tuple(replace(s, **changes) if s.name == name else s for s in plan.interconnect.strips)
    assert any(s.name == name for s in strips)
    return replace(plan, interconnect=replace(plan.interconnect, strips=strips))


def _without(plan: Plan, words: str) -> Plan:
    strips = tuple(s for s in plan.interconnect.strips if words not in s.name)
    assert len(strips) < len(plan.interconnect.strips)
    return replace(plan, interconnect=replace(plan.interconnect, strips=strips))


def _moved(plan: Plan, name: str, by_mm: tuple[float, float]) -> Plan:
    strip = next(s for s in plan.interconnect.strips if s.name == name)
    start, end = (np.asarray(at) + by_mm for at in (strip.start_mm, strip.end_mm))
    return _strip(plan, name, start_mm=tuple(start.tolist()), end_mm=tuple(end.tolist()))


def _over_a_foreign_can(plan: Plan) -> Plan:
    """Group 1's row laid over the cells of group 3, whose place in the row is the same."""
    rows = (3**0.5) * plan.pack.pitch_mm  # from group 1's row to group 3's
    return _moved(plan, "upper-1-2-row-1", (0.0, rows))


def _near_a_foreign_can(plan: Plan) -> Plan:
    """A row widened towards the next joint's cans, its middle still over its own cells."""
    return _strip(plan, "upper-1-2-row-2", width_mm=18.4)


def _across_wrong_groups(plan: Plan) -> Plan:
    """A link of groups 3 and 4 laid from group 4 to group 5."""
    strip = next(s for s in plan.interconnect.strips if s.name == "upper-3-4-link-1")
    a = strip.cells[1]
    near = {int(j) for pair in plan.cell_layout.neighbours for j in pair if a in pair}
    b = min(j for j in near if plan.cell_layout.group[j] == 5)
    start, end = (tuple(plan.cell_layout.xy_mm[k].tolist()) for k in (a, b))
    return _strip(plan, strip.name, cells=(a, b), groups=(4, 5), start_mm=start, end_mm=end)


def _listed_wrong(plan: Plan) -> Plan:
    """The same link where it was, to be welded to a cell of group 5 as well."""
    strip = next(s for s in plan.interconnect.strips if s.name == "upper-3-4-link-1")
    other = int(np.flatnonzero(plan.cell_layout.group == 5)[0])
    return _strip(plan, strip.name, cells=(*strip.cells, other))


def _screw_at(plan: Plan, x_mm: float, y_mm: float) -> Plan:
    posts = (Post(x_mm=x_mm, y_mm=y_mm, radius_mm=4.0), *plan.cell_block.posts[1:])
    return replace(plan, cell_block=replace(plan.cell_block, posts=posts))


def _screw_beside_a_strip(plan: Plan) -> Plan:
    """A post so near to pack minus's row that its nut's corner lies 0.9 mm from the strip."""
    strip = next(s for s in plan.interconnect.strips if s.name == "lower-1-lead-1")
    x, y = strip.start_mm
    return _screw_at(plan, x + 17.0, y - strip.width_mm / 2 - 0.9 - 3.3)


def _volts(plan: Plan, full_v: float) -> Plan:
    return replace(plan, pack=replace(plan.pack, cell=replace(plan.pack.cell, full_v=full_v)))


@dataclass(frozen=True)
class Fault:
    """One fault: how it is put in, the check meant for it, and what else follows from it."""

    name: str
    put_in: Callable[[Plan], Plan]
    meant: str
    follows: frozenset[str] = frozenset()
    packs: tuple[int, int, str] = (6, 3, "21700")


FAULTS = (
    Fault(
        "strip over a foreign can",
        _over_a_foreign_can,
        "short_cans",
        # it lies over that can's own strips and over its middle, and no longer over its own cells
        frozenset(
            {
                "short_strips",
                "short_surface",
                "wrong_join",
                "links_present",
                "strip_gap_mm",
                "strip_window_mm",
            }
        ),
    ),
    Fault("strip too near to a foreign can", _near_a_foreign_can, "short_cans"),
    Fault(
        "missing ring",
        lambda plan: _holder(plan, ring_mm=0.0),
        "ring_present",
        frozenset({"strip_seat_mm", "strip_proud_mm"}),  # the can sinks into the ring's seat
    ),
    Fault("ring narrower than the rim", lambda plan: _holder(plan, window_mm=19.0), "ring_present"),
    Fault(
        "strip across two wrong groups",
        _across_wrong_groups,
        "wrong_join",
        # it lies over the other group's can and strips
        frozenset(
            {
                "short_strips",
                "short_cans",
                "short_surface",
                "strip_potentials",
                "strip_gap_mm",
                "strip_window_mm",
            }
        ),
    ),
    Fault(
        "strip to be welded to a wrong group",
        _listed_wrong,
        "wrong_join",
        frozenset({"strip_potentials", "links_present"}),  # and it does not reach that cell
    ),
    Fault(
        "all links between two groups missing",
        lambda plan: _without(plan, "upper-3-4-link"),
        "links_present",
        frozenset({"strip_one_piece"}),
    ),
    Fault(
        "the only link missing",
        lambda plan: _without(plan, "upper-3-4-link-1"),
        "links_present",
        frozenset({"strip_one_piece"}),
        (6, 1, "18650"),
    ),
    Fault(
        "the strip of a lone cell missing",
        lambda plan: _without(plan, "lower-1-lead-1"),
        "links_present",
        frozenset({"lead_out_mm"}),
        (6, 1, "18650"),
    ),
    Fault(
        "strip beside the cells it joins",
        lambda plan: _moved(plan, "upper-1-2-row-1", (0.0, -4.0)),
        "links_present",
    ),
    Fault(
        "screw beside a strip",
        _screw_beside_a_strip,
        "short_metal",
        frozenset({"post_channel", "post_clearance"}),  # its post stands in channel and pocket
    ),
    Fault(
        "too many volts side by side",
        lambda plan: _volts(plan, 16.0),
        "short_surface",
        # the same volts are between cans and at screws, whose posts keep off channels by them
        frozenset({"short_metal", "can_spacing", "post_channel"}),
        (24, 1, "18650"),
    ),
    Fault(
        "more volts than the table has",
        lambda plan: _volts(plan, 60.0),
        "short_surface",
        frozenset({"short_metal", "short_cans", "short_strips", "can_spacing", "post_channel"}),
        (24, 1, "18650"),
    ),
    Fault(
        "a floor of the user's above what is there",
        lambda plan: replace(plan, pack=replace(plan.pack, spacing_floor_mm=7.0)),
        "short_surface",
        frozenset({"short_metal", "short_cans"}),
    ),
)
