"""Where tub and lid are cut: the fewest pieces that each lie within the printer's bed."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.brackets.registry import kind_of
from layouts.brackets.strength import strength_limit_mpa
from layouts.enclosures.fitted.cut_sites import (
    CLEAR_MM,
    SEAM_HALF_MM,
    CutSite,
    fewest_screws,
    lid_site,
    pieces_of,
    seam_mm,
    tub_site,
)
from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.seam_path import kept_loop
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.fitted.splice_load import (
    SeamLoad,
    screw_limit_n,
    screw_n,
    seam_loads,
    strap_stress_mpa,
)
from layouts.enclosures.fitted.splices import NO_CUTS, BedSeam, PartCuts, Splices, Strap, strip_of
from layouts.enclosures.fitted.straps import (
    STRAP_SCREW,
    StrapKit,
    least_thick_mm,
    strap_kit,
    straps_at,
)
from layouts.enclosures.laps import SEAM_GAP_MM, STEP_MM, WALL_LAP_MM
from layouts.enclosures.seam_choice import fewest_cuts
from layouts.enclosures.support_pads import SupportPad
from layouts.pack import Pack
from layouts.parts.bed import usable_bed_mm
from layouts.parts.shell import Rect

__all__ = ["LARGER_BED", "LEAST_SCREWS", "STAND_PLAY_MM", "cut_to_the_bed", "part_loads"]

# All judgement, no source
TRY_MM = 1.0  # places tried
END_MM = 20.0  # from a part's end to its first seam
STAGGERS_MM = (26.0, 20.0)  # the lid's seams stand off the tub's, so that each bridges the other's
STAND_PLAY_MM = 0.2  # between a strap beneath the floor and what the brackets stand on
LID_STRAP_MOST_MM = 6.0
LEAST_SCREWS = 2  # of straps, that hold each piece
LARGER_BED = "a larger printer.bed_mm, which leaves more positions for a seam"
FINE_MM = 1e-6


def cut_to_the_bed(pack: Pack, sizes: FittedSizes, held: BaseGeometry) -> Splices:
    """Seams and straps of tub and lid, none where they fit the bed as they are."""
    planners = {
        "tub": _Planner(pack, sizes, held, tub_site(sizes)),
        "lid": _Planner(pack, sizes, held, lid_site(sizes)),
    }
    best: dict[str, PartCuts] | None = None
    for stagger, order in itertools.product(STAGGERS_MM, (("tub", "lid"), ("lid", "tub"))):
        found: dict[str, PartCuts] = {}
        for part in order:
            others = [seam for cuts in found.values() for seam in cuts.seams]
            found[part] = planners[part].cuts(others, stagger)
        if best is None or _missing(found) < _missing(best):
            best = found
        if not _missing(best):
            break
    assert best is not None
    return Splices(**best, screw=STRAP_SCREW, layer_mm=pack.printer.layer_mm)


def _missing(found: dict[str, PartCuts]) -> int:
    return sum(bool(cuts.why) for cuts in found.values())


def part_loads(
    pack: Pack, sizes: FittedSizes, held: BaseGeometry, site: CutSite, axis: int,
    at_mm: Sequence[float],
) -> tuple[SeamLoad, ...]:  # fmt: skip
    """What seams of tub or lid square to an axis must carry."""
    x0, y0, x1, y1 = site.inside.bounds
    pads: tuple[SupportPad, ...] = sizes.support_pads_floor
    if site.part == "lid":
        pads = sizes.support_pads_lid
        if sizes.clamp is not None:
            pads = (*pads, *sizes.clamp.disc_pads)
    levels = sizes.shell.levels
    apart = (levels.rim_mm + levels.lid_mm - levels.floor_mm - levels.under_mm) / 2
    return seam_loads(
        pack, Rect(x0=x0, y0=y0, x1=x1, y1=y1), pads, held, sizes.pads, apart, axis, at_mm
    )


_Places = dict[float, StrapKit | None]


class _Hold(Enum):
    """What is asked of a place for a seam, less and less: straps that carry its load, and nothing
    over it; these also beneath the board; any straps; none."""

    STRONG = "strong"
    STRONG_LAST = "strong, beneath the board"
    ANY = "any strap"
    NONE = "none"


STRONG = (_Hold.STRONG, _Hold.STRONG_LAST)


def straps_carry(
    pack: Pack, site: CutSite, seam: BedSeam, straps: Sequence[Strap], load: SeamLoad,
    *, bending: bool = True,
) -> bool:  # fmt: skip
    """Whether a seam's straps carry its load; ``bending``: their own bending counted too."""
    long = seam_mm(site, seam)
    most = screw_limit_n(pack, STRAP_SCREW, straps, site.plate_mm)
    if screw_n(load, straps, long) > most:
        return False
    return not bending or strap_stress_mpa(load, straps, site.plate_mm, long) <= (
        strength_limit_mpa(pack)
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Planner:
    """Looks for the cuts of one part."""

    pack: Pack
    sizes: FittedSizes
    held: BaseGeometry
    site: CutSite
    known: dict[tuple[int, _Hold], _Places] = field(default_factory=dict)

    @property
    def lap_mm(self) -> float:
        """How far a piece reaches past its seam."""
        return (WALL_LAP_MM if self.site.walls else STEP_MM) + SEAM_GAP_MM / 2

    @property
    def most_thick_mm(self) -> float:
        """Of a strap: beneath the floor it lies within the brackets' stand."""
        if self.site.part == "lid":
            return LID_STRAP_MOST_MM
        return kind_of(self.pack).reach_mm(self.pack)[1] - STAND_PLAY_MM

    def cuts(self, others: Sequence[BedSeam], stagger_mm: float) -> PartCuts:
        """The fewest pieces, then the most even; ``others``: seams to stand off."""
        bed = usable_bed_mm(self.pack.printer)
        over = _over_mm(self.site.whole.bounds, self.pack.printer.bed_for_parts_mm[:2])
        if over <= 0.0:
            return NO_CUTS
        if self.sizes.shell.flange is not None:
            return PartCuts(over_mm=over, why="a seam would cross the gasket and leak")
        for hold in (_Hold.STRONG, _Hold.STRONG_LAST, _Hold.ANY, _Hold.NONE):
            places = tuple(self._places(axis, others, stagger_mm, hold) for axis in (0, 1))
            found = self._fewest(places, bed, hold)
            if found is not None:
                loose, remedy = self._no_strap() if hold is _Hold.NONE else ("", "")
                return replace(found, over_mm=over, loose=loose, loose_remedy=remedy)
        return PartCuts(over_mm=over, why=f"the {self.site.part} has no free places for seams")

    def _no_strap(self) -> tuple[str, str]:
        """Why no strap suits, and what would help."""
        layer, plate = self.pack.printer.layer_mm, self.site.plate_mm
        name = "floor" if self.site.part == "tub" else "lid"
        if self.most_thick_mm < least_thick_mm(layer) - FINE_MM:
            return (
                f"a strap beneath the floor is {least_thick_mm(layer):g} mm thick, the brackets "
                f"leave {self.most_thick_mm:.1f} mm beneath it",
                "another mount.kind",
            )
        if strap_kit(plate, 0.0, self.most_thick_mm, layer) is None:
            suits = next(
                (
                    thick
                    for thick in (round(plate + k * layer, 6) for k in range(1, 20))
                    if strap_kit(thick, 0.0, self.most_thick_mm, layer) is not None
                ),
                None,
            )
            return (
                f"no standard {STRAP_SCREW} screw suits a strap on a {name} of {plate:.1f} mm",
                LARGER_BED if suits is None else f"enclosure.{name}_mm: {suits:g}",
            )
        return f"a strap and its nuts find no room on the {name}", LARGER_BED

    def _fewest(
        self, places: tuple[_Places, ...], bed: tuple[float, float], hold: _Hold
    ) -> PartCuts | None:
        """The best of cuts along x, along y and along both; None where none does."""
        best: tuple[tuple[int, float], PartCuts] | None = None
        options: list[tuple[BedSeam, ...]] = []
        alone = [self._along(axis, places[axis], self._fits(axis, bed)) for axis in (0, 1)]
        options += [seams for seams in alone if seams is not None]
        for sides in dict.fromkeys((bed, bed[::-1])):
            both = [
                self._along(axis, places[axis], self._short(axis, sides[axis])) for axis in (0, 1)
            ]
            if both[0] is not None and both[1] is not None:
                options.append((*both[0], *both[1]))
        for seams in options:
            pieces = pieces_of(self.site, seams)
            if any(_over_mm(self._lapped(piece, seams), bed) > 0.0 for piece in pieces):
                continue
            straps = self._straps(seams, places)
            if straps is None or (hold in STRONG and not self._carried(seams, straps, pieces)):
                continue
            cost = len(pieces), math.fsum(float(piece.area) ** 2 for piece in pieces)
            if best is None or cost < best[0]:
                best = cost, PartCuts(seams=seams, straps=straps)
        return None if best is None else best[1]

    def _carried(
        self, seams: Sequence[BedSeam], straps: Sequence[Strap], pieces: Sequence[BaseGeometry]
    ) -> bool:
        """Whether straps carry each seam's load where they meet each other, and hold each piece."""
        if fewest_screws(pieces, straps)[0] < LEAST_SCREWS:
            return False
        for seam in seams:
            mine = [strap for strap in straps if strap.seam == seam]
            (load,) = part_loads(
                self.pack, self.sizes, self.held, self.site, seam.axis, [seam.at_mm]
            )
            if not straps_carry(self.pack, self.site, seam, mine, load):
                return False
        return True

    def _straps(
        self, seams: tuple[BedSeam, ...], places: tuple[_Places, ...]
    ) -> tuple[Strap, ...] | None:
        """Straps of all seams, none on another; None where one finds none."""
        found: list[Strap] = []
        for seam in seams:
            kit = places[seam.axis][seam.at_mm]
            if kit is None:
                continue
            mine = straps_at(seam, self.site.straps, kit, found)
            if not mine:
                return None
            found += mine
        return tuple(found)

    def _along(
        self, axis: int, places: _Places, fits: Callable[[float | None, float | None], bool]
    ) -> tuple[BedSeam, ...] | None:
        low, high = self.site.whole.bounds[axis], self.site.whole.bounds[axis + 2]
        found = fewest_cuts(sorted(places), low, high, fits)
        return None if found is None else tuple(BedSeam(axis=axis, at_mm=at) for at in found)

    def _short(self, axis: int, room_mm: float) -> Callable[[float | None, float | None], bool]:
        """Whether a piece is no longer than that along an axis."""
        low, high = self.site.whole.bounds[axis], self.site.whole.bounds[axis + 2]

        def fits(start: float | None, end: float | None) -> bool:
            a = low if start is None else start - self.lap_mm
            b = high if end is None else end + self.lap_mm
            return b - a <= room_mm

        return fits

    def _fits(
        self, axis: int, bed: tuple[float, float]
    ) -> Callable[[float | None, float | None], bool]:
        """Whether all that is left between two places lies within the bed."""
        whole = self.site.whole
        low, high = whole.bounds[axis], whole.bounds[axis + 2]

        def fits(start: float | None, end: float | None) -> bool:
            a = low if start is None else start
            b = high if end is None else end
            if b - a > max(bed):
                return False
            around = [*whole.bounds]
            around[axis], around[axis + 2] = a - self.lap_mm, b + self.lap_mm
            if _over_mm((around[0], around[1], around[2], around[3]), bed) <= 0.0:
                return True
            seams = [BedSeam(axis=axis, at_mm=at) for at in (start, end) if at is not None]
            left = shapely.get_parts(whole.intersection(strip_of(axis, a, b)))
            return all(_over_mm(self._lapped(one, seams), bed) <= 0.0 for one in left)

        return fits

    def _lapped(
        self, piece: BaseGeometry, seams: Sequence[BedSeam]
    ) -> tuple[float, float, float, float]:
        """Least and most x and y of a piece with its laps past seams."""
        found = list(piece.bounds)
        for seam in seams:
            for side, way in ((seam.axis, -1.0), (seam.axis + 2, 1.0)):
                if abs(piece.bounds[side] - seam.at_mm) < FINE_MM:
                    found[side] += way * self.lap_mm
        x0, y0, x1, y1 = found
        return x0, y0, x1, y1

    def _places(
        self, axis: int, others: Sequence[BedSeam], stagger_mm: float, hold: _Hold
    ) -> _Places:
        """Where a seam square to an axis may be, with the straps that hold it."""
        key = axis, hold
        if key not in self.known:
            self.known[key] = self._all_places(axis, hold)
        apart = [seam.at_mm for seam in others if seam.axis == axis]
        return {
            at: kit
            for at, kit in self.known[key].items()
            if all(abs(at - one) >= stagger_mm for one in apart)
        }

    def _all_places(self, axis: int, hold: _Hold) -> _Places:
        """The same wherever the other part's seams lie."""
        low, high = self.site.whole.bounds[axis], self.site.whole.bounds[axis + 2]
        tried = [
            at
            for at in np.arange(math.ceil(low + END_MM), high - END_MM, TRY_MM).tolist()
            if self._clear(axis, at, last=hold is not _Hold.STRONG)
        ]
        if not tried or hold is _Hold.NONE:
            return dict.fromkeys(tried)
        loads = part_loads(self.pack, self.sizes, self.held, self.site, axis, tried)
        found: _Places = {}
        for at, load in zip(tried, loads, strict=True):
            kit = self._kit(BedSeam(axis=axis, at_mm=at), load, strong=hold is not _Hold.ANY)
            if kit is not None:
                found[at] = kit
        return found

    def _kit(self, seam: BedSeam, load: SeamLoad, *, strong: bool) -> StrapKit | None:
        """The thinnest straps that carry a seam's load."""
        plate, layer = self.site.plate_mm, self.pack.printer.layer_mm
        need = 0.0
        while True:
            kit = strap_kit(plate, need, self.most_thick_mm, layer)
            if kit is None:
                return None
            straps = straps_at(seam, self.site.straps, kit)
            if not straps:
                return None
            if not strong:
                return kit
            if not straps_carry(self.pack, self.site, seam, straps, load, bending=False):
                return None
            if straps_carry(self.pack, self.site, seam, straps, load):
                return kit
            need = kit.thick_mm + layer

    def _clear(self, axis: int, at: float, *, last: bool) -> bool:
        """Whether a seam meets nothing there, and crosses walls straight."""
        site = self.site
        if site.drains is not None and site.drains.beside([BedSeam(axis=axis, at_mm=at)]) is None:
            return False
        line = strip_of(axis, at - SEAM_HALF_MM, at + SEAM_HALF_MM)
        missed = site.lines if last else (*site.lines, *site.rather_not)
        if any(shape.intersects(line) for _, shape in missed):
            return False
        half = self.lap_mm + CLEAR_MM
        lap = strip_of(axis, at - half, at + half)
        missed = site.laps if last else (*site.laps, *site.rather_no_laps)
        if any(shape.intersects(lap) for _, shape in missed):
            return False
        if not all(_crossed(band, axis, at - half, at + half) for _, band in site.bands):
            return False
        if site.walls is None:
            return True
        try:
            walls = site.walls(axis)
            for behind in (False, True):
                kept_loop(BedSeam(axis=axis, at_mm=at), walls, behind=behind, off_mm=0.0)
        except OutlineError:
            return False
        return True


def _crossed(band: BaseGeometry, axis: int, low: float, high: float) -> bool:
    """Whether each stretch of walls in a strip runs from one of its edges to the other."""
    for part in shapely.get_parts(band.intersection(strip_of(axis, low, high))):
        if part.area < 1e-6:
            continue
        if part.bounds[axis] > low + 1e-6 or part.bounds[axis + 2] < high - 1e-6:
            return False
    return True


def _over_mm(bounds: tuple[float, float, float, float], bed: Sequence[float]) -> float:
    """By how much a part is larger than the bed, a quarter turn allowed."""
    x0, y0, x1, y1 = bounds
    return max(a - b for a, b in zip(sorted((x1 - x0, y1 - y0)), sorted(bed), strict=True))
