"""The tub as a solid."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layouts.enclosures.box.tub import tub_bores, tub_drawing, tub_features, tub_parts
from tests.layouts.enclosed import PACKS, enclosed
from tests.layouts.enclosures.box.test_seams import BEDS, cut_pack
from tests.layouts.parts.sound_parts import (
    assert_every_feature_counts,
    assert_sound,
    manifold,
    placed,
)
from tests.oracles.tub_formula import tub_formula_mm3


@pytest.mark.one_in(2)
@pytest.mark.parametrize("name", PACKS)
def test_tub_is_one_sound_solid(name: str) -> None:
    """Valid, one body, formula's volume, and placed with its floor under the stack."""
    design = enclosed(name).design
    parts = tub_parts(design)
    for k, part in enumerate(parts):
        formula_mm3 = tub_formula_mm3(design, None if len(parts) == 1 else k)
        body = placed(part, assert_sound(part, formula_mm3))
        assert body.bounds[0][2] == pytest.approx(design.z_under_mm)
        assert body.bounds[1][2] == pytest.approx(design.z_rim_mm)


def test_formula_notices_a_changed_part() -> None:
    """A thicker floor, one pad fewer or a wider slot in the body alone breaks the agreement."""
    design = enclosed("5S1P").design
    true = tub_drawing(design).body.volume_mm3()
    for other in (
        replace(design, floor_mm=design.floor_mm + 0.01, z_under_mm=design.z_under_mm - 0.01),
        replace(design, support_pads_floor=design.support_pads_floor[1:]),
        replace(design, slots=design.slots[1:]),
        replace(design, bosses=design.bosses[:-1]),
    ):
        assert abs(tub_drawing(other).body.volume_mm3() - true) > 1e-6 * true
    unbored = replace(design, pads=design.pads, glands=())
    assert tub_formula_mm3(unbored) > tub_formula_mm3(design)


@pytest.mark.parametrize("name", ["10S4P", "1S1P"])
def test_every_feature_changes_the_volume(name: str) -> None:
    """A feature left out of the tub's list shows in its volume."""
    assert_every_feature_counts(tub_features(enclosed(name).design))


def test_bores_start_on_flat_outer_faces() -> None:
    """Mounting pads' holes start on the mounting pads' faces and leave the wall's inside whole."""
    design = enclosed("10S4P").design
    bores = tub_bores(design)
    pads = bores[: 2 * len(design.pads)]
    for bore in pads:
        end = bore.start[0] + bore.direction[0] * bore.depth_mm
        inside = design.cavity.x1 if bore.start[0] > 0 else design.cavity.x0
        assert abs(end) - abs(inside) > 2.0
    assert len(bores) == 2 * len(design.pads) + len(design.glands)


@pytest.mark.parametrize("bed", BEDS)
def test_pieces_are_sound_and_share_no_volume(bed: str) -> None:
    """Every piece valid and by its formula; placed, no two of them share any volume."""
    design = cut_pack(bed).design
    parts = tub_parts(design)
    bodies = [
        placed(part, assert_sound(part, tub_formula_mm3(design, k))) for k, part in enumerate(parts)
    ]
    solids = [manifold(body) for body in bodies]
    for k, one in enumerate(solids):
        for other in solids[:k]:
            assert abs((one ^ other).volume()) < 1e-6
    assert [p.name for p in parts] == [f"tub-{k + 1}" for k in range(len(parts))]


def test_pieces_add_up_to_the_whole_but_for_the_seams() -> None:
    """All pieces together miss only thin seams of the uncut tub."""
    design = cut_pack("both ways").design
    whole = tub_formula_mm3(design)
    pieces = sum(tub_formula_mm3(design, k) for k in range(design.tub_seams.pieces))
    assert 0.985 * whole < pieces < whole
