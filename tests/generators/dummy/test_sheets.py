"""Sheets as files: true size, every copy, nothing off the paper, the same bytes each time."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import ezdxf
import pytest
from ezdxf import units

from generators.dummy.card import CardLabel, CardPiece, Drill, rectangle
from generators.dummy.layout import FOOT_MM, laid_in_rows, pages_of
from generators.dummy.sheets_dxf import write_sheets_dxf
from generators.dummy.sheets_pdf import BAR_MM, write_sheets_pdf
from generators.exports.paper import OVERLAP_MM, Paper

POINTS = 72.0 / 25.4


def piece(wide: float, high: float, *, name: str = "plate", count: int = 1) -> CardPiece:
    """A plain rectangle with a fold, a hole and a label."""
    return CardPiece(
        name=name, title=name, cuts=(rectangle(0, 0, wide, high),),
        folds=(((wide / 2, 0.0), (wide / 2, high)),),
        drills=(Drill(x_mm=wide / 4, y_mm=high / 2, hole_diameter_mm=5.5, text="M5"),),
        labels=(CardLabel(x_mm=wide / 2, y_mm=high / 2, text=name),), count=count,
    )  # fmt: skip


MIXED = (
    piece(150, 87, name="wall", count=2), piece(40, 23, name="foot", count=8),
    piece(30, 200, name="long", count=3), piece(400, 250, name="big"),
)  # fmt: skip


@pytest.mark.parametrize("paper", list(Paper))
def test_every_copy_is_on_paper_once_and_none_overlap(paper: Paper) -> None:
    """Small pieces lie whole within the drawing area, apart from each other."""
    wide, high = paper.room_mm(foot_mm=FOOT_MM)
    pages = pages_of(MIXED, paper)
    plain = [page for page in pages if page.tile is None]
    counted = Counter(one.name for page in plain for one in page.pieces)
    assert counted == {"wall": 2, "foot": 8, "long": 3}
    for page in plain:
        boxes = [one.box_mm for one in page.pieces]
        for k, (x0, y0, x1, y1) in enumerate(boxes):
            assert x0 > -1e-9 and y0 > -1e-9 and x1 < wide + 1e-9 and y1 < high + 1e-9
            for a0, b0, a1, b1 in boxes[:k]:
                assert x0 >= a1 + 4.9 or a0 >= x1 + 4.9 or y0 >= b1 + 4.9 or b0 >= y1 + 4.9


@pytest.mark.parametrize("paper", list(Paper))
def test_tiles_of_a_large_piece_overlap_and_cover_it(paper: Paper) -> None:
    """Neighbouring sheets show the same 10 mm; together they show all of the piece."""
    wide, high = paper.room_mm(foot_mm=FOOT_MM)
    tiles = [page for page in pages_of(MIXED, paper) if page.tile is not None]
    assert tiles[0].tile is not None
    _, _, columns, rows = tiles[0].tile
    assert len(tiles) == columns * rows
    first = tiles[0].pieces[0].size_mm
    assert columns * (wide - OVERLAP_MM) + OVERLAP_MM >= first[0]
    assert rows * (high - OVERLAP_MM) + OVERLAP_MM >= first[1]
    for page in tiles:
        assert page.tile is not None
        column, row, _, _ = page.tile
        x0, y0, _, _ = page.pieces[0].box_mm
        assert x0 == pytest.approx(-(column - 1) * (wide - OVERLAP_MM))
        assert y0 == pytest.approx(-(row - 1) * (high - OVERLAP_MM))


def test_the_pdf_is_at_true_size(tmp_path: Path) -> None:
    """Paper, scale, check bar and a cut line in the page's own numbers."""
    count = write_sheets_pdf(
        tmp_path / "s.pdf",
        [piece(150, 87)],
        name="trial",
        paper=Paper.A4,
        text=["Order:", "1. cut"],
    )
    data = (tmp_path / "s.pdf").read_bytes().decode("latin-1")
    assert count == 2 and data.count("/Type /Page\n") == 2
    box = re.search(r"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", data)
    assert box is not None
    # ISO 216: A4 is 210 mm by 297 mm
    assert [float(v) / POINTS for v in box.groups()] == pytest.approx([210.0, 297.0], abs=0.01)
    scales = {float(v) for v in re.findall(r"(2[\d.]+) 0 0 \1 [\d.]+ [\d.]+ cm", data)}
    assert len(scales) == 1 and scales.pop() == pytest.approx(POINTS, rel=1e-6)
    assert f"n 0 2 m {BAR_MM:g} 2 l S" in data  # within that scale: the bar, 100 mm
    assert "n 0 0 m 150 0 l 150 87 l 0 87 l 0 0 l\n" in data
    assert "print at 100 %" in data


def test_long_instructions_go_on(tmp_path: Path) -> None:
    """Nothing of the text runs off the paper."""
    lines = [f"{k}. " + "word " * 40 for k in range(60)]
    count = write_sheets_pdf(
        tmp_path / "s.pdf", [piece(30, 20)], name="t", paper=Paper.LETTER, text=lines
    )
    data = (tmp_path / "s.pdf").read_bytes().decode("latin-1")
    assert count >= 4
    assert all(f"({k}. word" in data for k in range(60))


def test_the_dxf_holds_every_copy_in_millimetres(tmp_path: Path) -> None:
    """Re-read: version, units, no faults, layers, lengths and hole sizes."""
    write_sheets_dxf(tmp_path / "s.dxf", MIXED)
    document = ezdxf.readfile(tmp_path / "s.dxf")
    assert document.dxfversion == "AC1024"  # the format's own mark of R2010
    assert document.units == units.MM
    assert not document.audit().errors
    space = document.modelspace()
    cuts = space.query('LWPOLYLINE[layer=="CUT"]')
    assert len(cuts) == 14 and all(line.closed for line in cuts)
    sizes = []
    for line in cuts:
        points = list(line.get_points("xy"))
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        sizes.append((round(max(xs) - min(xs), 6), round(max(ys) - min(ys), 6)))
    assert Counter(sizes) == {(150, 87): 2, (40, 23): 8, (30, 200): 3, (400, 250): 1}
    holes = space.query("CIRCLE")
    assert len(holes) == 14 and {c.dxf.radius for c in holes} == {2.75}
    assert len(space.query('LWPOLYLINE[layer=="FOLD"]')) == 14


def test_pieces_for_a_cutter_do_not_overlap() -> None:
    """Rows beside each other, every copy apart."""
    laid = laid_in_rows(MIXED, 300.0)
    boxes = [one.box_mm for one in laid]
    assert len(boxes) == 14
    for k, (x0, y0, x1, y1) in enumerate(boxes):
        for a0, b0, a1, b1 in boxes[:k]:
            assert x0 >= a1 or a0 >= x1 or y0 >= b1 or b0 >= y1


def test_the_same_pieces_give_the_same_bytes(tmp_path: Path) -> None:
    """PDF and DXF hold no time, no chance."""
    for k in range(2):
        write_sheets_pdf(tmp_path / f"{k}.pdf", MIXED, name="t", paper=Paper.A4, text=["a"])
        write_sheets_dxf(tmp_path / f"{k}.dxf", MIXED)
    for kind in ("pdf", "dxf"):
        assert (tmp_path / f"0.{kind}").read_bytes() == (tmp_path / f"1.{kind}").read_bytes()
