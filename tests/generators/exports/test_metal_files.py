"""Files of sheet metal, read back: DXF by an independent reader, drawings by their words."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest
import shapely
from ezdxf.path import make_path

from generators.drawings.linework import Words, sheet_svg
from generators.drawings.metal_plan import finish_words, metal_sheet
from generators.exports.metal_dxf import write_metal_dxf
from generators.exports.metal_files import write_metal_files
from layouts.formats import sheet_metals
from layouts.parts.metal_piece import MetalPiece, offset_loop
from layouts.slabs.profile import circle, loop_area_mm2, polygon, rectangle
from tests.layouts.brackets.test_sheet import UNEVEN, made, piece_of

KERF_MM = 0.3


def usual() -> MetalPiece:
    """Of a bracket with three uneven holes."""
    return piece_of(made(holes_mm=UNEVEN, thickness_mm=2.0))


def cut_of(path: Path) -> tuple[shapely.Polygon, list[float]]:
    """The closed outline on CUT, its arcs flattened to a thousandth, and the holes' diameters."""
    space = ezdxf.readfile(path).modelspace()
    (line,) = space.query("LWPOLYLINE[layer=='CUT']")
    assert line.closed
    points = [(point.x, point.y) for point in make_path(line).flattening(0.001)]
    round_holes = [2 * one.dxf.radius for one in space.query("CIRCLE[layer=='CUT']")]
    return shapely.Polygon(points), round_holes


def test_the_dxf_has_the_piece_at_true_size(tmp_path: Path) -> None:
    """Millimetres, two layers, true arcs; area by hand from length, width, corners."""
    piece = usual()
    write_metal_dxf(tmp_path / "piece.dxf", piece)
    document = ezdxf.readfile(tmp_path / "piece.dxf")
    assert document.units == ezdxf.units.MM
    assert {one.dxf.layer for one in document.modelspace()} == {"CUT", "BEND"}
    shape, holes = cut_of(tmp_path / "piece.dxf")
    long, wide = piece.size_mm
    assert shape.area == pytest.approx(long * wide - (4 - math.pi) * 3.0**2, abs=0.05)
    assert shape.bounds == pytest.approx((0, 0, long, wide), abs=1e-6)
    assert sorted(holes) == pytest.approx([4.5, 4.5, 5.5, 5.5, 5.5])
    (line,) = document.modelspace().query("LINE[layer=='BEND']")
    assert (line.dxf.end - line.dxf.start).magnitude == pytest.approx(wide)
    # neutral line by hand: legs 29 and 12 + 18 + 7, radius 2, K 0.44 of steel
    assert long == pytest.approx(29 + 37 - 8 + math.pi / 2 * 2.88, abs=1e-9)
    assert line.dxf.start.x == pytest.approx(29 - 4 + math.pi / 4 * 2.88, abs=1e-9)
    assert shape.area - sum(math.pi / 4 * d**2 for d in holes) == pytest.approx(
        piece.area_mm2, abs=0.05
    )


def test_a_kerf_widens_what_is_cut(tmp_path: Path) -> None:
    """Half of it outwards all round, holes half of it smaller; the piece itself is as it was."""
    piece = replace(usual(), kerf_mm=KERF_MM)
    write_metal_dxf(tmp_path / "piece.dxf", piece)
    shape, holes = cut_of(tmp_path / "piece.dxf")
    long, wide = piece.size_mm
    x0, y0, x1, y1 = shape.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((long + KERF_MM, wide + KERF_MM))
    assert sorted(holes) == pytest.approx([4.2, 4.2, 5.2, 5.2, 5.2])
    assert piece.mass_g == usual().mass_g


def test_offsets_of_loops() -> None:
    """Against an independent buffer with round corners; an arc that would vanish is refused."""
    loop = rectangle(0.0, 0.0, 40.0, 20.0, 3.0)
    for out in (-1.0, 0.5, 2.0):
        own = shapely.box(3, 3, 37, 17).buffer(3.0 + out, quad_segs=400)
        assert loop_area_mm2(offset_loop(loop, out)) == pytest.approx(own.area, rel=1e-5)
    with pytest.raises(ValueError, match="vanishes"):
        offset_loop(circle((0.0, 0.0), 0.1), -0.1)
    assert offset_loop(polygon([(0, 0), (1, 0), (0, 1)]), 0.0)[0].start == (0, 0)  # type: ignore[union-attr]


def test_the_drawing_tells_what_a_shop_must_know() -> None:
    """Flat size, bend with side, angle, radius and K, legs, holes, edges, finish, kerf."""
    piece = replace(usual(), kerf_mm=KERF_MM)
    sheet = metal_sheet(piece)
    words = " ".join(one.text for one in sheet.marks if isinstance(one, Words))
    words = " ".join(words.split())
    for told in (
        "4 pieces, steel-S235, 2 mm", "flat 62.52 x 50.00 mm, corners R 3",
        "bend 90\N{DEGREE SIGN} towards you along the dashed line at 27.26 mm, inside radius 2 mm",
        "K 0.44 (allowance 4.52 mm): your bender's K wins", "29.0 and 37.0 mm outside",
        "1: at 12.00, 35.00; diameter 4.50 for M4", "deburr all edges and holes on both faces",
        "a kerf of 0.3 mm", "paint or powder coat",
    ):  # fmt: skip
        assert told in words, told
    assert ".dxf has it, layer CUT" in words  # not at true size, with a kerf
    assert sheet.size_mm[0] < 190.0  # of A4, less its margins
    assert "<svg" in sheet_svg(sheet)


def test_every_metal_has_a_finish() -> None:
    """And aluminium is told apart from what it touches."""
    assert all(finish_words(metal) for metal in sheet_metals())
    assert "corrodes" in finish_words("aluminium-5754-H22")


def test_files_are_the_same_each_time(tmp_path: Path) -> None:
    """Byte by byte: DXF, drawing, paper of both sizes."""
    found = []
    for folder in (tmp_path / "one", tmp_path / "two"):
        folder.mkdir()
        write_metal_files(folder, "pack", [usual()])
        found.append({path.name: path.read_bytes() for path in folder.iterdir()})
    assert found[0] == found[1]
    assert set(found[0]) == {
        "bracket.dxf", "bracket.svg", "drawings-a4.pdf", "drawings-letter.pdf",
    }  # fmt: skip
