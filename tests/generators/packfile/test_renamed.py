"""Former names of keys: read as the present ones, and said to be renamed."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import pytest

from generators import cli
from generators.packfile.faults import PackFileError
from generators.packfile.machine_models import BracketWord
from generators.packfile.messages import all_keys
from generators.packfile.renamed import RENAMED, Renamed
from generators.packfile.resolve import parse_pack
from generators.packfile.schema import pack_schema
from layouts.brackets.registry import KINDS, kind_named
from layouts.errors import PlanError
from tests.generators.packfile.files import PLAIN, added, read

# by present key: the section's lines with that key, whose value is not the default
WITH = {
    "web_recess_mm": "holder:\n  {}: 0.2\n",
    "current_density_a_mm2": "strip:\n  {}: 5\n",
    "kind": "mount:\n  {}: angle\n",
    "minus_side": 'grouping:\n  {}: "-y"\n',
    "plus_side": 'grouping:\n  {}: "+y"\n',
    "exclude_mm": "enclosure: {{style: none}}\nspace: {{box_mm: [400, 300, 200]}}\n"
    "grouping:\n  {}: [[1, 2], [30, 4]]\n",
    "discharge_cutoff_v": "load:\n  {}: 30\n  continuous_a: 5\n",
}
ALL = pytest.mark.parametrize("one", RENAMED, ids=lambda one: ".".join(one.former))


def texts(one: Renamed) -> tuple[str, str]:
    """A file with a key's former name, and the same with its present one."""
    form = WITH[one.present[-1]]
    return PLAIN + form.format(one.former[-1]), PLAIN + form.format(one.present[-1])


def line_of(text: str, key: str) -> int:
    """Line of a key that stands on a line of its own, from 1."""
    (line,) = (n for n, row in enumerate(text.splitlines(), 1) if row.strip().startswith(f"{key}:"))
    return line


@ALL
def test_a_former_name_gives_the_same_pack_and_is_cautioned(one: Renamed) -> None:
    """The caution has file and line, the former key and the present one, and comes first."""
    former, present = texts(one)
    found, meant = read(former), read(present)
    assert found.pack == meant.pack
    assert meant.renamed == ()
    assert found.cautions == (*found.renamed, *meant.cautions)
    (caution,) = found.renamed
    assert caution.told() == (
        f"p.yaml:{line_of(former, one.former[-1])}: {'.'.join(one.former)}: renamed to "
        f"{'.'.join(one.present)}; the former name is still read, write the new one"
    )


@ALL
def test_the_value_under_a_former_name_matters(one: Renamed) -> None:
    """Without the key the pack is another one, but for a value that is the default."""
    former, _ = texts(one)
    line = line_of(former, one.former[-1])
    without = [row for n, row in enumerate(former.splitlines(), 1) if n != line]
    text = "\n".join(without).replace("grouping:", "").replace("holder:", "")
    text = text.replace("strip:", "").replace("mount:", "")
    assert (read(text + "\n").pack == read(former).pack) is (one.present[-1] == "kind")


@ALL
def test_both_names_of_a_key_are_a_fault(one: Renamed) -> None:
    """Whichever stands first, with the line of the other; the rest is still checked."""
    former, present = one.former[-1], one.present[-1]
    for first, second in ((former, present), (present, former)):
        text = PLAIN + WITH[present].format(first)
        at = line_of(text, first)
        rows = text.splitlines()
        rows.insert(at, rows[at - 1].replace(first, second))
        with pytest.raises(PackFileError) as caught:
            parse_pack(("\n".join(rows) + "\nzzz: 1\n").encode(), "p.yaml")
        line, other = caught.value.lines()
        written = line_of("\n".join(rows), former), line_of("\n".join(rows), present)
        assert line.startswith(
            f"p.yaml:{written[0]}: {'.'.join(one.former)}: is the former name of "
            f"{'.'.join(one.present)}, which line {written[1]} gives too"
        )
        assert line.endswith(f", delete {former}")
        assert ": zzz: is not a known key" in other


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("holder: {floor_behind_mm: 5}\n",
         "5: holder.floor_behind_mm: must be at most 0.6 (5), use at most 0.6"),
        ("grouping: {forbid_mm: [[1, x]]}\n",
         "5: grouping.forbid_mm entry 1.2: must be a number, not text (x), write a number"),
        ("grouping: {forbid_mm: [[1, 2]]}\n",
         "5: grouping.forbid_mm: is only for cells placed in the outline of a space, without a "
         "tub (a list of 1), give a space and enclosure: {style: none}, or delete it"),
        ("load: {cutoff_v: 42, continuous_a: 5}\n",
         "5: load.cutoff_v: is not below the 42.0 V of the fully charged pack (42), give the "
         "voltage at which the discharge stops"),
        ("mount: {offers:}\n", "5: mount.offers: is empty, give a value or delete the key"),
        ("mount: {offers: glue}\n",
         "5: mount.offers: must be angle, flat, sheet, round_clamp, "
         "square_clamp or script (glue), write angle"),
        ("mount: {kind: glue}\n",
         "5: mount.kind: must be angle, flat, sheet, round_clamp, "
         "square_clamp or script (glue), write angle"),
        ("mount: 5\n",
         "5: mount: must be a section of keys, not a number (5), write its keys below it, "
         "or {key: value, ...}"),
    ],
)  # fmt: skip
def test_faults_call_a_key_as_the_file_does(text: str, told: str) -> None:
    """Who reads the line finds that very word there."""
    assert added(text) == [f"p.yaml:{told}"]


def test_a_plans_refusal_calls_a_key_as_the_file_does() -> None:
    """Also what is found long after reading."""
    found = read(PLAIN + "load:\n  continuous_a: 5\n  cutoff_v: 30\n")
    error = PlanError(field="load.discharge_cutoff_v", why="is wrong", remedy="use another")
    (line,) = found.refused(error).lines()
    assert line == "p.yaml:7: load.cutoff_v: is wrong (30), use another"


@pytest.mark.parametrize(
    ("text", "field", "says"),
    [
        ("mount: {offers: plate}\n", "mount.offers",
         "renamed to mount.kind, its value plate renamed to angle; "),
        ("mount: {kind: plate}\n", "mount.kind", "its value plate renamed to angle; "),
        ("mount: {offers: angle}\n", "mount.offers", "renamed to mount.kind; "),
    ],
)  # fmt: skip
def test_a_former_word_means_the_present_one(text: str, field: str, says: str) -> None:
    """Under either name of its key."""
    found = read(PLAIN + text)
    assert found.pack.mount.kind == "angle"
    (caution,) = found.renamed
    assert (caution.place, caution.field) == ("p.yaml:5", field)
    assert caution.text.startswith(says)


def test_several_former_names_are_told_in_order_of_lines() -> None:
    """Not in the order of our list."""
    text = PLAIN + "load: {continuous_a: 5, cutoff_v: 30}\nmount: {offers: plate}\n"
    text += "holder: {floor_behind_mm: 0.3}\n"
    assert [one.place for one in read(text).renamed] == ["p.yaml:5", "p.yaml:6", "p.yaml:7"]


def test_the_list_leads_from_keys_that_are_gone_to_keys_that_are_there() -> None:
    """A typing slip in the list would silently read nothing."""
    keys = {(*place, key) for place, names in all_keys().items() for key in names}
    assert {one.present for one in RENAMED} <= keys
    assert {one.former for one in RENAMED} & keys == set()
    assert len({one.former for one in RENAMED}) == len(RENAMED)
    assert {one.present[-1] for one in RENAMED} == set(WITH)


def test_the_words_of_a_bracket_are_the_registrys() -> None:
    """In the form, in the schema, and each kind's own name."""
    assert list(get_args(BracketWord)) == list(KINDS)
    assert [kind_named(word).name for word in KINDS] == list(KINDS)
    form = pack_schema()["$defs"]["MountSection"]["properties"]["kind"]
    assert form.get("enum", [form.get("const")]) == list(KINDS)
    assert form["default"] in KINDS
    words = {word for one in RENAMED if one.present[-1] == "kind" for word in one.words.values()}
    assert words <= set(KINDS)


def test_check_says_it_and_keeps_its_status(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The command line has the line among its cautions, and the pack is sound as before."""
    file = tmp_path / "p.yaml"
    file.write_text(PLAIN + "mount: {offers: plate}\n", encoding="utf-8")
    assert cli.main(["check", str(file)]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    assert f"caution: {file}:5: mount.offers: renamed to mount.kind, " in said.out
