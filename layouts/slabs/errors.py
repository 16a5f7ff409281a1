"""The one error of this folder: shapes that can't become a sound body."""

from __future__ import annotations

__all__ = ["SolidError"]


class SolidError(ValueError):
    """Shapes that can't be made into one sound body.

    Parameters
    ----------
    what : what is wrong, with the place [mm] where it is known
    mend : the remedy
    """

    def __init__(self, what: str, *, remedy: str) -> None:
        """Text of the error: what is wrong; the remedy."""
        super().__init__(f"{what}; {remedy}")
        self.what = what
        self.remedy = remedy
