"""The one list of all things of a finished pack, from its plan and the meshes of its parts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from generators.exports.bill import BillRow
from generators.made_part import MeshedPart
from generators.shaded.bill_lookup import undrawn_rows
from generators.shaded.fixings import insert_things, screw_things, tie_things
from generators.shaded.insulation import insulation_things
from generators.shaded.parts import cell_things, metal_things, part_things
from generators.shaded.sealed import seal_things
from generators.shaded.things import Scene, Thing
from generators.shaded.wired import wired_things
from layouts.planning.pack_plan import PackPlan

__all__ = ["scene_of"]


def scene_of(plan: PackPlan, meshed: Sequence[MeshedPart], bill: Sequence[BillRow]) -> Scene:
    """All that the finished pack has and the bill tells, each once.

    Raises LookupError where a thing has no row of its own in the bill."""
    things = tuple(one for one in _things(plan, meshed, bill) if one.copies)
    rows = {one.row for one in things}
    pack = plan.pack
    if plan.enclosure_set is None:
        x0, y0, x1, y1 = plan.cell_block.box_mm
        floor = -pack.holder.lip_mm
    else:
        x0, y0, x1, y1 = plan.enclosure.shell.outer.bounds
        floor = plan.enclosure.shell.z_floor_mm
    return Scene(
        things=things,
        undrawn=undrawn_rows(bill, rows),
        middle_mm=((x0 + x1) / 2, (y0 + y1) / 2),
        size_mm=(x1 - x0, y1 - y0),
        tall_mm=pack.cell.length_mm,
        floor_mm=floor,
        top_mm=pack.lip_to_lip_mm + pack.holder.lip_mm,
        front=_front(plan),
    )


def _things(
    plan: PackPlan, meshed: Sequence[MeshedPart], bill: Sequence[BillRow]
) -> Iterator[Thing]:
    yield from part_things(plan, meshed, bill)
    yield from cell_things(plan, bill)
    yield from metal_things(plan, bill)
    yield from tie_things(plan, bill)
    yield from insulation_things(plan, meshed, bill)
    if plan.enclosure_set is not None:
        yield from screw_things(plan, bill)
        yield from insert_things(plan, bill)
        yield from wired_things(plan, meshed, bill)
        yield from seal_things(plan, bill)


def _front(plan: PackPlan) -> tuple[float, float]:
    """The corner that the pack is seen from: that from which most glands show, the main leads'
    counted twice."""
    corners = ((1.0, -1.0), (-1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))
    if plan.enclosure_set is None:
        return corners[0]
    outlets = [
        (one.out[:2], 2 if one.purpose.startswith("pack") else 1) for one in plan.enclosure.outlets
    ]

    def shown(corner: tuple[float, float]) -> int:
        return sum(weight for out, weight in outlets if float(np.dot(out, corner)) > 0.5)

    return max(corners, key=shown)
