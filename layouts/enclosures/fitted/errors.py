"""The one error of the outline: contents that no closed curve can follow as asked."""

from __future__ import annotations

from typing import Any

__all__ = ["OutlineError"]


class OutlineError(ValueError):
    """No outline of these contents, or no parallel to it.

    Parameters
    ----------
    why : what is wrong, with the place [mm]
    remedy : what would do
    field : of the pack file, whose wish it does not meet; empty where it is none
    """

    def __init__(self, why: str, *, remedy: str, field: str = "") -> None:
        """Text of the error: what is wrong, what would do."""
        super().__init__(f"{why}; {remedy}")
        self.why = why
        self.remedy = remedy
        self.field = field

    def __reduce__(self) -> tuple[Any, ...]:
        """It passes from process to process."""
        return _remade, (self.why, self.remedy, self.field)


def _remade(why: str, remedy: str, field: str) -> OutlineError:
    return OutlineError(why, remedy=remedy, field=field)
