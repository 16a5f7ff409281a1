"""The one error of planning: no valid plan exists for what the pack file requires."""

from __future__ import annotations

__all__ = ["PlanError"]


class PlanError(ValueError):
    """A pack that can't be planned at all, and the field of the pack file that must change.

    Other ValueErrors of this package mean that a function was called wrongly: a fault of the
    tool's, not of the pack file's.
    """

    def __init__(self, *, field: str, why: str, remedy: str, value: str | None = None) -> None:
        """``field``: its keys joined by dots; ``value``: what it holds, where that says more
        than the file's own text; ``why``, ``remedy``: what is wrong, the remedy.
        """
        told = "" if value is None else f" ({value})"
        super().__init__(f"{field}: {why}{told}, {remedy}")
        self.field = field
        self.value = value
        self.why = why
        self.remedy = remedy
