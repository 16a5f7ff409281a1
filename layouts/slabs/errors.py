"""The one error of this folder: shapes that can't become a sound body."""

from __future__ import annotations

__all__ = ["SolidError"]


class SolidError(ValueError):
    """Shapes that can't be made into one sound body.

    Parameters
    ----------
    what : what is wrong, with the place [mm] where it is known
    mend : what would do
    """

    def __init__(self, what: str, *, mend: str) -> None:
        """Words of the error: what is wrong; what would do."""
        super().__init__(f"{what}; {mend}")
        self.what = what
        self.mend = mend
