"""Lists of cells: what is read, and every way of getting one wrong reported by file and line."""

from __future__ import annotations

from pathlib import Path

import pytest

from generators.packfile.faults import PackFileError
from generators.packfile.resolve import parse_pack
from generators.suggesting.offers import built_in_offers, parse_offers, read_offers
from layouts.formats import cell_formats

HEAD = "name,format,chemistry,capacity_ah,continuous_a,mass_g,price_eur\n"
GOOD = HEAD + "tall one,21700,nmc,5.0,10,70,4.20\n,26650,lfp,3.3,9.9,86,\n"


def refusal(text: str) -> list[str]:
    """What a list is refused with."""
    with pytest.raises(PackFileError) as error:
        parse_offers(text.encode(), "cells.csv")
    return error.value.lines()


def test_a_list_is_read_with_its_prices() -> None:
    """Figures as written, the rest by the format; a price may be missing."""
    found = parse_offers(GOOD.encode(), "cells.csv")
    first, second = found.offers
    assert (first.name, first.price, found.price_unit) == ("tall one", 4.2, "eur")
    assert (first.cell.capacity_ah, first.cell.continuous_a, first.cell.mass_g) == (5.0, 10.0, 70.0)
    assert first.cell.diameter_mm == cell_formats()["21700"].diameter_mm
    assert (second.name, second.price) == ("26650 lfp", None)
    assert second.cell.full_v == 3.65
    assert dict(second.given)["capacity_ah"] == 3.3
    assert not found.assumed


def test_comments_and_empty_lines_don_t_count_but_keep_their_lines() -> None:
    """A fault is reported at the line where the editor shows it."""
    text = "# our drawer\n\n" + GOOD + "\n# more\nx,18650,nmc,lots,5,45,1\n"
    (line,) = refusal(text)
    assert line == (
        "cells.csv:8: capacity_ah: is not a number (lots), write a number with a point, no unit"
    )


def test_a_can_of_ones_own_needs_its_sizes_and_volts() -> None:
    """Any format goes with measured sizes; any chemistry with its three volts."""
    head = (
        "format,chemistry,capacity_ah,continuous_a,mass_g,measured_diameter_mm,"
        "measured_length_mm,empty_v,nominal_v,full_v\n"
    )
    own = parse_offers((head + "20650,nix,2.0,10,50,20.2,65.1,2.6,3.4,4.1\n").encode(), "c.csv")
    (offer,) = own.offers
    assert (offer.cell.diameter_mm, offer.cell.nominal_v) == (20.2, 3.4)
    assert offer.size.format == "20650"
    told = refusal(HEAD + "a,20650,nmc,2.0,10,50,1\nb,18650,nix,2.0,10,50,1\n")
    assert told[0].startswith("cells.csv:2: format: is not a built-in size")
    assert told[1].startswith("cells.csv:3: chemistry: is not a chemistry with built-in voltages")
    assert "add empty_v, nominal_v, full_v" in told[1]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "cells.csv:1: file: is empty"),
        (HEAD, "cells.csv:1: file: lists no cell"),
        ("format,chemistry\n18650,nmc\n", "cells.csv:1: header: lacks columns (capacity_ah, "),
        (HEAD.replace("mass_g", "mas_g") + "a,18650,nmc,2,2,4,1\n",
         "cells.csv:1: header: is not a known column (mas_g), write mass_g"),
        ("format,format\n", "cells.csv:1: header: has a column twice (format)"),
        (HEAD.replace("name", "price_usd"), "cells.csv:1: header: has several prices"),
        (HEAD.replace(",", ";"), "cells.csv:1: file: uses ; as separator, use commas"),
        (HEAD + "a,18650,nmc,2\n", "cells.csv:2: file: has 4 values for 7 columns"),
        (HEAD + "a,18650,nmc,,2,40,1\n", "cells.csv:2: capacity_ah: is empty"),
        (HEAD + "a,18650,nmc,-2,2,40,1\n", "cells.csv:2: capacity_ah: must be more than 0"),
        (HEAD + "a,18650,nmc,2,2,40,-1\n", "cells.csv:2: price_eur: is below 0 (-1)"),
        (HEAD + "a,18650,nmc,nan,2,40,1\n", "cells.csv:2: capacity_ah: is not a number (nan)"),
        (HEAD + "a,4680,nmc,20,20,350,1\n", "cells.csv:2: format: is a cell with both terminals"),
        (HEAD + 'a,"18650\n', "cells.csv:2: file: is not a CSV table"),
        (HEAD + "n" * 60 + ",18650,nmc,2,2,40,1\n", "cells.csv:2: name: is too long"),
    ],
)  # fmt: skip
def test_faults_are_told_with_their_line(text: str, told: str) -> None:
    """Each fault in one line that begins with file and line."""
    assert any(line.startswith(told) for line in refusal(text)), refusal(text)


def test_all_faults_are_told_at_once() -> None:
    """Two bad lines give two faults, in order."""
    told = refusal(HEAD + "a,18650,nmc,-1,2,40,1\nb,18650,nmc,2,x,40,1\n")
    assert [line.split(": ")[0] for line in told] == ["cells.csv:2", "cells.csv:3"]


def test_files_that_can_t_be_read_are_refused(tmp_path: Path) -> None:
    """Missing, not text, too large."""
    with pytest.raises(PackFileError, match=r"none\.csv:1: file: can't be read"):
        read_offers(tmp_path / "none.csv")
    (tmp_path / "odd.csv").write_bytes(b"\xff\xfe\x00\x01")
    with pytest.raises(PackFileError, match="is not UTF-8 text"):
        read_offers(tmp_path / "odd.csv")
    (tmp_path / "long.csv").write_text(GOOD + "#" * 300_000, encoding="utf-8")
    with pytest.raises(PackFileError, match="is too large"):
        read_offers(tmp_path / "long.csv")


def test_too_many_cells_are_refused() -> None:
    """A list that would take minutes is not begun."""
    (line,) = refusal(HEAD + "a,18650,nmc,2,2,40,1\n" * 201)
    assert "lists too many cells (201), keep 200" in line


def test_cells_of_one_name_are_told_apart() -> None:
    """The second of a name carries a number, since plot and table go by names."""
    found = parse_offers((HEAD + "a,18650,nmc,2,2,40,1\n" * 2).encode(), "c.csv")
    assert [offer.name for offer in found.offers] == ["a", "a (2)"]


def test_built_in_cells_are_the_pack_files_defaults() -> None:
    """Every built-in size is there, with what a pack file without figures assumes."""
    found = built_in_offers()
    assert {offer.cell.format for offer in found.offers} == set(cell_formats())
    assert found.assumed
    offer = found.offers[0]
    text = f"name: a\nseries: 1\nparallel: 1\ncell: {{format: '{offer.cell.format}'}}\n"
    assert parse_pack(text.encode(), "a.yaml").pack.cell == offer.cell
