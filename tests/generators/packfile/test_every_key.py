"""Every key of the pack file changes the plan, the parts or what is told of them.

Each key is changed alone, and that part of the result is compared where it is to be seen. The
result's own copy of the file counts for nothing here.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from copy import deepcopy
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import shapely
import trimesh

from generators.electrical_rows import electrical_row, thermal_row
from generators.exports.bill import bill_rows
from generators.exports.bought import electrical_rows
from generators.fitting import given_pose
from generators.packfile.examples import example_text
from generators.packfile.faults import PackFileError
from generators.packfile.resolve import ReadPack, parse_pack
from generators.packfile.sorted_table import sorted_table_text
from generators.report.order import order_of_work
from generators.result import plain
from generators.scripts.running import with_bracket
from layouts.brackets.registry import kind_of
from layouts.electrical.plan import electrical_plan
from layouts.enclosures.fitted.wishes import wishes_of
from layouts.holders.drawing import holder_part
from layouts.holders.second_holder import holder_fit
from layouts.pack import Cooling, EnclosureStyle, MeasuredCells, Pack
from layouts.parts.cut_plates import cut_plate_piece
from layouts.placing.values import Effort
from layouts.planning.mounting import mounting_checks
from layouts.planning.pack_plan import plan_checks, plan_pack
from layouts.planning.parts_list import metal_pieces
from layouts.planning.steps import (
    InterconnectPlan,
    bracketed,
    enclosed,
    fastened,
    interconnected,
    laid_out,
    with_holders,
)
from layouts.printing.beds import BedPart, bed_of, laid_on_beds
from layouts.printing.totals import pack_print
from layouts.strips.sheets import SheetShape, cut_pieces
from tests.generators.packfile.frame_of_box import placed_on
from tests.generators.packfile.key_changes import BASE, CHANGES, SLOW, Change, Sections
from tests.generators.packfile.test_key_list import ROWS
from tests.layouts.printing.shapes import block
from tests.sampled import sampled

COMMON_MASS_KG = 1.0  # brackets are judged with it


def cells(read: ReadPack) -> Any:
    """Cells, groups and polarity, and what is told of them."""
    found = laid_out(read.pack, effort=Effort.QUICK).cell_layout
    return found.xy_mm, found.group, found.positive_up, found.notes


def strips(read: ReadPack) -> Any:
    """Strips as laid."""
    found = _joined(read.pack).interconnect.strips
    return [(one.name, one.outline_mm, one.thickness_mm, one.layers) for one in found]


def plates(read: ReadPack) -> Any:
    """Plates as laid: their layers and spots."""
    found = _joined(read.pack).interconnect.plates
    return [(one.name, one.layers, one.spots) for one in found]


def templates(read: ReadPack) -> Any:
    """Pieces as they are cut."""
    plan = _joined(read.pack)
    shape = SheetShape(read.pack.strip.shape)
    return [piece.name for piece in cut_pieces(plan.cell_layout, plan.interconnect, shape)]


def holders(read: ReadPack) -> Any:
    """Sizes and volumes of the holders."""
    tiles = with_holders(bracketed(enclosed(fastened(_joined(_bare(read.pack)))))).tiles
    parts = [holder_part(tile, lip_to_lip_mm=read.pack.lip_to_lip_mm) for tile in tiles]
    return [(part.name, part.drawing.volume_mm3(), part.drawing.box_mm()) for part in parts]


def enclosure(read: ReadPack) -> Any:
    """Parts, outlets, board and screws of the enclosure; None where there is none."""
    found = enclosed(fastened(_joined(read.pack))).enclosure
    if found is None:
        return None
    parts = [(part.name, part.drawing.volume_mm3()) for part in found.parts]
    return parts, [one.gland for one in found.outlets], found.board, found.shell.wall_mm


def brackets(read: ReadPack) -> Any:
    """Parts, screws and checks of the brackets."""
    pads = enclosed(fastened(_joined(read.pack))).enclosure.pads  # type: ignore[union-attr]
    found = kind_of(read.pack).design(read.pack, pads, mass_kg=COMMON_MASS_KG)
    checks = [
        (one.id, one.value, one.limit)
        for one in found.checks(read.pack, pads, mass_kg=COMMON_MASS_KG)
    ]
    return [part.drawing.volume_mm3() for part in found.parts], found.screws, checks


def flat_patterns(read: ReadPack) -> Any:
    """Sheet metal as it is cut."""
    plan = bracketed(enclosed(fastened(_joined(read.pack))))
    return [(one.size_mm, one.cut) for one in metal_pieces(plan)]


def cut_plates(read: ReadPack) -> Any:
    """Plates of the machine as they are cut."""
    pieces = [cut_plate_piece(one) for one in read.pack.plates_to_cut]
    return [
        (one.name, one.metal, one.thickness_mm, one.size_mm, one.cut, one.hole_words)
        for one in pieces
    ]


def mounting(read: ReadPack) -> Any:
    """Checks of what carries the pack."""
    plan = bracketed(enclosed(fastened(_joined(read.pack))))
    return [(one.id, one.value) for one in mounting_checks(plan, mass_kg=COMMON_MASS_KG)]


def load_g(read: ReadPack) -> Any:
    """Accelerations and shock that the mounting must withstand."""
    pack = read.pack
    return None if pack.load is None else pack.load.acceleration_g, pack.mount.shock


def frame(read: ReadPack) -> Any:
    """Brackets that are placed on a frame for a pack of a plain box, and where their screws go."""
    pack = read.pack
    return placed_on(pack.mount.frame, pack.mount.hold)


def bracket_script(read: ReadPack) -> Any:
    """The bracket that a script draws."""
    given: Any = with_bracket(read, allowed=True).pack.mount.given
    return given.shape.box_mm()


def electrical(read: ReadPack) -> Any:
    """Ratings, checks, cautions, advice and temperatures, without an enclosure."""
    pack, plan = read.pack, _joined(read.pack)
    found = electrical_plan(pack, plan.cell_layout, plan.interconnect)
    return (
        [(one.id, one.holds, one.value, one.limit) for one in found.checks],
        found.cautions,
        found.advice,
        electrical_row(pack, found, plain),
        thermal_row(found, plain),
    )


def checks(read: ReadPack) -> Any:
    """Figures and limits of all checks that need no solid."""
    found = plan_checks(plan_pack(_bare(read.pack)), mass_kg=COMMON_MASS_KG)
    return [(one.id, one.value, one.limit) for one in found]


def bill(read: ReadPack) -> Any:
    """What is bought."""
    plan = plan_pack(_bare(read.pack))
    return bill_rows(plan.pack, plan.cell_layout, plan.interconnect, others=electrical_rows(plan))


def build_sheet(read: ReadPack) -> Any:
    """The order of work."""
    return [stage.steps for stage in order_of_work(plan_pack(_bare(read.pack)))]


def printing(read: ReadPack) -> Any:
    """Hours, filament, cost and places on the bed of two blocks with a hole."""
    printer = read.pack.printer
    part = block(60.0, 50.0, 12.0, hole_mm=8.0, copies=2)
    parts = [BedPart(name=part.name, plan=shapely.box(0.0, 0.0, 60.0, 50.0), count=2)]
    laid, _ = laid_on_beds(parts, bed_of(printer), edge_mm=printer.edge_mm + printer.brim_mm)
    return pack_print([part], printer, laid)


def cautions(read: ReadPack) -> Any:
    """What is told of the file before anything is planned."""
    return [caution.told() for caution in read.cautions]


def second_holder(read: ReadPack) -> Any:
    """How surely the second holder goes on."""
    return holder_fit(read.pack, laid_out(read.pack, effort=Effort.QUICK).cell_layout)


def space(read: ReadPack) -> Any:
    """The space that the pack is proven against, and the side of it that the leads leave to."""
    found = read.pack.space
    if found is None:
        return None
    solids = [found.room, *found.keep_out]
    return found.box_mm, found.low_mm, solids, found.notes, read.pack.leads.side


def wishes(read: ReadPack) -> Any:
    """Where rooms must stand, as the planner looks for them."""
    return list(wishes_of(read.pack, 0).values())


def pose(read: ReadPack) -> Any:
    """How the pack stands in its space, where that is asked for."""
    plan = bracketed(enclosed(fastened(_joined(read.pack))))
    return given_pose(plan)


PLACES: Mapping[str, Callable[[ReadPack], Any]] = {
    one.__name__.replace("_", " "): one
    for one in (
        cells, strips, plates, templates, holders, enclosure, brackets, bracket_script, electrical,
        mounting, load_g, frame, checks, bill, build_sheet, printing, cautions, space,
        second_holder, flat_patterns, cut_plates, pose, wishes,
    )
}  # fmt: skip


def _bare(pack: Pack) -> Pack:
    """Holders alone: sooner planned."""
    bare = replace(pack.enclosure, style=EnclosureStyle.NONE)
    return replace(pack, enclosure=bare, space=None, cooling=Cooling())


@cache
def _joined(pack: Pack) -> InterconnectPlan:
    return interconnected(laid_out(pack, effort=Effort.QUICK))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Files that keys name: bodies, one with a hole in its side, load profiles, scripts."""
    there = tmp_path_factory.mktemp("keys")
    bay = trimesh.creation.box((240.0, 240.0, 140.0))
    bay.export(there / "bay.stl")
    trimesh.creation.box((250.0, 240.0, 140.0)).export(there / "wide.stl")
    trimesh.Trimesh(bay.vertices, bay.faces[1:]).export(there / "leaky.stl")
    for name, seconds in (("short", 600), ("long", 900)):
        text = f"seconds,watts\n0,50\n{seconds},20\n{2 * seconds},0\n"
        (there / f"{name}.csv").write_text(text, encoding="utf-8")
    for name, worn in (("alike", 1.0), ("worn", 1.2)):
        (there / f"{name}.csv").write_text(sorted_six(worn), encoding="utf-8")
    (there / "mine.yaml").write_text("hole_mm: 0.2\n", encoding="utf-8")
    script = example_text("saddle_bracket.py")
    (there / "one.py").write_text(script, encoding="utf-8")
    (there / "other.py").write_text(script.replace("CHEEK = 4.0", "CHEEK = 5.0"), encoding="utf-8")
    return there


def sorted_six(worn: float) -> str:
    """A table of six sorted cells, the first with another resistance."""
    measured = MeasuredCells(
        labels=tuple("abcdef"),
        xy_mm=((0.0, 0.0),) * 6,
        capacity_ah=(2.5,) * 6,
        resistance_mohm=(25.0 * worn, *(25.0,) * 5),
    )
    return sorted_table_text(measured, parallel=2, measured_mohm=(9.0,) * 6, rested_v=(3.6,) * 6)


def written(key: str, change: Change, value: Any) -> str:
    """A pack file with a key at a value, None: left out."""
    file = deepcopy(BASE)
    for section, more in change.beside.items():
        merged = {**file[section], **more} if isinstance(file.get(section), dict) else more
        file[section] = deepcopy(merged)
    *sections, last = _place(key)
    inner: Sections = file
    for section in sections:
        inner = inner.setdefault(section, {})
    if value is None:
        inner.pop(last, None)
        if sections and not inner:
            file.pop(sections[0])
    else:
        inner[last] = value
    return json.dumps(file)


def _place(key: str) -> list[str]:
    """Keys from the top; those within a list are written as the whole list."""
    for whole in ("space.keep_out", "grouping.pins", "plates_to_cut", "mount.frame"):
        if key.startswith(whole):
            return whole.split(".")
    return key.split(".")


@cache
def told(text: str, seen: str, folder: Path) -> str:
    """What is to be seen, as text; the refusal where the file is refused."""
    try:
        read = parse_pack(text.encode(), str(folder / "pack.yaml"))
    except PackFileError as error:
        return str(error)
    return repr(plain(PLACES[seen](read)))


def test_every_key_is_changed() -> None:
    """The keys of the list that comes along, those of lists and of sections within sections too."""
    keys = {f"{place}.{key}".removeprefix(".") for place, rows in ROWS.items() for key in rows}
    assert set(CHANGES) <= keys
    assert keys - set(CHANGES) <= set(ROWS)  # a section without a change of its own has keys


@pytest.mark.one_in(8)
@pytest.mark.parametrize("key", sampled(CHANGES, lambda key: key not in SLOW))
def test_a_key_changes_what_it_is_for(key: str, folder: Path) -> None:
    """Compared with the file as it was: the other value must be seen, and be taken."""
    change = CHANGES[key]
    before, after = (
        told(written(key, change, value), change.seen, folder)
        for value in (change.before, change.to)
    )
    assert not after.startswith(str(folder)), after
    assert before != after


@pytest.mark.parametrize(
    "seen",
    sampled(
        [place for place in PLACES if place != "bracket script"],
        lambda place: place in ("cells", "electrical", "brackets"),
    ),
)
def test_nothing_is_seen_of_no_change(seen: str, folder: Path) -> None:
    """The same file twice gives the same text: a difference is that of the key."""
    text = json.dumps(BASE | {"space": {"box_mm": [240, 240, 140]}})
    assert told(text, seen, folder) == told(text + "\n", seen, folder)
