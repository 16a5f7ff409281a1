"""Keys that are no more: taken with their one value, said to be read no more."""

from __future__ import annotations

import pytest

from generators.packfile.dropped import DROPPED, Dropped
from generators.packfile.key_list import key_list
from generators.packfile.messages import all_keys
from tests.generators.packfile.files import PLAIN, added, read

ALL = pytest.mark.parametrize("one", DROPPED, ids=lambda one: f"{one.section}.{one.key}")


@ALL
def test_its_one_value_gives_the_same_pack_and_is_cautioned(one: Dropped) -> None:
    """The caution has file and line; with a key beside it or none."""
    for beside in ("", "  wall_mm: 3\n"):
        written = read(f"{PLAIN}{one.section}:\n{beside}  {one.key}: {one.value}\n")
        assert written.pack == read(f"{PLAIN}{one.section}:\n{beside or '  {}'}\n").pack
        (caution,) = written.renamed
        assert caution.told() == (
            f"p.yaml:{7 if beside else 6}: {one.section}.{one.key}: {one.value} is its one value: "
            "the key is no longer read, delete it"
        )


@ALL
@pytest.mark.parametrize("value", ["other", "3", "true", "[1, 2]", "{a: 1}"])
def test_any_other_value_is_at_fault(one: Dropped, value: str) -> None:
    """With the reason, at its line, and once."""
    (line,) = added(f"{one.section}:\n  {one.key}: {value}\n")
    assert line.startswith(f"p.yaml:6: {one.section}.{one.key}: {one.why}")
    assert line.endswith(", delete it")


@ALL
def test_it_is_no_key_but_stands_in_the_list(one: Dropped) -> None:
    """Neither the form nor the schema has it; the list of keys tells its one value."""
    assert one.key not in all_keys()[one.section,]
    assert f"| `{one.section}.{one.key}` | `{one.value}` |" in key_list()


def test_a_broken_value_is_one_fault() -> None:
    """An empty value is told by the reader alone."""
    says = "is empty, give a value or delete the key"
    assert added("holder:\n  screw:\n") == [f"p.yaml:6: holder.screw: {says}"]
