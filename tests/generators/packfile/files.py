"""Invented pack files for tests, and what the reader says of them."""

from __future__ import annotations

from generators.packfile.faults import PackFileError
from generators.packfile.resolve import ReadPack, parse_pack

PLAIN = """\
name: my-pack
cell: {format: "21700", chemistry: nmc, capacity_ah: 4.8, continuous_a: 15, internal_resistance_mohm: 14, mass_g: 69}
series: 10
parallel: 4
"""  # noqa: E501
# four lines, so what a test adds begins in line 5


def read(text: str | bytes) -> ReadPack:
    """A sound file, read."""
    return parse_pack(text if isinstance(text, bytes) else text.encode(), "p.yaml")


def refused(text: str | bytes) -> list[str]:
    """The lines that tell the faults of a file; fails the test where it is sound."""
    try:
        read(text)
    except PackFileError as error:
        return error.lines()
    raise AssertionError("the file was taken")


def added(text: str) -> list[str]:
    """The same for the plain file with lines added from line 5 on."""
    return refused(PLAIN + text)
