"""The measure of the mock-up against the pack, each case in which it must fail included."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest

from generators.dummy.compare import (
    OutsideMesh,
    _Near,
    compare,
    outer_surface,
    share_check,
    surface_check,
)

SAMPLES = 1500


def box(x: float, y: float, z: float, at: tuple[float, float, float] = (0, 0, 0)):  # type: ignore[no-untyped-def]
    """A box with its least corner at a point."""
    return manifold3d.Manifold.cube([x, y, z]).translate(list(at))


PACK = box(40, 30, 20) + box(20, 30, 10, (40, 0, 0))  # a step: its hull is larger


def check_of(dummy: manifold3d.Manifold, pack: manifold3d.Manifold = PACK):  # type: ignore[no-untyped-def]
    """The check of one body against another."""
    return surface_check(compare(outer_surface(pack), outer_surface(dummy), samples=SAMPLES))


def hollow(solid: manifold3d.Manifold, inside: manifold3d.Manifold) -> manifold3d.Manifold:
    """A solid with an inner void."""
    return solid - inside


def test_a_hollow_copy_is_the_same_from_outside() -> None:
    """An inner void changes nothing of the outside."""
    check = check_of(hollow(PACK, box(30, 20, 15, (5, 5, 2))))
    assert check.holds and check.value == pytest.approx(0.0, abs=1e-3)


def test_a_dummy_that_is_not_closed_fails() -> None:
    """Through a hole of 6 mm the inside of a shell is outside."""
    leaky = hollow(PACK, box(30, 20, 15, (5, 5, 2))) - box(6, 6, 30, (10, 10, 5))
    assert not check_of(leaky).holds


@pytest.mark.parametrize(
    "dummy",
    [
        PACK.hull(),
        PACK + box(5, 5, 0.5, (10, 10, 20)),
        PACK - box(20, 20, 0.5, (10, 5, 19.5)),
        PACK.translate([0.3, 0.0, 0.0]),
        box(40, 30, 20),
    ],
    ids=["hull", "lump", "dent", "shifted", "without the step"],
)
def test_more_or_less_than_the_pack_fails(dummy: manifold3d.Manifold) -> None:
    """The convex hull, a lump, a dent, a shift of 0.3 mm and a missing part are all noticed."""
    check = check_of(dummy)
    assert not check.holds and check.value > 0.2
    assert "x " in check.where and (
        "short of material" in check.where or "excess material" in check.where
    )


@pytest.mark.parametrize(("gap", "holds"), [(0.2, True), (1.0, True), (4.0, False)])
def test_gaps_under_three_millimetres_may_be_closed(gap: float, holds: bool) -> None:
    """A slot may be filled flush where a 3 mm ball hardly dips in; a wide one may not."""
    slotted = PACK - box(gap, 30, 15, (15, 0, 10))
    assert check_of(PACK, slotted).holds is holds
    assert check_of(slotted, slotted).holds
    assert check_of(slotted, PACK).holds is holds


def area_mm2(surface: OutsideMesh) -> float:
    """Of all its triangles."""
    a, b, c = surface.corners_mm.transpose(1, 0, 2)
    return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2)


def test_a_void_within_a_pack_is_no_outside() -> None:
    """Loose bodies inside a void don't count either."""
    pack = hollow(PACK, box(30, 20, 15, (5, 5, 2))) + box(5, 5, 5, (15, 15, 8))
    assert area_mm2(outer_surface(pack)) == pytest.approx(PACK.surface_area())


def test_bodies_side_by_side_are_all_outside() -> None:
    """A part that touches nothing is part of the outside too."""
    two = PACK + box(5, 5, 5, (80, 0, 0))
    assert area_mm2(outer_surface(two)) == pytest.approx(PACK.surface_area() + 150.0)


def test_distances_are_those_of_plain_geometry() -> None:
    """From points around a box: beside a face, an edge and a corner, and within."""
    near = _Near(outer_surface(box(10, 10, 10)))
    points = np.array([[5, 5, 12.5], [13, 5, 14], [12, 12, 11], [5, 5, 9.0], [5, 5, 10]])
    assert near.distances(points) == pytest.approx([2.5, 5.0, 3.0, 1.0, 0.0], abs=1e-12)


def test_samples_lie_on_the_surface_evenly_and_are_the_same_each_time() -> None:
    """Shares of a box's faces go by area; the seed alone decides."""
    surface = outer_surface(box(10, 20, 30))
    points, normals = surface.samples(4000, 7)
    top = (normals[:, 2] > 0.9).mean()
    assert top == pytest.approx(200 / 2200, abs=0.02)
    assert np.abs(np.linalg.norm(normals, axis=1) - 1).max() < 1e-12
    assert np.array_equal(points, surface.samples(4000, 7)[0])


def test_an_empty_body_has_no_outside() -> None:
    """It is refused rather than measured."""
    with pytest.raises(ValueError, match="empty body"):
        outer_surface(manifold3d.Manifold())


def test_a_body_that_no_ball_touches_is_refused() -> None:
    """Nothing measured is no proof: the inside of a narrow crack alone can't be compared."""
    crack = outer_surface(box(10, 10, 10) - box(1, 8, 8, (4.5, 1, 1)))
    inner = OutsideMesh(outer_surface(box(1, 8, 8, (4.5, 1, 1))).corners_mm[:, ::-1])
    with pytest.raises(ValueError, match="nowhere"):
        compare(inner, crack, samples=50)


@pytest.mark.parametrize(("share", "holds"), [(0.149, True), (0.151, False)])
def test_the_share_of_filament_is_limited(share: float, holds: bool) -> None:
    """15 % is the limit."""
    check = share_check(share * 1000.0, 1000.0)
    assert check.holds is holds and check.value == pytest.approx(share)
