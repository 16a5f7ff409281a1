"""The form of readings: filled in, left blank, and wrong. All values are invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from generators.gauges.form import FilledForm, form_text, read_form
from generators.packfile.faults import PackFileError
from layouts.gauges.sizes import gauge_sizes
from layouts.gauges.values import drawn_of
from tests.samples import sample_pack

DRAWN = drawn_of(gauge_sizes(sample_pack(), can_mm=21.15))
BLANK = form_text("sample", DRAWN)
FILLED = {
    "date": "2026-03-31",
    "filament": "PETG, grey",
    "can_mm": "21.16",
    "took_can": "[20, 30, 40]",
    "long_x_mm": "99.72",
    "short_x_mm": "20.04",
    "long_y_mm": "99.92",
    "short_y_mm": "20.08",
    "foot_x_mm": "100.02",
    "foot_y_mm": "100.22",
}
MORE = {
    "long_z_mm": "24",
    "short_z_mm": "3.6",
    "took_screw": "[2, 3, 4]",
    "insert_best": "1",
    "slots_open": "[3, 4, 5, 6]",
    "walls_whole": "[2, 3, 4]",
    "took_strip": "[3]",
}


def filled(values: dict[str, str], text: str = BLANK) -> str:
    """The form with some blanks filled in; each stands once."""
    for key, value in values.items():
        assert text.count(f"\n{key}:\n") == 1, key
        text = text.replace(f"\n{key}:\n", f"\n{key}: {value}\n")
    return text


def read(folder: Path, text: str) -> FilledForm:
    """The same read from a file."""
    path = folder / "readings.yaml"
    path.write_text(text, encoding="utf-8")
    return read_form(path)


def refused(folder: Path, text: str) -> list[str]:
    """Its faults, each from the field on."""
    with pytest.raises(PackFileError) as caught:
        read(folder, text)
    head = f"{folder}/readings.yaml:"
    return [line.removeprefix(head).partition(": ")[2] for line in caught.value.lines()]


def test_a_filled_form_gives_what_was_drawn_and_read(tmp_path: Path) -> None:
    """Figures as words, blanks as None, the drawn lengths as they were."""
    form = read(tmp_path, filled(FILLED | MORE))
    assert (form.date, form.filament) == ("2026-03-31", "PETG, grey")
    for name in ("pockets_mm", "long_mm", "short_mm", "screws_mm", "slots_mm", "notches_mm"):
        assert getattr(form.drawn, name) == pytest.approx(getattr(DRAWN, name)), name
    assert list(form.drawn.pockets) == ["0", "10", "20", "30", "40"]
    readings = form.readings
    assert (readings.can_mm, readings.took_can) == (21.16, ("20", "30", "40"))
    assert readings.long_mm == (99.72, 99.92, 24) and readings.short_mm == (20.04, 20.08, 3.6)
    assert readings.foot_mm == (100.02, 100.22)
    assert (readings.took_screw, readings.insert_best) == (("2", "3", "4"), "1")
    assert (readings.slots_open[0], readings.walls_whole[-1]) == ("3", "4")
    assert readings.took_strip == ("3",)
    least = read(tmp_path, filled(FILLED)).readings
    assert (least.long_mm[2], least.took_screw, least.insert_best) == (None, (), None)
    assert read(tmp_path, filled(FILLED | {"took_can": "[]"})).readings.took_can == ()


def test_blanks_that_are_needed_are_all_named(tmp_path: Path) -> None:
    """In one go, each with what belongs there."""
    told = refused(tmp_path, BLANK)
    assert [line.split(":")[0] for line in told] == list(FILLED)
    assert told[2] == "can_mm: is blank, fill in: diameter of the can that is tried, sleeve on, " \
        "the most of three places"  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ({"date": "31.3.2026"}, "date: is not a day (31.3.2026), write it as 2026-03-31"),
        ({"filament": "[a, b]"}, "filament: must be text, write a few words"),
        ({"can_mm": "wide"}, "can_mm: must be a length of 0.01 to 1000 mm (wide), write a number"),
        ({"can_mm": "-21"}, "can_mm: must be a length of 0.01 to 1000 mm (-21), write a number"),
        ({"took_can": "20"}, "took_can: must be a list of figures (20), write some of [0, 10, "),
        ({"took_can": "[21]"}, "took_can entry 1: is no figure beside one of these (21), write "),
        ({"insert_best": "[1]"}, "insert_best: must be one figure, write one of 1, 2, 3, 4"),
        ({"insert_best": "7"}, "insert_best: is no figure beside one of these (7), write one of "),
        ({"long_z_mm": "24"}, "short_z_mm: is blank, but long_z_mm is not, measure both"),
    ],
)
def test_a_wrong_value_is_told_with_its_line(
    tmp_path: Path, changes: dict[str, str], fault: str
) -> None:
    """And what would be right."""
    assert [line[: len(fault)] for line in refused(tmp_path, filled(FILLED | changes))] == [fault]


def test_a_form_that_was_altered_is_refused(tmp_path: Path) -> None:
    """A key that is none of its blanks, and lengths that no gauge was drawn with."""
    sound = filled(FILLED)
    assert refused(tmp_path, sound + "long_x: 3\n") == [
        "long_x: is not a blank of this form (long_x), write long_x_mm"
    ]
    assert refused(tmp_path, sound.split("drawn:")[0]) == [
        "drawn: is missing or no section of keys, give the form that cellstead gauge wrote, its "
        "last lines as they were"
    ]
    changed = sound.replace("long_mm: [100, 100, 24]", "long_mm: [100, 100]")
    changed = changed.replace("inserts_mm: [4, 4.1", "inserts_mm: [4, 3.9")
    assert [line.split(",")[0] for line in refused(tmp_path, changed)] == [
        "drawn.long_mm: is not as the gauge was drawn",
        "drawn.inserts_mm: is not as the gauge was drawn",
    ]
    with pytest.raises(PackFileError, match=r"none\.yaml:1: file: can't be read"):
        read_form(tmp_path / "none.yaml")
