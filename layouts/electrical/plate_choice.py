"""The metal of plates: the least work that keeps warmth, sharing and loss within limits."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.currents.network import Flow, solve
from layouts.currents.plates import conducting
from layouts.currents.strips import (
    StripNetwork,
    plate_network,
    spread_ratio,
)
from layouts.electrical.plate_warmth import RISE_MOST_K, plate_rises_k
from layouts.pack import PLATE_SHEET_MM, Pack, plate_sheet_mm
from layouts.plates.bars import end_bars
from layouts.plates.bars_cut import cut_at_posts, on_sheet
from layouts.plates.cell_fuses import check_cell_fuses_lead
from layouts.plates.labour import Labour, plate_labour, spots_for
from layouts.plates.pierced import with_pierced_layers
from layouts.strips.field import SheetField
from layouts.strips.plate import BusPlate, SheetLayer

__all__ = ["PlateOffer", "PlateTrial", "choose_plates", "given_layers"]

MOST_OF_MEAN_RATIO = 1.10  # hottest cell's current over its group's mean; judgement, no source
LOST_RATIO = 0.02  # of the nominal volts, in all joints; judgement, no source
NICKEL, COPPER = "nickel", "copper"


def _layers(*thick: tuple[str, float]) -> tuple[SheetLayer, ...]:
    return tuple(SheetLayer(material=material, thickness_mm=mm) for material, mm in thick)


# by the work they make; copper lies under nickel that is welded through holes in it (``pierced``)
CANDIDATES = (
    _layers((NICKEL, PLATE_SHEET_MM)),
    _layers((NICKEL, 0.2)),
    _layers((NICKEL, PLATE_SHEET_MM), (NICKEL, PLATE_SHEET_MM)),
    _layers((NICKEL, 0.2), (NICKEL, 0.2)),
    _layers((COPPER, 0.1), (NICKEL, 0.15)),
    _layers((COPPER, 0.2), (NICKEL, 0.15)),
)
DOUBLE_NICKEL = CANDIDATES[2]  # what many weld: shown beside the choice; common practice, no source


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
    """Plates with their metal chosen. ``trials``: in their order, the last is taken.

    ``beside``: for comparison, what would be chosen where the pack file gives the metal, else two
    layers of nickel, None where that is what is chosen; ``beside_labour``: of that."""

    plates: tuple[BusPlate, ...]
    trials: tuple[PlateTrial, ...]
    labour: Labour
    beside: PlateTrial | None
    beside_labour: Labour | None
    is_given: bool

    @property
    def taken(self) -> PlateTrial:
        """The first that holds, else the last that was tried."""
        return self.trials[-1]


def choose_plates(
    pack: Pack,
    cell_layout: CellLayout,
    plates: Sequence[BusPlate],
    *,
    load_a: float,
    posts_mm: NDArray[np.float64] | None = None,
) -> PlateOffer:
    """Layers of inner and end plates, apart, as the pack file gives them or the first that do.

    ``posts_mm`` (p, 3): x, y and radius of each tie post with its clearance, which bars go round or
    end at. Where they are chosen: more metal where a limit is not kept, until all are. A rise asks
    for more where it is too high, sharing and loss ask for more everywhere. Given weld spots win
    too."""
    known: dict[bytes, SheetField] = {}
    bars = end_bars(pack, cell_layout, load_a)
    bare = []
    for plate in plates:
        bar = bars.get((plate.face, plate.groups[0])) if plate.is_end else plate.bar
        if plate.is_end and bar is not None and posts_mm is not None:
            bar = on_sheet(plate, cut_at_posts(cell_layout, plate, bar, posts_mm))
        bare.append(replace(plate, bar=bar, spots=_spots(pack, load_a / pack.parallel)))
        check_cell_fuses_lead(pack, cell_layout, bare[-1])

    def tried(
        inner: tuple[SheetLayer, ...], end: tuple[SheetLayer, ...]
    ) -> tuple[tuple[BusPlate, ...], PlateTrial]:
        layered = [
            with_pierced_layers(cell_layout, replace(plate, layers=end if plate.is_end else inner))
            for plate in bare
        ]
        made = conducting(cell_layout, layered, known)
        return made, _tried(pack, cell_layout, made, inner, end, load_a=load_a)

    def finished(made: Sequence[BusPlate], trial: PlateTrial) -> tuple[BusPlate, ...]:
        spots = _spots(pack, load_a / pack.parallel * trial.most_ratio)
        return tuple(replace(plate, spots=spots) for plate in made)

    own = given_layers(pack)
    chosen = _climbed(tried, _candidates(pack))
    taken = chosen if own is None else [tried(own, own)]
    beside = chosen[-1] if own is not None else tried(DOUBLE_NICKEL, DOUBLE_NICKEL)
    plates = finished(*taken[-1])
    other = beside[1]
    same = (other.inner, other.end) == (taken[-1][1].inner, taken[-1][1].end)
    return PlateOffer(
        plates=plates,
        trials=tuple(trial for _, trial in taken),
        labour=plate_labour(plates),
        beside=None if same else other,
        beside_labour=None if same else plate_labour(finished(*beside)),
        is_given=own is not None,
    )


def given_layers(pack: Pack) -> tuple[SheetLayer, ...] | None:
    """The layers that the pack file asks for; None where it leaves them to be chosen."""
    spec = pack.strip
    if not {"material", "thickness_mm", "layers"} & set(spec.given):
        return None
    return _layers(*[(spec.material, plate_sheet_mm(spec))] * spec.layers)


def _spots(pack: Pack, cell_a: float) -> int:
    """Weld spots on each can end: as given, else by a cell's current."""
    spec = pack.strip
    return spec.weld_spots if "weld_spots" in spec.given else spots_for(cell_a, spec.weld_spot_a)


def _candidates(pack: Pack) -> tuple[tuple[SheetLayer, ...], ...]:
    """Layers to choose from; with fusible necks of one metal: copper beneath a nickel neck would
    carry on when that has melted."""
    if pack.strip.cell_fuse_mm is None:
        return CANDIDATES
    return tuple(layers for layers in CANDIDATES if len({one.material for one in layers}) == 1)


def _climbed(
    tried: Callable[
        [tuple[SheetLayer, ...], tuple[SheetLayer, ...]], tuple[tuple[BusPlate, ...], PlateTrial]
    ],
    listed: Sequence[tuple[SheetLayer, ...]],
) -> list[tuple[tuple[BusPlate, ...], PlateTrial]]:
    """What was tried from the least work on, up to the first that keeps all limits."""
    inner = end = 0
    last = len(listed) - 1
    found = []
    while True:
        found.append(tried(listed[inner], listed[end]))
        one = found[-1][1]
        everywhere = one.most_ratio > MOST_OF_MEAN_RATIO or one.lost_ratio > LOST_RATIO
        more_inner = inner < last and (everywhere or one.inner_rise_k > RISE_MOST_K)
        more_end = end < last and (everywhere or one.end_rise_k > RISE_MOST_K)
        if not (more_inner or more_end):
            return found
        inner, end = inner + more_inner, end + more_end


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
    peak_a = None if pack.load is None else pack.load.peak_a
    rises = plate_rises_k(cell_layout, plates, flow, current_a=max(load_a, peak_a or 0.0))
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
