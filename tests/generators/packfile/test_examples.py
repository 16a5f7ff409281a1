"""The example files are sound, and are the packs that they say."""

from __future__ import annotations

import pytest

from generators.packfile.examples import FIRST, example_names, example_text
from layouts.pack import Lattice, Surroundings
from tests.generators.packfile.files import read


def test_the_trolley_comes_first() -> None:
    """It is what is made when no file is given."""
    assert example_names() == ["orchard-trolley", "river-raft"]
    assert example_names()[0] == FIRST


@pytest.mark.parametrize("name", ["orchard-trolley", "river-raft"])
def test_an_example_is_sound_and_bears_its_files_name(name: str) -> None:
    """No fault, nothing assumed, and the result's folder is called like the file."""
    found = read(example_text(name))
    assert found.pack.name == name
    assert not [one for one in found.cautions if "assumed" in one.text or "not given" in one.text]


def test_the_trolley_is_a_honeycomb_that_bears_its_load() -> None:
    """10S4P of 21700 in a box; the load is within what the cells and the board give."""
    pack = read(example_text("orchard-trolley")).pack
    assert (pack.series, pack.parallel, pack.cell.format) == (10, 4, "21700")
    assert pack.lattice is Lattice.HONEYCOMB
    assert pack.space is not None
    assert pack.load is not None
    assert pack.load.continuous_a <= pack.parallel * pack.cell.continuous_a
    assert pack.cell.peak_a is not None
    assert pack.load.peak_a is not None
    assert pack.load.peak_a <= pack.parallel * pack.cell.peak_a
    assert pack.bms.continuous_a is not None
    assert pack.load.continuous_a <= pack.bms.continuous_a


def test_the_raft_is_a_splashed_grid_below_thirty_volts() -> None:
    """4S6P of 26650 iron phosphate: safe for wet hands, so nothing is said of volts."""
    found = read(example_text("river-raft"))
    pack = found.pack
    assert (pack.series, pack.parallel, pack.cell.format) == (4, 6, "26650")
    assert (pack.lattice, pack.cell.chemistry) == (Lattice.GRID, "lfp")
    assert pack.enclosure.surroundings is Surroundings.SPLASHED
    assert pack.series * pack.cell.full_v < 30
    assert [caution.field for caution in found.cautions] == ["enclosure.surroundings"]


def test_an_unknown_example_is_named_with_the_known() -> None:
    """The error lists what there is."""
    with pytest.raises(KeyError, match="orchard-trolley, river-raft"):
        example_text("nowhere")
