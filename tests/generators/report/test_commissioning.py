"""The commissioning sheet: what it asks, this pack's figures beside blanks."""

from __future__ import annotations

import re
from functools import cache

from generators.packfile.resolve import parse_pack
from generators.report.commissioning import commissioning_html
from layouts.placing.values import Effort
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.planning.trials import proof_pulls, trial_runs

TEXT = """name: pond-lamp
cell: {format: "18650", capacity_ah: 2.5, continuous_a: 8, internal_resistance_mohm: 25}
series: 3
parallel: 2
"""


@cache
def sheet(more: str) -> tuple[PackPlan, str]:
    """The plan of the text with more sections, and its page."""
    plan = plan_pack(parse_pack((TEXT + more).encode(), "x.yaml").pack, effort=Effort.QUICK)
    return plan, commissioning_html(plan, mass_kg=0.8)


def rows(page: str, title: str) -> list[list[str]]:
    """Cells of the table with a title, as text; a blank is empty."""
    (table,) = re.findall(rf"<h3>{re.escape(title)}</h3>(.*?)</table>", page, re.DOTALL)
    body = table.split("<tbody>")[1]
    cells = [re.findall(r"<td[^>]*>(.*?)</td>", row) for row in body.split("<tr>")[1:]]
    return [[re.sub(r"<[^>]*>", "", cell) for cell in row] for row in cells]


def test_every_bracket_and_direction_has_its_proof_load() -> None:
    """Six pulls on the whole, and each bracket's share, by the loads of its check."""
    plan, page = sheet("load: {continuous_a: 4}\n")
    pulls = proof_pulls(plan, mass_kg=0.8)
    assert pulls is not None
    whole = rows(page, "Pulls on the whole enclosure")
    assert [row[1] for row in whole] == 4 * [f"{pulls.level_kg:.1f}"] + 2 * [
        f"{pulls.upright_kg:.1f}"
    ]
    each = rows(page, "Or a bracket alone, screwed to a board")
    assert len(each) == len(pulls.brackets) == len(plan.enclosure.pads)
    assert [row[1] for row in each] == [f"{one.off_kg:.1f}" for one in pulls.brackets]
    assert all(row[-1] == "" for row in (*whole, *each))


def test_expected_values_stand_beside_stops_and_blanks() -> None:
    """Drop and temperatures of both runs, and the limit of cells and plastic."""
    plan, page = sheet("load: {continuous_a: 4}\n")
    half, full = trial_runs(plan.electrical, series=3)
    for run, title in (
        (half, "10 minutes at half load, 2.0 A"), (full, "60 minutes at full load, 4.0 A"),
    ):  # fmt: skip
        found = {row[0]: row[1:] for row in rows(page, title)}
        drop = found["voltage drop, pack and main leads"]
        assert drop == [f"{run.sag_v:.2f} V", f"{1.5 * run.sag_v:.2f} V", ""]
        assert found["warmest cell"][0] == f"air + {run.cell_rise_k:.0f} K"
        assert found["warmest cell"][1].startswith(f"{plan.electrical.heat.limits.lowest_c:.0f} ")
        assert found["lowest pack voltage"][1] == "below 8.4 V"


def test_it_asks_to_look_again_and_defers_to_local_codes() -> None:
    """Paint, slide, bounce, rubbed cables after 1 and 10 h; insulation; cautions."""
    _, page = sheet("load: {continuous_a: 4}\n")
    again = rows(page, "Everything that may have moved")
    words = " ".join(row[0] for row in again)
    assert all(word in words for word in ("paint", "slide", "bounce", "rubbed", "inserts"))
    assert "after 1 h" in page and "after 10 h" in page
    assert len(rows(page, "Insulation resistance")) == 4
    for word in ("burn", "local codes and licensed practice", "without warning", "no cell in it"):
        assert word in page


def test_without_a_load_or_an_enclosure_no_figure_is_made_up() -> None:
    """Then the mounting is the builder's: a sentence, with kilograms where a load gives them."""
    _, bare = sheet("enclosure: {style: none}\n")
    assert "No load is given" in bare and "Pulls on the whole" not in bare
    _, loaded = sheet("enclosure: {style: none}\nload: {continuous_a: 4}\n")
    assert "4 kg on a spring scale" in loaded  # 1.25 x 0.8 kg x 4 g
    assert "6 kg up and down" in loaded


def test_braking_has_its_own_line() -> None:
    """The voltage that the motor raises a full pack to."""
    _, page = sheet("enclosure: {style: none}\nload: {continuous_a: 4, regeneration_a: 2}\n")
    (line,) = [row for row in rows(page, "Wheels up") if "braking" in row[0]]
    assert float(line[1].split()[0]) > 12.6


def test_nothing_comes_from_outside() -> None:
    """No link but on the page, and every blank has a name of its own."""
    _, page = sheet("load: {continuous_a: 4}\n")
    assert not re.search(r"(?:src|href)=[\"'](?!#)", page) and "://" not in page
    kept = re.findall(r'data-keep="(\w+)"', page)
    assert len(kept) == len(set(kept)) > 40
