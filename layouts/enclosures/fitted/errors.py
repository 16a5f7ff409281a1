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
    """

    def __init__(self, why: str, *, remedy: str) -> None:
        """Text of the error: what is wrong, what would do."""
        super().__init__(f"{why}; {remedy}")
        self.why = why
        self.remedy = remedy

    def __reduce__(self) -> tuple[Any, ...]:
        """It passes from process to process."""
        return _remade, (self.why, self.remedy)


def _remade(why: str, remedy: str) -> OutlineError:
    return OutlineError(why, remedy=remedy)
