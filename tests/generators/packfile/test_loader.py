"""The strict reader: what it takes for a number, and what it refuses."""

from __future__ import annotations

import pytest

from generators.packfile.loader import DEEPEST, LARGEST_BYTES, MOST_VALUES, load


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        # YAML 1.2.2, chapter 10.3.2, core schema: tag resolution
        ("12", 12),
        ("-7", -7),
        ("+7", 7),
        ("012", 12),
        ("0o14", 12),
        ("0xC", 12),
        ("1.5", 1.5),
        (".5", 0.5),
        ("1.", 1.0),
        ("1e3", 1000.0),
        ("-1.5E-2", -0.015),
        ("true", True),
        ("False", False),
        ("yes", "yes"),
        ("off", "off"),
        ("1:30", "1:30"),
        ("1_000", "1_000"),
        ("0b11", "0b11"),
        ('"12"', "12"),
        ("'true'", "true"),
        ("2024-05-01", "2024-05-01"),
        ("nan", "nan"),
    ],
)
def test_scalars_follow_the_core_schema(written: str, meant: object) -> None:
    """Plain words become what YAML 1.2's core schema says, of the same type."""
    value = load(f"key: {written}\n".encode()).values["key"]
    assert value == meant
    assert type(value) is type(meant)


def test_every_key_has_its_line() -> None:
    """Keys in sections, lists, flow style and after comments are found in their own lines."""
    text = "# one\na:\n  b: 1\n  c:\n    - x\n    - {d: 2,\n       e: 3}\nf: 4\n"
    document = load(text.encode())
    assert document.faults == ()
    assert document.line(("a", "b")) == 3
    assert document.line(("a", "c", 1)) == 6
    assert document.line(("a", "c", 1, "e")) == 7
    assert document.line(("f",)) == 8
    assert document.line(("a", "unknown", "deeper")) == 2


def test_carriage_returns_count_as_one_line() -> None:
    """A file from another system has the same lines as in its editor."""
    assert load(b"a: 1\r\nb: 2\r\n").line(("b",)) == 2


def test_a_byte_order_mark_is_no_part_of_the_first_key() -> None:
    """Some editors put one in front."""
    assert load(b"\xef\xbb\xbfa: 1\n").values == {"a": 1}


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        (b"", 1, "is empty"),
        (b"# nothing but a remark\n", 1, "is empty"),
        (b"---\n", 1, "is empty"),
        (b"- a\n- b\n", 1, "a list"),
        (b"\njust words\n", 2, "a single value"),
        (b"a: 1\nb: [1, 2\nc: 3\n", 3, "not readable as YAML"),
        (b"a: 1\nb: {x: 1\n", 3, "not readable as YAML"),
        (b"a: 1\n\tb: 2\n", 2, "not readable as YAML"),
        (b"a: b: c\n", 1, "not readable as YAML"),
        (b'a: "\\UFFFFFFFF"\n', 1, "not readable as YAML"),
        (b"%YAML " + b"9" * 5000 + b".1\n---\na: 1\n", 1, "not readable as YAML"),
        (b"a: 1\n---\nb: 2\n", 2, "several documents"),
        (b"a: 1\nb: \xff\n", 2, "not UTF-8"),
        (b"a: 1\nb: x\x07y\n", 2, "control character (U+0007)"),
        ("a: 1\nb: x\u2028y\n".encode(), 2, "control character (U+2028)"),
        (b"a: x\x00\n", 1, "control character (U+0000)"),
    ],
)
def test_what_is_no_pack_file_stops_with_its_line(text: bytes, line: int, says: str) -> None:
    """Each kind of unreadable file has one fault, at the line where it shows."""
    document = load(text)
    assert not document.whole
    (fault,) = document.faults
    assert says in fault.told("p.yaml")
    assert fault.line == line


@pytest.mark.parametrize(
    ("text", "line", "field", "says"),
    [
        (b"a: 1\na: 2\n", 2, "a", "given twice (first in line 1)"),
        (b"s:\n  b: 1\n  c: 2\n  'b': 3\n", 4, "s.b", "given twice (first in line 2)"),
        (b"a: &x 1\nb: 2\n", 1, "a", "anchor (&x)"),
        (b"a: &x 1\nb: *x\n", 2, "b", "alias (*x)"),
        (b"&x a: 1\n", 1, "a", "at its key (&x)"),
        (b"a: !!python/object:os.system 1\n", 1, "a", "has a tag"),
        (b"a: !!str 1\n", 1, "a", "has a tag"),
        (b"!!map\na: 1\n", 1, "file", "has a tag"),
        (b"a: .nan\n", 1, "a", "not a finite number (.nan)"),
        (b"a: [1, -.inf]\n", 1, "a entry 2", "not a finite number (-.inf)"),
        (b"a: 1e999\n", 1, "a", "not a finite number (1e999)"),
        (b"a: " + b"1" * 41 + b"\n", 1, "a", "longer than 40 characters"),
        (b"a:\nb: 1\n", 1, "a", "is empty"),
        (b"a: null\n", 1, "a", "is empty (null)"),
        (b"? [1, 2]\n: 3\n", 1, "file", "not a plain word"),
        (b'a: "\\uD800"\n', 1, "a", "control character"),
        (b'"\\uD800": 1\n', 1, "\\ud800", "control character"),
    ],
)
def test_what_is_refused_leaves_the_rest_readable(
    text: bytes, line: int, field: str, says: str
) -> None:
    """Each such thing is one fault at its line, and reading goes on behind it."""
    document = load(text + b"last: 7\n")
    told = {fault.told("p.yaml"): fault for fault in document.faults}
    found = [fault for words, fault in told.items() if says in words]
    assert [(fault.line, fault.field) for fault in found] == [(line, field)]
    assert document.whole
    assert document.values["last"] == 7


def test_an_alias_bomb_is_refused_before_it_grows() -> None:
    """Nine levels of nine aliases would stand for 387 million values; none of them is built."""
    levels = "".join(
        f"l{i}: &l{i} [{', '.join([f'*l{i - 1}' if i else '1'] * 9)}]\n" for i in range(10)
    )
    document = load(levels.encode())
    assert sum("alias" in fault.why for fault in document.faults) == 81
    assert document.values["l0"] == (1,) * 9
    assert "l1" not in document.values


@pytest.mark.parametrize("opening", ["[", "{a: ", "- ", "? "])
def test_deep_nesting_is_refused(opening: str) -> None:
    """Thousands of levels do not end Python's stack."""
    document = load(b"a: " * (opening != "- ") + opening.encode() * 20_000)
    assert not document.whole
    assert document.faults


def test_nesting_up_to_the_limit_is_read() -> None:
    """The limit itself passes, one more does not."""
    deep = b"a: " + b"[" * DEEPEST + b"1" + b"]" * DEEPEST
    assert "nested too deep" in load(deep).faults[0].why
    deep = b"a: " + b"[" * (DEEPEST - 1) + b"1" + b"]" * (DEEPEST - 1)
    assert load(deep).faults == ()


def test_size_is_limited_in_bytes() -> None:
    """The largest file is read, one more byte is not."""
    line = b"a: 1\n"
    assert load(line + b"#" * (LARGEST_BYTES - len(line))).faults == ()
    assert "too large" in load(line + b"#" * (LARGEST_BYTES - len(line) + 1)).faults[0].why


def test_count_of_values_is_limited() -> None:
    """A long list stops the reader early, at the line where it is too much."""
    document = load(b"a:\n" + b"- 1\n" * (MOST_VALUES + 10))
    assert "too many values" in document.faults[0].why
    assert document.faults[0].line == MOST_VALUES + 1
