"""What runs the work of a sweep."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol, TypeVar

from layouts.suggesting.setting import Setting

__all__ = ["Runner"]

_Job = TypeVar("_Job")
_Answer = TypeVar("_Answer")


class Runner(Protocol):
    """Does ``work(setting, job)`` for each job, wherever; answers in the order of the jobs.

    ``stage``: what it is, for a person who waits.
    """

    def __call__(
        self,
        work: Callable[[Setting, _Job], _Answer],
        setting: Setting,
        jobs: Sequence[_Job],
        stage: str,
    ) -> list[_Answer]:
        """The answers."""
        ...
