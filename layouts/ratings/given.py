"""What numbers the ratings take, and how they are compared: one place for both."""

from __future__ import annotations

import math
from numbers import Integral, Real

__all__ = ["MEMORY", "PRACTICE", "above_zero", "any_number", "at_most", "counted", "not_negative"]

PRACTICE = "common practice, no source"
MEMORY = "from memory, not confirmed"
FLOAT_RATIO = 1e-9  # volts of a string are products such as 13 x 4.2: rounding is no fault


def any_number(value: float, name: str) -> float:
    """The value as a float. Raises ValueError where it is no finite number."""
    if isinstance(value, bool) or not isinstance(value, Real) or not math.isfinite(value):
        raise ValueError(f"{name} must be a finite number, got {value!r}")
    return float(value)


def above_zero(value: float, name: str) -> float:
    """The value as a float. Raises ValueError where it is no finite number above zero."""
    if any_number(value, name) <= 0:
        raise ValueError(f"{name} must be above zero, got {value!r}")
    return float(value)


def not_negative(value: float, name: str) -> float:
    """The value as a float. Raises ValueError where it is no finite number from zero up."""
    if any_number(value, name) < 0:
        raise ValueError(f"{name} must not be below zero, got {value!r}")
    return float(value)


def counted(value: int, name: str) -> int:
    """The value as an int. Raises ValueError where it is no whole number from 1 up."""
    if isinstance(value, bool) or not isinstance(value, Integral) or value < 1:
        raise ValueError(f"{name} must be a whole number from 1 up, got {value!r}")
    return int(value)


def at_most(value: float, limit: float) -> bool:
    """Whether a figure is at most its limit, rounding of floats aside."""
    return value <= limit + FLOAT_RATIO * max(abs(value), abs(limit))
