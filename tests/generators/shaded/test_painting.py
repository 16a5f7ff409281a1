"""The pictures of packs: anchors on their things, all rows seen, the same bytes, cut where told."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from generators.makers import Painter
from generators.shaded import painting
from generators.shaded.balloons import balloons_of
from generators.shaded.compile_state import is_compiled
from generators.shaded.framed import framed_picture
from generators.shaded.painted import BESIDE_PX, CUTAWAY, EXPLODED, Painted, write_painted
from generators.shaded.painting import cut_view, cut_wedges, exploded_view, paint_plan
from generators.shaded.png import png_bytes
from generators.shaded.scene import scene_of
from generators.shaded.shading import ShadedPicture, shaded_picture
from generators.shaded.things import Scene, Thing, kept
from layouts.slabs.digits import FIGURES
from tests.generators.shaded.scenes import LARGE, PACKS, made

SMALL_PX = (420, 420)


def drawn(scene: Scene, name: str) -> tuple[list[Thing], ShadedPicture]:
    """A small picture, and the things in it."""
    wedges = cut_wedges(scene) if name == CUTAWAY else {}
    view = (cut_view if name == CUTAWAY else exploded_view)(scene, *SMALL_PX)
    things = [one for one in kept(scene.things, wedges) if one.copies]
    return things, shaded_picture(things, replace(view, samples=1), wedges)


@pytest.mark.parametrize(
    ("name", "picture"),
    [
        ("tub, plates", CUTAWAY),
        ("fitted", EXPLODED),
        pytest.param("tub, plates", EXPLODED, marks=pytest.mark.slow),
        pytest.param("fitted", CUTAWAY, marks=pytest.mark.slow),
    ],
)
def test_each_anchor_lies_on_its_own_row(name: str, picture: str) -> None:
    """The leader of a balloon ends on a pixel of a thing of that row of the bill."""
    things, seen = drawn(made(name).scene, picture)
    rows = [one.row for one in things]
    found = balloons_of(seen.thing, rows)
    assert len(found) >= 8
    for one in found:
        x, y = one.anchor_px
        assert seen.thing[y, x] >= 0
        assert rows[seen.thing[y, x]] == one.row
    assert len({one.row for one in found}) == len(found)


def test_cells_hide_behind_no_lid() -> None:
    """In the cutaway of a tub cut faces, cells, rings, plates, board and lid all show."""
    things, seen = drawn(made("tub, plates").scene, CUTAWAY)
    shown = {things[k].name for k in np.unique(seen.thing[seen.thing >= 0])}
    assert {"cells", "can ends", "insulating rings", "lid", "tub", "protection board",
            "holder-upper", "holder-lower", "plates, upper"} <= shown  # fmt: skip
    cut = {things[k].cut for k in np.unique(seen.thing[seen.cut])}
    assert {"lid", "tub", "holder"} <= cut
    assert "" not in cut


@pytest.mark.slow
@pytest.mark.parametrize("name", [*PACKS, *LARGE])
def test_every_row_is_seen_at_full_size(name: str) -> None:
    """Each row of the bill that has a thing has a balloon in the cutaway or the exploded view, but
    for glands of walls that face away; both are made twice with the same bytes."""
    one = made(name)
    first, again = (paint_plan(one.plan, one.meshed) for _ in range(2))
    away = {
        f"cable gland {outlet.gland.size} with nut, {outlet.purpose}"
        for outlet in (() if one.plan.enclosure_set is None else one.plan.enclosure.outlets)
        if float(outlet.out[:2] @ np.array(one.scene.front)) < 0.0
    }
    assert {one.bill[row - 1].item for row in first.hidden} <= away
    assert first == again
    assert all(len(data) < 600_000 for data in first.files.values())


def test_the_same_scene_gives_the_same_picture(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """To the last bit, also from a scene that is made anew; and the compiled code is kept."""
    one = made("tub, plates")
    _, first = drawn(one.scene, CUTAWAY)
    _, again = drawn(scene_of(one.plan, one.meshed, one.bill), CUTAWAY)
    assert png_bytes(first.image) == png_bytes(again.image)
    assert (first.thing == again.thing).all()
    assert is_compiled()  # it has just been
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    assert not is_compiled()


@pytest.mark.slow
def test_the_painter_paints_the_same_in_its_process(tmp_path: Path) -> None:
    """Both pictures as files, byte for byte as painted here; the picture on paper is the one
    without, balloons beside it."""
    one = made("tub, plates")
    with Painter() as painter:
        painter.start(one.plan, one.meshed)
        there = painter.result()
    assert paint_plan(one.plan, one.meshed) == there
    write_painted(tmp_path / "pictures", there)
    assert {p.name for p in (tmp_path / "pictures").iterdir()} == {"cutaway.png", "exploded.png"}
    cutaway = there.pictures[CUTAWAY]
    framed = Image.open(tmp_path / "pictures" / "cutaway.png")
    assert framed.size == (cutaway.wide + 2 * BESIDE_PX, cutaway.high + 20)
    assert Image.open(io.BytesIO(cutaway.image)).mode == "RGBA"


def test_without_a_compiler_nothing_is_painted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No picture, no folder; the run goes on."""
    one = made("tub, plates")
    monkeypatch.setattr(painting, "COMPILED", False)
    painted = paint_plan(one.plan, one.meshed)
    assert painted == Painted(pictures={}, names={}, undrawn={}, undrawn_names={})
    write_painted(tmp_path / "pictures", painted)
    assert not (tmp_path / "pictures").exists()


def test_numbers_of_another_bill_are_refused() -> None:
    """A row that is at another place in the bill than in the pictures stops the run."""
    names = {1: ("cells", "18650"), 2: ("washers", "M4")}
    painted = Painted(pictures={}, names=names, undrawn={}, undrawn_names={})
    painted.refuse_other_rows([names[1], names[2]])
    for other in ([names[2], names[1]], [names[1]]):
        with pytest.raises(ValueError, match="in the pictures, not in the bill"):
            painted.refuse_other_rows(other)


def test_png_is_read_back() -> None:
    """Pillow reads what was written, pixel for pixel, with and without alpha."""
    for channels in (3, 4):
        image = np.random.default_rng(channels).integers(0, 256, (37, 41, channels), np.uint8)
        image[10:20] = 7
        assert (np.asarray(Image.open(io.BytesIO(png_bytes(image)))) == image).all()


def test_each_figure_is_drawn_in_its_balloon() -> None:
    """Ten different numbers give ten different balloons, each with ink in its middle."""
    nothing = np.zeros((80, 40, 4), np.uint8)
    block = np.zeros((80, 40), np.int16)
    seen = {}
    for row in range(10, 20):
        (balloon,) = balloons_of(block, [row])
        framed = framed_picture(nothing, [balloon])
        x, y = balloon.middle_px[0] + BESIDE_PX, balloon.middle_px[1] + 10
        part = framed[int(y) - 9 : int(y) + 10, int(x) - 10 : int(x) + 11]
        assert part.min() < 60
        seen[part.tobytes()] = row
    assert len(seen) == 10
    assert set("0123456789") <= set(FIGURES)
