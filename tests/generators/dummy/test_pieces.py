"""Pieces of a small pack's dummy: sound, on the bed, few filament, and the pack's own outside."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from generators.dummy.compare import share_check, surface_check
from generators.dummy.making import piece_checks
from generators.dummy.outside import bare_outside, head_solid, moved, screw_matrix
from generators.dummy.pieces import PrintedPiece, bend_fin, lines_of, outlet_cup
from generators.packfile.examples import example_names, example_text
from generators.proofs.mesh_facts import mesh_facts
from tests.generators.dummy.small import SMALL, dummied, measured
from tests.sampled import sampled

BED = (220.0, 220.0, 250.0)


def facts(piece: PrintedPiece):  # type: ignore[no-untyped-def]
    """Mesh facts of a piece."""
    return mesh_facts(piece.name, piece.mesh.vertices_mm, piece.mesh.faces)


def test_every_piece_is_sound_and_stands_on_the_bed() -> None:
    """Closed, facing outwards, lowest point at zero, within the printer."""
    pieces = dummied().pieces
    assert {p.name.split("-")[0] for p in pieces} == {
        "base", "cap", "bracket", "button", "outlet", "bend",
    }  # fmt: skip
    for piece in pieces:
        checks = piece_checks(facts(piece), bed_mm=BED)
        assert all(check.holds for check in checks), piece.name
        assert piece.mesh.vertices_mm[:, 2].min() == pytest.approx(0.0, abs=1e-9)
        assert piece.mesh.volume_mm3() == pytest.approx(piece.volume_mm3, rel=1e-6)


def test_a_holed_mesh_and_a_small_bed_are_noticed() -> None:
    """Without one triangle the mesh is open; a bed of 50 mm is too small."""
    base = dummied().pieces[0]
    open_mesh = dataclasses.replace(base.mesh, faces=base.mesh.faces[1:])
    torn = mesh_facts("torn", open_mesh.vertices_mm, open_mesh.faces)
    failed = [c.id for c in piece_checks(torn, bed_mm=(50.0, 220.0, 250.0)) if not c.holds]
    assert failed == ["dummy_watertight", "dummy_fits_bed"]


@pytest.mark.slow
def test_outside_and_filament_of_a_small_pack() -> None:
    """Within 0.2 mm of the assembly, with at most 15 % of its filament."""
    it = dummied()
    assert share_check(it.volume_mm3, it.whole_mm3).holds
    apart = measured(it.pieces)
    assert surface_check(apart).holds
    assert apart.closed_share < 0.01  # the measure leaves hardly anything out


@pytest.mark.parametrize("name", sampled(["cap", "outlet-m16-1"], lambda name: name != "cap"))
def test_a_piece_out_of_place_is_noticed(name: str) -> None:
    """Any piece half a millimetre off its place fails the measure."""
    off = np.eye(4)
    off[2, 3] = 0.5
    pieces = [
        dataclasses.replace(p, placed=tuple(m @ off for m in p.placed)) if p.name == name else p
        for p in dummied().pieces
    ]
    assert not surface_check(measured(pieces)).holds


@pytest.mark.parametrize(
    "name", sampled(["bracket", "button-m4-2"], lambda name: name == "bracket")
)
def test_a_missing_piece_is_noticed(name: str) -> None:
    """Whatever is left out fails the measure."""
    pieces = [p for p in dummied().pieces if p.name != name]
    assert not surface_check(measured(pieces)).holds


def test_the_dummy_is_no_hull() -> None:
    """The assembly's hull is far larger than its outside, and than what the pieces enclose."""
    it = dummied()
    assembly = bare_outside(it.plan, it.made)
    assert assembly.hull().volume() > 1.2 * assembly.volume()


@pytest.mark.slow
def test_pieces_are_cut_to_a_small_bed_and_stay_the_same_outside() -> None:
    """On a bed of 105 mm base and cap come in pieces that fit and close up again."""
    text = SMALL + "printer: {bed_mm: [105, 105, 200]}\n"
    it = dummied(text)
    assert sum(p.name.startswith("base") for p in it.pieces) >= 2
    for piece in it.pieces:
        assert all(c.holds for c in piece_checks(facts(piece), bed_mm=(105.0, 105.0, 200.0)))
    assert surface_check(measured(it.pieces, text)).holds


def test_buttons_go_through_their_holes_and_cover_them() -> None:
    """A placed plug overlaps neither bracket nor cap, and its head is the screw's."""
    it = dummied()
    pieces = {p.name: p for p in it.pieces}
    for button, host in (("button-m3-1", "cap"), ("button-m4-2", "bracket")):
        heads, around = pieces[button], pieces[host]
        unpressed = [dataclasses.replace(p, press=(0.0, 0.0, 0.0)) for p in (heads, around)]
        for one in unpressed[0].pressed_on():
            shared = sum((one ^ other).volume() for other in unpressed[1].pressed_on())
            assert shared < 1e-3
    for head in it.outside.heads:
        whole = moved(head_solid(head), screw_matrix(head))
        same = [h for p in it.pieces if p.name.startswith("button") for h in p.pressed_on()]
        assert max((whole ^ one).volume() for one in same) > 0.6 * whole.volume()


def test_a_bends_gauge_stands_in_its_outlet() -> None:
    """The gauge goes into the slit with play and does not touch the cup."""
    for outlet in dummied().outside.outlets:
        cup = outlet_cup(outlet, lines_of(dummied().plan.pack.printer))
        fin = bend_fin(outlet)
        assert (cup ^ fin).volume() < 1e-6
        low, high = np.array(fin.bounding_box()).reshape(2, 3)[:, 2]
        assert low < outlet.gland.long_mm - 5.0
        reach = outlet.gland.long_mm + outlet.bend_middle_radius_mm
        assert high == pytest.approx(reach, abs=outlet.wire_mm / 2 + 0.1)


@pytest.mark.slow
@pytest.mark.parametrize("name", example_names())
def test_outside_and_filament_of_the_examples(name: str) -> None:
    """Every example's dummy holds both limits."""
    it = dummied(example_text(name))
    assert share_check(it.volume_mm3, it.whole_mm3).holds
    assert surface_check(measured(it.pieces, example_text(name), samples=6000)).holds
