"""Everything electrical that is decided about one pack."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from layouts.checks import Check
from layouts.electrical.cell_fuses import CellFuseRating
from layouts.electrical.charging import Charging
from layouts.electrical.cycled import Cycled
from layouts.electrical.flows import Losses, Shares
from layouts.electrical.fuse_protection import FuseProtection
from layouts.electrical.inside_heat import InsideHeat
from layouts.electrical.leads import MainLeads
from layouts.electrical.machine import Machine
from layouts.electrical.main_terminals import Landing
from layouts.electrical.sections import StripLimit
from layouts.electrical.strip_heat import StripRise
from layouts.heat.rating import HeatRating
from layouts.heat.steady import Temperatures
from layouts.ratings.limits import Ratings
from layouts.ratings.taps import BalanceLeadRating
from layouts.ratings.touch_voltage import Touch

__all__ = ["Electrical"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Electrical:
    """A pack's electrical side.

    ``reference``: losses at ``ratings.reference_a``; ``continuous`` at the continuous rating,
    ``peak`` at the peak load (None without one), ``charge`` at the charge current. ``strip_limit``,
    ``strip_rise``: None for a pack without strips; ``cell_fuses``: for plates without necks.
    ``first_cell_a``: pack current at which the most loaded cell is at its own rating. ``heat`` is
    given at the reference, ``heat_continuous`` in steady state at the continuous rating.
    ``inside_heat``: of board, fuse and leads. ``cycle``: None without ``load.cycle``.
    ``checks``: of what was required or given; ``cautions``, ``advice`` in words."""

    ratings: Ratings
    shares: Shares
    reference: Losses
    continuous: Losses
    peak: Losses | None
    charge: Losses
    landings: tuple[Landing, ...]
    strip_limit: StripLimit | None
    strip_rise: StripRise | None
    cell_fuses: CellFuseRating | None
    first_cell_a: float
    leads: MainLeads
    fuse_protection: FuseProtection
    balance_leads: BalanceLeadRating
    charging: Charging
    machine: Machine
    touch: Touch
    heat: HeatRating
    inside_heat: InsideHeat
    heat_continuous: Temperatures
    checks: tuple[Check, ...]
    cautions: tuple[str, ...]
    advice: tuple[str, ...]
    cycle: Cycled | None = None

    @property
    def at(self) -> Literal["asked", "continuous"]:
        """Which current ``reference`` and ``heat`` are given at."""
        return "continuous" if self.ratings.demand_a is None else "asked"

    @property
    def cell_a(self) -> NDArray[np.float64]:
        """(N,) current of each cell at the reference [A]."""
        return self.shares.cell_a(self.reference.load_a)

    @property
    def link_a(self) -> NDArray[np.float64]:
        """(K,) current of each link at the reference, from its first cell to its second [A]."""
        return self.shares.link_a(self.reference.load_a)

    @property
    def link_w(self) -> NDArray[np.float64]:
        """(K,) heat of each link at the reference [W]."""
        return self.shares.link_w(self.reference.load_a)

    @property
    def empty_c(self) -> NDArray[np.float64]:
        """(N,) each can at the reference when the pack has just become empty [C]."""
        return self.heat.empty.cell_c
