"""What several tests read of whole plans."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from layouts.parts.fasteners import Into
from layouts.parts.outside import OutsidePiece, outside_pieces
from layouts.parts.screw import PlacedScrew
from layouts.planning.pack_plan import PackPlan


def outside_of(plan: PackPlan) -> tuple[OutsidePiece, ...]:
    """The outside of a whole plan, from its drawings."""
    enclosure = plan.enclosure
    parts = (*enclosure.parts, *plan.bracket.parts)
    return outside_pieces(enclosure.shell, parts, enclosure.screws)


def frame_holes_mm(screws: Iterable[PlacedScrew]) -> NDArray[np.float64]:
    """(n, 3) where the frame must be drilled, behind what its screws pass."""
    return np.array([one.point(-one.through_mm) for one in screws if one.into is Into.FRAME])
