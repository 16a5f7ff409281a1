"""Errors of planning: the pack file must change, or a geometry library gave up."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from typing import Any

__all__ = ["LibraryError", "NoPlaceError", "PlanError", "told_by_field"]


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

    def __reduce__(self) -> tuple[Any, ...]:
        """It passes from process to process, without its cause."""
        made = partial(
            type(self), field=self.field, why=self.why, remedy=self.remedy, value=self.value
        )
        return made, ()


class NoPlaceError(PlanError):
    """A pack whose enclosure finds no place in its space. Another layout of its cells may."""

    def __init__(
        self,
        *,
        field: str,
        value: str,
        why: str,
        remedy: str,
        advice: Callable[[], str],
        first: str = "",
    ) -> None:
        """``remedy``: what does in any case; ``first``: what may do before that. ``advice``: what
        would do, found by a search that takes its time; empty where it finds nothing."""
        both = f"{first}; or {remedy}" if first else remedy
        super().__init__(field=field, value=value, why=why, remedy=both)
        self._sure, self._advice = remedy, advice

    def advised(self) -> PlanError:
        """The same refusal with what would do."""
        advice = self._advice()
        remedy = f"{advice}; or {self._sure}" if advice else self.remedy
        return PlanError(field=self.field, value=self.value, why=self.why, remedy=remedy)

    def __reduce__(self) -> tuple[Any, ...]:
        """It passes from process to process as the plain refusal."""
        made = partial(
            PlanError, field=self.field, value=self.value, why=self.why, remedy=self.remedy
        )
        return made, ()


class LibraryError(PlanError):
    """A geometry library or the kernel gave up on what a field of the pack file asks for.

    Its ``__cause__`` is the library's own error, which belongs in a log.
    """


@contextmanager
def told_by_field(
    field: str,
    *,
    what: str,
    libraries: tuple[str, ...] = ("shapely", "scipy"),
    also: tuple[type[Exception], ...] = (),
) -> Iterator[None]:
    """Turns an error of one of the libraries into a LibraryError that names a field.

    ``what``: which part or step it is, as in "the strips". Libraries' exceptions have no common
    base: they are known by the package that they come from.
    ``also``: errors of ours that mean the same. Others pass through. Also a decorator.
    """
    try:
        yield
    except Exception as error:
        library = type(error).__module__.partition(".")[0]
        if library not in libraries and not isinstance(error, also):
            raise
        raise LibraryError(
            field=field,
            why=f"gives a shape that can't be drawn: {what}: {error}",
            remedy="change this value, or a size of this section, a little",
        ) from error
