"""Input of a script's process, and what may come back instead of a bracket."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.brackets.scripted import BracketSizes

__all__ = ["ENTRY", "BadShapeError", "ScriptJob", "Trouble"]

ENTRY = "bracket"  # the function that a script has


@dataclass(frozen=True, kw_only=True, slots=True)
class ScriptJob:
    """A script's text, its file as named in messages, the line of its function, its argument."""

    file: str
    source: str
    line: int
    sizes: BracketSizes


@dataclass(frozen=True, kw_only=True, slots=True)
class Trouble:
    """Why there is no bracket: at a line of the script, with a value, and the remedy."""

    line: int
    why: str
    value: str | None
    remedy: str


class BadShapeError(Exception):
    """What the script gives is no bracket that can be mounted and printed."""

    def __init__(self, why: str, remedy: str, value: str | None = None) -> None:
        """``why``, ``value``, ``remedy``: as of a fault."""
        super().__init__(why)
        self.why = why
        self.remedy = remedy
        self.value = value
