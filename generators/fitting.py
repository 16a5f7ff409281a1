"""Whether a finished pack fits a space: its bodies, the search, the proofs and the files."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import manifold3d
import numpy as np
import shapely
from numpy.typing import NDArray

from generators.atomic_folder import written_beside
from generators.drawings.fit_picture import FitPicture, fit_picture
from generators.fit_words import point_words, way_words
from generators.meshes.of_part import undrilled_mesh
from generators.own_files import file_rows
from generators.proofs.in_space import in_space_checks
from generators.proofs.solids import mesh_solid, placed_points
from generators.result import check_row, plain, space_row
from generators.version import VERSION
from layouts.checks import Check
from layouts.errors import PlanError
from layouts.fitting.body import PackBody, make_body
from layouts.fitting.box_fit import BoxFit
from layouts.fitting.climbing import ENOUGH_MM
from layouts.fitting.fit import Searched, fit_in_space
from layouts.fitting.gap import TOLERANCE_MM, moved
from layouts.fitting.obstacles import obstacles_of
from layouts.fitting.posing import Posed, posed
from layouts.fitting.shrink import shrink_words, shrinks
from layouts.fitting.verdict import FitResult, verdict
from layouts.holders.outline import outline_points_mm
from layouts.pack import Face, Pack
from layouts.parts.clearance import Clearance, ClearanceKind
from layouts.parts.outlet import bends_across
from layouts.planning.asked_pose import asked_pose
from layouts.planning.clearances import pack_clearances
from layouts.planning.in_space import is_placed
from layouts.planning.pack_plan import PackPlan
from layouts.planning.parts_list import enclosure_set_parts, parts_of
from layouts.planning.steps import HolderPlan, OutsidePlan, outside_there, with_holders
from layouts.spaces.regions import prism_solid, space_mesh
from layouts.spaces.space import Prism, Space

__all__ = [
    "MARK", "FitOutcome", "fit_pack", "fit_placed", "fit_plan", "given_pose", "pack_bodies",
    "pack_parts",
]  # fmt: skip

RIM_MM = 0.1
MARK = "fit.json"  # the file by which an earlier result is known

Progress = Callable[[str, float], None]
Parts = list[tuple[str, NDArray[np.float64], NDArray[np.int64]]]


@dataclass(frozen=True, kw_only=True, slots=True)
class FitOutcome:
    """Where the files are, which checks do not hold, and the lines to report."""

    folder: Path
    failed: tuple[Check, ...]
    told: tuple[str, ...]


def pack_parts(plan: OutsidePlan) -> Parts:
    """Name, points and triangles of every placed printed part that can meet something outside.

    Holes for glands and screws stay filled: gland and screw fill them. With an enclosure the
    holders and what stands between them are left out: the tub's inside is filled as a whole.
    """
    parts: Parts = []
    if plan.enclosure_set is not None:
        drawn = enclosure_set_parts(plan)
    else:
        drawn = parts_of(plan if isinstance(plan, HolderPlan) else with_holders(plan))
    for part in drawn:
        made = undrilled_mesh(part)
        for number, matrix in enumerate(part.placed, start=1):
            name = part.name if len(part.placed) == 1 else f"{part.name} {number}"
            parts.append((name, placed_points(made.vertices_mm, matrix), made.faces))
    return parts


def pack_bodies(
    plan: OutsidePlan, parts: Parts, *, lid_room: bool = False, outlets: bool = True
) -> tuple[dict[str, PackBody], dict[str, PackBody]]:
    """The pack's body for each way that its wires may turn; and bodies of service clearance.

    ``lid_room``: that clearance belongs to the pack's body. ``outlets``: so do glands and wires.
    """
    always = [
        clearance
        for clearance in pack_clearances(plan)
        if clearance.kind is not ClearanceKind.OUTLET and (lid_room or not clearance.servicing)
    ]
    base = make_body(parts, always)
    bodies = {"+z": base}
    if outlets and plan.enclosure_set is not None:
        bodies = {
            bend: make_body(
                [],
                [n for n in pack_clearances(plan, bend_to=bend) if n.kind is ClearanceKind.OUTLET],
                base=base,
            )
            for bend in bends_across(plan.enclosure.outlets)
        }
    servicing = {
        clearance.name: make_body([], [clearance])
        for clearance in pack_clearances(plan)
        if clearance.servicing
    }
    return bodies, {} if lid_room else servicing


def fit_plan(
    plan: OutsidePlan, space: Space, *, measure_miss: bool = False
) -> tuple[BoxFit, tuple[Check, ...]]:
    """How a planned pack stands in a space that is no plain box, for a whole run.

    Parts and screw heads, as for a box. In the pose that it was planned for, else upright with the
    leads towards the required side where that fits, else any way round at right angles and about
    one axis. ``measure_miss``: where it fits in none, by how much less along each of its axes it
    would. The checks are proven on solids."""
    side = plan.pack.leads.side
    bodies, _ = pack_bodies(plan, pack_parts(plan), outlets=False)
    obstacles, pose = obstacles_of(space), given_pose(plan, space)
    if pose is not None:
        body = bodies["+z"]
        return _box_fit(body, space, posed(body, obstacles, pose), [])
    fit = fit_in_space(bodies, space, side=side, upright=True, obstacles=obstacles)
    other = None
    if not fit.best.fits:
        other = fit_in_space(bodies, space, side=side, tilted=False, obstacles=obstacles)
    remedies: list[str] = []
    if other is not None and other.best.fits:
        remedies = [f"it would fit {other.best.words}"]
    elif other is not None and measure_miss:
        remedies = shrink_words(shrinks(bodies[fit.best.bend_to], obstacles, fit.pose))
    return _box_fit(bodies[fit.best.bend_to], space, fit.best, remedies)


def given_pose(plan: OutsidePlan, space: Space | None = None) -> NDArray[np.float64] | None:
    """The pose that a pack's enclosure was planned for, or that its space, or another, asks for;
    None where one is looked for."""
    own = None if plan.enclosure_set is None else plan.enclosure.pose
    return asked_pose(plan, space or plan.pack.space) if own is None else own


def fit_placed(
    plan: PackPlan, space: Space, pose: NDArray[np.float64]
) -> tuple[BoxFit, tuple[Check, ...]]:
    """The same for cells that were placed in the space: their pose is given, none is looked for.

    The body is the outline of the held cells with their strips, as high as the vent space reaches:
    all parts lie in it. Its chords are drawn ``RIM_MM`` outside: gaps are told too small."""
    pack = plan.pack
    room = pack.holder.lip_mm + pack.enclosure.gas_gap_mm
    rim = shapely.Polygon(outline_points_mm(plan.cell_block.outline, RIM_MM))
    rim = rim.buffer(RIM_MM, join_style="mitre")
    strips = [one.shape for face in Face for one in plan.interconnect.laid(face)]
    shape = shapely.orient_polygons(shapely.union_all([rim, *strips]))
    solid = prism_solid(
        Prism(
            outline_mm=tuple(map(tuple, shapely.get_coordinates(shape.exterior)[:-1].tolist())),
            holes_mm=tuple(
                tuple(map(tuple, shapely.get_coordinates(ring)[:-1].tolist()))
                for ring in shape.interiors
            ),
            height_mm=pack.lip_to_lip_mm + 2 * room,
        ),
        name="held cells with vent space",
    )
    lifted = solid.vertices_mm - np.array([0.0, 0.0, room])
    body = make_body([(solid.name, lifted, solid.faces)], [])
    return _box_fit(body, space, posed(body, obstacles_of(space), pose), ["a larger side_gap_mm"])


def _box_fit(
    body: PackBody, space: Space, found: Posed, remedies: Sequence[str]
) -> tuple[BoxFit, tuple[Check, ...]]:
    """A posed body as a run reports it, proven on solids."""
    tightest = found.tightest
    checks = in_space_checks(
        body,
        space,
        found.pose,
        found.smallest_gap_mm,
        where=f"{tightest.ours} against {tightest.theirs} at {point_words(tightest.at_mm)}",
        remedies=remedies,
    )
    points = moved(np.vstack([solid.vertices_mm for solid in body.solids]), found.pose)
    a, b, c = (points.max(axis=0) - points.min(axis=0)).tolist()
    box_fit = BoxFit(
        pose=found.pose,
        smallest_gap_mm=found.smallest_gap_mm,
        tightest_at_mm=tightest.at_mm,
        tightest_direction=tightest.theirs,
        size_mm=(a, b, c),
        other_side=None,
    )
    return box_fit, checks


def fit_pack(
    pack: Pack,
    space: Space | None,
    *,
    lid_room: bool,
    out_dir: Path,
    report_progress: Progress,
    planned: Callable[[Pack, Space], OutsidePlan] | None = None,
) -> FitOutcome:
    """Search, prove and write ``out_dir/<name>-fit``; ``space``: None takes the pack's own.

    ``out_dir`` exists. ``planned``: a pack in a space; None: as its file says. Raises PlanError
    where there is no space at all, or no plan.
    """
    if space is None and is_placed(pack):
        raise PlanError(
            field="enclosure.style",
            why="none places the cells in this space itself, and make checks them there",
            remedy="run cellstead make, or give another space to try the held cells in",
        )
    space = pack.space if space is None else space
    if space is None:
        raise PlanError(
            field="space",
            why="is not given, so there is nothing to fit into",
            remedy="give the space's file after the pack's, or a space in the pack file",
        )
    report_progress("planning the pack", 0.0)
    plan = (planned or outside_there)(pack, space)
    pack = plan.pack
    report_progress("building its outside", 0.1)
    parts = pack_parts(plan)
    bodies, servicing = pack_bodies(plan, parts, lid_room=lid_room)
    report_progress("searching poses", 0.3)
    found = verdict(bodies, servicing, space, side=pack.leads.side, given=given_pose(plan, space))
    report_progress("proving", 0.8)
    body = bodies[found.fit.best.bend_to]
    remedies = [one.words for one in found.shrinks if one.less_mm is not None]
    checks = in_space_checks(
        body, space, found.fit.pose, found.fit.smallest_gap_mm, where=found.words, remedies=remedies
    )
    report_progress("drawing", 0.9)
    told = _told(found, plan)
    name = f"{pack.name}-fit"
    notes: list[str] = []
    with written_beside(out_dir, name, holds=MARK, notes=notes) as beside:
        picture = _picture(found, parts, plan, space, told, pack.name)
        (beside / "fit.svg").write_text(picture, encoding="utf-8")
        row = _row(found, pack, space, checks, lid_room)
        row["files"] = file_rows(beside, but=MARK)
        text = json.dumps(row, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
        (beside / MARK).write_text(text, encoding="utf-8")
    report_progress("done", 1.0)
    failed = tuple(check for check in checks if not check.holds)
    if found.fit.smallest_gap_mm < ENOUGH_MM:
        told = (*told, found.fit.searched.words)
    return FitOutcome(folder=out_dir / name, failed=failed, told=(*told, *notes))


def _told(found: FitResult, plan: OutsidePlan) -> tuple[str, ...]:
    """The verdict in lines: first whether it fits and where it is tightest."""
    best = found.fit.best
    stands = f"pose: {best.words}"
    if plan.enclosure_set is not None and plan.enclosure.outlets:
        stands += f"; its leads bend towards the pack's {best.bend_to} behind the glands"
    lines = [found.words, stands]
    if found.shrinks:
        helps = [one.words for one in found.shrinks if one.less_mm is not None]
        lines.append(
            "would fit with " + ", or ".join(helps)
            if helps
            else "it would not fit even with any one of its sides halved"
        )
    for name, one in found.servicing:
        gap = one.smallest_gap_mm
        if gap < 0.0:
            lines.append(
                f"{name}: interferes by {-gap:.1f} mm with {one.tightest.theirs}, at "
                f"{point_words(one.tightest.at_mm)}: do this before the pack is installed"
            )
        else:
            lines.append(f"{name}: available, {gap:.1f} mm to spare")
    if found.travels:
        lines.append(way_words(found))
    return tuple(lines)


def _row(
    found: FitResult, pack: Pack, space: Space, checks: Iterable[Check], lid_room: bool
) -> dict[str, Any]:
    """All of it as JSON's own kinds."""
    fit = found.fit
    way = found.way_in
    return {
        "tool": f"cellstead {VERSION}",
        "pack": pack.name,
        "space": space_row(space),
        "fits": fit.best.fits,
        "pose": plain(fit.pose),
        "stands": fit.best.words,
        "bend_to": fit.best.bend_to,
        "smallest_gap_mm": plain(fit.smallest_gap_mm),
        "tolerance_mm": TOLERANCE_MM,
        "tightest": plain(fit.best.tightest),
        "size_mm": plain(fit.size_mm),
        "turns_searched": _searched_row(fit.searched),
        "lid_room_included": lid_room,
        "servicing": [
            {
                "name": name,
                "smallest_gap_mm": plain(one.smallest_gap_mm),
                "tightest": plain(one.tightest),
            }
            for name, one in found.servicing
        ],
        "way_in": None if way is None else plain(way),
        "ways_out": [plain(one) for one in found.travels],
        "shrink": [
            {"axis": "xyz"[one.axis], "less_mm": plain(one.less_mm)} for one in found.shrinks
        ],
        "checks": [check_row(check) for check in checks],
        "notes": list(space.notes),
    }


def _searched_row(searched: Searched) -> dict[str, Any]:
    """How many turns were searched, by kind; ``about_any_axis``: None where none were."""
    more = searched.tilted
    return {
        "right_angled": searched.right_angled,
        "about_one_axis": searched.about_one_axis,
        "about_any_axis": None
        if more is None
        else {
            "by_width": more.by_width,
            "at_every_place": more.in_voxels,
            "refined": more.refined,
        },
    }


def _picture(
    found: FitResult,
    parts: Parts,
    plan: OutsidePlan,
    space: Space,
    told: tuple[str, ...],
    name: str,
) -> str:
    """The drawing of the pack in its space."""
    best = found.fit.best
    clearances = [n for n in pack_clearances(plan, bend_to=best.bend_to) if not n.servicing]
    inside = [clearance for clearance in clearances if clearance.kind is ClearanceKind.INSIDE]
    outside = [clearance for clearance in clearances if clearance.kind is not ClearanceKind.INSIDE]
    printed = [mesh_solid(moved(v, best.pose), f) for _, v, f in parts]
    room = None
    if space.room is not None:
        solid = space_mesh(space)[0]
        room = mesh_solid(solid.vertices_mm, solid.faces)
    return fit_picture(
        FitPicture(
            pack=_united([*printed, *_solids(inside, best.pose)]),
            clearances=_united(_solids(outside, best.pose)),
            room=room,
            keep_out=tuple(mesh_solid(one.vertices_mm, one.faces) for one in space.keep_out),
            tightest_mm=best.tightest.at_mm,
            other_mm=best.tightest.other_mm,
            label=f"{best.smallest_gap_mm:.2f} mm: {best.tightest.ours} / {best.tightest.theirs}",
            lines=(f"{name} {told[0]}", *told[1:]),
            title=f"{name} in its space: {told[0]}",
        )
    )


def _solids(
    clearances: Iterable[Clearance], pose: NDArray[np.float64]
) -> list[manifold3d.Manifold]:
    return [
        mesh_solid(moved(piece.vertices_mm, pose), piece.faces)
        for clearance in clearances
        for piece in clearance.pieces
    ]


def _united(solids: list[manifold3d.Manifold]) -> manifold3d.Manifold:
    return manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add)
