"""What a pack file tells a sweep beside its space: its own cell, and the machine's requirements."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from generators.packfile.resolve import ReadPack
from generators.suggesting.offers import Offers, own_offer
from layouts.pack import Pack
from layouts.suggesting.setting import Asked, MachineSections

__all__ = ["OwnPack", "own_pack", "space_section"]

MACHINE = ("load", "controller", "charger")


@dataclass(frozen=True, kw_only=True, slots=True)
class OwnPack:
    """A pack file that was given as a space. ``lines``: its sections of the machine, as a pack file
    has them."""

    offers: Offers
    asked: Asked
    machine: MachineSections
    lines: tuple[str, ...]


def own_pack(read: ReadPack, given: Asked) -> OwnPack:
    """What a pack file gives; ``given``: requirements on the command line, which take precedence.

    Where neither they nor the machine's sections tell a voltage it is that of the pack itself."""
    pack = read.pack
    asked = _asked(pack, given)
    section = read.document.values.get("cell")
    assert isinstance(section, Mapping)  # the file is sound
    load = pack.load
    if load is not None:
        # its profile counts from the file's own folder
        load = replace(load, profile=None, regeneration_a=asked.regeneration_a)
        if given.current_a is not None:
            load = replace(load, continuous_a=given.current_a, continuous_w=None)
    return OwnPack(
        offers=own_offer(pack, section),
        asked=asked,
        machine=MachineSections(load=load, controller=pack.controller, charger=pack.charger),
        lines=_lines(read, given),
    )


def _asked(pack: Pack, given: Asked) -> Asked:
    controller, charger, load = pack.controller, pack.charger, pack.load
    window = given.window_v
    if window is None and controller is not None:
        window = controller.lowest_v, controller.highest_v
        if window == (None, None):
            window = None
    charger_v = given.charger_v
    if charger_v is None and charger is not None:
        charger_v = charger.volts_v
    volts = given.volts_v
    if volts is None and window is None and charger_v is None:
        volts = pack.series * pack.cell.nominal_v
    return replace(
        given,
        volts_v=volts,
        window_v=window,
        charger_v=charger_v,
        charger_a=None if charger is None else charger.amps_a,
        current_a=_current_a(pack) if given.current_a is None else given.current_a,
        regeneration_a=load.regeneration_a
        if given.regeneration_a is None and load is not None
        else given.regeneration_a,
    )


def _current_a(pack: Pack) -> float | None:
    """The load's continuous current; watts draw most when the pack is empty."""
    load = pack.load
    if load is None:
        return None
    if load.continuous_a is not None or load.continuous_w is None:
        return load.continuous_a
    return load.continuous_w / (pack.series * pack.cell.empty_v)


def _lines(read: ReadPack, given: Asked) -> tuple[str, ...]:
    """The file's sections of the machine, one a line, with what the command line sets."""
    lines = []
    for name in MACHINE:
        section = read.document.values.get(name)
        if not isinstance(section, Mapping):
            continue
        values = {key: value for key, value in section.items() if key != "profile"}
        if name == "load" and given.current_a is not None:
            values.pop("continuous_w", None)
            values["continuous_a"] = given.current_a
        if name == "load" and given.regeneration_a is not None:
            values["regeneration_a"] = given.regeneration_a
        lines.append(f"{name}: {json.dumps(values, ensure_ascii=False)}")
    return tuple(lines)


def space_section(read: ReadPack, folder: Path) -> str:
    """The space of a pack file as a line of another one in ``folder``."""
    section = read.document.values.get("space")
    assert isinstance(section, Mapping)  # the pack has a space
    values = dict(section)
    if isinstance(values.get("file"), str):
        there = os.path.join(os.path.dirname(read.file), str(values["file"]))
        values["file"] = os.path.relpath(there, folder).replace(os.sep, "/")
    return f"space: {json.dumps(values, ensure_ascii=False)}"
