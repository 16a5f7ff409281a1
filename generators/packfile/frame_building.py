"""A frame's form turned into its features."""

from __future__ import annotations

from collections.abc import Sequence

from generators.packfile.frame_models import FrameEntry, HoldSection
from layouts.frame_spec import FrameFeature, FrameHole, FramePlate, HoldWishes

__all__ = ["frame_of", "hold_of"]


def frame_of(entries: Sequence[FrameEntry]) -> tuple[FrameFeature, ...]:
    """All features in their order."""
    return tuple(_plate(entry) for entry in entries)


def hold_of(section: HoldSection | None) -> HoldWishes:
    """What may hold the pack."""
    if section is None:
        return HoldWishes()
    return HoldWishes(faces=section.faces, most=section.most)


def _plate(entry: FrameEntry) -> FramePlate:
    plate = entry.plate
    holes = tuple(
        FrameHole(at_mm=hole.at_mm, screw=hole.screw, thread=hole.thread) for hole in plate.holes
    )
    return FramePlate(
        name=entry.name, at_mm=plate.at_mm, normal=plate.normal, outline_mm=plate.outline_mm,
        thick_mm=plate.thick_mm, drill=plate.drill, holes=holes,
    )  # fmt: skip
