"""Parts drawn for a printer: sizes by hand; prints simulated by a function of the test's own."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import pi, sqrt
from pathlib import Path

import manifold3d
import numpy as np
import pytest
import shapely
from shapely import affinity

from generators.exports import plates
from generators.exports.plates import PlateObject, write_plates
from generators.made_part import MeshedPart, meshed_part
from generators.meshes import for_printer
from generators.meshes.mesh import Mesh
from generators.meshes.sections import Stretch, sections_of
from generators.packfile.resolve import parse_pack
from generators.proofs.print_size import print_size_proofs
from layouts import defaults
from layouts.parts.bed import usable_bed_mm
from layouts.parts.feature import Feature
from layouts.parts.given import GivenShape
from layouts.parts.part import Part
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.planning.parts_list import parts_of
from layouts.printer_spec import Printer
from layouts.printing.beds import OnBed
from layouts.slabs.body import Body
from layouts.slabs.bore import through
from tests.layouts.printing.shapes import block, part_of, rectangle

# invented printers
OFF = replace(
    defaults.printer(), hole_mm=0.15, outside_mm=0.08, shrink_percent=(0.4, 0.3, 0.0),
    foot_mm=0.2, measured="2026-03-31",
)  # fmt: skip
TEXT = """\
name: pond-lamp
cell: {format: "18650"}
series: 3
parallel: 1
printer: {hole_mm: 0.15, outside_mm: 0.08, shrink_percent: [0.4, 0.3, 0.1], foot_mm: 0.2}
"""


def section(mesh: Mesh, z_mm: float) -> shapely.Geometry:
    """A level section, holes in it, by another library than the one that drew it."""
    solid = manifold3d.Manifold(manifold3d.Mesh64(mesh.vertices_mm, mesh.faces.astype(np.uint64)))
    rings = [shapely.LinearRing(ring) for ring in solid.slice(z_mm).to_polygons()]
    return shapely.build_area(shapely.MultiLineString(rings))


def printed(drawn: shapely.Geometry, printer: Printer, foot_mm: float = 0.0) -> shapely.Geometry:
    """What comes off the printer, by plain rules: shrink; then air in holes less, outsides more."""
    x, y, _ = printer.shrink_percent
    small = affinity.scale(drawn, 1 - x / 100, 1 - y / 100, origin=(0, 0))
    filled = shapely.union_all([shapely.Polygon(p.exterior) for p in shapely.get_parts(small)])
    air = filled.difference(small)
    return filled.buffer(printer.outside_mm + foot_mm, join_style="mitre").difference(
        air.buffer(-printer.hole_mm / 2 - foot_mm, join_style="mitre")
    )


def holes_mm(shape: shapely.Geometry) -> list[float]:
    """Diameters of circles as large as the holes, rising."""
    rings = [ring for one in shapely.get_parts(shape) for ring in one.interiors]
    return sorted(sqrt(4 / pi * shapely.Polygon(ring).area) for ring in rings)


def checks(printer: Printer, *made: MeshedPart) -> dict[str, bool]:
    """Whether each proof of the prints holds."""
    return {one.id: one.holds for one in print_size_proofs(printer, made)}


@cache
def planned() -> PackPlan:
    """A pack from its file."""
    return plan_pack(parse_pack(TEXT.encode(), "p.yaml").pack)


@cache
def made(role: str) -> MeshedPart:
    """The first part of a role, drawn for the pack's printer."""
    part = next(one for one in parts_of(planned()) if one.role == role)
    return meshed_part(part, planned().pack.printer)


def test_a_plate_is_drawn_as_by_hand() -> None:
    """Hole of 10, outside of 40, 6 high: (10 + 0.15) / scale, (40 - 2 x 0.08) / scale; the first
    layer is drawn in by 0.2 all round."""
    one = meshed_part(block(40.0, 40.0, 6.0, hole_mm=10.0), OFF)
    assert one.for_printer is not None
    (drawn,) = one.for_printer.scaled()
    upper, lower = section(drawn, 3.0), section(drawn, 0.1)
    size = np.ptp(np.array(upper.bounds).reshape(2, 2), axis=0)
    assert size == pytest.approx((40.0, 39.9599), abs=1e-4)  # 39.84 / 0.996, 39.84 / 0.997
    (hole,) = holes_mm(upper)
    assert hole == pytest.approx(sqrt(10.1908 * 10.1805), abs=1e-3)  # 10.15 / 0.996, / 0.997
    size = np.ptp(np.array(lower.bounds).reshape(2, 2), axis=0)
    assert size == pytest.approx((39.5984, 39.5587), abs=1e-4)  # 39.44 over the same
    assert holes_mm(lower)[0] == pytest.approx(sqrt(10.5924 * 10.5817), abs=1e-3)  # 10.55
    heights = set(np.round(drawn.vertices_mm[:, 2], 6).tolist())
    assert heights == {0.0, 0.2, 6.0}
    (turned,) = one.for_printer.scaled(quarter_turned=True)
    size = np.ptp(np.array(section(turned, 3.0).bounds).reshape(2, 2), axis=0)
    assert size == pytest.approx((39.9599, 40.0), abs=1e-4)
    assert checks(OFF, one) == {"print_sound": True, "print_size": True}
    assert one.written is not one.printed


def test_nothing_is_drawn_otherwise_for_a_printer_that_prints_true() -> None:
    """Not even through the same steps: what is written is the very mesh."""
    zeros = replace(OFF, hole_mm=0.0, outside_mm=0.0, shrink_percent=(0.0,) * 3, foot_mm=0.0)
    one = meshed_part(block(40.0, 30.0, 6.0, hole_mm=8.0), zeros)
    assert (
        one.for_printer is None and one.written is one.mesh and one.written_bodies() == (one.mesh,)
    )
    assert print_size_proofs(zeros, [one]) == ()
    assert zeros.bed_for_parts_mm == zeros.bed_mm
    assert usable_bed_mm(zeros) == (218.0, 218.0)
    # a part of 217 x 217 becomes 218.75 wide on a bed of 220 less twice 1 at 0.8 %: too much
    assert usable_bed_mm(replace(zeros, shrink_percent=(0.8, 0.0, 0.0)))[0] < 217.0


def test_the_left_out_compensation_is_found() -> None:
    """Each of the printer's own sizes alone, left out where the part is drawn; bores too."""
    bores = (through((20.0, 0.0, 10.0), (0.0, 1.0, 0.0), 2.0, 30.0),)
    walls = Feature(name="block", loops=(rectangle(0, 0, 40, 30),), z0_mm=0.0, z1_mm=20.0)
    part = part_of([walls], bores=bores)
    true = replace(OFF, hole_mm=0.0, outside_mm=0.0, shrink_percent=(0.0,) * 3, foot_mm=0.0)
    for own in (
        {"hole_mm": 0.3}, {"outside_mm": -0.1}, {"foot_mm": 0.15},
        {"shrink_percent": (0.5, 0.0, 0.0)}, {"shrink_percent": (0.0, 0.5, 0.0)},
        {"shrink_percent": (0.0, 0.0, 0.5)},
    ):  # fmt: skip
        printer = replace(true, **own)  # type: ignore[arg-type]
        one = meshed_part(part, printer)
        assert checks(printer, one) == {"print_sound": True, "print_size": True}, own
        left_out = replace(one, for_printer=for_printer.drawn_for_printer(part, true))
        assert checks(printer, left_out) == {"print_sound": True, "print_size": False}, own


def test_holder_tub_and_bracket_come_off_the_printer_as_meant() -> None:
    """Pockets, insides and outsides of a pack's parts, within 0.01 mm."""
    pack, printer = planned().pack, planned().pack.printer
    z_mm = pack.holder.lip_mm + 0.7 * pack.holder.depth_mm
    for role, z in (("holder_lower", z_mm), ("tub", 20.0), ("bracket", 2.0)):
        one = made(role)
        assert one.for_printer is not None
        drawn = section(one.for_printer.scaled()[0], z / (1 - 0.001))
        there, meant = printed(drawn, printer), section(one.mesh, z)
        assert there.bounds == pytest.approx(meant.bounds, abs=0.01)
        assert holes_mm(there) == pytest.approx(holes_mm(meant), abs=0.01)
        assert shapely.hausdorff_distance(drawn, meant) > 0.05
        first = section(one.for_printer.scaled()[0], 0.1)
        meant = section(one.mesh, 0.1)
        assert printed(first, printer, 0.2).bounds == pytest.approx(meant.bounds, abs=0.01)
    # the pockets that cans go into, by the pack file's own size
    drawn = section(made("holder_lower").for_printer.scaled()[0], z_mm / 0.999)  # type: ignore[union-attr]
    pockets = [one for one in holes_mm(printed(drawn, printer)) if one > 15.0]
    assert pockets == pytest.approx([pack.pocket_mm] * 3, abs=0.01)
    every = [made(role) for role in ("holder_lower", "holder_upper", "tub", "lid", "bracket")]
    assert checks(printer, *every) == {"print_sound": True, "print_size": True}


def test_a_part_that_falls_apart_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """With no material drawn in the neck between two plates there are two pieces."""
    two = part_of(
        [
            Feature(name="foot", loops=(rectangle(0, 0, 40, 30),), z0_mm=0.0, z1_mm=5.0),
            Feature(name="neck", loops=(rectangle(10, 10, 20, 20),), z0_mm=5.0, z1_mm=9.0),
            Feature(name="head", loops=(rectangle(0, 0, 30, 30),), z0_mm=9.0, z1_mm=15.0),
        ]
    )
    assert checks(OFF, meshed_part(two, OFF)) == {"print_sound": True, "print_size": True}
    monkeypatch.setattr(for_printer, "sections_of", with_a_gap)
    assert not checks(OFF, meshed_part(two, OFF))["print_sound"]


def with_a_gap(body: Body, chord_mm: float) -> tuple[Stretch, ...]:
    """A fault: the second of three or more sections is left out."""
    found = sections_of(body, chord_mm)
    return found if len(found) < 3 else (found[0], *found[2:])


def test_walls_too_thin_to_be_drawn_narrower_stay_and_are_told() -> None:
    """A rib of 0.6 keeps its thickness on a printer that adds 0.25 on each side; the proof says
    by how much it comes out thicker."""
    thick = replace(OFF, hole_mm=0.0, outside_mm=0.25, shrink_percent=(0.0,) * 3, foot_mm=0.0)
    ribbed = part_of(
        [
            Feature(name="plate", loops=(rectangle(0, 0, 40, 30),), z0_mm=0.0, z1_mm=4.0),
            Feature(name="rib", loops=(rectangle(20, 2, 20.6, 28),), z0_mm=4.0, z1_mm=12.0),
        ]
    )
    one = meshed_part(ribbed, thick)
    assert one.for_printer is not None
    rib = section(one.for_printer.scaled()[0], 8.0)
    assert rib.bounds[2] - rib.bounds[0] == pytest.approx(0.6, abs=1e-6)
    size = next(c for c in print_size_proofs(thick, [one]) if c.id == "print_size")
    assert not size.holds and size.value == pytest.approx(0.25 * sqrt(2.0))  # its corners
    assert "thicker walls" in size.remedy


def test_a_given_shape_is_scaled_alone() -> None:
    """Its walls stay as the script draws them; along z too."""
    box = meshed_part(block(20.0, 10.0, 5.0)).mesh
    shape = GivenShape(
        vertices_mm=box.vertices_mm, faces=box.faces, solid=b"", solid_mm3=1000.0, curved_mm2=0.0,
        pieces=(),
    )  # fmt: skip
    part: Part = replace(block(20.0, 10.0, 5.0), drawing=shape)
    printer = replace(OFF, shrink_percent=(1.0, 2.0, 3.0))
    one = meshed_part(part, printer)
    assert one.for_printer is not None
    (drawn,) = one.for_printer.scaled()
    assert np.ptp(drawn.vertices_mm, axis=0) == pytest.approx((20 / 0.99, 10 / 0.98, 5 / 0.97))
    assert checks(printer, one) == {"print_sound": True, "print_size": True}
    assert not checks(OFF, one)["print_size"]


def test_copies_a_quarter_turn_round_are_drawn_for_their_way_round(tmp_path: Path) -> None:
    """Along the bed's x the bed's x counts, whichever side of the part lies there."""
    one = meshed_part(block(40.0, 40.0, 6.0), OFF)
    (straight,) = one.written_bodies()
    (turned,) = one.written_bodies(quarter_turned=True)
    kind = PlateObject(
        name="piece", mesh=straight, bodies=(straight,), colour=(0.5, 0.5, 0.5), count=2,
        turned_mesh=turned,
    )  # fmt: skip
    laid = [
        OnBed(name="piece", bed=0, turn_deg=0, shift_mm=(10.0, 10.0)),
        OnBed(name="piece", bed=0, turn_deg=90, shift_mm=(120.0, 10.0)),
    ]
    written: list[tuple[str, np.ndarray]] = []  # type: ignore[type-arg]

    def kept(path: Path, objects: list[object], title: str) -> None:
        for each in objects:
            for place in each.places:  # type: ignore[attr-defined]
                points = each.mesh.vertices_mm @ place[:3, :3].T  # type: ignore[attr-defined]
                written.append((each.name, np.ptp(points, axis=0)))  # type: ignore[attr-defined]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plates, "write_3mf", kept)
        write_plates(tmp_path, "pack", [kind], laid)
    assert [name for name, _ in written] == ["piece", "piece a quarter turn round"]
    for _, size in written:
        assert size == pytest.approx((40.0, 39.9599, 6.0), abs=1e-4)
