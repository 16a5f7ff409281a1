"""Each proof against the plan fails on a part with material added or taken where it looks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import manifold3d
import numpy as np
import pytest

from generators.proofs.can_ends import can_end_proofs
from generators.proofs.fittings import board_proofs, gland_proofs
from generators.proofs.laid_strips import strip_proofs
from generators.proofs.screws import screw_proofs
from generators.proofs.tie_screws import tie_screw_proofs
from generators.proofs.together import PlacedMesh
from layouts.holders.shape import cell_block_shape
from layouts.pack import Face
from layouts.parts.screw import PlacedScrew
from layouts.parts.shell import Rect
from layouts.parts.tie_screw import tie_screw
from layouts.strips.lip import positive_end
from tests.generators.proofs.made_pack import altered, failing, planned, sound_parts, tube

Solid = manifold3d.Manifold
UP, DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)
# each: role, material added, material taken, the check that fails
Case = tuple[str, Solid | None, Solid | None, str]


def post(z_mm: float) -> tuple[float, float, float]:
    """A place on the first post's axis."""
    one = planned().cell_block.posts[0]
    return one.x_mm, one.y_mm, z_mm


def ties(parts: tuple[PlacedMesh, ...], *, length_mm: float | None = None) -> set[str]:
    """Checks of the first tie screw that fail."""
    plan = planned()
    found = tie_screw_proofs(
        parts,
        plan.pack,
        plan.cell_block.posts[:1],
        length_mm=length_mm or tie_screw(plan.pack).length_mm,
    )
    return failing({check.id: check for check in found})


def tie_cases() -> list[Case]:
    """Around the first post, from the outer faces inwards."""
    pack = planned().pack
    top, bottom = pack.lip_to_lip_mm + pack.holder.lip_mm, -pack.holder.lip_mm
    middle = pack.lip_to_lip_mm / 2
    return [
        ("holder_upper", tube(post(top - 1), UP, 2.85, 3.5, 1.0), None, "tie_heads_go_in"),
        ("holder_upper", None, tube(post(top - 3.3), UP, 0, 3.3, 4.0), "tie_heads_held"),
        ("holder_upper", tube(post(top - 3.6), UP, 1.7, 3.4, 1.2), None, "tie_heads_sunk"),
        ("holder_upper", None, tube(post(top - 4.6), UP, 0, 2.95, 5.0), "tie_tips_inside"),
        ("holder_lower", tube(post(bottom), UP, 2.76, 3.6, 1.0), None, "tie_nuts_go_in"),
        ("holder_lower", None, tube(post(bottom - 1), UP, 0, 3.4, 4.1), "tie_nuts_held"),
        ("holder_lower", tube(post(bottom + 2), UP, 1.7, 3.6, 1.2), None, "tie_nuts_gripped"),
        ("holder_lower", None, tube(post(middle - 0.1), UP, 0, 5, 1.0), "posts_meet"),
    ]


def first(where: str) -> PlacedScrew:
    """The first screw of a joint."""
    plan = planned()
    screws = (*plan.enclosure.screws, *plan.bracket.screws)
    return next(screw for screw in screws if screw.where == where)


def screw_cases(screw: PlacedScrew, plate: str, insert: str) -> list[Case]:
    """Around one screw into an insert; roles of the plate and of the part behind it."""
    out, into = screw.out, -screw.out
    mouth = screw.through_mm
    size = screw.size
    hole, seat = size.insert_hole_diameter_mm / 2, size.head_diameter_mm / 2
    tip = (screw.length_mm or 0.0) - screw.lift_mm - mouth
    end = mouth + size.insert_deep_mm + 1.0

    def filled(deep_mm: float) -> Solid:
        return tube(screw.point(-mouth - deep_mm), into, 0, hole + 0.2, end - mouth - deep_mm)

    face = screw.point(0.0)
    return [
        (plate, None, tube(face, into, 0, seat + 2, 0.2), "screw_seats"),
        (plate, tube(screw.point(-0.1), out, seat - 0.6, seat, 1.0), None, "screw_heads_free"),
        (plate, None, tube(screw.point(0.2 - mouth), into, 0, hole + 1, 0.4), "screw_grips"),
        (insert, filled(size.insert_deep_mm - 0.2), None, "insert_depths"),
        (insert, None, tube(screw.point(-mouth), into, 0, hole, end - mouth), "insert_depths"),
        (insert, filled(0.8 * float(screw.screw[1:])), None, "screw_engagement"),
        (insert, filled(tip + 0.3), None, "screw_tips_free"),
        (insert, None, tube(screw.point(-mouth), into, 0, hole + 0.15, 4.0), "insert_holes"),
        (insert, tube(screw.point(-mouth), into, hole - 0.15, hole + 1, 4.0), None, "insert_holes"),
        (plate, None, tube(face, into, 0, size.clearance_diameter_mm / 2 + 0.15, mouth),
         "screw_holes"),
    ]  # fmt: skip


def of_screw(screw: PlacedScrew) -> Callable[[tuple[PlacedMesh, ...]], set[str]]:
    """Checks of one screw that fail."""
    return lambda parts: failing({one.id: one for one in screw_proofs(parts, (screw,))})


@pytest.mark.parametrize("number", range(8))
def test_a_fault_at_a_post_fails_its_check(number: int) -> None:
    """Head, nut, hole and both posts of one tie screw."""
    role, more, less, expected = tie_cases()[number]
    assert expected in ties(altered(role, more=more, less=less))


def test_a_screw_of_another_length_fails() -> None:
    """Five millimetres longer it stands out, five shorter it does not reach the nut."""
    length = tie_screw(planned().pack).length_mm
    assert ties(sound_parts()) == set()
    assert ties(sound_parts(), length_mm=length + 5.0) == {"tie_tips_inside"}
    assert ties(sound_parts(), length_mm=length - 5.0) == {"tie_nuts_gripped"}


@pytest.mark.parametrize("number", range(10))
@pytest.mark.parametrize(
    ("where", "plate", "insert"),
    [("lid to tub", "lid", "tub"), ("brackets to mounting pads", "bracket", "tub")],
)
def test_a_fault_at_a_screw_fails_its_check(
    where: str, plate: str, insert: str, number: int
) -> None:
    """Hole, head, insert and reach of one screw from above and of one from the side."""
    screw = first(where)
    role, more, less, expected = screw_cases(screw, plate, insert)[number]
    assert of_screw(screw)(sound_parts()) == set()
    assert expected in of_screw(screw)(altered(role, more=more, less=less))


def test_a_script_may_draw_a_wider_hole_but_no_narrower_one() -> None:
    """Its washer lies on all the same; the screw must go through."""
    screw = first("brackets to mounting pads")
    radius = screw.size.clearance_diameter_mm / 2

    def holds(less: Solid | None, more: Solid | None) -> bool:
        parts = altered("bracket", less=less, more=more)
        found = screw_proofs(parts, (screw,), own_holes={screw.where})
        return {one.id: one.holds for one in found}["screw_holes"]

    into = -screw.out
    assert holds(tube(screw.point(1.0), into, 0, radius + 0.3, 9.0), None)
    assert not holds(None, tube(screw.point(0.0), into, 1.9, radius + 0.5, screw.through_mm))


def test_a_missing_screw_hole_is_told_without_a_figure() -> None:
    """Without the part behind the plate there is no thickness to give, and no hole."""
    screw = first("lid to tub")
    parts = tuple(part for part in sound_parts() if part.role != "tub")
    found = {one.id: one for one in screw_proofs(parts, (screw,))}
    assert not found["screw_grips"].holds and found["screw_grips"].value is None
    assert not found["insert_holes"].holds


def can_ends(parts: tuple[PlacedMesh, ...]) -> set[str]:
    """Checks of can ends and strips that fail."""
    plan = planned()
    return failing(
        {
            one.id: one
            for one in (
                *can_end_proofs(parts, plan.pack, plan.cell_layout),
                *strip_proofs(
                    parts,
                    plan.pack,
                    plan.cell_layout,
                    plan.interconnect,
                    cell_block_shape(plan.cell_block.outline),
                ),
            )
        }
    )


def end_cases() -> list[Case]:
    """At the first cell's lower end, and in the web under the first link of the lower face."""
    plan = planned()
    pack, xy = plan.pack, plan.cell_layout.xy_mm
    x, y = xy[0].tolist()
    radius, window = pack.cell.diameter_mm / 2, pack.holder.window_mm / 2
    link = next(s for s in plan.interconnect.strips if s.face is Face.LOWER and s.links)
    u, v = xy[list(link.links[0])].mean(axis=0).tolist()
    plus = bool(positive_end(plan.cell_layout, Face.LOWER)[0])
    level = -pack.holder.seat_mm if plus else 0.0
    return [
        ("holder_lower", tube((x, y, level - 0.1), UP, window, radius, 0.3), None, "ends_free"),
        ("holder_lower", None, tube((x, y, level - 0.3), UP, 0, radius, 1.0), "ends_borne"),
        ("holder_lower", tube((u, v, 0.1), UP, 0, 1.0, 0.5), None, "strips_on_cans"),
        ("holder_lower", tube((u, v, 0.1), UP, 0, 1.0, 0.5), None, "strips_in_channels"),
        ("holder_lower", None, tube((u, v, 0.2), UP, 0, 1.0, 0.5), "strips_not_hollow"),
    ]


@pytest.mark.parametrize("number", range(5))
def test_a_fault_at_a_can_end_fails_its_check(number: int) -> None:
    """Lip and seat under a can, the web under a strip."""
    role, more, less, expected = end_cases()[number]
    assert expected in can_ends(altered(role, more=more, less=less))


def glands(parts: tuple[PlacedMesh, ...]) -> set[str]:
    """Checks of the glands that fail."""
    plan = planned()
    found = gland_proofs(parts, plan.pack, plan.enclosure.outlets[:1], plan.enclosure.board)
    return failing({one.id: one for one in found})


def gland_cases() -> list[tuple[Solid | None, Solid | None, set[str]]]:
    """At the first gland: its hole wider and narrower, its ring, its cap's and its nut's space."""
    one = planned().enclosure.outlets[0]
    radius, keep, wall = one.gland.hole_radius_mm, one.gland.keep_radius_mm, one.wall_mm
    at, into = one.at_mm, -one.out
    beside = at + (keep - 1.5) * np.array(UP)
    far = at + 5.0 * one.out + (keep - 1.5) * np.array(UP)
    return [
        (None, tube(at, into, 0, radius + 0.2, wall), {"gland_holes", "glands_held"}),
        (tube(at, into, radius - 0.1, radius + 1, wall), None, {"gland_holes", "glands_go_in"}),
        (None, tube(beside, into, 0, 1.0, 0.5), {"gland_seats"}),
        (tube(far, one.out, 0, 1.0, 2.0), None, {"glands_free"}),
        (tube(beside + wall * into, into, 0, 1.0, 3.0), None, {"glands_free"}),
    ]


@pytest.mark.parametrize("number", range(5))
def test_a_fault_at_a_gland_fails_its_checks(number: int) -> None:
    """Its hole, the wall round it, and its room on both sides of the wall."""
    more, less, expected = gland_cases()[number]
    assert glands(sound_parts()) == set()
    assert expected <= glands(altered("tub", more=more, less=less))


def test_a_gland_s_nut_in_the_board_s_place_fails() -> None:
    """The board where the first gland's nut is."""
    plan = planned()
    outlet, board = plan.enclosure.outlets[0], plan.enclosure.board
    y, z = outlet.at_mm[1:].tolist()
    x0, x1 = board.plan.x0, board.plan.x1
    there = replace(
        board, plan=Rect(x0=x0, x1=x1, y0=y - 5, y1=y + 5), z0_mm=z - 5.0, z1_mm=z + 5.0
    )
    found = gland_proofs(sound_parts(), plan.pack, plan.enclosure.outlets[:1], there)
    assert failing({one.id: one for one in found}) == {"gland_nuts_clear"}


@pytest.mark.parametrize(
    ("step", "expected"),
    [((0.0, 0.0), set()), ((0.0, 1.0), {"board_fits"}), ((-30.0, 0.0), {"board_fits"})],
)
def test_a_board_aside_meets_its_guides_or_the_cells(
    step: tuple[float, float], expected: set[str]
) -> None:
    """Moved along the wall by more than its play; moved into the cells."""
    plan = planned()
    board = plan.enclosure.board
    p, (dx, dy) = board.plan, step
    there = replace(board, plan=Rect(x0=p.x0 + dx, x1=p.x1 + dx, y0=p.y0 + dy, y1=p.y1 + dy))
    found = board_proofs(sound_parts(), plan.pack, plan.cell_layout, plan.interconnect, there)
    assert expected <= failing({one.id: one for one in found})
    assert expected or all(one.holds for one in found)


def test_a_board_without_rests_falls() -> None:
    """What it stands on taken away, it is free downwards."""
    plan = planned()
    board = plan.enclosure.board
    x, y, _ = board.centre_mm
    gap = manifold3d.Manifold.cube([60.0, 300.0, 6.0], True).translate([x, y, board.z0_mm - 2.9])
    found = board_proofs(
        altered("tub", less=gap), plan.pack, plan.cell_layout, plan.interconnect, board
    )
    held = next(one for one in found if one.id == "board_held")
    assert not held.holds and held.where == "free towards down"
