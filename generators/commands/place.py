"""``cellstead place``: cells placed and grouped in a space's outline, before anything is made."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from generators.commands.common import (
    begin,
    refusals,
    say_cautions,
    say_notes,
    take_allow_scripts,
    take_out_dir,
    with_scripts,
    writing,
)

if TYPE_CHECKING:
    from layouts.cells.placed_cells import PlacedCells
    from layouts.pack import Pack

__all__ = ["declare", "place_row"]

MARK = "place.json"  # the file by which an earlier result is known


def declare(commands: argparse._SubParsersAction[Any]) -> None:
    """Add the command's arguments."""
    parser = commands.add_parser(
        "place",
        help="place and group a pack's cells in the outline of its space, as a drawing and figures",
        description="Places the cells in the outline of the space and groups them, without making "
        "any part. Writes DIR/NAME-place: place.json and place.svg.",
    )
    parser.add_argument("file", metavar="FILE", help="pack file with a space")
    parser.add_argument(
        "--quick", action="store_true", help="the first good answer instead of a long search"
    )
    take_allow_scripts(parser)
    take_out_dir(parser)
    parser.set_defaults(run=_run)


def _run(arguments: argparse.Namespace, log_folder: list[Path]) -> int:
    import json

    from generators.atomic_folder import written_beside
    from generators.drawings.placing import placing_plan
    from generators.own_files import file_rows
    from generators.packfile.resolve import read_pack
    from layouts.cells.placed import place_cells
    from layouts.currents.strips import placed_sharing
    from layouts.errors import PlanError
    from layouts.placing.values import Effort
    from layouts.planning.in_space import arrange_in_space

    read = with_scripts(read_pack(arguments.file), arguments)
    name = f"{read.pack.name}-place"
    begin(arguments.out, name, log_folder, holds=MARK)
    with refusals(read):
        if read.pack.space is None:
            raise PlanError(
                field="space", why="is not given", remedy="give the space for the cells"
            )
        effort = Effort.QUICK if arguments.quick else Effort.BEST
        if read.pack.free_spacing:
            placed = place_cells(read.pack, effort=effort, share=placed_sharing)
        else:  # as make would: with space for splits, judged by the strips as laid
            _, placed, _ = arrange_in_space(read.pack, effort=effort)
    row = place_row(read.pack, placed)
    picture = placing_plan(read.pack, placed)
    notes: list[str] = []
    with (
        writing(arguments.out),
        written_beside(arguments.out, name, holds=MARK, notes=notes) as beside,
    ):
        (beside / "place.svg").write_text(picture + "\n", encoding="utf-8")
        row["files"] = file_rows(beside, but=MARK)
        text = json.dumps(row, indent=1, ensure_ascii=False)
        (beside / MARK).write_text(text + "\n", encoding="utf-8")
    say_cautions(read.renamed)
    grouping = placed.grouping
    print(
        f"{arguments.out / name}: {len(placed.group)} cells of {placed.most} that fit "
        f"({placed.method}), upper bound {placed.bound} ({placed.bound_name})"
    )
    if read.pack.series > 1:
        print(
            f"smallest group boundary {grouping.fewest_contacts} of at most "
            f"{grouping.contact_bound} pairs, highest voltage between touching cells "
            f"{grouping.worst_volts:.1f}"
        )
    for note in grouping.notes:
        print(note)
    say_notes(notes)
    return 0


def place_row(pack: Pack, placed: PlacedCells) -> dict[str, Any]:
    """Everything solved, as JSON's own kinds; places in the space's plan."""
    from generators.result import plain
    from layouts.currents.strips import placed_sharing

    xy = placed.xy_mm @ placed.pose[:2, :2].T + placed.pose[:2, 3]
    grouping = placed.grouping
    return {
        "pack": pack.name,
        "pitch_mm": plain(pack.pocket_mm + placed.web_mm),
        "cells": [
            {"x_mm": plain(x), "y_mm": plain(y), "group": int(g), "positive_up": bool(g % 2 == 1)}
            for (x, y), g in zip(xy.tolist(), placed.group, strict=True)
        ],
        "pose": plain(placed.pose),
        "placing": {
            "method": placed.method,
            "turn_deg": plain(placed.turn_deg),
            "most_cells": placed.most,
            "bound_cells": placed.bound,
            "bound_by": placed.bound_name,
            "decks_by_height": placed.decks,
            "web_mm": plain(placed.web_mm),
        },
        "grouping": {
            "method": grouping.method,
            "fronts": grouping.group_contacts.tolist(),
            "smallest_front": grouping.fewest_contacts,
            "front_bound": grouping.contact_bound,
            "front_bound_by": grouping.contact_bound_reason,
            "proven": grouping.proven,
            "worst_pair_volts": plain(grouping.worst_volts),
            "notes": list(grouping.notes),
        },
        "sharing": plain(placed_sharing(pack, placed)),
    }
