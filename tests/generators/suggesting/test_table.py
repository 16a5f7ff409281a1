"""The table on screen and as CSV."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

from generators.suggesting.table import checks_word, csv_text, say_table
from layouts.suggesting.ranking import ranked
from layouts.suggesting.setting import Asked
from tests.generators.suggesting.test_plot import rows
from tests.suggesting_samples import offer

FOUND = ranked(rows(35), Asked(volts_v=36.0))


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """As a terminal says."""
        return True


def test_the_csv_has_all_rows_with_units_in_their_heads() -> None:
    """Every row once, readable, figures with their units."""
    table = list(csv.DictReader(io.StringIO(csv_text(FOUND, [offer()], "eur"))))
    assert [int(row["row"]) for row in table] == list(range(1, 36))
    first = table[0]
    assert float(first["energy_wh"]) == FOUND[0].row.energy_wh
    assert first["cost_eur"] == ""
    assert first["checks"] == "hold"
    assert first["reasons"].split("; ")[0] == FOUND[0].reasons[0]
    assert "cost_eur" not in csv_text(FOUND, [offer()], None).splitlines()[0]


def test_plain_output_is_aligned_and_says_how_much_more_there_is() -> None:
    """30 rows under their heads, then a word on the others."""
    out = io.StringIO()
    say_table(FOUND, [offer()], None, out)
    lines = out.getvalue().splitlines()
    assert len(lines) == 32
    assert lines[-1] == "5 more in suggestions.csv"
    column = lines[0].index("why")
    assert all(line[column - 2 : column] == "  " for line in lines[1:-1])


def test_a_terminal_gets_the_same_rows() -> None:
    """Numbers, names and reasons stand there too; a name is never taken for markup."""
    out = Terminal()
    cell = offer()
    say_table(FOUND, [cell], None, out)
    text = out.getvalue()
    assert "10S35P" in text
    assert "5 more in suggestions.csv" in text
    out = Terminal()
    say_table(FOUND[:1], [replace(cell, name="[bold]x")], None, out)
    assert "[bold]x" in out.getvalue()


def test_checks_in_a_word() -> None:
    """Not run, holding, or failing by name."""
    assert checks_word(None) == "not run"
    assert checks_word(()) == "hold"
    assert checks_word(("bed", "tile_keys")) == "bed tile_keys"
