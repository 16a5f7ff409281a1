"""How good a planned outside is, where there are several to choose from."""

from __future__ import annotations

from collections.abc import Sequence

from layouts.brackets.loads import guessed_mass_kg
from layouts.currents.strips import demand_or_rated_a, sharing, strip_network
from layouts.fitting.box_fit import fit_in_box
from layouts.parts.outside import outside_pieces, outside_points
from layouts.parts.part import Part
from layouts.planning.mass import mass_of, parts_mass
from layouts.planning.mounting import mounting_checks
from layouts.planning.parts_list import enclosure_set_parts
from layouts.planning.search import Score
from layouts.planning.steps import OutsidePlan
from layouts.spaces.space import box_space

__all__ = ["outside_score"]


def outside_score(plan: OutsidePlan) -> Score:
    """The score of a planned outside.

    A space that is no box counts by its box: what fits is proven on solids when all is made. The
    mass leaves the holders out, which the cells alone decide.
    """
    pack = plan.pack
    parts = tuple(enclosure_set_parts(plan))
    network = strip_network(pack, plan.cell_layout, plan.interconnect)
    shared = sharing(plan.cell_layout, network, demand_or_rated_a(pack))
    volumes, metal_g = parts_mass(parts)
    tiles = int(plan.cell_layout.tile.max()) + 1
    return Score(
        fits=_fits(plan, parts),
        failed=_failed(plan),
        pieces=2 * tiles + sum(len(part.placed) for part in parts),
        imbalance_ratio=shared.spread_ratio,
        mass_kg=mass_of(pack, plan.interconnect, volumes, sheet_metal_g=metal_g).total_g / 1000.0,
    )


def _fits(plan: OutsidePlan, parts: Sequence[Part]) -> bool:
    """Cells placed in the space's outline lie within it; tub, lid and brackets are stood in it."""
    space = plan.pack.space
    if space is None or plan.enclosure_set is None:
        return True
    pieces = outside_pieces(plan.enclosure.shell, parts, plan.enclosure.screws)
    points = outside_points(pieces)
    found = fit_in_box(points, box_space(space.box_mm), plan.pack.leads.side)
    return found.smallest_gap_mm >= 0.0


def _failed(plan: OutsidePlan) -> int:
    if plan.enclosure_set is None:
        return 0
    pack, enclosure = plan.pack, plan.enclosure
    checks = [
        *enclosure.checks(pack, plan.cell_layout, plan.interconnect, plan.cell_block),
        *mounting_checks(plan, mass_kg=guessed_mass_kg(pack)),
    ]
    return sum(not check.holds for check in checks)
