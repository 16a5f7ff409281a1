"""The kinds of brackets that there are."""

from __future__ import annotations

from layouts.brackets.angle import ANGLE
from layouts.brackets.kind import BracketKind
from layouts.brackets.script import SCRIPT
from layouts.pack import Pack

__all__ = ["KINDS", "kind_of"]

KINDS: dict[str, BracketKind] = {kind.name: kind for kind in (ANGLE, SCRIPT)}


def kind_of(pack: Pack) -> BracketKind:
    """The kind that the pack's mount asks for."""
    return KINDS[pack.mount.offers]
