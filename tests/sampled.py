"""Cases of slow proofs: a few run with the normal tests, all of them with the slow ones."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, TypeVar

import pytest

Case = TypeVar("Case")


def sampled(cases: Iterable[Case], normal: Callable[[Case], bool]) -> list[Any]:
    """The cases of a ``parametrize``; those that ``normal`` leaves out are marked slow."""
    return [
        case
        if normal(case)
        else pytest.param(*(case if isinstance(case, tuple) else (case,)), marks=pytest.mark.slow)
        for case in cases
    ]
