"""Checks in groups by what they are about, for the report."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from layouts.checks import Check

__all__ = ["GROUPS", "CheckGroup", "group_of", "grouped"]

# Title, and how ids of its checks begin; of several that fit an id the longest decides.
GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Space, tub and lid",
        ("space", "enclosure", "core_held", "pads_clear", "outlet", "lid_", "partition", "clamp",
         "gas", "vent", "floor_", "cut", "seam", "pieces_held", "splice", "gland", "board_"),
    ),
    (
        "Cells and holders",
        ("can_", "cells_go_in", "lip_", "web_", "lead_in", "tie_", "post", "smallest_island",
         "pocket", "tile_", "ends_", "sorted_places", "spans_", "pins_", "second_holder"),
    ),
    ("Strips and welds", ("strip", "wrong_join", "links_present", "lead_out", "joint", "cell_fuse",
                          "notches", "weld")),
    ("Short circuits", ("short", "strip_gap", "strip_window", "ring", "insulat")),
    (
        "Currents, fuses, wires, charging",
        ("load", "bms", "connector", "links_peak", "welds_peak", "wire", "fuse", "charge", "tap",
         "controller", "regeneration", "precharge", "cells_peak", "machine_speed"),
    ),
    ("Heat", ("cell_temperature", "polymer", "charge_temperature", "ambient", "wire_plastic",
              "wire_peak", "heat", "cycle_temperature")),
    ("Mounting and strength", ("bracket", "foot_lock", "clamp_bending", "clamp_cap", "clamp_bolt",
                               "clamp_slip", "insert_pull", "wall", "mount", "frame_holes",
                               "screw_access", "lug", "sheet_", "cut_plate")),
    ("Printing", ("print_",)),
    ("Printed parts as made", ("",)),
)  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class CheckGroup:
    """Checks of one subject, failing ones first."""

    title: str
    checks: tuple[Check, ...]

    @property
    def failed(self) -> int:
        """How many of them fail."""
        return sum(not check.holds for check in self.checks)


def group_of(check_id: str) -> str:
    """Title of the group that a check's id belongs to."""
    fitting = [
        (len(start), title)
        for title, starts in GROUPS
        for start in starts
        if check_id.startswith(start)
    ]
    return max(fitting)[1]


def grouped(checks: Iterable[Check]) -> tuple[CheckGroup, ...]:
    """The checks by their groups, each in the order given but for failing ones, which come first;
    no empty group."""
    by_title: dict[str, list[Check]] = {title: [] for title, _ in GROUPS}
    for check in checks:
        by_title[group_of(check.id)].append(check)
    return tuple(
        CheckGroup(title=title, checks=tuple(sorted(found, key=lambda check: check.holds)))
        for title, found in by_title.items()
        if found
    )
