"""A duty cycle: amps held for seconds, again and again, and what of it a part must bear."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from math import sqrt

from layouts.errors import PlanError

__all__ = ["FIELD", "DutyCycle", "Pulse"]

FIELD = "load.cycle"


@dataclass(frozen=True, kw_only=True, slots=True)
class Pulse:
    """At least ``amps`` for at most ``seconds`` at a stretch."""

    amps: float
    seconds: float


@dataclass(frozen=True, kw_only=True, slots=True)
class DutyCycle:
    """Rows of a cycle that repeats: ``amps`` (n,) from 0 up, ``seconds`` (n,) above 0.

    Raises PlanError (field load.cycle) for other values, and where no current flows."""

    amps: tuple[float, ...]
    seconds: tuple[float, ...]

    def __post_init__(self) -> None:
        """Refuse what has no mean."""
        if len(self.amps) != len(self.seconds) or not self.amps:
            self._refuse("has rows without amps or seconds", "give each row both, as [A, s]")
        if min(self.seconds) <= 0:
            self._refuse("has a row that takes no time", "give seconds above 0")
        if min(self.amps) < 0:
            self._refuse("has amps below 0", "give braking in load.regeneration_a")
        if max(self.amps) == 0:
            self._refuse("takes no current", "give the amps of the rows that work")

    def _refuse(self, why: str, remedy: str) -> None:
        raise PlanError(field=FIELD, why=why, remedy=remedy)

    @property
    def rows(self) -> tuple[tuple[float, float], ...]:
        """(amps, seconds) of each row."""
        return tuple(zip(self.amps, self.seconds, strict=True))

    @property
    def period_s(self) -> float:
        """Time of one pass."""
        return sum(self.seconds)

    @property
    def mean_a(self) -> float:
        """What empties the pack: charge over time."""
        return sum(a * s for a, s in self.rows) / self.period_s

    @property
    def rms_a(self) -> float:
        """What heats it: the constant current with the same heat in a resistance."""
        return sqrt(sum(a**2 * s for a, s in self.rows) / self.period_s)

    @property
    def pulses(self) -> tuple[Pulse, ...]:
        """For each current above ``rms_a`` the longest stretch at it or above, highest first.

        The last row is followed by the first. Empty for a constant current."""
        levels = sorted({amps for amps in self.amps if amps > self.rms_a * (1 + 1e-12)})
        return tuple(Pulse(amps=a, seconds=self._longest_s(a)) for a in reversed(levels))

    def _longest_s(self, level_a: float) -> float:
        """The longest stretch at ``level_a`` or above, which some row is below."""
        start = self.amps.index(min(self.amps))  # a row below, so that no stretch is cut in two
        turned = self.rows[start:] + self.rows[:start]
        stretches = groupby(turned, key=lambda row: row[0] >= level_a)
        return max(sum(s for _, s in rows) for above, rows in stretches if above)
