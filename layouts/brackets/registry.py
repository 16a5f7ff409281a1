"""The kinds of brackets that there are, each by the word of the pack file's ``mount.kind``.

A kind is loaded on demand: the words alone are needed to read a pack file, and a kind's drawing
brings arrays and outlines with it."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from layouts.brackets.holding import HoldSource
    from layouts.brackets.kind import BracketKind
    from layouts.pack import Pack

__all__ = ["HOLDING", "KINDS", "kind_named", "kind_of", "source_named"]

# word of the pack file -> module whose KIND is a BracketKind
KINDS: Mapping[str, str] = {
    "angle": "layouts.brackets.angle",
    "flat": "layouts.brackets.flat",
    "sheet": "layouts.brackets.sheet",
    "round_clamp": "layouts.brackets.round_clamp",
    "square_clamp": "layouts.brackets.square_clamp",
    "script": "layouts.brackets.script",
}

# word of a kind -> module whose frame_holds is a HoldSource: kinds that the solver may
# place on the features of a frame, see layouts.brackets.holding
HOLDING: Mapping[str, str] = {
    "angle": "layouts.brackets.angle_holds",
}


def kind_named(word: str) -> BracketKind:
    """The kind of a word. Raises KeyError where there is none."""
    kind: BracketKind = import_module(KINDS[word]).KIND
    return kind


def kind_of(pack: Pack) -> BracketKind:
    """The kind of the pack's brackets."""
    return kind_named(pack.mount.kind)


def source_named(word: str) -> HoldSource:
    """Where brackets of a kind could hold a pack. Raises KeyError where there is none."""
    source: HoldSource = import_module(HOLDING[word]).frame_holds
    return source
