"""The one error of reading a space's files."""

from __future__ import annotations

__all__ = ["UnreadableError"]


class UnreadableError(ValueError):
    """A file that can't be used: ``why``, ``value`` and ``remedy`` as in a fault's line.

    ``key``: the keys at fault, from the entry that names the file down.
    """

    def __init__(
        self,
        why: str,
        remedy: str,
        value: str | None = None,
        *,
        key: tuple[str, ...] = ("file",),
    ) -> None:
        super().__init__(f"{why} ({value}), {remedy}")
        self.why = why
        self.remedy = remedy
        self.value = value
        self.key = key

    def __reduce__(self) -> tuple[object, ...]:
        """From one process to another, with all that it says."""
        return _again, (self.why, self.remedy, self.value, self.key)


def _again(why: str, remedy: str, value: str | None, key: tuple[str, ...]) -> UnreadableError:
    return UnreadableError(why, remedy, value, key=key)
