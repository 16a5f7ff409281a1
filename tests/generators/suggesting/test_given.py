"""Spaces from files, how pack files name them, and arguments that don't go together."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from generators.packfile.faults import PackFileError
from generators.packfile.resolve import read_pack
from generators.suggesting.answers import Answers, cautions, nearest_words
from generators.suggesting.given import GivenError, given_box, given_file, make_given
from generators.suggesting.packtext import pack_text, write_new
from layouts.pack import EnclosureStyle, Side
from layouts.suggesting.ranking import ranked
from layouts.suggesting.setting import Asked, Axis, Way
from layouts.suggesting.sweep import SweepResult, sweep
from tests.suggesting_samples import here

NOTCHED = (
    "outline_mm: [[0, 0], [260, 0], [260, 130], [170, 130], [170, 180], [0, 180]]\nheight_mm: 95\n"
)
UPRIGHT, TUB = (Axis.Z,), (EnclosureStyle.TUB,)


@pytest.fixture
def bay(tmp_path: Path) -> Path:
    """A space file in a folder of its own."""
    file = tmp_path / "spaces" / "stern bay.yaml"
    file.parent.mkdir()
    file.write_text(NOTCHED, encoding="utf-8")
    return file


@pytest.mark.slow
def test_a_space_file_gives_rows_and_a_pack_that_names_it(bay: Path, tmp_path: Path) -> None:
    """What is written beside another folder's space finds it by its path, and fits it."""
    where = given_file(bay)
    assert where.name == "stern-bay"
    cells = tmp_path / "cells.csv"
    cells.write_text(
        "format,chemistry,capacity_ah,continuous_a,mass_g\n26650,lfp,3.3,10,86\n", encoding="utf-8"
    )
    asked = Asked(volts_v=12.8, energy_wh=150.0)
    given = make_given(where, asked, cells=cells, axes=(Axis.Z, Axis.X), forms=TUB)
    assert given.setting.axes == UPRIGHT  # a pack file can't turn this space
    found = sweep(given.setting, here)
    one = found.rows[0]
    file = tmp_path / "packs" / "new.yaml"
    file.parent.mkdir()
    write_new(file, pack_text(one, given.setting, where.lines_for(one.row.fit.way, file.parent)))
    pack = read_pack(file).pack
    assert 'space: "../spaces/stern bay.yaml"' in file.read_text(encoding="utf-8")
    assert pack.space is not None
    assert pack.space.room == where.space.room
    assert pack.leads.side is one.row.fit.way.side
    assert any("only upright cells" in line for line in cautions(Answers(given=given, found=found)))


def test_a_pack_files_box_can_be_asked_about(tmp_path: Path) -> None:
    """The box of a pack file is the space, in any way of standing."""
    file = tmp_path / "mine.yaml"
    file.write_text(
        "name: a\ncell: {format: '18650'}\nseries: 2\nparallel: 1\n"
        "space: {box_mm: [200, 150, 100], open_sides: ['-z', '+x']}\n",
        encoding="utf-8",
    )
    where = given_file(file)
    assert where.space.box_mm == (200.0, 150.0, 100.0)
    lines = where.lines_for(Way(axis=Axis.X, side=Side.PLUS_X), tmp_path)
    assert lines[0] == "space:"
    assert lines[-2] == "  box_mm: [150, 100, 200]"
    # the space's x is seen along the cells, its z across them
    assert lines[-1] == '  open_sides: ["-y", "+z"]'
    assert "seen along its x" in lines[1]


def test_a_pack_file_gives_its_outline_to_another_and_is_refused_without_a_space(
    tmp_path: Path,
) -> None:
    """One written within the pack file that is no box is written again, as it stands there."""
    head = "name: a\ncell: {format: '18650'}\nseries: 2\nparallel: 1\n"
    file = tmp_path / "mine.yaml"
    file.write_text(head, encoding="utf-8")
    with pytest.raises(GivenError, match="is a pack file without a space"):
        given_file(file)
    inner = "".join(f"  {line}\n" for line in NOTCHED.splitlines())
    file.write_text(f"{head}space:\n{inner}", encoding="utf-8")
    where = given_file(file)
    (line,) = where.lines_for(Way(axis=Axis.Z, side=Side.PLUS_X), tmp_path)
    other = tmp_path / "other.yaml"
    other.write_text(f"{head}{line}\n", encoding="utf-8")
    space = read_pack(other).pack.space
    assert space is not None and space.room == where.space.room


def test_files_that_are_no_space_are_told(tmp_path: Path) -> None:
    """Missing files and unknown keys come as faults with file and line."""
    with pytest.raises(PackFileError, match=r"none\.yaml:1: file: can't be read"):
        given_file(tmp_path / "none.yaml")
    bad = tmp_path / "bad.yaml"
    bad.write_text("box_mm: [100, 100]\n", encoding="utf-8")
    with pytest.raises(PackFileError, match=r"bad\.yaml:1: "):
        given_file(bad)


def test_cells_can_t_be_laid_in_a_space_that_is_no_box(bay: Path) -> None:
    """Asked to lie along x alone, it says the remedy."""
    with pytest.raises(GivenError, match="not along x: turn the space's file"):
        make_given(given_file(bay), Asked(volts_v=12.0), cells=None, axes=(Axis.X,))


def test_boxes_are_named_by_their_sides() -> None:
    """The folder's name holds no point."""
    assert given_box((240.0, 240.5, 105.0)).name == "box-240x240_5x105"


@pytest.mark.slow
def test_what_is_missing_is_told_by_the_spaces_own_axes(tmp_path: Path) -> None:
    """A pack lying along x lacks room along the space's axes, not along its own."""
    cells = tmp_path / "cells.csv"
    cells.write_text(
        "format,chemistry,capacity_ah,continuous_a,mass_g\n18650,nmc,3,9,47\n", encoding="utf-8"
    )
    asked = Asked(volts_v=14.4, energy_wh=80.0)
    given = make_given(
        given_box((80.0, 180.0, 130.0)), asked, cells=cells, axes=(Axis.X,), forms=TUB
    )
    found = sweep(given.setting, here)
    assert found.rows == ()
    assert found.nearest is not None
    answers = Answers(given=given, found=found)
    words = nearest_words(found.nearest, answers)
    assert words.endswith("mm along x")
    assert "cells along x" in words


@pytest.mark.slow
def test_the_cautions_of_high_volts_and_short_plans_are_said_once(bay: Path) -> None:
    """Over 60 V full, packs left out, checks that fail: a line each."""
    given = make_given(
        given_file(bay), Asked(volts_v=12.8, energy_wh=150.0), cells=None, axes=UPRIGHT, forms=TUB
    )
    found = sweep(replace(given.setting, offers=given.setting.offers[5:6]), here)
    rows = [
        replace(one.row, full_v=84.0, failed=("bed",) if k == 0 else ())
        for k, one in enumerate(found.rows)
    ]
    told = list(
        cautions(
            Answers(
                given=given,
                found=SweepResult(
                    rows=ranked(rows, Asked(volts_v=12.8)),
                    nearest=None,
                    looked_at=1,
                    planned=1,
                    left_out=7,
                ),
            )
        )
    )
    assert sum(line.startswith("voltage: up to 84.0 V at full charge") for line in told) == 1
    assert sum(line.startswith("7 more packs may fit") for line in told) == 1
    assert sum("have a failed check" in line for line in told) == 1
