"""The order in which plates are welded: the string of cells that lies bare stays short."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from layouts.pack import Face

__all__ = ["WeldStep", "Welded", "weld_steps"]


@dataclass(frozen=True, kw_only=True, slots=True)
class WeldStep:
    """One plate: its index in the pack's; ``groups``: in the longest string once it is welded;
    ``volts``: of that string, cells full."""

    plate: int
    groups: int
    volts: float


class Welded(Protocol):
    """What is welded in one step, as far as the order goes."""

    @property
    def face(self) -> Face:
        """Where it lies."""
        ...

    @property
    def groups(self) -> tuple[int, ...]:
        """What it joins, rising."""
        ...

    @property
    def is_end(self) -> bool:
        """Whether it joins one group alone."""
        ...


def weld_steps(plates: Sequence[Welded], *, series: int, full_v: float) -> tuple[WeldStep, ...]:
    """The face of pack minus first, end plates before the others: no string is longer than two
    groups there. On the other face the plate that joins the most goes last, and so within each of
    the two strings that it joins."""
    lower = [k for k, plate in enumerate(plates) if plate.face is Face.LOWER]
    upper = [k for k, plate in enumerate(plates) if plate.face is Face.UPPER]
    order = [
        *sorted(lower, key=lambda k: (not plates[k].is_end, plates[k].groups)),
        *(k for k in upper if plates[k].is_end),
    ]
    # strings that the first face leaves, in groups: (first, last)
    strings = [(group, group) for group in range(1, series + 1)]
    steps: list[WeldStep] = []
    joints = {plates[k].groups[0]: k for k in upper if not plates[k].is_end}
    for k in [*order, *_shortest_first(sorted(joints), joints, series)]:
        if not plates[k].is_end:
            strings = _joined(strings, plates[k].groups[0])
        longest = max(last - first + 1 for first, last in strings)
        steps.append(WeldStep(plate=k, groups=longest, volts=longest * full_v))
    return tuple(steps)


def _shortest_first(places: list[int], joints: dict[int, int], series: int) -> list[int]:
    """Plates of the second face by the group below each: last the one nearest to the middle of the
    string that it completes, before it those of each part in the same way."""

    def order(low: int, high: int, mine: list[int]) -> list[int]:
        if not mine:
            return []
        last = min(mine, key=lambda at: (max(at - low + 1, high - at), at))
        below = order(low, last, [at for at in mine if at < last])
        above = order(last + 1, high, [at for at in mine if at > last])
        return [*below, *above, last]

    return [joints[at] for at in order(1, series, places)]


def _joined(strings: list[tuple[int, int]], at: int) -> list[tuple[int, int]]:
    """The strings after group ``at`` and the next one are joined."""
    below = next(one for one in strings if one[0] <= at <= one[1])
    above = next(one for one in strings if one[0] <= at + 1 <= one[1])
    return [one for one in strings if one not in (below, above)] + [(below[0], above[1])]
