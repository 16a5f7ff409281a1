"""A pack file as a space gives its own cell, and the machine's sections decide the rest."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from generators.packfile.resolve import parse_pack, read_pack
from generators.suggesting.answers import Answers, say, why_series
from generators.suggesting.given import Given, GivenError, given_box, given_file, make_given
from generators.suggesting.packtext import pack_text
from layouts.pack import EnclosureStyle, Lattice, Side
from layouts.suggesting.estimating import row_by_estimate
from layouts.suggesting.ranking import ranked
from layouts.suggesting.rows import Task
from layouts.suggesting.setting import Asked, Axis, Combination, Way, pack_of
from layouts.suggesting.sweep import SweepResult

PACK = """\
name: own
cell: {format: "18650", continuous_a: 10, charge_a: 1.5, charge_c: [5, 40]}
series: 4
parallel: 2
load: {continuous_a: 8, regeneration_a: 4, ambient_c: 35}
controller: {lowest_v: 15, highest_v: 23}
charger: {volts_v: 21, amps_a: 2}
space:
  outline_mm: [[0, 0], [230, 0], [230, 150], [150, 150], [150, 240], [0, 240]]
  height_mm: 95
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """The pack file."""
    path = tmp_path / "own.yaml"
    path.write_text(PACK, encoding="utf-8")
    return path


def given_of(file: Path, **asked: float) -> Given:
    """What it gives to a sweep."""
    return make_given(given_file(file), Asked(**asked), cells=None, axes=(Axis.Z,))


def estimate(given: Given, form: EnclosureStyle) -> SweepResult:
    """A result of one row that nothing confirms."""
    (offer,) = given.setting.offers
    way = Way(axis=Axis.Z, side=Side.PLUS_X)
    pack = Combination(offer=0, series=5, parallel=3, lattice=Lattice.GRID, form=form)
    row = row_by_estimate(given.setting, Task(candidate=pack, ways=(way,), miss_mm=0.0))
    assert offer.cell.continuous_a * 3 == row.current_a
    rows = ranked([row], given.setting.asked)
    return SweepResult(rows=rows, nearest=None, looked_at=1, planned=0, left_out=0, open=1)


def test_its_cell_and_its_machine_are_taken(file: Path) -> None:
    """One cell, the file's; volts by controller and charger, currents by the load."""
    given = given_of(file)
    (offer,) = given.setting.offers
    assert offer.cell == read_pack(file).pack.cell
    asked = given.setting.asked
    assert (asked.volts_v, asked.window_v, asked.charger_v) == (None, (15.0, 23.0), 21.0)
    assert (asked.current_a, asked.regeneration_a, asked.charger_a) == (8.0, 4.0, 2.0)
    over = given_of(file, current_a=12.0, volts_v=18.0).setting
    assert (over.asked.current_a, over.asked.volts_v) == (12.0, 18.0)
    assert over.base.machine.load is not None and over.base.machine.load.continuous_a == 12.0


def test_without_a_machine_its_own_volts_are_required(tmp_path: Path) -> None:
    """Nominal volts of the pack as it stands; a plain space needs them on the command line."""
    file = tmp_path / "plain.yaml"
    head = "name: a\ncell: {format: '18650'}\nseries: 4\nparallel: 1\n"
    file.write_text(f"{head}space: {{box_mm: [200, 150, 100]}}\n", encoding="utf-8")
    assert given_of(file).setting.asked.volts_v == pytest.approx(4 * 3.6)
    with pytest.raises(GivenError, match="give the voltage"):
        make_given(given_box((200.0, 150.0, 100.0)), Asked(), cells=None, axes=(Axis.Z,))


@pytest.mark.parametrize("form", [EnclosureStyle.FITTED, EnclosureStyle.NONE])
def test_a_written_row_is_the_very_pack_that_is_planned(file: Path, form: EnclosureStyle) -> None:
    """Read again it has the cell, the machine, the space and the enclosure of the row."""
    given = given_of(file)
    found = estimate(given, form)
    one = found.rows[0]
    lines = given.where.lines_for(one.row.fit.way, file.parent)
    text = pack_text(one, given.setting, lines, given.machine_lines)
    read = parse_pack(text.encode(), str(file.parent / "new.yaml")).pack
    side = one.row.fit.way.side
    assert read == pack_of(one.row.candidate, given.setting, space=read.space, side=side)
    assert read.space is not None and read.space.room == given.where.space.room
    assert read.enclosure.style is form
    assert read.controller is not None and read.controller.highest_v == 23.0


def test_assumed_values_and_the_reason_for_series_are_told(
    file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is assumed of the cell comes first; a row by estimate alone confirms nothing."""
    given = given_of(file)
    answers = Answers(given=given, found=estimate(given, EnclosureStyle.FITTED))
    say(answers, sys.stdout, sys.stderr)
    captured = capsys.readouterr()
    assert captured.err.startswith("caution: cells: capacity_ah 2.5 Ah assumed from the size")
    assert "nothing is confirmed" in captured.err
    assert "  estimate  " in captured.out and "grid, fitted" in captured.out
    (line,) = why_series(answers)
    assert line.startswith("5S of 18650 nmc: 21.0 V full, 23 V at most (6S: 25.2 V)")
    assert "the charger ends at 21 V, the pack at 21.0 V" in line
    assert "2.0 V are left for 4 A that the motor returns" in line
