"""Checks of what was measured on meshes: one way to state them, one remedy for faults of ours."""

from __future__ import annotations

import math

from layouts.checks import Check

__all__ = ["TOOL_FAULT", "geometry_check"]

TOOL_FAULT = "a fault of the tool, not of the pack file: keep the file and the log"


def geometry_check(
    id_: str,
    about: str,
    value: float,
    limit: float,
    unit: str,
    *,
    at_least: bool = False,
    where: str = "",
    remedy: str = TOOL_FAULT,
) -> Check:
    """A check that holds where ``value`` is at most (``at_least``: at least) ``limit``.

    A value that is infinite, for something that is not there at all, is left out.
    """
    return Check(
        id=id_,
        about=about,
        holds=value >= limit if at_least else value <= limit,
        value=value if math.isfinite(value) else None,
        limit=limit,
        unit=unit,
        source="geometry",
        remedy=remedy,
        at_least=at_least,
        where=where,
    )
