"""How well brackets hold a pack on its frame: forces by their stiffness, limit loads, holes, the
way of the tools, and what a shock does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import affine_transform

from layouts.brackets.drilling import free_to_drill
from layouts.brackets.holding import TOOL_LONG_MM, TOOL_MM, FrameHold, HeldBody
from layouts.brackets.strength import strength_limit_mpa
from layouts.checks import Check
from layouts.enclosures.pad_walls import lug_of
from layouts.formats import materials, screws
from layouts.frame_spec import FrameHole, FramePlate
from layouts.mount_spec import USES
from layouts.mounting.closure import limit_loads
from layouts.mounting.elastic import Answer, answer_of, frequencies_hz
from layouts.pack import Pack
from layouts.parts.fasteners import Into
from layouts.parts.screw import PlacedScrew
from layouts.physics import GRAVITY_M_S2
from layouts.planning.steps import OutsidePlan
from layouts.spaces.regions import free_region

__all__ = [
    "MOST_USE", "FrameScrew", "HeldPack", "body_of", "frame_screws", "held_checks",
    "held_frequencies_hz", "held_pack", "shock_uses",
]  # fmt: skip

HOLE_OFF_MM = 0.3  # a foot's hole off the frame's: the screws' clearance takes it up
DIRECTIONS = 12  # forces along and moments about three axes, both ways
AXES = ("x", "y", "z")
MOST_USE = 1e6  # told where a pack is not held at all


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class HeldPack:
    """A pack on its brackets: how they answer the load; (+, -) limit loads along x, y, z [N] and
    moments about them [N m]; the two level ones without friction."""

    body: HeldBody
    holds: tuple[FrameHold, ...]
    answer: Answer
    limits: tuple[tuple[float, float], ...]
    level_limits: tuple[tuple[float, float], ...]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FrameScrew:
    """A screw into the frame: its middle on the frame's face and the way of its head in the space,
    its bracket's number, and the plate. ``hole``: that it goes into; None: to be drilled."""

    at_mm: NDArray[np.float64]
    out: NDArray[np.float64]
    screw: str
    on: int
    plate: FramePlate
    hole: FrameHole | None
    off_mm: float


def body_of(plan: OutsidePlan, *, mass_kg: float) -> HeldBody:
    """The pack in its own coordinates, with the load's accelerations along its own axes where its
    pose is known; else both level ones along either axis, the greater where they differ."""
    pack, shell, pose = plan.pack, plan.enclosure.shell, plan.enclosure.pose
    x0, y0, x1, y1 = shell.outer.bounds
    g = np.zeros(3) if pack.load is None else np.abs(pack.load.acceleration_g)
    if pose is None:
        g[:2] = g[:2].max()
    else:
        g = np.abs(pose[:3, :3].T @ g)
    return HeldBody(
        low_mm=(x0, y0, shell.z_under_mm), high_mm=(x1, y1, shell.z_lid_mm),
        centre_mm=(0.0, 0.0, pack.lip_to_lip_mm / 2.0), mass_kg=mass_kg,
        load_g=(float(g[0]), float(g[1]), float(g[2])), faces=("+x", "-x", "+y", "-y"),
        limit_mpa=strength_limit_mpa(pack), screw=pack.mount.screw,
        modulus_mpa=materials()[pack.printer.material].modulus_mpa,
        layer_mm=pack.printer.layer_mm,
    )  # fmt: skip


def held_pack(plan: OutsidePlan, *, mass_kg: float) -> HeldPack | None:
    """None where nothing is known of its brackets' strength, or there are none."""
    body, holds = _held_by(plan, mass_kg)
    if not holds:
        return None
    return HeldPack(
        body=body, holds=holds, answer=answer_of(body, holds), limits=limit_loads(body, holds),
        level_limits=limit_loads(body, holds, friction=False, axes=(0, 1)),
    )  # fmt: skip


def _held_by(plan: OutsidePlan, mass_kg: float) -> tuple[HeldBody, tuple[FrameHold, ...]]:
    body = body_of(plan, mass_kg=mass_kg)
    lugs = [(wall.pad, lug_of(plan.pack, wall)) for wall in plan.enclosure.pad_walls]
    return body, plan.bracket.holds(body, lugs)


def held_frequencies_hz(plan: OutsidePlan, *, mass_kg: float) -> tuple[float, ...]:
    """All six of the pack on its brackets, lowest first."""
    body, holds = _held_by(plan, mass_kg)
    return tuple(float(one) for one in frequencies_hz(body, holds))


def shock_uses(plan: OutsidePlan, felt_g: float, *, mass_kg: float) -> Iterator[tuple[float, str]]:
    """(use, bracket) in a shock along each axis alone, at the full safety."""
    body, holds = _held_by(plan, mass_kg)
    for axis in range(3):
        alone = tuple(felt_g if k == axis else 0.0 for k in range(3))
        answer = answer_of(replace(body, load_g=(alone[0], alone[1], alone[2])), holds)
        yield min(answer.use, MOST_USE), holds[answer.worst].words


def held_checks(plan: OutsidePlan, *, mass_kg: float) -> tuple[Check, ...]:
    """Of a pack on a frame's features; nothing without brackets on one, or without a load."""
    pack = plan.pack
    held = held_pack(plan, mass_kg=mass_kg) if pack.mount.frame and pack.load else None
    if held is None:
        return ()
    found = frame_screws(plan)
    return (
        _is_held(held), _positive(held), _use(pack, held), _holes(found), _access(plan, found),
    )  # fmt: skip


def _is_held(held: HeldPack) -> Check:
    """Every motion is held both ways."""
    count = sum(limit > 0.0 for both in held.limits for limit in both)
    loose = [
        f"{'along' if k < 3 else 'about'} {AXES[k % 3]}"
        for k, both in enumerate(held.limits)
        if min(both) <= 0.0
    ]
    return Check(
        id="mount_held",
        about="directions in which the brackets hold the pack, of forces and moments both ways",
        holds=count == DIRECTIONS, value=float(count), limit=float(DIRECTIONS), unit="",
        source="limit loads by linear programming; geometry",
        remedy="a greater mount.hold.most, more holes of mount.frame, or drill: true on a plate",
        where=", ".join(loose),
    )  # fmt: skip


def _positive(held: HeldPack) -> Check:
    """Level forces, without friction."""
    body = held.body
    loads = [body.mass_kg * GRAVITY_M_S2 * body.load_g[axis] for axis in (0, 1)]
    ratios = [
        min(both) / load if load else np.inf
        for both, load in zip(held.level_limits, loads, strict=True)
    ]
    axis = int(np.argmin(ratios))
    return Check(
        id="mount_positive",
        about="level force that the brackets bear without any friction, over that of the load: "
        f"{min(held.level_limits[axis]):.0f} of {loads[axis]:.0f} N",
        holds=ratios[axis] >= 1.0, value=float(min(ratios[axis], MOST_USE)), limit=1.0, unit="",
        source="limit loads by linear programming; never by friction alone: common practice",
        remedy="a greater mount.hold.most, or a lower load.acceleration_g",
        where=f"along the pack's {AXES[axis]}",
    )  # fmt: skip


def _use(pack: Pack, held: HeldPack) -> Check:
    """Bracket, inserts and wall at the place that is worst."""
    answer = held.answer
    worst = held.holds[answer.worst]
    use = float(min(answer.use, MOST_USE))
    about = (
        "load over strength where bracket, inserts and wall bear most, all accelerations at once"
    )
    if answer.cap_n:
        about += f": {abs(answer.force_n):.0f} of {answer.cap_n:.0f} N one way alone"
    source = "stiff body on springs, least of corner, inserts and wall; strength by their checks"
    if pack.mount.use is not None:
        source += f"; load by mount.use {pack.mount.use}: {USES[pack.mount.use].source}"
    return Check(
        id="mount_use", about=about, holds=use <= 1.0, value=use, limit=1.0, unit="",
        at_least=False, source=source,
        remedy="a greater mount.hold.most, drill: true on a plate of mount.frame, a stronger "
        "printer.material, a thicker enclosure.wall_mm, or a lower load.acceleration_g",
        where=worst.words,
    )  # fmt: skip


def frame_screws(plan: OutsidePlan) -> tuple[FrameScrew, ...]:
    """Every screw into the frame, at the pack's pose, with the hole that is nearest where it has
    one; new ones where drilling is allowed and none is near."""
    pose = plan.enclosure.pose
    assert pose is not None
    plates = {one.name: one for one in plan.pack.mount.frame if isinstance(one, FramePlate)}
    return tuple(
        _frame_screw(one, pose, plates[plan.enclosure.pads[one.on - 1].on])
        for one in plan.bracket.screws
        if one.into is Into.FRAME
    )


def _frame_screw(one: PlacedScrew, pose: NDArray[np.float64], plate: FramePlate) -> FrameScrew:
    at = pose[:3, :3] @ one.point(-one.through_mm) + pose[:3, 3]
    out = pose[:3, :3] @ one.out
    fitting = [hole for hole in plate.holes if hole.screw == one.screw]
    offs = [float(np.linalg.norm(at - plate.in_space_mm(hole.at_mm))) for hole in fitting]
    nearest = int(np.argmin(offs)) if offs else None
    if nearest is not None and (offs[nearest] <= HOLE_OFF_MM or not plate.drill):
        hole, off = fitting[nearest], offs[nearest]
    else:
        hole, off = None, _off_plate_mm(at, plate)
    return FrameScrew(
        at_mm=at, out=out, screw=one.screw, on=one.on, plate=plate, hole=hole, off_mm=off
    )


def _off_plate_mm(at: NDArray[np.float64], plate: FramePlate) -> float:
    """How far a new hole lies out of the plate's face, or too near to an edge or another hole."""
    off_plane = abs(float(at[plate.axis]) - plate.at_mm[plate.axis])
    first, second = (float(at[k]) - plate.at_mm[k] for k in plate.plane_axes)
    return max(off_plane, float(free_to_drill(plate).distance(shapely.Point(first, second))))


def _holes(found: Sequence[FrameScrew]) -> Check:
    """The feet's holes against the frame's."""
    worst = max(found, key=lambda one: one.off_mm)
    new = sum(one.hole is None for one in found)
    return Check(
        id="frame_holes",
        about=f"distance of the feet's holes from the frame's: {len(found) - new} that are there, "
        f"{new} to be drilled",
        holds=worst.off_mm <= HOLE_OFF_MM, value=worst.off_mm, limit=HOLE_OFF_MM, unit="mm",
        at_least=False, source="geometry; clearance of the holes: common practice, no source",
        remedy="measure the holes of mount.frame again",
        where=f"bracket {worst.on} on {worst.plate.name}",
    )  # fmt: skip


def _access(plan: OutsidePlan, found: Sequence[FrameScrew]) -> Check:
    """A driver over every frame screw: past the enclosure and what the space holds."""
    rooms = [(_free_mm(plan, one), one) for one in found]
    least, worst = min(rooms, key=lambda each: each[0])
    return Check(
        id="screw_access",
        about="from the axis of a frame screw to the enclosure or what the space holds beside its "
        f"tool, over {TOOL_LONG_MM:g} mm",
        holds=least >= TOOL_MM / 2, value=least, limit=TOOL_MM / 2, unit="mm",
        source="geometry; tool 12 wide: common practice, no source",
        remedy="move what stands over that foot out of the way, or leave that face out of "
        "mount.hold.faces",
        where=f"bracket {worst.on} on {worst.plate.name}",
    )  # fmt: skip


def _free_mm(plan: OutsidePlan, one: FrameScrew) -> float:
    """Round a screw's axis, over its tool's way."""
    pose, space = plan.enclosure.pose, plan.pack.space
    assert pose is not None and space is not None
    (a, b), (c, d) = pose[:2, :2].tolist()
    outer = affine_transform(plan.enclosure.shell.outer, [a, b, c, d, *pose[:2, 3].tolist()])
    axis = shapely.Point(one.at_mm[:2])
    bottom = float(one.at_mm[2]) + screws()[one.screw].head_high_mm
    top = min(bottom + TOOL_LONG_MM, space.low_mm[2] + space.box_mm[2])
    free = free_region(space, bottom, top)
    room = float(axis.distance(free.boundary)) if free.contains(axis) else 0.0
    return min(room, float(axis.distance(outer)))
