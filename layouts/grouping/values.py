"""What is wished of a grouping, and what a grouping gives back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

__all__ = ["Grouping", "Wishes"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Wishes:
    """What counts in a grouping beside the smallest boundary.

    ``voltage_weight``: share of the boundary's bound that may be given up to bring the worst pair
    of touching cells from the whole pack's volts down to one cell's; 0 considers group boundaries
    alone. ``full_v``: volts of a full cell. ``volts_limit``: most volts allowed between touching
    cells. ``minus_side``, ``plus_side``: directions (x, y) of the plan where group 1 and group S
    should lie; None: +x, with a lower weight. ``pinned``: group (1..S) by cell index. ``seed``: of
    the search; same input, same seed, same answer."""

    voltage_weight: float = 0.2
    full_v: float = 4.2
    volts_limit: float | None = None
    minus_side: tuple[float, float] | None = None
    plus_side: tuple[float, float] | None = None
    pinned: Mapping[int, int] = field(default_factory=dict)
    seed: int = 1


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Grouping:
    """Cells in S connected groups of P, each touching the next.

    ``group`` (n,): 1..S, 0 for a site left empty. ``group_contacts`` (S-1,): touching pairs between
    consecutive groups. ``contact_bound``: no grouping of these cells has a larger smallest
    boundary; ``contact_bound_reason``: why; ``proven``: the boundary reached is that bound.
    ``worst_pair``: the touching cells with the most volts between them, i < j, and ``worst_volts``
    those volts (None, 0 where all touching cells share a group). ``method``: what won."""

    group: NDArray[np.int64]
    group_contacts: NDArray[np.int64]
    contact_bound: int
    contact_bound_reason: str
    proven: bool
    worst_pair: tuple[int, int] | None
    worst_volts: float
    method: str
    notes: tuple[str, ...] = ()

    @property
    def fewest_contacts(self) -> int:
        """Touching pairs of the narrowest boundary; 0 where there is one group only."""
        return int(self.group_contacts.min()) if len(self.group_contacts) else 0
