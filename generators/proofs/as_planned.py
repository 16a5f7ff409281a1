"""What is printed against what was planned: the placed meshes hold all that the plan puts there."""

from __future__ import annotations

from collections.abc import Sequence

from generators.proofs.can_ends import can_end_proofs
from generators.proofs.fittings import board_proofs, gland_proofs
from generators.proofs.laid_strips import strip_proofs
from generators.proofs.lip_pieces import lip_proof
from generators.proofs.screws import screw_proofs
from generators.proofs.tie_screws import tie_screw_proofs
from generators.proofs.together import PlacedMesh
from layouts.checks import Check
from layouts.holders.shape import cell_block_shape
from layouts.parts.tie_screw import tie_screw
from layouts.planning.pack_plan import PackPlan

__all__ = ["as_planned"]


def as_planned(plan: PackPlan, placed: Sequence[PlacedMesh]) -> tuple[Check, ...]:
    """Strips, rings, cells, screws, glands and board in the parts as they are printed."""
    pack = plan.pack
    found = [
        *can_end_proofs(placed, pack, plan.cell_layout),
        *strip_proofs(
            placed,
            pack,
            plan.cell_layout,
            plan.interconnect,
            cell_block_shape(plan.cell_block.outline),
        ),
        lip_proof(placed, pack, plan.cell_layout, plan.interconnect, plan.cell_block),
        *tie_screw_proofs(placed, pack, plan.cell_block.posts, length_mm=tie_screw(pack).length_mm),
    ]
    if plan.enclosure_set is None:
        return tuple(found)
    enclosure, bracket = plan.enclosure, plan.bracket
    scripted = pack.mount.given is not None
    return (
        *found,
        *screw_proofs(
            placed,
            (*enclosure.screws, *bracket.screws),
            own_holes={screw.where for screw in bracket.screws} if scripted else frozenset(),
        ),
        *gland_proofs(placed, pack, enclosure.outlets, enclosure.board),
        *board_proofs(placed, pack, plan.cell_layout, plan.interconnect, enclosure.board),
    )
