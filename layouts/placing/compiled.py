"""Compiling the inner loops, where numba is installed; the same code runs slowly without."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

try:
    from numba import njit
except ImportError:
    COMPILED = False
else:
    COMPILED = True

__all__ = ["COMPILED", "compiled"]

_Function = TypeVar("_Function", bound=Callable[..., Any])


def compiled(function: _Function) -> _Function:
    """The function in compiled code, kept on disk; sums in the written order."""
    if not COMPILED:
        return function
    return cast(_Function, njit(cache=True, fastmath=False)(function))
