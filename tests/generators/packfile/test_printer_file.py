"""The printer in a file of its own: what wins, whose file and line a fault names. All invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from generators.packfile.faults import PackFileError
from generators.packfile.resolve import ReadPack, parse_pack
from tests.generators.packfile.files import PLAIN, added

MINE = """\
# measured by hand
hole_mm: 0.15
outside_mm: 0.08
shrink_percent: [0.4, 0.3, 0.0]
foot_mm: 0.2
measured: 2026-03-31
bed_mm: [250, 250, 240]
speeds_mm_s: {outer: 40, inner: 60}
"""
NAMED = "printer: {profile: shop/mine.yaml}\n"


def read(folder: Path, profile: str, text: str = NAMED) -> ReadPack:
    """A pack file that names a profile."""
    (folder / "shop").mkdir(exist_ok=True)
    (folder / "shop" / "mine.yaml").write_text(profile, encoding="utf-8")
    return parse_pack((PLAIN + text).encode(), str(folder / "p.yaml"))


def refused(folder: Path, profile: str, text: str = NAMED) -> list[str]:
    """The faults, paths as seen from the folder."""
    with pytest.raises(PackFileError) as caught:
        read(folder, profile, text)
    return [line.replace(f"{folder}/", "") for line in caught.value.lines()]


def test_a_profile_gives_what_the_pack_file_leaves_open(tmp_path: Path) -> None:
    """Key by key, in sections of the section too; a changed key wins over the profile."""
    printer = read(tmp_path, MINE).pack.printer
    assert (printer.hole_mm, printer.outside_mm, printer.foot_mm) == (0.15, 0.08, 0.2)
    assert printer.shrink_percent == (0.4, 0.3, 0.0)
    assert (printer.measured, printer.profile) == ("2026-03-31", "shop/mine.yaml")
    text = "printer:\n  profile: shop/mine.yaml\n  hole_mm: 0.1\n  speeds_mm_s: {inner: 70}\n"
    both = read(tmp_path, MINE, text)
    assert (both.pack.printer.hole_mm, both.pack.printer.outside_mm) == (0.1, 0.08)
    speeds = both.pack.printer.speeds_mm_s
    assert (speeds.outer, speeds.inner) == (40, 70)
    changed = both.changed({"printer.bed_mm": [300, 300, 240]}).printer
    assert (changed.bed_mm, changed.outside_mm) == ((300, 300, 240), 0.08)


def test_faults_name_the_file_that_they_stand_in(tmp_path: Path) -> None:
    """Values, words, dates and rules between keys of both files, each at its own line."""
    mine = "shop/mine.yaml"
    for profile, text, told in (
        ("hole_mm: 1\n", NAMED, [f"{mine}:1: hole_mm: must be at most 0.5 (1), use at most 0.5"]),
        ("\nshrink_percent: [200, 0, 0]\n", NAMED,
         [f"{mine}:2: shrink_percent entry 1: must be at most 5 (200), use at most 5"]),
        ("speeds_mm_s: {outer: slow}\n", NAMED,
         [f"{mine}:1: speeds_mm_s.outer: must be a number, not text (slow), write a number"]),
        ("holes_mm: 0.1\n", NAMED,
         [f"{mine}:1: holes_mm: is not a known key (holes_mm), write hole_mm"]),
        ("measured: 2026-02-30\n", NAMED,
         [f"{mine}:1: measured: is not a day of the calendar (2026-02-30), write "
          "year-month-day, such as 2026-03-31"]),
        ("measured: last week\n", NAMED,
         [f"{mine}:1: measured: is not a date (last week), write year-month-day, such as "
          "2026-03-31"]),
        ("layer_mm: 0.32\n", NAMED,
         [f"{mine}:1: layer_mm: is more than 0.75 of the nozzle diameter of 0.4 mm (0.32), use "
          "layers of 0.1 to 0.3"]),
        ("layer_mm: 0.4\nnozzle_mm: 0.8\n", f"{NAMED}holder: {{web_mm: 1.45}}\n",
         ["p.yaml:6: holder.web_mm: is less than two lines of a nozzle of 0.8 mm (1.45), use at "
          "least 1.6, better 2.4"]),
        ("nozzle_mm: 0.8\n", "printer:\n  profile: shop/mine.yaml\n  layer_mm: 0.1\nholder: "
         "{web_mm: 2}\n",
         ["p.yaml:7: printer.layer_mm: is less than 0.25 of the nozzle diameter of 0.8 mm (0.1), "
          "use layers of 0.2 to 0.6"]),
        ("hole_mm: 0.1\nbed_mm: [18, 18, 60]\n", NAMED,
         [f"{mine}:2: bed_mm entry {k}: must be at least 100 ({v}), use at least 100"
          for k, v in ((1, 18), (2, 18), (3, 60))]),
        ("hole_mm: 0.1\nhole_mm: 0.2\n", NAMED,
         [f"{mine}:2: hole_mm: is given twice (first in line 1), delete one of the two"]),
        ("hole_mm: [\n", NAMED,
         [f"{mine}:2: file: is not readable as YAML (expected the node content, but found "
          "'<stream end>'), check colons, quotes, brackets and indentation"]),
        ("", NAMED, [f"{mine}:1: file: is empty, give keys of the section printer, such as "
                     "hole_mm"]),
        ("profile: other.yaml\n", NAMED,
         [f"{mine}:1: profile: names a file that names a profile too, delete it there"]),
    ):  # fmt: skip
        assert refused(tmp_path, profile, text) == told
    assert refused(tmp_path, MINE, "\nprinter:\n  profile: shop/none.yaml\n") == [
        "p.yaml:7: printer.profile: can't be read: No such file or directory (shop/none.yaml), "
        "give the path of a YAML file relative to this file's folder"
    ]


def test_values_out_of_bounds_are_refused_in_the_pack_file() -> None:
    """Each at its line, with its limit."""
    for text, told in (
        ("printer: {shrink_percent: [0, 200, 0]}\n",
         "5: printer.shrink_percent entry 2: must be at most 5 (200), use at most 5"),
        ("printer: {shrink_percent: [0, 0, -2]}\n",
         "5: printer.shrink_percent entry 3: must be at least -1 (-2), use at least -1"),
        ("printer:\n  hole_mm: 1\n",
         "6: printer.hole_mm: must be at most 0.5 (1), use at most 0.5"),
        ("printer:\n  outside_mm: -1\n",
         "6: printer.outside_mm: must be at least -0.5 (-1), use at least -0.5"),
        ("printer:\n  foot_mm: -0.1\n",
         "6: printer.foot_mm: must be at least 0 (-0.1), use at least 0"),
        ("printer: {bed_mm: [18, 220, 250]}\n",
         "5: printer.bed_mm entry 1: must be at least 100 (18), use at least 100"),
        ("printer: {profile: 3}\n",
         '5: printer.profile: must be text, not a number (3), put it in quotes: "3"'),
    ):  # fmt: skip
        assert added(text) == [f"p.yaml:{told}"]
