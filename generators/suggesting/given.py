"""What a sweep is given: the space and how a pack file names it, the cells, the requirements."""

from __future__ import annotations

import json
import os
import re
from dataclasses import dataclass
from pathlib import Path

from generators.packfile.loader import LARGEST_BYTES, load
from generators.packfile.resolve import read_pack
from generators.packfile.space_file import read_space
from generators.suggesting.offers import Offers, built_in_offers, read_offers
from layouts.spaces.space import Space, box_space
from layouts.suggesting.setting import Asked, Axis, Setting, Way, base_for
from layouts.suggesting.turning import seen_along

__all__ = ["SEEN", "Given", "GivenError", "Where", "given_box", "given_file", "make_given"]

LONGEST_NAME = 50

SEEN = {Axis.X: "y, z, x", Axis.Y: "z, x, y", Axis.Z: "x, y, z"}
UPRIGHT = (Axis.Z,)


class GivenError(Exception):
    """Arguments that don't go together once the space is known; the message is one line."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Where:
    """The space. ``name``: for the result's folder. ``file``: that it was read from, if any."""

    name: str
    space: Space
    file: Path | None = None

    def lines_for(self, way: Way, folder: Path) -> tuple[str, ...]:
        """What a pack file in ``folder`` says of the space, for a way of standing."""
        if not self.space.is_box:
            assert self.file is not None  # only boxes are given without
            path = os.path.relpath(self.file, folder).replace(os.sep, "/")
            return (f"space: {json.dumps(path, ensure_ascii=False)}",)
        box = ", ".join(f"{side:.10g}" for side in seen_along(self.space, way.axis).box_mm)
        lines = ["space:", f"  box_mm: [{box}]"]
        if way.axis is not Axis.Z:
            lines.insert(
                1,
                f"  # the space as seen along its {way.axis.value}, where the cells lie: these are "
                f"its {SEEN[way.axis]}",
            )
        return tuple(lines)


@dataclass(frozen=True, kw_only=True, slots=True)
class Given:
    """All that answers follow from."""

    where: Where
    setting: Setting
    offers: Offers

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

    Raises PackFileError where it can't be used, GivenError for a pack file whose space is no
    box: that has to be a file of its own, so that other pack files can name it.
    """
    name = re.sub(r"[^A-Za-z0-9_-]+", "-", file.stem).strip("-_") or "space"
    if not _is_pack_file(file):
        return Where(name=name[:LONGEST_NAME], space=read_space(file), file=file)
    space = read_pack(file).pack.space
    if space is None:
        raise GivenError(f"{file} is a pack file without a space, give the space's own file")
    if not space.is_box:
        raise GivenError(
            f"{file} is a pack file whose space is not a plain box, move its space section to a "
            "separate file and give that"
        )
    return Where(name=name[:LONGEST_NAME], space=space, file=file)


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


def make_given(where: Where, asked: Asked, *, cells: Path | None, axes: tuple[Axis, ...]) -> Given:
    """The setting of a sweep. ``cells``: a CSV list; None: the built-in sizes.

    A space that is no box is taken as it stands, since a pack file can't turn it. Raises
    PackFileError where the list can't be used, GivenError for cells that should lie in such a
    space.
    """
    if not where.space.is_box:
        if Axis.Z not in axes:
            raise GivenError(
                f"--along: cells stand along z in a space that is no box, not along "
                f"{axes[0].value}: turn the space's file"
            )
        axes = UPRIGHT
    offers = built_in_offers() if cells is None else read_offers(cells)
    setting = Setting(
        space=where.space, asked=asked, offers=offers.offers, base=base_for(asked), axes=axes
    )
    return Given(where=where, setting=setting, offers=offers)
