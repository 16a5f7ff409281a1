"""Templates as files: true size in PDF and DXF, overlaps that match, the same bytes each time."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import ezdxf
import numpy as np
import pdfplumber
import pytest
from ezdxf import units

from generators.drawings.linework import Layer, Lines, LineSheet, Words, line_sheet
from generators.exports.paper import OVERLAP_MM, Paper
from generators.exports.sheet_dxf import write_sheet_dxf
from generators.exports.templates import TemplateJob, write_templates
from generators.exports.tiled_pdf import FOOT_MM, pages_of, write_tiled_pdf
from generators.makers import TemplateMaker
from generators.welding import template_job, weld_sheets
from layouts.planning.pack_plan import plan_pack
from tests.samples import linked_pack

MM = 25.4 / 72.0  # of a point


def rectangle(name: str, wide: float, high: float) -> LineSheet:
    """A plain rectangle to cut, its name in it."""
    corners = np.array([(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)])
    return line_sheet(
        name,
        name,
        [
            Lines(layer=Layer.CUT, lines=(corners,), closed=True),
            Words(at_mm=(1.0, 1.0), text=f"\N{MINUS SIGN}{name}", size_mm=3.0),
        ],
    )


MIXED = [rectangle("small", 40, 20), rectangle("long", 30, 240), rectangle("big", 400, 250)]


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> TemplateJob:
    """The templates of an invented pack, as the second process would write them."""
    plan = plan_pack(linked_pack(3, 2))
    made = template_job(tmp_path_factory.mktemp("templates"), plan, weld_sheets(plan))
    write_templates(made)
    return made


@pytest.mark.parametrize("paper", list(Paper))
def test_tiles_overlap_and_cover_the_sheet(paper: Paper) -> None:
    """Neighbouring pages share 10 mm; small sheets lie whole on a page and apart."""
    wide, high = paper.room_mm(foot_mm=FOOT_MM)
    pages = pages_of(MIXED, paper)
    tiles = [page for page in pages if page.tile is not None]
    assert tiles[0].tile is not None
    _, _, columns, rows = tiles[0].tile
    assert len(tiles) == columns * rows
    size = tiles[0].placed[0].sheet.size_mm
    size = size[::-1] if tiles[0].placed[0].turned else size
    assert columns * (wide - OVERLAP_MM) + OVERLAP_MM >= size[0]
    assert rows * (high - OVERLAP_MM) + OVERLAP_MM >= size[1]
    for page in tiles:
        assert page.tile is not None
        assert page.placed[0].x_mm == -(page.tile[0] - 1) * (wide - OVERLAP_MM)
        assert page.placed[0].y_mm == -(page.tile[1] - 1) * (high - OVERLAP_MM)
    plain = [one for page in pages if page.tile is None for one in page.placed]
    assert Counter(one.sheet.name for one in plain) == {"small": 1, "long": 1}
    for one in plain:
        w, h = one.sheet.size_mm[::-1] if one.turned else one.sheet.size_mm
        assert one.x_mm >= 0 and one.y_mm >= 0
        assert one.x_mm + w <= wide + 1e-9 and one.y_mm + h <= high + 1e-9


@pytest.mark.parametrize("paper", list(Paper))
def test_lengths_on_paper_are_true(tmp_path: Path, paper: Paper) -> None:
    """Read back by another program: page size, bar of 100.00 mm on every page, a strip's sides."""
    path = tmp_path / "s.pdf"
    pages = write_tiled_pdf(path, MIXED, name="trial", title="sheets", paper=paper)
    with pdfplumber.open(path) as read:
        assert len(read.pages) == pages
        for page in read.pages:
            # ISO 216: A4 is 210 mm by 297 mm; letter is 8.5 in by 11 in
            size = (210.0, 297.0) if paper is Paper.A4 else (215.9, 279.4)
            assert (page.width * MM, page.height * MM) == pytest.approx(size, abs=0.01)
            bars = [line for line in page.lines if line["x1"] - line["x0"] > 80 / MM]
            lengths = [round((bar["x1"] - bar["x0"]) * MM, 2) for bar in bars]
            assert lengths.count(100.0) == 1
            assert "print at 100 %" in page.extract_text()
        shapes = [
            (round(abs(s["x1"] - s["x0"]) * MM, 2), round(abs(s["bottom"] - s["top"]) * MM, 2))
            for page in read.pages
            for s in (*page.rects, *page.curves)
        ]
        assert (40.0, 20.0) in shapes
        assert (30.0, 240.0) in shapes or (240.0, 30.0) in shapes
        assert (400.0, 250.0) in shapes or (250.0, 400.0) in shapes
        words = " ".join(page.extract_text() for page in read.pages)
        assert "\N{EN DASH}small" in words
        assert "big, 1 of " in words


def test_crosses_in_an_overlap_meet(tmp_path: Path) -> None:
    """The same cross lies at the same place of the drawing on both pages that show it."""
    path = tmp_path / "s.pdf"
    write_tiled_pdf(path, [rectangle("wide", 300, 100)], name="t", title="t", paper=Paper.A4)
    room = Paper.A4.room_mm(foot_mm=FOOT_MM)[0]
    middles = []
    with pdfplumber.open(path) as read:
        for page in read.pages:
            marks = [
                (line["x0"] + line["x1"]) / 2 * MM
                for line in page.lines
                if (line["x1"] - line["x0"]) * MM == pytest.approx(8.0, abs=0.01)
            ]
            assert len(set(np.round(marks, 3))) == 1 and len(marks) == 3
            middles.append(marks[0])
    assert middles[0] - middles[1] == pytest.approx(room - OVERLAP_MM, abs=0.01)


def test_the_dxf_is_sound_and_in_millimetres(job: TemplateJob) -> None:
    """Re-read: R2010, units, no faults, named layers, strips closed, text upright."""
    names = {path.name for path in job.folder.iterdir()}
    assert names == {
        "pieces.dxf", "strips-lower.dxf", "strips-upper.dxf", "templates-a4.pdf",
        "templates-letter.pdf",
    }  # fmt: skip
    for path in sorted(job.folder.glob("*.dxf")):
        document = ezdxf.readfile(path)
        assert document.dxfversion == "AC1024"  # the format's own mark of R2010
        assert document.units == units.MM
        assert not document.audit().errors
        space = document.modelspace()
        pieces = path.name == "pieces.dxf"
        outline, weld, text = ("CUT", "MARK", "MARK") if pieces else ("STRIPS", "WELDS", "TEXT")
        strips = space.query(f'LWPOLYLINE[layer=="{outline}"]')
        assert len(strips) > 3 and all(line.closed for line in strips)
        assert len(space.query(f'LINE[layer=="{weld}"]')) > 20
        assert len(space.query(f'TEXT[layer=="{text}"]')) > 3
        used = {entity.dxf.layer for entity in space}
        drawn = {"HOLDER", "CELLS", "STRIPS", "WELDS", "TAPS", "TEXT"}
        assert used <= ({"CUT", "BEND", "MARK"} if pieces else drawn)


def test_outlines_to_cut_are_those_of_the_result(small_run: Path) -> None:
    """Every plate and bar of result.json is in its face's DXF, corner by corner, nothing else."""
    result = json.loads((small_run / "result.json").read_text(encoding="utf-8"))
    for face in ("lower", "upper"):
        space = ezdxf.readfile(small_run / "templates" / f"strips-{face}.dxf").modelspace()
        drawn = [
            np.array(list(line.get_points("xy")))
            for line in space.query("LWPOLYLINE[layer=='STRIPS']")
        ]
        here = [plate for plate in result["strips"] if plate["face"] == face]
        told = [np.array(plate["outline_mm"]) for plate in here]
        bars = [plate["bar"] for plate in here if "bar" in plate]
        told += [np.array(piece["outline_mm"]) for bar in bars for piece in bar["pieces"]]
        lugs = [lug for bar in bars for lug in bar["lugs"]]
        assert lugs and all(lug["screw"] == "M5" for lug in lugs)
        assert len(drawn) == len(told) + len(lugs) > 0  # and the hole for each lug
        for outline in told:
            assert any(
                outline.shape == other.shape and np.allclose(outline, other, rtol=0, atol=1e-6)
                for other in drawn
            )


def test_a_run_lists_its_templates_with_their_bytes(small_run: Path) -> None:
    """result.json is written when the second process is done: all five files are in it."""
    result = json.loads((small_run / "result.json").read_text(encoding="utf-8"))
    listed = {row["path"] for row in result["files"] if row["path"].startswith("templates/")}
    assert listed == {
        path.relative_to(small_run).as_posix() for path in (small_run / "templates").iterdir()
    }
    assert len(listed) == 5


def test_the_same_sheets_give_the_same_bytes(job: TemplateJob, tmp_path: Path) -> None:
    """Written again, and by another process: PDF and DXF hold no time, no chance."""
    again = TemplateJob(folder=tmp_path, name=job.name, prints=job.prints, drawings=job.drawings)
    with TemplateMaker() as maker:
        maker.start(again)
        maker.finish()
    for path in job.folder.iterdir():
        assert path.read_bytes() == (tmp_path / path.name).read_bytes(), path.name


def test_a_folder_that_can_not_be_written_is_told_as_such(job: TemplateJob, tmp_path: Path) -> None:
    """The other process's OSError comes out here, with its path."""
    lost = TemplateJob(folder=tmp_path / "none", name="x", prints=job.prints, drawings=job.drawings)
    with TemplateMaker() as maker:
        maker.start(lost)
        with pytest.raises(FileNotFoundError, match="none"):
            maker.finish()


def test_what_is_for_the_eye_alone_stays_out_of_dxf(tmp_path: Path) -> None:
    """Hatches and plates under words would be cut by a machine."""
    corners = np.array([(0.0, 0.0), (5.0, 0.0), (5.0, 5.0)])
    marks = [
        Lines(layer=layer, lines=(corners,), closed=True)
        for layer in (Layer.HATCH, Layer.PLATE, Layer.BOX, Layer.FLAG, Layer.CUT)
    ]
    write_sheet_dxf(tmp_path / "s.dxf", line_sheet("s", "s", marks))
    space = ezdxf.readfile(tmp_path / "s.dxf").modelspace()
    assert [entity.dxf.layer for entity in space] == ["STRIPS"]


def test_bytes_do_not_hang_on_the_order_of_sets(tmp_path: Path) -> None:
    """The DXF writer lists what it holds from sets: processes with other hash seeds agree."""
    code = (
        "import sys, numpy as np; from pathlib import Path;"
        "from generators.drawings.linework import Layer, Lines, Words, crosses, line_sheet;"
        "from generators.exports.sheet_dxf import write_sheet_dxf;"
        "points = np.array([(0.0, 0.0), (5.0, 0.0), (5.0, 5.0)]);"
        "marks = [Lines(layer=Layer.CUT, lines=(points,), closed=True), crosses(points)];"
        "write_sheet_dxf(Path(sys.argv[1]), line_sheet('s', 's', marks))"
    )
    for seed in ("0", "4", "7"):
        subprocess.run(
            [sys.executable, "-c", code, str(tmp_path / seed)],
            check=True,
            cwd=Path(__file__).parents[3],
            env={**os.environ, "PYTHONHASHSEED": seed},
        )
    assert (tmp_path / "0").read_bytes() == (tmp_path / "4").read_bytes()
    assert (tmp_path / "0").read_bytes() == (tmp_path / "7").read_bytes()
