"""The pack of a file with some keys at other values, as if the file had them."""

from __future__ import annotations

from pathlib import Path

import pytest

from generators.packfile.faults import PackFileError
from generators.packfile.resolve import read_pack
from tests.generators.packfile.files import PLAIN, read


def test_keys_are_set_in_sections_that_are_there_or_not() -> None:
    """The same pack as that of a file with these values; the read one stays."""
    found = read(PLAIN + "strip: {layers: 2}\n")
    changed = found.changed({"strip.thickness_mm": 0.15, "parallel": 5, "leads.side": "-y"})
    written = PLAIN.replace("parallel: 4", "parallel: 5")
    written += 'strip: {layers: 2, thickness_mm: 0.15}\nleads: {side: "-y"}\n'
    assert changed == read(written).pack
    assert found.pack == read(PLAIN + "strip: {layers: 2}\n").pack


def test_a_key_that_stands_under_its_former_name_is_replaced() -> None:
    """One key, not two names of it."""
    found = read(PLAIN + "strip: {density_a_mm2: 5}\n")
    changed = found.changed({"strip.current_density_a_mm2": 6.0})
    assert changed.strip.current_density_a_mm2 == 6.0


def test_what_the_rules_refuse_is_refused() -> None:
    """A change is checked as a file is."""
    with pytest.raises(PackFileError, match=r"holder\.web_mm"):
        read(PLAIN).changed({"holder.web_mm": 0.3})


def test_a_space_in_a_file_of_its_own_stays(tmp_path: Path) -> None:
    """Paths count from where they did."""
    (tmp_path / "bay.yaml").write_text("box_mm: [300, 300, 200]\n", encoding="utf-8")
    file = tmp_path / "pack.yaml"
    file.write_text(PLAIN + "space: bay.yaml\n", encoding="utf-8")
    changed = read_pack(file).changed({"parallel": 3})
    assert changed.space is not None and changed.space.box_mm == (300.0, 300.0, 200.0)
    assert changed.parallel == 3
