"""Mounting pads where a frame's features ask for them: brackets chosen in some of the places where
the enclosure may stand, the first in which they hold.

What brackets may take up is looked at in the plan, over the enclosure's whole height: the free area
of the space, the enclosure itself and its glands' lanes."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from layouts.brackets.holding import FARTHEST_MM, LEVEL_MM, FootPlace, FrameHold, HeldBody
from layouts.brackets.kind import PAD_SIZES, MountingPad
from layouts.brackets.loads import guessed_mass_kg
from layouts.brackets.registry import kind_of, source_named
from layouts.brackets.strength import strength_limit_mpa
from layouts.enclosures.fitted.case import FittedCase
from layouts.enclosures.fitted.faces import PAD_OUT_MM, BracketReach, WallSite
from layouts.enclosures.fitted.loaded_pads import wall_at
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.poses import slid_several
from layouts.enclosures.fitted.shell import ShellPlan
from layouts.enclosures.fitted.sides import axis_along, rect_at
from layouts.enclosures.fitted.stands import Pose, side_after
from layouts.enclosures.pad_walls import lug_of
from layouts.errors import PlanError
from layouts.fitting.box_fit import quarter_turn
from layouts.formats import materials
from layouts.frame_spec import FrameFeature, FramePlate
from layouts.mounting.choosing import Choice, choose_brackets
from layouts.pack import Pack, Side
from layouts.parts.shell import box

__all__ = [
    "FrameSearch", "Standing", "lacks_of", "no_place_on_frame", "stands_by", "stood_on_frame",
]  # fmt: skip

PLACED = ("angle",)  # kinds that can be drawn for pads of their own
STANDS = 3  # places of one enclosure in its space that are tried
MOST_RUNS = 24  # of the solver, for all places together
THICKNESSES_MM = (5.0, 6.0, 8.0)  # of brackets; common practice, no source
APART_MM = 8.0  # between places that are tried
NEAR_MM = 16.0  # a hole before a pad's face, about: which places are tried first
FILLED_MM, BESIDE_MM = 14.0, 1.0  # what a pad takes up: behind the wall's foremost point, beside
HALF_FOOT_MM = 17.0  # of a bracket along its wall, about


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Standing:
    """Brackets chosen for an enclosure in one place: the choice in the space's coordinates, the
    pads that it asks for and the shift, both as the pack sees them."""

    choice: Choice
    pads: tuple[MountingPad, ...]
    shift_mm: tuple[float, float]


@dataclass(kw_only=True, slots=True, eq=False)
class FrameSearch:
    """How far a search over many places has come: runs of the solver, and whether any place was
    offered to it."""

    runs: int = 0
    offered: int = 0


def stood_on_frame(
    case: FittedCase,
    pose: Pose,
    turn_deg: int,
    shell: ShellPlan,
    gas_at: Side,
    blocked: BaseGeometry,
    lanes: BaseGeometry,
    search: FrameSearch,
) -> Standing | None:
    """Pads and shift with which brackets hold the pack; else those that are used least; None where
    no bracket finds a place. ``blocked``: all that must lie in the free area, brackets left out."""
    best: Standing | None = None
    holes = _holes_in_pack(case.pack, pose, turn_deg)
    low_high = np.array(loop_polygon(shell.outer).bounds)

    def reached(shifts: NDArray[np.float64]) -> NDArray[np.float64]:
        """Sides with a hole within reach, and holes, of each shift."""
        return _reached(holes, low_high, shifts, gas_at)

    stands = slid_several(pose.free, blocked, count=STANDS, apart_mm=APART_MM, score=reached)
    for shift in stands:
        if search.runs >= MOST_RUNS:
            break
        site = _StandSite(
            case=case, pose=pose, turn_deg=turn_deg, shell=shell, gas_at=gas_at, shift_mm=shift,
            walls=WallSite.of(loop_polygon(shell.outer), shell.lid_plan, lanes), lanes=lanes,
        )  # fmt: skip
        found = _best_standing(site, search)
        if found is None:
            continue
        if best is None or found.choice.rank < best.choice.rank:
            best = found
        if found.choice.holds:
            break
    return best


def _holes_in_pack(pack: Pack, pose: Pose, turn_deg: int) -> NDArray[np.float64]:
    """(n, 2) holes of level plates, turned as the pack sees them, before any shift."""
    plates = [one for one in pack.mount.frame if isinstance(one, FramePlate) and one.axis == 2]
    found = [one.in_space_mm(hole.at_mm)[:2] for one in plates for hole in one.holes]
    origin = np.array(pose.stands_mm(turn_deg, (0.0, 0.0)))
    turn = quarter_turn(turn_deg // 90)[:2, :2]
    return np.asarray((np.array(found).reshape(-1, 2) - origin) @ turn)


def _reached(
    holes: NDArray[np.float64],
    bounds: NDArray[np.float64],
    shifts: NDArray[np.float64],
    gas_at: Side,
) -> NDArray[np.float64]:
    """(n,) ten for each side that has a hole in reach of a bracket, and one for each such hole, by
    the box of the walls. ``holes`` as the pack sees them without a shift."""
    score = np.zeros(len(shifts))
    for side in (one for one in Side if one is not gas_at):
        axis, plus = 1 - axis_along(side), side.value[0] == "+"
        sign = 1.0 if plus else -1.0
        edge = bounds[axis + 2] if plus else bounds[axis]
        at = holes[None, :, :] - shifts[:, None, :]
        out = sign * (at[..., axis] - edge) - PAD_OUT_MM
        low, high = bounds[1 - axis] + HALF_FOOT_MM, bounds[3 - axis] - HALF_FOOT_MM
        beside = (at[..., 1 - axis] >= low) & (at[..., 1 - axis] <= high)
        near = (beside & (out >= NEAR_MM) & (out <= FARTHEST_MM)).sum(axis=1)
        score += near + 10.0 * (near > 0)
    return score


def _best_standing(site: _StandSite, search: FrameSearch) -> Standing | None:
    """With the largest pads and blocks first: where those hold, the smallest that do."""
    sizes = [(*size, block) for size in PAD_SIZES for block in (False, True)]
    best: Standing | None = None
    for size in (sizes[-1], *sizes[:-1]):
        search.runs += 1
        found = _standing(site, *size)
        if found is None:
            return best
        search.offered = max(search.offered, found.choice.offered)
        if not found.choice.holds:
            if best is None:
                return found
            continue
        if best is None or size is not sizes[-1]:
            best = found
        if size is not sizes[-1]:
            return best
    return best


def stands_by(stood: Standing) -> tuple[str, ...]:
    """What was chosen, in words."""
    chosen, answer = stood.choice.chosen, stood.choice.answer
    counts = Counter(one.feature for one in chosen)
    on = ", ".join(f"{count} on {name}" for name, count in counts.items())
    drilled = sum(one.drilled for one in chosen)
    holes = f"{drilled} holes to drill" if drilled else "holes that are there"
    if stood.choice.holds:
        return (
            f"brackets: {on}, {chosen[0].thick_mm:g} mm thick, {holes}: the cheapest found "
            f"that holds, used by {answer.use:.0%}",
        )
    return (
        f"brackets: {on}, {holes}: no set of up to that many was found that holds; this one is "
        f"used least",
    )


def no_place_on_frame(pack: Pack) -> PlanError:
    """No bracket of any kind finds a place: what each feature lacks."""
    told = [
        lacks_of(pack, one) or f"{one.name}: no hole or free spot lies before a wall within reach"
        for one in pack.mount.frame
    ]
    return PlanError(
        field="mount.frame",
        why=f"offers no place for any bracket: {'; '.join(told)}",
        remedy="write drill: true on a floor with room beside the pack, add its holes, or write "
        "hold: none",
    )


def lacks_of(pack: Pack, one: FrameFeature) -> str:
    """Why no bracket can stand on a feature, wherever the pack does; empty where one may."""
    level = 0.0 if pack.space is None else pack.space.low_mm[2]
    if not isinstance(one, FramePlate) or one.normal != "+z":
        return f"{one.name}: no kind of bracket takes hold of it"
    if abs(one.at_mm[2] - level) > LEVEL_MM:
        return f"{one.name} lies at z {one.at_mm[2]:g}, feet stand at z {level:g}"
    if not one.drill and not one.holes:
        return f"{one.name} has no holes and may not be drilled"
    return ""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _StandSite:
    """One enclosure in one place of its space."""

    case: FittedCase
    pose: Pose
    turn_deg: int
    shell: ShellPlan
    gas_at: Side
    shift_mm: tuple[float, float]
    walls: WallSite
    lanes: BaseGeometry

    @property
    def pack(self) -> Pack:
        """The pack."""
        return self.case.pack

    @property
    def matrix(self) -> NDArray[np.float64]:
        """(4, 4) from the pack to the space."""
        assert self.pack.space is not None
        matrix = quarter_turn(self.turn_deg // 90)
        under = self.shell.levels.under_mm - kind_of(self.pack).reach_mm(self.pack)[1]
        at = self.pose.stands_mm(self.turn_deg, self.shift_mm)
        matrix[:3, 3] = (*at, self.pack.space.low_mm[2] - under)
        return matrix

    @property
    def free(self) -> BaseGeometry:
        """Of the space, as the pack sees it where it stands."""
        dx, dy = self.shift_mm
        return translate(self.pose.free, -dx, -dy)


def _standing(
    site: _StandSite, screw: str, high_mm: float, up_mm: float, block: bool
) -> Standing | None:
    pack = site.pack
    pad = MountingPad(
        side=Side.PLUS_X, face_mm=0.0, along_mm=0.0, underside_mm=site.shell.levels.under_mm,
        high_mm=high_mm, up_mm=up_mm, screw=screw,
        block_mm=kind_of(pack).wall_mm(pack) if block else 0.0,
    )  # fmt: skip
    body = _body(site, pad)
    hold = pack.mount.hold
    sources = [source_named(word) for word in PLACED]

    def offers(thick_mm: float) -> list[FrameHold]:
        return [
            one
            for source in sources
            for feature in pack.mount.frame
            for one in source(body, feature, thick_mm=thick_mm)
        ]

    found = choose_brackets(body, offers, most=hold.most, thick_mm=THICKNESSES_MM)
    if found is None:
        return None
    pads = tuple(
        _pad(site, pad, one, one.place) for one in found.chosen if isinstance(one.place, FootPlace)
    )
    return Standing(choice=found, pads=pads, shift_mm=site.shift_mm)


def _body(site: _StandSite, pad: MountingPad) -> HeldBody:
    """The pack in its space as brackets see it."""
    pack, levels, matrix = site.pack, site.shell.levels, site.matrix
    x0, y0, x1, y1 = loop_polygon(site.shell.outer).bounds
    corners = np.array([(x0, y0, levels.under_mm), (x1, y1, levels.lid_mm)])
    ends = corners @ matrix[:3, :3].T + matrix[:3, 3]
    centre = matrix[:3, :3] @ (0.0, 0.0, pack.lip_to_lip_mm / 2.0) + matrix[:3, 3]
    low, high, middle = ends.min(axis=0).tolist(), ends.max(axis=0).tolist(), centre.tolist()
    assert pack.load is not None
    return HeldBody(
        low_mm=(low[0], low[1], low[2]), high_mm=(high[0], high[1], high[2]),
        centre_mm=(middle[0], middle[1], middle[2]), mass_kg=guessed_mass_kg(pack),
        load_g=pack.load.acceleration_g, faces=pack.mount.hold.faces,
        limit_mpa=strength_limit_mpa(pack), screw=pack.mount.screw,
        modulus_mpa=materials()[pack.printer.material].modulus_mpa,
        layer_mm=pack.printer.layer_mm, lug=lug_of(pack, wall_at(pad, pack.enclosure.wall_mm)),
        lug_at=_LugPlaces(site),
    )  # fmt: skip


class _LugPlaces:
    """Where pads may stand, asked in the space's coordinates; each answer is kept."""

    def __init__(self, site: _StandSite) -> None:
        self._site = site
        self._free = site.free
        self._block_mm = kind_of(site.pack).wall_mm(site.pack)
        shapely.prepare(self._free)
        self._known: dict[tuple[str, float, float, float], float | None] = {}

    def __call__(self, face: str, along_mm: float, wide_mm: float, out_mm: float) -> float | None:
        key = (face, round(along_mm, 3), wide_mm, round(out_mm, 3))
        if key not in self._known:
            self._known[key] = self._asked(face, along_mm, wide_mm, out_mm)
        return self._known[key]

    def _asked(self, face: str, along_mm: float, wide_mm: float, out_mm: float) -> float | None:
        site = self._site
        side = side_after(Side(face), -site.turn_deg)
        if side is site.gas_at:
            return None
        reach = BracketReach(wall_mm=wide_mm, out_mm=out_mm, lid_out_mm=site.case.reach.lid_out_mm)
        place = site.walls.place(side, _in_pack(site, face, along_mm), reach)
        if place is None or not self._free.contains(box(place.lane(reach))):
            return None
        # the pad fills the wall's hollows behind it: no gland may stand in one
        half = max(wide_mm, self._block_mm) / 2 + BESIDE_MM
        filled = rect_at(
            side, place.crest_mm - FILLED_MM, place.face_mm, place.along_mm - half,
            place.along_mm + half,
        )  # fmt: skip
        if site.lanes.intersects(box(filled)):
            return None
        pad = MountingPad(
            side=side, face_mm=place.face_mm, along_mm=place.along_mm, underside_mm=0.0
        )
        x, y = (site.matrix[:2, :2] @ pad.middle_mm + site.matrix[:2, 3]).tolist()
        return float((x, y)["xy".index(face[1])] * (1.0 if face[0] == "+" else -1.0))


def _in_pack(site: _StandSite, face: str, along_mm: float) -> float:
    """A coordinate along a face of the space, along the pack's own side."""
    axis = 1 - "xy".index(face[1])
    point = np.zeros(2)
    point[axis] = along_mm
    own = site.matrix[:2, :2].T @ (point - site.matrix[:2, 3])
    return float(own[axis_along(side_after(Side(face), -site.turn_deg))])


def _pad(site: _StandSite, pad: MountingPad, one: FrameHold, place: FootPlace) -> MountingPad:
    """The pad of a bracket, with its foot's holes as the pack sees them."""
    side = side_after(Side(place.face), -site.turn_deg)
    along = partial(_in_pack, site, place.face)
    middle = along(place.along_mm)
    seen = MountingPad(side=side, face_mm=0.0, along_mm=middle, underside_mm=0.0)
    sign, axis = (1.0 if place.face[0] == "+" else -1.0), "xy".index(place.face[1])
    point = np.zeros(2)
    point[axis], point[1 - axis] = sign * place.face_mm, place.along_mm
    x, y = (site.matrix[:2, :2].T @ (point - site.matrix[:2, 3])).tolist()
    face = x * seen.normal[0] + y * seen.normal[1]
    return replace(
        pad,
        side=side,
        face_mm=face,
        along_mm=middle,
        foot_mm=tuple((along(place.along_mm + u) - middle, v) for u, v in place.foot_mm),
        foot_screw=place.screw,
        foot_thick_mm=place.thick_mm,
        on=one.feature,
    )
