"""Where the protection board stands in a tub of any form, and what holds it."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.parts.shell import BoardPlace, Rect

__all__ = ["BoardSeat"]


@dataclass(frozen=True, kw_only=True, slots=True)
class BoardSeat:
    """A board on edge, or flat.

    ``board``: its plan; ``z0_mm``, ``z1_mm``: its lower and upper edge, or face. ``guides``:
    upright ribs up to ``guide_z1_mm``, a leg and a hook at each end where it stands on edge.
    ``rests``: blocks under it."""

    board: Rect
    z0_mm: float
    z1_mm: float
    guides: tuple[Rect, ...]
    guide_z1_mm: float
    rests: tuple[Rect, ...]

    @property
    def place(self) -> BoardPlace:
        """The board alone."""
        return BoardPlace(plan=self.board, z0_mm=self.z0_mm, z1_mm=self.z1_mm)
