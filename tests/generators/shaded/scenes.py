"""Scenes of invented packs, each planned and meshed once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from generators.exports.bill import BillRow
from generators.exports.whole_bill import bill_ahead
from generators.made_part import MeshedPart, meshed_part
from generators.packfile.resolve import parse_pack
from generators.shaded.scene import scene_of
from generators.shaded.things import Scene
from layouts.placing.values import Effort
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.planning.parts_list import parts_of

CELL = 'cell: {format: "18650", capacity_ah: 2.5, continuous_a: 8, internal_resistance_mohm: 25}\n'
SMALL = f"name: small\n{CELL}series: 3\nparallel: 2\n"
ROOM = "space: {box_mm: [260, 200, 105]}\n"
PACKS = {
    "tub, plates": SMALL + "lattice: honeycomb\n",
    "tub, links": SMALL + "lattice: grid\nstrip: {joints: links}\n",
    "fitted": SMALL + ROOM + "lattice: honeycomb\nenclosure: {style: fitted}\n",
    "none": SMALL + "lattice: grid\nenclosure: {style: none}\n" + ROOM,
}
# slow: a clamp of silicone, a bridge, a tub in pieces
LARGE = {
    "fitted pieces": "name: fitted-pieces\ncell: {format: '21700', capacity_ah: 4.8, "
    "continuous_a: 15, mass_g: 69}\nseries: 13\nparallel: 5\nenclosure: {style: fitted}\n"
    "space: {box_mm: [420, 170, 95]}\nload: {continuous_a: 20, acceleration_g: [4, 4, 6]}\n"
    "printer: {bed_mm: [220, 220, 250]}\n",
    "gasket": SMALL + ROOM + "lattice: honeycomb\nenclosure: {style: fitted, gasket: "
    "{gas_l: 4, within_s: 3, opens_at_kpa: 3}}\n",
    "clamp": f"name: clamp\n{CELL}series: 7\nparallel: 4\nenclosure: {{style: fitted}}\n"
    "holder: {flank_posts: false}\nspace: {box_mm: [300, 260, 105]}\n",
    "bridge": f"name: bridge\n{CELL}series: 16\nparallel: 2\nlattice: grid\n",
    "pieces": f"name: pieces\n{CELL}series: 13\nparallel: 6\n"
    "printer: {bed_mm: [180, 180, 180]}\n",
}


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Made:
    """A plan, its meshes, the bill, and the scene of all."""

    plan: PackPlan
    meshed: tuple[MeshedPart, ...]
    bill: Sequence[BillRow]
    scene: Scene


@cache
def made(name: str) -> Made:
    """One of ``PACKS`` or ``LARGE``."""
    text = (PACKS | LARGE)[name]
    plan = plan_pack(parse_pack(text.encode(), "pack.yaml").pack, effort=Effort.QUICK)
    meshed = tuple(meshed_part(part) for part in parts_of(plan))
    bill = bill_ahead(plan, meshed)
    return Made(plan=plan, meshed=meshed, bill=bill, scene=scene_of(plan, meshed, bill))
