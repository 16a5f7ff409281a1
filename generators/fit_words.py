"""Words for how a pack fits: places and ways in."""

from __future__ import annotations

from collections.abc import Iterable

from layouts.fitting.verdict import FitResult

__all__ = ["point_words", "way_words"]


def point_words(point: Iterable[float]) -> str:
    """A place in the space's coordinates, to a tenth of a millimetre."""
    return "(" + ", ".join(f"{round(value, 1) + 0.0:g}" for value in point) + ")"


def way_words(found: FitResult) -> str:
    """The straight way in, or how far the pack goes where there is none."""
    way = found.way_in
    if way is not None:
        sign = way.name
        through = f" through {way.through}, which must be open" if way.through else ""
        return f"straight insertion path: from {sign}{through}"
    far = found.travels[0]
    assert far.free_mm is not None and far.at_mm is not None
    return (
        f"no straight insertion path: towards {far.name} the travel is {far.free_mm:.1f} mm, "
        f"then {far.ours} meets {far.theirs}, from {point_words(far.at_mm)}"
    )
