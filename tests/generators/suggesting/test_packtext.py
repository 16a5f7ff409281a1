"""Written pack files are the packs that were planned."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from generators.packfile.resolve import parse_pack
from generators.suggesting.given import given_box, make_given
from generators.suggesting.packtext import NotWrittenError, pack_text, write_new
from layouts.pack import Lattice, Side
from layouts.suggesting.judging import planned
from layouts.suggesting.ranking import ranked
from layouts.suggesting.rows import Task
from layouts.suggesting.setting import Asked, Axis, Combination, Way, pack_of
from layouts.suggesting.turning import seen_along

pytestmark = pytest.mark.one_in(3)  # cases that plan a pack each

CELLS = (
    "name,format,chemistry,capacity_ah,continuous_a,mass_g,peak_a,internal_resistance_mohm\n"
    'the "tall" one: #1,21700,nmc,4.85,15,69.5,30,13.5\n'
)


@pytest.mark.parametrize(
    ("axis", "side", "own"),
    [(Axis.Z, Side.PLUS_X, False), (Axis.X, Side.PLUS_Y, True), (Axis.Y, Side.MINUS_X, True)],
)
def test_the_file_gives_the_very_pack(axis: Axis, side: Side, own: bool, tmp_path: Path) -> None:
    """Read again, every value is the planned pack's, space and leads included."""
    file = tmp_path / "cells.csv"
    file.write_text(CELLS, encoding="utf-8")
    asked = Asked(volts_v=7.2, current_a=48.0 if own else None)
    given = make_given(
        given_box((200.5, 180.0, 190.0)), asked, cells=file if own else None, axes=(axis,)
    )
    way = Way(axis=axis, side=side)
    candidate = Combination(offer=0, series=2, parallel=4, lattice=Lattice.GRID)
    rows = planned(given.setting, Task(candidate=candidate, ways=(way,), miss_mm=0.0))
    (one,) = ranked([replace(row, failed=()) for row in rows], asked)
    text = pack_text(one, given.setting, given.where.lines_for(way, tmp_path))
    read = parse_pack(text.encode(), "written.yaml")
    space = seen_along(given.where.space, axis)
    meant = pack_of(candidate, given.setting, space=space, side=side)
    assert read.pack.space is not None
    assert read.pack.space.box_mm == space.box_mm
    assert replace(read.pack, space=None) == replace(meant, space=None)
    if own:
        assert read.pack.leads.wire_mm2 == 10.0  # 48 A need more than the default
        assert read.pack.load is not None
        assert "#1" in text.splitlines()[0]
    else:
        assert "# capacity_ah: 2.5   Ah assumed" in text


def test_a_file_that_is_there_is_never_replaced(tmp_path: Path) -> None:
    """It is refused in words, and keeps what it holds."""
    file = tmp_path / "mine.yaml"
    file.write_text("dear to me", encoding="utf-8")
    with pytest.raises(NotWrittenError, match="exists already and is not replaced"):
        write_new(file, "new")
    assert file.read_text(encoding="utf-8") == "dear to me"


def test_a_folder_that_is_missing_is_told(tmp_path: Path) -> None:
    """Nothing is made on the way."""
    with pytest.raises(NotWrittenError, match="can't be written: No such file"):
        write_new(tmp_path / "none" / "a.yaml", "new")
    assert list(tmp_path.iterdir()) == []
