"""The commands that ``same_files`` runs with both trees, and the invented packs they are given.

Each pack is as small as shows what it is there for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

__all__ = ["RUNS", "Run"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Run:
    """One command on files of its own, in an empty folder that it writes ``out`` to.

    ``example``: an example pack file that the tree itself prints, saved as ``pack.yaml``.
    """

    name: str
    words: tuple[str, ...]
    files: Mapping[str, str] = field(default_factory=dict)
    example: str | None = None

    @property
    def arguments(self) -> tuple[str, ...]:
        """What follows the tool's name on the command line."""
        return (*self.words, "--out", "out")


def _pack(name: str, series: int, parallel: int, *, cell: str = "'18650'", more: str = "") -> str:
    return (
        f"name: {name}\ncell: {{format: {cell}}}\nseries: {series}\nparallel: {parallel}\n{more}\n"
    )


def _make(name: str, text: str) -> Run:
    return Run(name=name, words=("make", "pack.yaml"), files={"pack.yaml": text})


HONEYCOMB = "lattice: honeycomb\n"
LOADED = (
    "name: pond-lamp\n"
    'cell: {format: "18650", capacity_ah: 2.5, continuous_a: 8, internal_resistance_mohm: 25}\n'
    "series: 3\nparallel: 2\nload: {continuous_a: 6}\n"
)
BAY = (
    "outline_mm: [[0, 0], [230, 0], [230, 120], [150, 220], [0, 220]]\n"
    "height_mm: 130\n"
    "keep_out:\n"
    "  - {name: hinge, cylinder: {from_mm: [10, 10, 0], to_mm: [10, 10, 30], radius_mm: 6}}\n"
)
CELLS = (
    "format,chemistry,capacity_ah,continuous_a,mass_g,price_eur\n"
    "18650,nmc,3.0,9,47,2.5\n"
    "21700,nmc,4.5,13,69,3.75\n"
)
SUGGEST = ("--along", "z", "--cells", "cells.csv", "--jobs", "1")

MADE = (
    Run(name="orchard-trolley", words=("make", "pack.yaml"), example="orchard-trolley"),
    Run(name="river-raft", words=("make", "pack.yaml"), example="river-raft"),
    _make("one-cell", _pack("bell-box", 1, 1, more=HONEYCOMB)),
    _make(
        "cut-pieces",
        _pack("hay-lift", 20, 10, more=HONEYCOMB + "printer: {bed_mm: [235, 235, 250]}"),
    ),
    _make("grid", _pack("fence-unit", 4, 2, cell="'21700'", more="lattice: grid")),
    _make(
        "placed",
        _pack(
            "wedge-case",
            5,
            6,
            more=HONEYCOMB + "enclosure: {style: none}\n"
            "space:\n"
            "  outline_mm: [[0, 0], [170, 0], [170, 60], [90, 150], [0, 150]]\n"
            "  height_mm: 90",
        ),
    ),
    _make(
        "three-holes",
        _pack("gate-motor", 3, 2, more=HONEYCOMB + "mount: {holes_mm: [[0, 0], [16, 0], [32, 0]]}"),
    ),
    _make("lfp-32700", _pack("weir-pump", 4, 2, cell="'32700', chemistry: lfp", more=HONEYCOMB)),
)
OTHERS = (
    Run(
        name="fit-own-box",
        words=("fit", "pack.yaml", "--lid-room"),
        files={"pack.yaml": LOADED + "space: {box_mm: [240, 240, 140]}\n"},
    ),
    Run(
        name="fit-bay",
        words=("fit", "pack.yaml", "bay.yaml"),
        files={"pack.yaml": LOADED, "bay.yaml": BAY},
    ),
    Run(
        name="dummy-all",
        words=("dummy", "pack.yaml"),
        files={"pack.yaml": _pack("trial-box", 2, 2, more=HONEYCOMB)},
    ),
    Run(
        name="dummy-sheets",
        words=("dummy", "pack.yaml", "--sheets", "--card", "1.5", "--paper", "letter"),
        files={"pack.yaml": _pack("trial-row", 3, 1, more="lattice: grid")},
    ),
    Run(
        name="suggest-box",
        words=("suggest", "--box", "165x110x90", "--volts", "14.4", "--wh", "65", *SUGGEST,
               "--write", "1", "--as", "out/row.yaml"),
        files={"cells.csv": CELLS},
    ),
    Run(
        name="suggest-pack",
        words=("suggest", "pack.yaml", "--volts", "11.1", "--wh", "40", "--amps", "5", *SUGGEST),
        files={"cells.csv": CELLS, "pack.yaml": LOADED + "space: {box_mm: [150, 90, 90]}\n"},
    ),
)  # fmt: skip
RUNS = (*MADE, *OTHERS)
