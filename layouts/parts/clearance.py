"""What must stay free besides the printed parts, as convex pieces in the pack's coordinates."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from layouts.parts.convex import ConvexPiece

__all__ = ["Clearance", "ClearanceKind"]


class ClearanceKind(Enum):
    """What a clearance is for."""

    INSIDE = "inside"  # what the walls enclose, or the vent space around bare cells
    OUTLET = "outlet"
    SCREW_HEAD = "screw head"
    LID_SERVICE = "lid clearance"
    DRIVER_SERVICE = "driver clearance"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Clearance:
    """One body that must stay free."""

    name: str
    kind: ClearanceKind
    pieces: tuple[ConvexPiece, ...]

    @property
    def servicing(self) -> bool:
        """Whether it is required only to remove the lid or drive screws."""
        return self.kind in (ClearanceKind.LID_SERVICE, ClearanceKind.DRIVER_SERVICE)
