"""The metal of plates: the least work that keeps warmth, sharing and loss within limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from layouts.cells.arrangement import CellLayout
from layouts.currents.network import Flow, solve
from layouts.currents.plates import conducting
from layouts.currents.strips import (
    StripNetwork,
    plate_network,
    spread_ratio,
)
from layouts.electrical.plate_warmth import RISE_MOST_K, plate_rises_k
from layouts.pack import Pack
from layouts.plates.bars import end_bars
from layouts.plates.labour import Labour, plate_labour, spots_for
from layouts.strips.field import SheetField
from layouts.strips.plate import BusPlate, SheetLayer

__all__ = ["PlateOffer", "PlateTrial", "choose_plates"]

MOST_OF_MEAN_RATIO = 1.10  # hottest cell's current over its group's mean; judgement, no source
LOST_RATIO = 0.02  # of the nominal volts, in all joints; judgement, no source
NICKEL, COPPER = "nickel", "copper"


def _layers(*thick: tuple[str, float]) -> tuple[SheetLayer, ...]:
    return tuple(SheetLayer(material=material, thickness_mm=mm) for material, mm in thick)


# by the work they make; copper lies under nickel that is welded through holes in it
CANDIDATES = (
    _layers((NICKEL, 0.15)),
    _layers((NICKEL, 0.2)),
    _layers((NICKEL, 0.15), (NICKEL, 0.15)),
    _layers((NICKEL, 0.2), (NICKEL, 0.2)),
    _layers((COPPER, 0.1), (NICKEL, 0.15)),
    _layers((COPPER, 0.2), (NICKEL, 0.15)),
)


@dataclass(frozen=True, kw_only=True, slots=True)
class PlateTrial:
    """One choice of layers at a load.

    ``inner_rise_k``, ``end_rise_k``: hottest place of a sheet over its can ends, plates of two
    groups and of one; ``most_ratio``: largest current of a cell over its group's mean;
    ``lost_ratio``: of the nominal volts in all joints. ``ohm``: of all joints in series.
    """

    inner: tuple[SheetLayer, ...]
    end: tuple[SheetLayer, ...]
    inner_rise_k: float
    end_rise_k: float
    most_ratio: float
    spread_ratio: float
    lost_ratio: float
    ohm: float

    @property
    def missed(self) -> str:
        """The limits that are not kept, in words; empty where all are."""
        rise = max(self.inner_rise_k, self.end_rise_k)
        told = [
            (rise > RISE_MOST_K, f"sheets {rise:.0f} K over the can ends of {RISE_MOST_K:g}"),
            (
                self.most_ratio > MOST_OF_MEAN_RATIO,
                f"a cell {100 * (self.most_ratio - 1):.0f} % above its group's mean of "
                f"{100 * (MOST_OF_MEAN_RATIO - 1):.0f}",
            ),
            (
                self.lost_ratio > LOST_RATIO,
                f"{100 * self.lost_ratio:.1f} % of the volts lost of {100 * LOST_RATIO:g}",
            ),
        ]
        return ", ".join(words for missed, words in told if missed)

    @property
    def holds(self) -> bool:
        """Whether all limits are kept."""
        return not self.missed

    @property
    def words(self) -> str:
        """Its layers."""
        inner, end = (
            " on ".join(f"{one.material} {one.thickness_mm:g} mm" for one in reversed(layers))
            for layers in (self.inner, self.end)
        )
        return inner if inner == end else f"{inner}, those of the end groups {end}"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PlateOffer:
    """Plates with their metal chosen. ``trials``: in their order, the last is taken."""

    plates: tuple[BusPlate, ...]
    trials: tuple[PlateTrial, ...]
    labour: Labour

    @property
    def taken(self) -> PlateTrial:
        """The first that holds, else the last that was tried."""
        return self.trials[-1]


def choose_plates(
    pack: Pack, cell_layout: CellLayout, plates: Sequence[BusPlate], *, load_a: float
) -> PlateOffer:
    """Layers of inner and end plates, apart: more metal where a limit is not kept, until all are.

    A rise asks for more where it is too high, sharing and loss ask for more everywhere."""
    known: dict[bytes, SheetField] = {}
    spots = spots_for(load_a / pack.parallel, pack.strip.weld_spot_a)
    bars = end_bars(pack, cell_layout, load_a)
    bare = [
        replace(
            plate,
            bar=bars.get((plate.face, plate.groups[0])) if plate.is_end else None,
            spots=spots,
        )
        for plate in plates
    ]
    inner = end = 0
    trials: list[PlateTrial] = []
    while True:
        layered = [
            replace(plate, layers=CANDIDATES[end if plate.is_end else inner]) for plate in bare
        ]
        made = conducting(cell_layout, layered, known)
        one = _tried(pack, cell_layout, made, CANDIDATES[inner], CANDIDATES[end], load_a=load_a)
        trials.append(one)
        last = len(CANDIDATES) - 1
        everywhere = one.most_ratio > MOST_OF_MEAN_RATIO or one.lost_ratio > LOST_RATIO
        more_inner = inner < last and (everywhere or one.inner_rise_k > RISE_MOST_K)
        more_end = end < last and (everywhere or one.end_rise_k > RISE_MOST_K)
        if not (more_inner or more_end):
            break
        inner, end = inner + more_inner, end + more_end
    spots = spots_for(load_a / pack.parallel * trials[-1].most_ratio, pack.strip.weld_spot_a)
    made = tuple(replace(plate, spots=spots) for plate in made)
    return PlateOffer(plates=made, trials=tuple(trials), labour=plate_labour(made))


def _tried(
    pack: Pack,
    cell_layout: CellLayout,
    plates: Sequence[BusPlate],
    inner: tuple[SheetLayer, ...],
    end: tuple[SheetLayer, ...],
    *,
    load_a: float,
) -> PlateTrial:
    """What these layers do at a load, resistances at 20 C."""
    laid = plate_network(pack, cell_layout, plates)
    flow = solve(laid.network, load_a)
    rises = plate_rises_k(cell_layout, plates, flow)
    ends = np.array([plate.is_end for plate in plates])
    group = cell_layout.group - 1
    mean = np.bincount(group, weights=flow.cell_a) / np.bincount(group)
    ohm = _joints_w(laid, flow) / load_a**2
    return PlateTrial(
        inner=inner,
        end=end,
        inner_rise_k=float(rises[~ends].max(initial=0.0)),
        end_rise_k=float(rises[ends].max(initial=0.0)),
        most_ratio=float((flow.cell_a / mean[group]).max()),
        spread_ratio=spread_ratio(cell_layout.group, flow.cell_a),
        lost_ratio=ohm * load_a / (pack.series * pack.cell.nominal_v),
        ohm=ohm,
    )


def _joints_w(laid: StripNetwork, flow: Flow) -> float:
    """Heat of all sheets and bars, welds left out."""
    after = laid.strip_links + laid.welds
    return float(laid.strips_of(flow.link_w).sum() + flow.link_w[after:].sum())
