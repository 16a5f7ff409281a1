"""What a sweep is given: the space and how a pack file names it, the cells, the requirements."""

from __future__ import annotations

import json
import os
import re
from dataclasses import dataclass
from pathlib import Path

from generators.packfile.loader import LARGEST_BYTES, load
from generators.packfile.resolve import ReadPack, read_pack
from generators.packfile.space_file import read_space
from generators.suggesting.offers import Offers, built_in_offers, read_offers
from generators.suggesting.own_pack import own_pack, space_section
from layouts.pack import EnclosureStyle
from layouts.spaces.space import Space, box_space
from layouts.suggesting.setting import FORMS, Asked, Axis, Setting, Way, base_for
from layouts.suggesting.turning import seen_along

__all__ = ["SEEN", "Given", "GivenError", "Where", "given_box", "given_file", "make_given"]

LONGEST_NAME = 50

SEEN = {Axis.X: "y, z, x", Axis.Y: "z, x, y", Axis.Z: "x, y, z"}
UPRIGHT = (Axis.Z,)


class GivenError(Exception):
    """Arguments that don't go together once the space is known; the message is one line."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Where:
    """The space. ``name``: for the result's folder. ``file``: that it was read from, if any;
    ``pack``: the pack file that it stands in, if any."""

    name: str
    space: Space
    file: Path | None = None
    pack: ReadPack | None = None

    def lines_for(self, way: Way, folder: Path) -> tuple[str, ...]:
        """What a pack file in ``folder`` says of the space, for a way of standing."""
        if not self.space.is_box and self.file is None and self.pack is not None:
            return (space_section(self.pack, folder),)
        if not self.space.is_box:
            assert self.file is not None  # only boxes are given without
            path = os.path.relpath(self.file, folder).replace(os.sep, "/")
            return (f"space: {json.dumps(path, ensure_ascii=False)}",)
        seen = seen_along(self.space, way.axis)
        lines = ["space:", f"  box_mm: [{', '.join(f'{side:.10g}' for side in seen.box_mm)}]"]
        if seen.open_sides is not None:
            lines.append(f"  open_sides: {json.dumps(seen.open_sides)}")
        if way.axis is not Axis.Z:
            lines.insert(
                1,
                f"  # the space as seen along its {way.axis.value}, where the cells lie: these are "
                f"its {SEEN[way.axis]}",
            )
        return tuple(lines)


@dataclass(frozen=True, kw_only=True, slots=True)
class Given:
    """All that answers follow from. ``machine_lines``: what a pack file says of the machine."""

    where: Where
    setting: Setting
    offers: Offers
    machine_lines: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """Of the space."""
        return self.where.name


def given_box(box_mm: tuple[float, float, float]) -> Where:
    """A box, named by its sides."""
    sides = "x".join(f"{side:g}" for side in box_mm).replace(".", "_")
    return Where(name=f"box-{sides}", space=box_space(box_mm))


def given_file(file: Path) -> Where:
    """A space from a file: its own, or a pack file's.

    Raises PackFileError where it can't be used, GivenError for a pack file without a space.
    """
    name = re.sub(r"[^A-Za-z0-9_-]+", "-", file.stem).strip("-_") or "space"
    if not _is_pack_file(file):
        return Where(name=name[:LONGEST_NAME], space=read_space(file), file=file)
    read = read_pack(file)
    space = read.pack.space
    if space is None:
        raise GivenError(f"{file} is a pack file without a space, give the space's own file")
    of_its_own = read.document.files.get(("space",))
    return Where(
        name=name[:LONGEST_NAME],
        space=space,
        file=None if of_its_own is None else Path(of_its_own),
        pack=read,
    )


def _is_pack_file(file: Path) -> bool:
    """Whether a YAML file has the keys of a pack; no for what can't be read: reported later."""
    if file.suffix.lower() not in (".yaml", ".yml"):
        return False
    try:
        with open(file, "rb") as stream:
            values = load(stream.read(LARGEST_BYTES + 1)).values
    except (OSError, ValueError):  # ValueError: a zero byte in the name
        return False
    return "cell" in values or "series" in values


def make_given(
    where: Where,
    asked: Asked,
    *,
    cells: Path | None,
    axes: tuple[Axis, ...],
    forms: tuple[EnclosureStyle, ...] = FORMS,
) -> Given:
    """The setting of a sweep. ``cells``: a CSV list; None: the cell of the pack file that was
    given, else the built-in sizes. ``forms``: enclosures that are looked at.

    A space that is no box is taken as it stands, since a pack file can't turn it. Raises
    PackFileError where the list can't be used, GivenError for cells that should lie in such a
    space, and where nothing tells a voltage.
    """
    if not where.space.is_box:
        if Axis.Z not in axes:
            raise GivenError(
                f"--along: cells stand along z in a space that is no box, not along "
                f"{axes[0].value}: turn the space's file"
            )
        axes = UPRIGHT
    own = None if where.pack is None else own_pack(where.pack, asked)
    asked = asked if own is None else own.asked
    if asked.volts_v is None and asked.window_v is None and asked.charger_v is None:
        raise GivenError("give the voltage: --volts V, --window LOW:HIGH or --charger V")
    if cells is not None:
        offers = read_offers(cells)
    else:
        offers = built_in_offers() if own is None else own.offers
    setting = Setting(
        space=where.space,
        asked=asked,
        offers=offers.offers,
        base=base_for(asked, None if own is None else own.machine),
        axes=axes,
        forms=forms,
    )
    lines = () if own is None else own.lines
    return Given(where=where, setting=setting, offers=offers, machine_lines=lines)
