"""result.json: everything solved, one truth for people's scripts."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from generators.electrical_rows import (
    cell_rows,
    electrical_row,
    link_rows,
    thermal_row,
)
from generators.mounting_row import enclosed_rows, without_frame
from generators.own_files import file_rows
from generators.printing_row import finding_rows, printing_row, wall_rows
from generators.second_holder_row import second_holder_row
from generators.sheet_row import part_files, plate_to_cut_rows, sheet_row
from generators.version import VERSION
from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.electrical.values import Electrical
from layouts.enclosures.form import Seal
from layouts.enclosures.tap_wires import balance_lead_runs
from layouts.holders.second_holder import HolderFit
from layouts.pack import Face, Pack
from layouts.parts.part import Part
from layouts.planning.mass import Mass, part_mass_g
from layouts.planning.pack_plan import PackPlan
from layouts.plates.cut_features import sheet_holes
from layouts.plates.spots import plate_spots
from layouts.spaces.space import Prism, Solid, Space
from layouts.strips.joining import Interconnect
from layouts.strips.plate import BusPlate, LugEnd, PlateBar

if TYPE_CHECKING:
    from generators.made_part import MadePart
    from generators.print_answer import PrintAnswer
    from generators.proofs.meshes import MeshFacts
    from generators.proven import Proofs

__all__ = ["MARK", "check_row", "part_rows", "plain", "strip_rows", "write_result"]

MARK = "result.json"  # the file by which an earlier result is known

# Lengths in the file are rounded here: far below a printed detail, far above float noise.
LENGTH_DIGITS = 6


def plain(value: Any) -> Any:
    """Frozen values, enums and arrays as JSON's own kinds; numbers rounded, None left out."""
    if isinstance(value, Enum):
        return value.value
    if is_dataclass(value) and not isinstance(value, type):
        pairs = ((field.name, getattr(value, field.name)) for field in fields(value))
        return {name: plain(item) for name, item in pairs if item is not None}
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items() if item is not None}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if isinstance(value, (bool, np.bool_)):
        return bool(value)
    if isinstance(value, (float, np.floating)):
        rounded = round(float(value), LENGTH_DIGITS)
        return 0.0 if rounded == 0.0 else rounded
    if isinstance(value, np.integer):
        return int(value)
    return value


def check_row(check: Check) -> dict[str, Any]:
    """A check: the remedy stands under ``remedy``, and under its former name for scripts."""
    row: dict[str, Any] = plain(check)
    return row | {"how_to_mend": check.remedy, "remedy": check.remedy}


def pack_row(pack: Pack) -> dict[str, Any]:
    """The pack as required, defaults filled in; of a mesh in its space only name and size.

    Of a bracket's script only its file: its shape is a part's.
    """
    mount = replace(pack.mount, given=None)
    row: dict[str, Any] = plain(replace(pack, space=None, mount=mount))
    row["mount"] = without_frame(row["mount"], mount)
    if pack.space is not None:
        row["space"] = space_row(pack.space)
    return row


def space_row(space: Space) -> dict[str, Any]:
    """A space: ``box_mm`` of its room, its outline or mesh, what must be stayed out of."""
    row: dict[str, Any] = {"box_mm": plain(space.box_mm)}
    if isinstance(space.room, Prism) and not space.is_box:
        row |= plain(space.room)
    solids = [*((space.room,) if isinstance(space.room, Solid) else ()), *space.keep_out]
    if isinstance(space.room, Solid):
        row["room"] = space.room.name
    if space.keep_out:
        row["keep_out"] = [solid.name for solid in space.keep_out]
    if solids:
        row["triangles"] = sum(len(solid.faces) for solid in solids)
    return row


def balance_lead_rows(plan: PackPlan) -> list[dict[str, Any]]:
    """Every balance lead's place; its length where the board's place is known."""
    rows: list[dict[str, Any]] = plain(plan.interconnect.balance_leads)
    if plan.enclosure_set is not None:
        wires = balance_lead_runs(
            plan.pack,
            plan.cell_layout,
            plan.interconnect,
            plan.enclosure.board,
            plan.enclosure.ways,
        )
        for row, wire in zip(rows, wires, strict=True):
            row["length_mm"] = wire.length_mm
    return rows


def strip_rows(
    interconnect: Interconnect, electrical: Electrical, *, upper_z_mm: float
) -> list[dict[str, Any]]:
    """Every strip with its outline, height and links, their currents at ``electrical.at``."""
    return [
        {
            "name": strip.name,
            "face": strip.face.value,
            "kind": strip.kind.value,
            "groups": list(strip.groups),
            "outline_mm": plain(strip.outline_mm),
            "z_mm": plain(upper_z_mm if strip.face is Face.UPPER else 0.0),
            "thickness_mm": strip.thickness_mm,
            "layers": strip.layers,
            "bus_mm": strip.bus_mm,
            "links": links,
        }
        for strip, links in zip(
            interconnect.strips, link_rows(interconnect, electrical), strict=True
        )
    ]


def plate_rows(
    cell_layout: CellLayout,
    interconnect: Interconnect,
    electrical: Electrical,
    *,
    upper_z_mm: float,
) -> list[dict[str, Any]]:
    """Every plate as ``strip_rows`` has strips, with its layers, holes, tail, bar and spots.

    ``thickness_mm``: of one layer, their mean where they differ."""
    return [
        {
            "name": plate.name,
            "face": plate.face.value,
            "kind": "plate",
            "groups": list(plate.groups),
            "outline_mm": plain(shapely.get_coordinates(plate.parts[0].exterior)[:-1]),
            **_second_sheet(plate),
            "holes_mm": plain(plate.holes),
            "z_mm": plain(upper_z_mm if plate.face is Face.UPPER else 0.0),
            "thickness_mm": plate.thickness_mm / len(plate.layers),
            "layers": len(plate.layers),
            "metal": plain(plate.layers),
            **({} if plate.pierced is None else {"pierced": _pierced_row(plate.pierced)}),
            **({} if plate.bar is None else {"bar": _bar_row(plate.bar)}),
            **({} if plate.tail_end_mm is None else {"tail_end_mm": plain(plate.tail_end_mm)}),
            **({} if not plate.cell_fuses else {"cell_fuses": plain(plate.cell_fuses)}),
            "spots_mm": plain(plate_spots(cell_layout, plate).reshape(len(plate.cells), -1, 2)),
            "links": links,
        }
        for plate, links in zip(
            interconnect.plates, link_rows(interconnect, electrical), strict=True
        )
    ]


def _second_sheet(plate: BusPlate) -> dict[str, Any]:
    """Of a joint that a screwed bridge opens."""
    if not plate.is_bridged:
        return {}
    return {"second_outline_mm": plain(shapely.get_coordinates(plate.parts[1].exterior)[:-1])}


def _lug_row(lug: LugEnd) -> dict[str, Any]:
    """The end of a bar that a main lead is screwed to."""
    return {
        "screw": lug.screw, "at_mm": lug.at_mm, "hole_mm": lug.hole_mm, "drop_mm": lug.drop_mm,
    }  # fmt: skip


def _pierced_row(sheet: BaseGeometry) -> dict[str, Any]:
    """The layer beneath another metal as it is cut; ``outline_mm``: of its first part."""
    holes = sheet_holes(sheet)
    row: dict[str, Any] = plain(
        {
            "outline_mm": shapely.get_coordinates(shapely.get_parts(sheet)[0].exterior)[:-1],
            "holes_mm": holes.round,
            "other_holes_mm": holes.others,
        }
    )
    return row


def _bar_row(bar: PlateBar) -> dict[str, Any]:
    row: dict[str, Any] = plain(
        {
            "lugs": [_lug_row(lug) for lug in bar.lugs],
            "width_mm": bar.width_mm,
            "thickness_mm": bar.thickness_mm,
            "pieces": [
                {"outline_mm": shapely.get_coordinates(piece.exterior)[:-1], "long_mm": long_mm}
                for piece, long_mm in zip(bar.pieces, bar.long_mm, strict=True)
            ],
        }
    )
    return row


def part_rows(
    plan: PackPlan, made: Sequence[MadePart], facts: Sequence[MeshFacts]
) -> list[dict[str, Any]]:
    """Every kind of part; ``facts``: of the mesh of each."""
    rows = []
    for one, measured in zip(made, facts, strict=True):
        low, high = one.box_mm
        drawn_mm3 = one.part.drawing.volume_mm3()
        rows.append(
            {
                "name": one.name,
                "role": one.part.role,
                "count": len(one.part.placed),
                "files": part_files(one.part),
                "placed": [plain(matrix) for matrix in one.part.placed],
                "volume_mm3": one.solid_mm3,
                "drawn_volume_mm3": drawn_mm3,
                "formula_volume_mm3": drawn_mm3,  # its former name, for one release
                "box_mm": plain([h - lo for lo, h in zip(low, high, strict=True)]),
                "mass_g": plain(part_mass_g(plan.pack, one.part, one.solid_mm3)),
                "watertight": measured.watertight,
                **_supports_row(one.part),
                **sheet_row(one.part, plain),
            }
        )
    return rows


def _supports_row(part: Part) -> dict[str, Any]:
    """Count and volume of what is printed with each copy and thrown away; nothing without any."""
    if not part.supports:
        return {}
    return {"support_pins": len(part.supports), "support_pins_mm3": plain(part.supports_mm3)}


def _cell_rows(plan: PackPlan) -> list[dict[str, Any]]:
    """Every cell's place, group and currents; its label where cells were measured and sorted."""
    cell_layout, measured = plan.cell_layout, plan.pack.measured_cells
    rows = [
        {"x_mm": plain(x), "y_mm": plain(y), "group": int(group), "positive_up": bool(up), **does}
        for (x, y), group, up, does in zip(
            cell_layout.xy_mm.tolist(),
            cell_layout.group,
            cell_layout.positive_up,
            cell_rows(plan.electrical, plain),
            strict=True,
        )
    ]
    if measured is not None:
        for row, label in zip(rows, measured.labels, strict=True):
            row["label"] = label
    return rows


def write_result(
    folder: Path,
    plan: PackPlan,
    made: Sequence[MadePart],
    *,
    mass: Mass,
    checks: Sequence[Check],
    proven: Proofs,
    printed: PrintAnswer,
    fit: HolderFit,
) -> None:
    """Write ``MARK`` last, when all other files of the run are there."""
    pack, cell_layout = plan.pack, plan.cell_layout
    everything: dict[str, Any] = {
        "tool": f"cellstead {VERSION}",
        "pack": pack_row(pack),
        "cells": _cell_rows(plan),
        "can": {
            "diameter_mm": pack.cell.diameter_mm,
            "length_mm": pack.cell.length_mm,
            "clearance_mm": pack.holder.clearance_mm,
        },
        "groups": [
            {"group": g, "cells": np.flatnonzero(cell_layout.group == g).tolist()}
            for g in range(1, pack.series + 1)
        ],
        "main_leads": {
            "minus_face": plan.interconnect.minus_face.value,
            "plus_face": plan.interconnect.plus_face.value,
        },
    }
    if (box_fit := proven.box_fit) is not None:
        everything["space"] = {
            "pose": plain(box_fit.pose),
            "smallest_gap_mm": plain(box_fit.smallest_gap_mm),
            "tightest_at_mm": plain(box_fit.tightest_at_mm),
        }
    everything |= {
        "strips": (
            plate_rows(
                plan.cell_layout, plan.interconnect, plan.electrical, upper_z_mm=pack.lip_to_lip_mm
            )
            if plan.interconnect.plates
            else strip_rows(plan.interconnect, plan.electrical, upper_z_mm=pack.lip_to_lip_mm)
        ),
        "electrical": electrical_row(pack, plan.electrical, plain),
        "thermal": thermal_row(plan.electrical, plain),
        "taps": balance_lead_rows(plan),
        "mass": plain(mass) | {"total_g": plain(mass.total_g)},
        **enclosed_rows(plan, plain, enclosure_row(plan), mass_kg=mass.total_g / 1000.0),
        "parts": part_rows(plan, made, proven.facts),
        **plate_to_cut_rows(plan.pack, plain),
        **_print_rows(printed, fit),
        "checks": [check_row(check) for check in checks],
        "notes": list(plan.notes),
        "files": file_rows(folder, but=MARK),
    }
    text = json.dumps(everything, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
    (folder / MARK).write_text(text, encoding="utf-8")


def _print_rows(printed: PrintAnswer, fit: HolderFit) -> dict[str, Any]:
    """Hours and plates, places that are hard to print, whether the second holder goes on."""
    return {
        "printing": printing_row(printed.printing, plain),
        "print_walls": wall_rows(printed.printability, plain),
        "print_findings": finding_rows(printed.printability.findings, plain),
        "second_holder": second_holder_row(fit, plain),
    }


def enclosure_row(plan: PackPlan) -> dict[str, Any]:
    """Compartments of an enclosure that has some, in the pack's coordinates, and where gas leaves;
    nothing of others."""
    if plan.enclosure_set is None or not plan.enclosure.compartments:
        return {}
    enclosure, shell = plan.enclosure, plan.enclosure.shell
    compartments = [
        {
            "name": one.name,
            "dry": one.dry,
            "box_mm": [
                [plain(one.plan.x0), plain(one.plan.y0), plain(shell.z_floor_mm)],
                [plain(one.plan.x1), plain(one.plan.y1), plain(shell.z_rim_mm)],
            ],
        }
        for one in enclosure.compartments
    ]
    side = enclosure.gas_side
    return {
        "enclosure": {
            "compartments": compartments,
            "gas_side": None if side is None else side.value,
            "outlets": [
                {"for": one.purpose, "at_mm": plain(one.at_mm), "out": plain(one.out)}
                for one in enclosure.outlets
            ],
            **_seal_row(enclosure.seal),
        }
    }


def _seal_row(seal: Seal | None) -> dict[str, Any]:
    """Cord and vent of a gasket; nothing of an open enclosure."""
    if seal is None:
        return {}
    vent = {
        "at_mm": plain(seal.vent_at_mm),
        "out": plain(seal.vent_out),
        "opening_mm": plain(seal.vent_mm),
        "opens_at_kpa": plain(seal.opens_at_kpa),
    }
    return {
        "gasket": {"cord_mm": plain(seal.cord_mm), "long_mm": plain(seal.long_mm), "vent": vent}
    }
