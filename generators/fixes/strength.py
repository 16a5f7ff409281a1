"""What may be changed where brackets, walls, floor, lid or straps are too weak for the load."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from generators.fixes.steps import Changes, down, up
from layouts.checks import Check
from layouts.formats import materials, sheet_metals
from layouts.planning.pack_plan import PackPlan

__all__ = ["STRENGTH"]

Candidates = Callable[[Check, PackPlan], Iterator[Changes]]

THICKEST_PLATE_MM = 10.0  # floor and lid that the pack file permits
THICKEST_WALL_MM = 10.0  # that the pack file permits
SHEETS_TRIED = 3  # metals and thicknesses of sheet brackets
MOST_BRACKETS = 12  # that the pack file permits on a frame


def _bracket(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Another kind, holes farther apart, a stronger material; then smaller shocks."""
    pack = plan.pack
    yield from _other_kinds(plan)
    yield from _holes_apart(plan)
    known = materials()
    own = known[pack.printer.material].strength_mpa
    stronger = sorted(
        (one for one in known.values() if one.strength_mpa > own), key=lambda one: one.strength_mpa
    )
    for material in stronger:
        yield {"printer.material": material.material}
    yield from _smaller_shocks(check, plan)


def _holes_apart(plan: PackPlan) -> Iterator[Changes]:
    """Two holes in the frame, farther apart than those of the file."""
    if plan.pack.mount.tube_mm is not None:
        return  # clamps bolt to no holes
    far = max((hole[0] for hole in plan.pack.mount.holes_mm), default=0.0)
    for apart in (30.0, 60.0):
        if apart > far:
            yield {"mount.holes_mm": [[0.0, 0.0], [apart, 0.0]]}


def _shocked(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """What makes brackets stronger and stiffer; then a smaller shock."""
    if plan.pack.mount.frame:
        yield from (one for one in _framed(check, plan) if "load.acceleration_g" not in one)
        return
    shock, ratio = plan.pack.mount.shock, (check.value or 1.0) / (check.limit or 1.0)
    for changes in _bracket(check, plan):
        if "load.acceleration_g" not in changes:
            yield changes
    if shock is not None and check.id == "mount_shock" and down(shock.g / ratio, 0.5) > 0:
        yield {"mount.shock.g": down(shock.g / ratio, 0.5)}


def _wall(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """A bracket that the frame holds nearer to the wall, thicker walls, a material stronger across
    its layers; then smaller shocks."""
    yield from _sheet_metal(plan)
    if plan.pack.mount.kind != "flat" and plan.pack.mount.tube_mm is None:
        yield {"mount.kind": "flat"}
    for more in (0.8, 1.6, 2.4):
        thick = round(plan.pack.enclosure.wall_mm + more, 2)
        if thick <= THICKEST_WALL_MM:
            yield {"enclosure.wall_mm": thick}
    yield from _stronger_across(plan)
    yield from _smaller_shocks(check, plan)


def _insert(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Another kind, sheet metal, whose foot is held nearer to the wall, first; a material stronger
    across its layers, alone and with sheet metal; then smaller shocks."""
    yield from _other_kinds(plan)
    for stronger in _stronger_across(plan):
        yield stronger
        for metal in _sheet_metal(plan):
            yield metal | stronger
    root = None if not check.value else replace(check, value=check.value**0.5)
    yield from _smaller_shocks(root or check, plan)  # its use goes with the square


def _other_kinds(plan: PackPlan) -> Iterator[dict[str, object]]:
    """Sheet metal for the same holes of the frame first, then a printed kind."""
    if plan.pack.mount.tube_mm is not None:
        return  # a tube takes clamps alone
    yield from _sheet_metal(plan)
    yield {"mount.kind": "flat" if plan.pack.mount.kind in ("angle", "sheet") else "angle"}


def _sheet_metal(plan: PackPlan) -> Iterator[dict[str, object]]:
    """In place of the printed angle, which it fits the holes of: where print is not enough."""
    if plan.pack.mount.kind == "angle":
        yield {"mount.kind": "sheet"}


def _sheet_bend(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """The other thicknesses that the metal is sold in, nearest first, then the metals that bend
    tighter, with what the file gives of the sheet."""
    mount = plan.pack.mount
    own = mount.thickness_mm or mount.sheet_metal.stock_mm[0]
    for thick in sorted(mount.sheet_metal.stock_mm, key=lambda one: (abs(one - own), one)):
        if thick != mount.thickness_mm:
            yield {"mount.thickness_mm": thick}
    if mount.bend_radius_mm is not None:
        for radius in (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 6.0, 8.0):
            if radius != mount.bend_radius_mm:
                yield {"mount.bend_radius_mm": radius}
    for metal in sheet_metals().values():
        if metal.least_radius_ratio < mount.sheet_metal.least_radius_ratio:
            yield {"mount.metal": metal.metal}


def _sheet_stress(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Another thickness, where the file gives one, or metal, or both: the fewest changes and the
    least gain that should do first; then holes farther apart and smaller shocks."""
    mount, own = plan.pack.mount, plan.pack.mount.sheet_metal
    need = (check.value or 1.0) / (check.limit or 1.0)
    found: list[tuple[int, float, Changes]] = []
    for metal in sheet_metals().values():
        stock = (1.0,) if mount.thickness_mm is None else metal.stock_mm
        for thick in stock:
            ratio = 1.0 if mount.thickness_mm is None else thick / mount.thickness_mm
            # with the square of the thickness, less what the foot's screws move outwards
            gain = metal.yield_mpa / own.yield_mpa * ratio**1.5
            changes: dict[str, object] = {} if metal == own else {"mount.metal": metal.metal}
            if ratio != 1.0:
                changes["mount.thickness_mm"] = thick
            if gain >= need and changes:
                found.append((len(changes), gain, changes))
    for _, _, first in sorted(found, key=lambda one: one[:2])[:SHEETS_TRIED]:
        yield first
    yield from _holes_apart(plan)
    yield from _smaller_shocks(check, plan)


def _stronger_across(plan: PackPlan) -> Iterator[dict[str, object]]:
    known = materials()
    own = known[plan.pack.printer.material].across_mpa
    better = (one for one in known.values() if one.across_mpa > own)
    for one in sorted(better, key=lambda one: one.across_mpa):
        yield {"printer.material": one.material}


def _thicker_plate(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Floor or lid: stress falls with the square of its thickness, sag with the cube; then a
    material with more strength and modulus, then smaller shocks."""
    assert check.value is not None and check.limit
    name, by = check.id.split("_")
    shell, layer = plan.enclosure.shell, plan.pack.printer.layer_mm
    now = shell.floor_mm if name == "floor" else shell.lid_mm
    ratio = (check.value / check.limit) ** (1 / 2 if by == "bending" else 1 / 3)
    for more in (0, 2, 4):  # layers: a lid must also suit its screws
        thick = round(up(now * ratio, layer) + more * layer, 3)
        if thick <= THICKEST_PLATE_MM:
            yield {f"enclosure.{name}_mm": thick}
    known = materials()
    own = known[plan.pack.printer.material]
    better = [
        one for one in known.values()
        if one.strength_mpa >= own.strength_mpa and one.modulus_mpa >= own.modulus_mpa
    ]  # fmt: skip
    for one in sorted(better, key=lambda one: one.strength_mpa * one.modulus_mpa):
        if one != own:
            yield {"printer.material": one.material}
    yield from _smaller_shocks(check, plan)


def _framed(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """More brackets, thicker walls, a material stronger across its layers; then smaller shocks."""
    hold = plan.pack.mount.hold
    for most in (hold.most + 2, hold.most + 4):
        if most <= MOST_BRACKETS:
            yield {"mount.hold.most": most}
    yield from _wall(check, _as_flat(plan))


def _as_flat(plan: PackPlan) -> PackPlan:
    """The plan as if its brackets were flat ones: on a frame no other kind is tried."""
    return replace(plan, pack=replace(plan.pack, mount=replace(plan.pack.mount, kind="flat")))


def _lock(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Round holes, whose screws bear too; then smaller shocks."""
    yield {"mount.slot_mm": 0.0}
    yield from _smaller_shocks(check, plan)


def _stronger(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """A stronger material, then smaller shocks: straps across seams are as thick as they may be,
    clamps too."""
    known = materials()
    own = known[plan.pack.printer.material].strength_mpa
    for one in sorted(known.values(), key=lambda one: one.strength_mpa):
        if one.strength_mpa > own:
            yield {"printer.material": one.material}
    yield from _smaller_shocks(check, plan)


def _slipping(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """A screw through the tube; then smaller shocks."""
    yield {"mount.cross_bolt": True}
    yield from _smaller_shocks(check, plan)


def _in_space(plan: PackPlan, along_pack: tuple[float, float, float]) -> tuple[float, ...]:
    """Along the space's axes, as the pack file has them."""
    space = plan.pack.space
    if space is None or space.place is None:
        return along_pack
    return space.place.along_space(along_pack)


def _smaller_shocks(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """What the part bears: stress and sag go with the acceleration."""
    load = plan.pack.load
    if load is not None:
        share = 1.0 if not (check.value and check.limit) else check.limit / check.value
        less = [down(g * share, 0.5) for g in _in_space(plan, load.acceleration_g)]
        if min(less) > 0:
            yield {"load.acceleration_g": less}


def _strap_screws(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """A floor or lid that a standard screw of a strap suits."""
    shell, layer = plan.enclosure.shell, plan.pack.printer.layer_mm
    for name, now in (("floor", shell.floor_mm), ("lid", shell.lid_mm)):
        for more in range(1, 6):
            yield {f"enclosure.{name}_mm": round(now + more * layer, 3)}


STRENGTH: Mapping[str, Candidates] = {
    "mount_held": _framed,
    "mount_positive": _framed,
    "mount_use": _framed,
    "mount_shock": _shocked,
    "mount_frequency": _shocked,
    "bracket_root_stress": _bracket,
    "bracket_bending": _bracket,
    "foot_lock_bearing": _lock,
    "clamp_bending": _stronger,
    "clamp_cap": _stronger,
    "clamp_bolt": _stronger,
    "clamp_slip": _slipping,
    "wall_bending": _wall,
    "insert_pull": _insert,
    "sheet_bend": _sheet_bend,
    "sheet_stress": _sheet_stress,
    "floor_bending": _thicker_plate,
    "floor_sag": _thicker_plate,
    "lid_bending": _thicker_plate,
    "lid_sag": _thicker_plate,
    "splice_stress": _stronger,
    "splice_screw_n": _stronger,
    "pieces_held": _strap_screws,
}
