"""What the page asks a planning process; nothing that is slow to load is loaded here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

__all__ = ["Question"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Question:
    """``sheet`` and ``number``: what it belongs to; ``text``: the pack file's; ``path``: what names
    in it count from; ``moving``: values of a space that is being dragged, with the last outside."""

    sheet: str
    number: int
    text: str = ""
    path: str = ""
    moving: Mapping[str, Any] | None = None
