"""Plates to cut: openings, areas, what is left between them. All sizes are invented."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import ezdxf
import pytest
import shapely
from ezdxf.path import make_path

from generators.drawings.linework import Words
from generators.drawings.metal_plan import metal_sheet
from generators.exports.metal_dxf import write_metal_dxf
from generators.fixes.fixing import NO_KEY
from generators.packfile.faults import PackFileError
from generators.packfile.resolve import parse_pack
from layouts.checks import Check
from layouts.parts.cut_plates import cut_plate_checks, cut_plate_piece
from layouts.parts.metal_piece import MetalPiece

HEAD = "name: small\ncell: {format: '18650'}\nseries: 3\nparallel: 2\n"
RING = "{at_mm: [60, 55], diameter_mm: 50, holes: 4, screw: M5, pilot_mm: 30, first_deg: 45}"


def plate(openings: str = "", *, more: str = "") -> Any:
    """The plate of a pack file, 6 mm thick."""
    text = (
        f"{HEAD}plates_to_cut:\n  - {{name: motor-plate, metal: aluminium-5083-H111, "
        f"thickness_mm: 6, size_mm: [170, 110], corner_mm: 10, {openings}}}\n{more}"
    )
    return parse_pack(text.encode(), "p.yaml").pack.plates_to_cut


def judged(openings: str) -> dict[str, Check]:
    """What is judged of it."""
    return {one.id: one for one in cut_plate_checks(plate(openings))}


def piece(openings: str) -> MetalPiece:
    """The plate as it is cut."""
    return cut_plate_piece(plate(openings)[0])


def test_area_and_mass_are_those_of_its_openings() -> None:
    """By hand: outline less corners, circle's holes and pilot, a hole, a slot."""
    made = piece(
        f"circles: [{RING}], holes: [{{at_mm: [115, 15], screw: M4}}], "
        "slots: [{at_mm: [140, 55], screw: M6, travel_mm: 20, along_deg: 30}]"
    )
    outline = 170 * 110 - (4 - math.pi) * 10**2
    holes = math.pi / 4 * (4 * 5.5**2 + 30**2 + 4.5**2)
    slot = 20 * 6.6 + math.pi / 4 * 6.6**2
    assert made.area_mm2 == pytest.approx(outline - holes - slot, rel=1e-9)
    assert made.mass_g == pytest.approx(made.area_mm2 * 6 * 2.66e-3)  # 5083, from memory


def test_the_dxf_has_every_opening_where_it_is_asked(tmp_path: Path) -> None:
    """Read back: holes evenly round their middle, true circles; slots closed, turned, at size."""
    made = piece(
        f"circles: [{RING}], slots: [{{at_mm: [140, 55], screw: M6, travel_mm: 20, along_deg: 90}}]"
    )
    write_metal_dxf(tmp_path / "plate.dxf", made)
    space = ezdxf.readfile(tmp_path / "plate.dxf").modelspace()
    assert {one.dxf.layer for one in space} == {"CUT"}
    found = {(round(one.dxf.center.x, 6), round(one.dxf.center.y, 6)): one.dxf.radius
             for one in space.query("CIRCLE")}  # fmt: skip
    off = 25 / math.sqrt(2)
    for x, y in ((1, 1), (-1, 1), (-1, -1), (1, -1)):
        assert found[round(60 + x * off, 6), round(55 + y * off, 6)] == pytest.approx(2.75)
    assert found[60, 55] == pytest.approx(15)
    lines = [shapely.Polygon([(p.x, p.y) for p in make_path(one).flattening(0.001)])
             for one in space.query("LWPOLYLINE")]  # fmt: skip
    outline, slot = sorted(lines, key=lambda one: -one.area)
    assert outline.bounds == pytest.approx((0, 0, 170, 110))
    assert slot.bounds == pytest.approx((136.7, 41.7, 143.3, 68.3), abs=1e-3)
    own = shapely.LineString([(140, 45), (140, 65)]).buffer(3.3, quad_segs=200)
    assert slot.symmetric_difference(own).area < 0.1


def test_each_check_holds_and_fails() -> None:
    """Land to the outline and between openings by hand, from the pack file on."""
    sound = judged(f"circles: [{RING}], slots: [{{at_mm: [140, 55], screw: M6}}]")
    assert set(sound) == {"cut_plate_edge", "cut_plate_slot", "cut_plate_holes"}
    assert all(one.holds for one in sound.values())
    assert sound["cut_plate_slot"].value == pytest.approx(170 - 140 - 7.5 - 3.3)
    assert sound["cut_plate_holes"].value == pytest.approx(25 - 15 - 2.75)
    near = judged("holes: [{at_mm: [160, 55], screw: M8}]")["cut_plate_edge"]
    assert not near.holds  # 10 - 4.5 of 9: one and a half of 6 mm
    assert (near.value, near.limit) == pytest.approx((5.5, 9.0))
    out = judged("slots: [{at_mm: [161, 55], screw: M6, travel_mm: 30}]")["cut_plate_slot"]
    assert not out.holds
    assert out.value is not None and out.value < -3.3  # past the outline, and half a slot more
    corner = judged("holes: [{at_mm: [8, 8], screw: M3}]")["cut_plate_edge"]
    assert corner.value == pytest.approx(10 - math.hypot(2, 2) - 1.7, abs=0.02)
    over = judged("holes: [{at_mm: [60, 55], screw: M5}, {at_mm: [64, 55], screw: M5}]")
    assert not over["cut_plate_holes"].holds
    assert over["cut_plate_holes"].value == pytest.approx(4 - 5.5)
    assert set(sound) <= set(NO_KEY)


@pytest.mark.parametrize(
    ("openings", "words"),
    [
        ("slots: [{at_mm: [60, 55], screw: M6, travel_mm: 10}]", "travel_mm"),
        ("kerf_mm: 2, circles: [{at_mm: [60, 55], diameter_mm: 50, holes: 4, screw: M5, "
         "pilot_mm: 1.5}]", "kerf_mm"),
    ],
)  # fmt: skip
def test_what_cannot_be_cut_is_refused(openings: str, words: str) -> None:
    """A slot in which no belt is tightened, a kerf as wide as a hole."""
    with pytest.raises(PackFileError) as told:
        plate(openings)
    assert words in str(told.value)


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        ("thickness_mm: 7, size_mm: [50, 50]", "take one of 1.5, 2, 2.5, 3, 4, 5, 6"),
        ("thickness_mm: 2, size_mm: [50, 50], corner_mm: 26", "take at most 25"),
    ],
)
def test_sizes_that_no_shop_has_are_refused(sizes: str, words: str) -> None:
    """A thickness not sold; a corner rounder than the plate is wide."""
    with pytest.raises(PackFileError, match=words):
        plate(more=f"  - {{name: other, {sizes}}}\n")


def test_names_are_told_apart() -> None:
    """Two plates of one name, or one called as the bracket's files are."""
    twin = "  - {name: Motor-Plate, thickness_mm: 2, size_mm: [50, 50]}\n"
    with pytest.raises(PackFileError, match="another piece of sheet metal"):
        plate(more=twin)
    with pytest.raises(PackFileError, match="another piece of sheet metal"):
        plate(
            more="  - {name: bracket, thickness_mm: 2, size_mm: [50, 50]}\nmount: {kind: sheet}\n"
        )


def test_the_drawing_has_each_opening_in_words() -> None:
    """Number, place and size; the pilot hole's number within it."""
    made = piece(f"circles: [{RING}], slots: [{{at_mm: [140, 55], screw: M6, along_deg: 90}}]")
    words = [one for one in metal_sheet(made).marks if isinstance(one, Words)]
    told = " ".join(one.text for one in words)
    assert "1: at 60.00, 55.00; diameter 30.00, pilot hole" in told
    assert "6: at 140.00, 55.00; slot 6.60 wide, 21.60 long, at 90\N{DEGREE SIGN}, for M6" in told
    (first,) = (one for one in words if one.text == "1")
    assert math.dist(first.at_mm, (60, 55)) < 3
