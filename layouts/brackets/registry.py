"""The kinds of brackets that there are, each by the word of the pack file's ``mount.kind``.

A kind is loaded when it is asked for: the words alone are needed to read a pack file, and a
kind's drawing brings arrays and outlines with it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from layouts.brackets.kind import BracketKind
    from layouts.pack import Pack

__all__ = ["KINDS", "kind_of"]


def _angle() -> BracketKind:
    from layouts.brackets.angle import ANGLE

    return ANGLE


KINDS: Mapping[str, Callable[[], BracketKind]] = {"angle": _angle}


def kind_of(pack: Pack) -> BracketKind:
    """The kind of the pack's brackets."""
    return KINDS[pack.mount.kind]()
