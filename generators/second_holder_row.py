"""What result.json has of whether the second holder goes on."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from layouts.holders.second_holder import HolderFit

__all__ = ["second_holder_row"]

KEYS = ("clearance_mm", "chance")


def second_holder_row(fit: HolderFit, plain: Callable[[Any], Any]) -> dict[str, Any]:
    """Chances from 0 to 1, clearances; ``plain`` makes a value JSON's own."""
    row: dict[str, Any] = plain(fit)
    pairs = [dict(zip(KEYS, one, strict=True)) for one in row["by_clearance"]]
    return row | {"by_clearance": pairs}
