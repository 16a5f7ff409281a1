"""Rooms, walls, glands and brackets of a fitted enclosure: the most promising sets are drawn until
one holds, and that stands in the space with most room.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import islice

import numpy as np
import shapely
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.case import FittedCase
from layouts.enclosures.fitted.clamp import with_clamp_screws
from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.faces import PadPlace, pad_places
from layouts.enclosures.fitted.gas import ducts_of, free_mm2, slot_high_mm
from layouts.enclosures.fitted.gasket_vent import VentPlace, vent_place
from layouts.enclosures.fitted.loaded_pads import loaded_sets
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.on_frame import (
    FrameSearch,
    Standing,
    lacks_of,
    no_place_on_frame,
    stood_on_frame,
)
from layouts.enclosures.fitted.poses import slid
from layouts.enclosures.fitted.promises import (
    Promise,
    lanes_of,
    lanes_shape,
    outlets_of,
    promises_of,
    standing,
)
from layouts.enclosures.fitted.shell import ShellPlan, shell_round
from layouts.enclosures.fitted.sides import axis_along, edge_mm, rect_at
from layouts.enclosures.fitted.sizes import Duct
from layouts.enclosures.fitted.stands import Pose, free_of, poses_of
from layouts.enclosures.fitted.wishes import (
    asked_shift_mm,
    out_of_mm,
    place_refused,
    shift_span_mm,
)
from layouts.enclosures.gas_way import ENCLOSURE_PA
from layouts.errors import NoPlaceError, PlanError
from layouts.pack import Side
from layouts.parts.shell import box
from layouts.strips.vent_area import vent_area_mm2

__all__ = ["EnclosureChoice", "choose"]

ENOUGH_RATIO = 1.2  # of what one cell needs: gas also narrows on its way to the slots
GAS_OUT_MM = 3.0  # free before the side where gas leaves
GOOD_RATIO = 1.05  # of the least plastic by estimate: no more turns are tried
MORE_MM = (2, 5, 10, 15, 20, 30, 40, 60, 80)  # on every side, tried where nothing stands
SLID_MOST = 8  # sets of pads that are stood in the space exactly


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class EnclosureChoice:
    """Walls with places for brackets on two opposite sides, standing in the space.

    ``turn_deg``, ``shift_mm``: the pack turned about its origin, then moved, stands in the space.
    ``as_asked``: whether the leads then leave to the side that the pack asks for.
    ``port_at``: the side of the charge port's gland, None where no wall has place for one.
    ``vent``: in place of ducts, where there is a gasket. ``stood``: pads on a frame, in place of
    ``pads``; None where there is no frame.
    """

    shell: ShellPlan
    pads: tuple[PadPlace, ...]
    gas_side: Side
    glands_at: Side
    port_at: Side | None
    ducts: tuple[Duct, ...]
    turn_deg: int
    as_asked: bool
    shift_mm: tuple[float, float]
    vent: VentPlace | None = None
    stood: Standing | None = None


def choose(case: FittedCase) -> EnclosureChoice:
    """The enclosure with its leads as asked for, a charge port and the least plastic, by estimate,
    in that order, of those that hold when drawn. Turns are tried until one takes no more plastic
    than GOOD_RATIO of the least by estimate.

    Raises NoPlaceError where none holds."""
    free, why = free_of(case), list[OutlineError]()
    search = _FrameTrials() if _framed(case) else None
    if search is not None and all(lacks_of(case.pack, one) for one in case.pack.mount.frame):
        raise no_place_on_frame(case.pack)
    best: tuple[tuple[bool, bool, float], EnclosureChoice] | None = None
    for pose in poses_of(case, free):
        found = _first_drawn(case, pose, None if best is None else best[0], why, search)
        if found is None:
            continue
        promise, drawn = found
        best = promise.cost, drawn
        if search or best[0] <= (False, False, GOOD_RATIO * promise.least_mm3):
            break
    if best is not None:
        return best[1]
    if search is not None and search.best is not None:
        return search.best
    if search is not None and search.count.runs:
        raise no_place_on_frame(case.pack)
    if not why:
        x0, y0, x1, y1 = case.cells_plan.bounds
        size = f"{x1 - x0:.0f} x {y1 - y0:.0f} mm"
        told = f"the held cells with their walls, {size}, find none"
        why = [OutlineError(told, remedy="a larger space")]
    wished = [error for error in why if error.field]
    counts = Counter(error.why for error in wished or why)
    most = max(wished or why, key=lambda error: counts[error.why])
    field = most.field
    if case.pack.space is not None and case.pack.space.place is not None:
        field = field or ("space.place.at_mm" if case.pack.space.place.at_mm else "")
    if field:
        remedy = most.remedy if most.field else "another place, or delete it"
        raise PlanError(field=field, why=most.why, remedy=remedy)
    raise NoPlaceError(
        field="enclosure.style",
        value="fitted",
        why=f"finds no place for all of it: {most.why}",
        first=most.remedy,
        remedy="enclosure: {style: tub}",
        advice=partial(_what_would_do, case, free),
    )


@dataclass(kw_only=True, slots=True, eq=False)
class _FrameTrials:
    """What was tried on a frame: the choice whose brackets are used least, of those that fail."""

    count: FrameSearch = field(default_factory=FrameSearch)
    best: EnclosureChoice | None = None

    def keep(self, choice: EnclosureChoice) -> None:
        """Where it is better than what was kept before."""
        assert choice.stood is not None
        kept = None if self.best is None else self.best.stood
        if kept is None or choice.stood.choice.rank < kept.choice.rank:
            self.best = choice


def _framed(case: FittedCase) -> bool:
    """Whether brackets are placed on a frame."""
    return bool(case.pack.mount.frame) and not case.pack.mount.hold.none


def _first_drawn(
    case: FittedCase,
    pose: Pose,
    most: tuple[bool, bool, float] | None,
    why: list[OutlineError],
    search: _FrameTrials | None,
) -> tuple[Promise, EnclosureChoice] | None:
    """The first promise of a pose that holds when drawn, and costs less than ``most``; None where
    none does, with the reasons added to ``why``."""
    try:
        for promise in promises_of(case, pose):
            if most is not None and promise.cost >= most:
                return None
            try:
                return promise, _drawn(case, promise, search)
            except OutlineError as error:
                why.append(error)
    except OutlineError as error:
        why.append(error)
    return None


def _what_would_do(case: FittedCase, free: BaseGeometry) -> str:
    """How much more space all of it would stand in, or without which body: tried by estimate; empty
    where nothing that is tried would do."""

    def stands(wider: BaseGeometry) -> bool:
        return any(_promised(case, pose) for pose in poses_of(case, wider))

    ways = [f"without {body}" for body, wider in _without_a_body(case) if stands(wider)]
    enough = bisect_left(
        MORE_MM, True, key=lambda more: stands(free.buffer(more, join_style="mitre"))
    )
    if enough < len(MORE_MM):
        ways.append(f"in a space {MORE_MM[enough]} mm wider on every side")
    return f"by estimate it stands {' or '.join(ways)}" if ways else ""


def _promised(case: FittedCase, pose: Pose) -> bool:
    """Whether it stands in a pose by estimate."""
    try:
        return any(True for _ in promises_of(case, pose))
    except OutlineError:
        return False


def _without_a_body(case: FittedCase) -> Iterator[tuple[str, BaseGeometry]]:
    """Each body kept out of the space by its name, and the free area without it."""
    space = case.pack.space
    for k, body in enumerate(() if space is None else space.keep_out):
        assert space is not None
        others = (*space.keep_out[:k], *space.keep_out[k + 1 :])
        yield body.name, free_of(case, replace(space, keep_out=others))


def _drawn(case: FittedCase, promise: Promise, search: _FrameTrials | None) -> EnclosureChoice:
    """Walls and lid round a set of rooms, with way enough for one cell's gas and with places for
    brackets, neither on the other's side. Raises OutlineError where there are none."""
    pack, pose, rooms = case.pack, promise.pose, promise.rooms
    all_rooms = (*case.fixed, *rooms.rooms)
    discs = np.array(case.cell_block.outline.discs)
    need = ENOUGH_RATIO * vent_area_mm2(pack.cell.capacity_ah, pressure_pa=ENCLOSURE_PA)
    lanes, outlets = [*map(box, lanes_of(rooms))], outlets_of(rooms)
    glands_at, port_at = outlets
    dx, dy = pose.raster.roomiest_mm(promise.shifts)
    here = translate(pose.free, -dx, -dy)
    why: OutlineError | None = None
    sealed = pack.enclosure.gasket is not None
    others = () if sealed else [side for side in Side if side not in outlets]
    # in the wall's hollows, else behind a lip that stands off on one side
    for off in (None, *others):
        try:
            shell = shell_round(
                pack, case.cell_block, all_rooms, here, lanes=lanes, held=case.held, gas_side=off
            )
        except OutlineError as error:
            why = error
            continue
        ducts = () if sealed else ducts_of(shell, discs)
        height = slot_high_mm(pack, shell)
        for side in Side:
            mine = tuple(duct for duct in ducts if duct.side is side)
            vent = vent_place(pack, case.cell_block, shell, side) if sealed else None
            if side in outlets or (vent is None and free_mm2(mine, height) < need):
                why = why or OutlineError(
                    "no side leaves way enough for gas", remedy="a longer side without rooms"
                )
                continue
            _stands_as_asked(case, pose, shell)
            count = None if search is None else search.count
            stood = _with_brackets(case, promise, shell, side, here, vent, count)
            if stood is not None:
                clamping, pads, shift_mm, on_frame = stood
                choice = EnclosureChoice(
                    shell=clamping, pads=pads, gas_side=side, glands_at=glands_at, port_at=port_at,
                    ducts=mine, turn_deg=promise.turn_deg, as_asked=promise.as_asked,
                    shift_mm=pose.stands_mm(promise.turn_deg, shift_mm), vent=vent, stood=on_frame,
                )  # fmt: skip
                if search is None or on_frame is None or on_frame.choice.holds:
                    return choice
                search.keep(choice)
            why = OutlineError(
                "with its brackets it leaves the space",
                remedy="more room before two opposite sides",
            )
    assert why is not None
    raise why


def _with_brackets(
    case: FittedCase,
    promise: Promise,
    shell: ShellPlan,
    gas_at: Side,
    here: BaseGeometry,
    vent: VentPlace | None,
    search: FrameSearch | None,
) -> tuple[ShellPlan, tuple[PadPlace, ...], tuple[float, float], Standing | None] | None:
    """The walls with the lid screws that clamping wants, pads on two opposite sides other than that
    of the gas, and the shift, as the pack sees it, with which all of it stands in the space with
    most room; pads on the frame instead where there is one, none where nothing may hold it. None
    where there is none."""
    reach, pose, rooms = case.reach, promise.pose, promise.rooms
    lanes = lanes_shape(lanes_of(rooms))
    places = [
        place
        for place in pad_places(loop_polygon(shell.outer), shell.lid_plan, reach, lanes)
        if place.side is not gas_at
    ]
    out_mm = GAS_OUT_MM if vent is None else max(GAS_OUT_MM, vent.out_mm)
    gas = _before(shell.lid_plan, gas_at, out_mm)
    if search is not None or case.pack.mount.hold.none:
        clamping = with_clamp_screws(case.clamp, shell, gas_at, here, [lanes])
        whole = shapely.union_all([clamping.lid_plan, lanes, gas])
        if search is None:
            shift = slid(pose.free, whole)
            return None if shift is None else (clamping, (), shift, None)
        stood = stood_on_frame(case, pose, promise.turn_deg, clamping, gas_at, whole, lanes, search)
        return None if stood is None else (clamping, (), stood.shift_mm, stood)
    found = standing(case, pose.raster, rooms.shifts, places)
    loaded = (
        pads
        for chosen, _ in islice(found, SLID_MOST)
        for pads in loaded_sets(case.pack, chosen, places, reach, under_mm=case.levels.under_mm)
    )
    for pads in loaded:
        before = [box(place.lane(reach)) for place in pads]
        clamping = with_clamp_screws(case.clamp, shell, gas_at, here, [lanes, *before])
        whole = shapely.union_all([clamping.lid_plan, lanes, *before, gas])
        shift = _stood(case, promise, clamping, whole)
        if shift is not None:
            return clamping, pads, shift, None
    return None


def _stands_as_asked(case: FittedCase, pose: Pose, shell: ShellPlan) -> None:
    """Raises OutlineError where the lid alone leaves the free area, as the pack file puts it."""
    asked = asked_shift_mm(case.pack, loop_polygon(shell.outer), shell.levels)
    past = 0.0 if asked is None else out_of_mm(pose.free, shell.lid_plan, asked)
    if past > 0.0:
        raise place_refused(past)


def _stood(
    case: FittedCase, promise: Promise, shell: ShellPlan, whole: BaseGeometry
) -> tuple[float, float] | None:
    """The shift with which all of it stands in the free area, as asked for or with most room; None
    where it does with none."""
    pack, pose = case.pack, promise.pose
    asked = asked_shift_mm(pack, loop_polygon(shell.outer), shell.levels)
    if asked is None:
        return slid(pose.free, whole, shift_span_mm(pack, pose.turn_deg, promise.rooms.rooms))
    shift = asked[0], asked[1]
    return shift if pose.free.contains(translate(whole, *shift)) else None


def _before(shape: BaseGeometry, side: Side, by_mm: float) -> BaseGeometry:
    """A strip before a shape's box on one side."""
    edge = edge_mm(shape.bounds, side)
    x0, y0, x1, y1 = shape.bounds
    low, high = (y0, y1) if axis_along(side) else (x0, x1)
    return box(rect_at(side, edge, edge + by_mm, low, high))
