"""Packs whose holders and tubs had places that no printer makes: nothing is found there."""

from __future__ import annotations

import pytest

from generators.packfile.resolve import parse_pack
from layouts.planning.pack_plan import plan_pack
from layouts.planning.parts_list import parts_of
from layouts.printable.ceilings import BRIDGES
from layouts.printable.finding import Severity
from layouts.printable.judging import printability

# a landing that the partition runs along and turns away from, and gaps between cells so large that
# only a square over the pin there shortens the lines; a tile's tab over a plate's channel
LANDING = (
    "name: own\ncell: {format: '32700', capacity_ah: 6}\nseries: 6\nparallel: 2\n"
    "lattice: honeycomb\nenclosure: {style: fitted}\nload: {continuous_a: 15}\n"
)
TILES = (
    "name: own\ncell: {format: '21700', capacity_ah: 5}\nseries: 13\nparallel: 5\nlattice: grid\n"
    "printer: {bed_mm: [220, 220, 250]}\nload: {continuous_a: 20}\nholder: {ring_mm: 0.2}\n"
)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("text", "names"),
    [
        (LANDING, {"tub", "holder-lower", "holder-upper"}),
        (TILES, {"holder-lower-1", "holder-lower-2"}),
    ],
)
def test_nothing_fails(text: str, names: set[str]) -> None:
    """The parts as planned, layer by layer."""
    pack = parse_pack(text.encode(), "own.yaml").pack
    parts = [part for part in parts_of(plan_pack(pack)) if part.name in names]
    assert {part.name for part in parts} == names
    found = printability(parts, pack.printer).findings
    assert not [one.what for one in found if one.severity is Severity.FAILS]
    assert not [one.what for one in found if one.kind == BRIDGES.id]
