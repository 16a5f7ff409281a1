"""A load over time, as the user measured or wrote it down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from numbers import Real

from layouts.errors import PlanError

__all__ = ["Profile", "load_profile"]

FIELD = "load.profile"
Entry = float | str | None  # what a file's row may hold; only numbers get through


@dataclass(frozen=True, kw_only=True, slots=True)
class Profile:
    """Watts (and speed) held from each row's moment to the next row's; the last row only ends it.

    ``seconds`` (n,) rising; ``watts`` (n,), below zero: given back by the motor; ``speed_km_h``
    (n,) or None. ``load_profile`` makes it from what was read and reports what is wrong."""

    seconds: tuple[float, ...]
    watts: tuple[float, ...]
    speed_km_h: tuple[float, ...] | None = None

    @property
    def steps(self) -> tuple[tuple[float, float, float], ...]:
        """(seconds, watts, km/h) of each row but the last; 0 km/h where no speed is known."""
        speed = self.speed_km_h or (0.0,) * len(self.seconds)
        gone = (b - a for a, b in zip(self.seconds, self.seconds[1:], strict=False))
        return tuple(zip(gone, self.watts, speed, strict=False))


def load_profile(
    seconds: Sequence[Entry],
    watts: Sequence[Entry],
    speed_km_h: Sequence[Entry] | None = None,
) -> Profile:
    """A profile from its columns.

    Raises PlanError (field load.profile) for columns of different length, fewer than two rows,
    text, gaps (empty or infinite values), times that don't increase, and speeds below zero; rows
    are counted from 1."""
    columns = {"seconds": seconds, "watts": watts}
    if speed_km_h is not None:
        columns["speed_km_h"] = speed_km_h
    counts = {name: len(column) for name, column in columns.items()}
    if len(set(counts.values())) > 1:
        told = ", ".join(f"{name} {count}" for name, count in counts.items())
        raise PlanError(
            field=FIELD,
            value=told,
            why="its columns differ in length",
            remedy="give every row all of them",
        )
    if counts["seconds"] < 2:
        raise PlanError(
            field=FIELD,
            value=str(counts["seconds"]),
            why="has fewer than two rows",
            remedy="each row's watts hold until the next row, the last row ends the profile",
        )
    clean = {name: _numbers(name, column) for name, column in columns.items()}
    times = clean["seconds"]
    for row, (before, after) in enumerate(zip(times, times[1:], strict=False), start=2):
        if after <= before:
            raise PlanError(
                field=FIELD,
                value=f"{before:g}, then {after:g}",
                why=f"row {row}: seconds don't increase",
                remedy="sort the rows, and give each its own time",
            )
    speed = clean.get("speed_km_h")
    if speed is not None and min(speed) < 0:
        raise PlanError(
            field=FIELD,
            value=f"{min(speed):g}",
            why=f"row {speed.index(min(speed)) + 1}: speed_km_h is below zero",
            remedy="give speed without direction",
        )
    return Profile(seconds=times, watts=clean["watts"], speed_km_h=speed)


def _numbers(name: str, column: Sequence[Entry]) -> tuple[float, ...]:
    """A column as floats. Raises PlanError at the first row that holds no number."""
    numbers: list[float] = []
    for row, value in enumerate(column, start=1):
        text = isinstance(value, (bool, str)) or not isinstance(value, Real | None)
        if text and value != "":
            why = f"row {row}: {name} is not a number"
        elif not isinstance(value, Real) or not isfinite(value):
            why = f"row {row}: {name} has a gap or is infinite"
        else:
            numbers.append(float(value))
            continue
        raise PlanError(
            field=FIELD,
            value=repr(value),
            why=why,
            remedy="give a number in every row, or take the row out",
        )
    return tuple(numbers)
