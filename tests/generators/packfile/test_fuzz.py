"""Whatever is in the file, the reader gives a pack or faults in their one form."""

from __future__ import annotations

import json
import re

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from generators.packfile.faults import PackFileError
from generators.packfile.messages import all_keys
from generators.packfile.resolve import parse_pack

LINE = re.compile(r"p\.yaml:[1-9]\d*: [^\n]+?: [^\n]+, [^\n]+")
KEYS = all_keys()
SOUND = {"name": "a", "cell": {"format": "21700"}, "series": 3, "parallel": 2}

scalars = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.floats(0, 40), st.integers(0, 40),
    st.text(max_size=8), st.sampled_from(["nmc", "18650", "closed", "open", "+x", "M3", "46800"]),
)  # fmt: skip
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=4), inner),
    max_leaves=5,
)


def sections(name: str) -> st.SearchStrategy[object]:
    """A section with some of its keys and some that it has not, or anything else."""
    names = st.sampled_from(KEYS[(name,)]) | st.text(max_size=5)
    return st.dictionaries(names, values, max_size=6) | values


files = st.fixed_dictionaries(
    {}, optional={key: sections(key) if (key,) in KEYS else values for key in KEYS[()]}
)


def read_anything(data: bytes) -> None:
    """Read; each fault must be one printable line of the known form."""
    try:
        parse_pack(data, "p.yaml")
    except PackFileError as error:
        lines = error.lines()
        assert lines
        assert all(LINE.fullmatch(line) and line.isprintable() for line in lines), lines


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.binary(max_size=200))
def test_any_bytes(data: bytes) -> None:
    """Random bytes."""
    read_anything(data)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.text(alphabet="[]{}:,-?&*!|>'\"%@ \n\tabn0.e#~<\\U", max_size=60))
def test_any_text_of_yamls_own_characters(text: str) -> None:
    """Random text that is nearly YAML."""
    read_anything(text.encode())


@settings(
    max_examples=120, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
)
@given(files, st.booleans())
def test_any_values_at_known_keys(content: dict[str, object], sound: bool) -> None:
    """Known keys with values of all kinds, alone or on top of a sound file."""
    text = json.dumps({**SOUND, **content} if sound else content)
    for word, meant in (("-Infinity", "-.inf"), ("Infinity", ".inf"), ("NaN", ".nan")):
        text = text.replace(word, meant)
    read_anything(text.encode())
