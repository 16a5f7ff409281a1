"""Where the last joint is opened for any work: above the volts that are safe to touch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.pack import Face, Pack, Surroundings
from layouts.plates.touching import nets_of
from layouts.plates.welding_order import Welded, weld_steps
from layouts.ratings.touch_voltage import touch

__all__ = ["BridgedJoint", "bridged_joint", "bridged_place"]


@dataclass(frozen=True, kw_only=True, slots=True)
class BridgedJoint:
    """The plate, by its index, that is made as two sheets with a screwed bridge.

    ``full_v``: of the pack; ``limit_v``: that it exceeds; ``open_v``: of the larger part of the
    string while the bridge is out."""

    plate: int
    full_v: float
    limit_v: float
    open_v: float


def bridged_joint(pack: Pack, plates: Sequence[Welded]) -> BridgedJoint | None:
    """The joint that is welded last: it leaves the larger part of the string smallest.

    None where the pack's full volts may be touched: up to 60 V, 30 V where it is splashed."""
    full_v = pack.series * pack.cell.full_v
    limit = touch(highest_v=full_v, wet=pack.enclosure.surroundings is Surroundings.SPLASHED)
    if not limit.exceeds or not plates:
        return None
    steps = weld_steps(plates, series=pack.series, full_v=pack.cell.full_v)
    if plates[steps[-1].plate].is_end:
        return None
    return BridgedJoint(
        plate=steps[-1].plate,
        full_v=full_v,
        limit_v=limit.limit_v,
        open_v=steps[-2].volts,
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class _Joint:
    """A joint before its plate is laid."""

    face: Face
    groups: tuple[int, ...]

    @property
    def is_end(self) -> bool:
        """Whether it is an end group's."""
        return len(self.groups) == 1


def bridged_place(pack: Pack, cell_layout: CellLayout) -> tuple[Face, NDArray[np.int64]] | None:
    """Face and cells of the joint that is opened for any work, before plates are laid."""
    nets = [(face, net) for face in (Face.LOWER, Face.UPPER) for net in nets_of(cell_layout, face)]
    joints = [
        _Joint(face=face, groups=tuple(np.unique(cell_layout.group[net]).tolist()))
        for face, net in nets
    ]
    found = bridged_joint(pack, joints)
    return None if found is None else nets[found.plate]
