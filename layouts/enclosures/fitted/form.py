"""The fitted enclosure as the rest reads it: shell, parts, screws and outlets from its sizes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from layouts.brackets.kind import MountingPad
from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.enclosures.fitted.checks import fitted_checks
from layouts.enclosures.fitted.clamp_work import CLOSING_STEPS, HOLDING_STEPS
from layouts.enclosures.fitted.design import design_fitted
from layouts.enclosures.fitted.gas import fitted_gas_links
from layouts.enclosures.fitted.gasket_work import gasket_bought, gasket_cautions, gasket_steps
from layouts.enclosures.fitted.loaded_pads import wall_at
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.parts import fitted_parts
from layouts.enclosures.fitted.rooms import RoomKind, rooms_least_mm2
from layouts.enclosures.fitted.shell import LIP_DEEP_MM
from layouts.enclosures.fitted.sides import OUTWARD
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.fitted.splice_checks import splice_checks
from layouts.enclosures.fitted.splice_work import nut_discs, splice_screws, splice_steps
from layouts.enclosures.fitted.standing import standing_bodies
from layouts.enclosures.fitted.stands import cells_find_room
from layouts.enclosures.form import (
    BillItem,
    Compartment,
    GasLink,
    RimEdge,
    Seal,
    StandingBody,
)
from layouts.enclosures.pad_walls import PadWall
from layouts.enclosures.printed import LEVEL_DIGITS
from layouts.holders.fastening import CellBlock
from layouts.pack import Face, GasketSpec, Pack, Side
from layouts.parts.clearance import Clearance, ClearanceKind
from layouts.parts.convex import block
from layouts.parts.fasteners import Into
from layouts.parts.lid_screw import lid_screw_length_mm
from layouts.parts.outlet import CableOutlet
from layouts.parts.part import Part
from layouts.parts.screw import KEY_ARM_MM, PlacedScrew
from layouts.parts.shell import BoardPlace, Shell
from layouts.strips.joining import Interconnect
from layouts.wiring.ways import WireWay

__all__ = ["FITTED", "FittedEnclosure"]


NOT_CHECKED = (
    "enclosure: not checked: whether each wire gets past board and fuse with its bends, "
    "so lay them in the printed tub before any cell goes in"
)


@dataclass(frozen=True, kw_only=True, slots=True)
class FittedEnclosure:
    """Tub and lid that follow held cells and rooms."""

    sizes: FittedSizes
    lid_screw: str
    lid_screw_long_mm: float
    gasket: GasketSpec | None = None

    @property
    def shell(self) -> Shell:
        """Walls, floor and lid."""
        plan = self.sizes.shell
        return Shell(
            cavity=loop_polygon(plan.inner.loop),
            outer=loop_polygon(plan.outer),
            corner_radius_mm=0.0,
            wall_mm=plan.wall_mm,
            z_under_mm=plan.levels.under_mm,
            z_floor_mm=plan.levels.floor_mm,
            z_rim_mm=plan.levels.rim_mm,
            z_lid_mm=plan.levels.lid_mm,
        )

    @property
    def parts(self) -> tuple[Part, ...]:
        """Tub and lid."""
        return _parts(self)

    @property
    def screws(self) -> tuple[PlacedScrew, ...]:
        """Those of the lid, and those through straps across seams."""
        return (*self._lid_screws, *splice_screws(self.sizes))

    @property
    def _lid_screws(self) -> tuple[PlacedScrew, ...]:
        plan = self.sizes.shell
        return tuple(
            PlacedScrew(
                where="lid to tub" if one.insert else "lid to tub, forming their thread",
                name=f"lid screw {number}",
                heads="lid screw heads",
                screw=self.lid_screw,
                at_mm=np.array((one.x_mm, one.y_mm, plan.levels.lid_mm)),
                out=np.array((0.0, 0.0, 1.0)),
                through_mm=plan.levels.lid_mm - plan.levels.rim_mm,
                into=Into.INSERT if one.insert else Into.PLASTIC,
                length_mm=self.lid_screw_long_mm,
                insert_hole_deep_mm=self.sizes.insert_deep_mm,
                low_head=True,
            )
            for number, one in enumerate(plan.screws, start=1)
        )

    @property
    def outlets(self) -> tuple[CableOutlet, ...]:
        """The glands in the outer walls."""
        return tuple(
            CableOutlet(
                gland=one.gland,
                purpose=one.purpose,
                at_mm=np.array(one.at_mm),
                out=np.array((*one.out, 0.0)),
                wall_mm=self.sizes.shell.wall_mm,
                wire_mm=one.wire_mm,
            )
            for one in self.sizes.holes
        )

    @property
    def pads(self) -> tuple[MountingPad, ...]:
        """Pads for brackets on two opposite sides."""
        return self.sizes.pads

    @property
    def pad_walls(self) -> tuple[PadWall, ...]:
        """The wall or block above each; hollows of the wall would only stiffen it."""
        wall = self.sizes.shell.wall_mm
        return tuple(wall_at(pad, wall) for pad in self.sizes.pads)

    @property
    def pose(self) -> NDArray[np.float64] | None:
        """As it was chosen for the space."""
        return None if self.sizes.stand is None else self.sizes.stand.pose

    @property
    def compartments(self) -> tuple[Compartment, ...]:
        """Those that the planner placed, and where the main leads land and run."""
        return tuple(
            Compartment(name=room.name, plan=room.rect, dry=room.is_dry)
            for room in self.sizes.shell.rooms
            if room.kind not in (RoomKind.TAILS, RoomKind.BARS)
        )

    @property
    def standing(self) -> tuple[StandingBody, ...]:
        """The fuse in its seat, and the silicone of a clamp."""
        return standing_bodies(self.sizes)

    @property
    def gas_side(self) -> Side | None:
        """Where its ducts are."""
        return self.sizes.gas_side

    @property
    def board(self) -> BoardPlace:
        """In its room, on edge or flat."""
        return self.sizes.board.place

    @property
    def seal(self) -> Seal | None:
        """Its cord and vent, where there is a gasket."""
        flange, vent = self.sizes.shell.flange, self.sizes.vent
        if self.gasket is None or flange is None or vent is None:
            return None
        return Seal(
            cord=flange.cord, cord_mm=self.gasket.cord_mm, long_mm=flange.cord_long_mm,
            vent_at_mm=vent.middle_mm, vent_out=OUTWARD[vent.side],
            vent_mm=(vent.wide_mm, vent.high_mm), opens_at_kpa=self.gasket.opens_at_kpa,
        )  # fmt: skip

    @property
    def gas_blocked(self) -> dict[Face, NDArray[np.float64]]:
        """Pads and plinths in the gaps over both faces."""
        clamp = self.sizes.clamp
        plinths = [] if clamp is None else [disc for cord in clamp.cords for disc in cord.cover]
        blocked = {}
        for face, pads in self.sizes.support_pads.items():
            discs = [(one.x_mm, one.y_mm, one.radius_mm) for one in pads]
            discs += plinths if face is Face.UPPER else []
            discs += nut_discs(self.sizes, face)
            blocked[face] = np.array(discs, dtype=np.float64).reshape(-1, 3)
        return blocked

    def gas_links(
        self, pack: Pack, cell_layout: CellLayout, rim: Sequence[RimEdge]
    ) -> tuple[GasLink, ...]:
        """Up beside the held cells, over them, through slots into ducts behind the lip; or between
        the holders to the vent."""
        return fitted_gas_links(self.sizes, pack, cell_layout, rim)

    @property
    def clamped_mm(self) -> tuple[tuple[tuple[float, float], ...], ...]:
        """Both ends of the clamp's cords, and its discs."""
        return () if self.sizes.clamp is None else self.sizes.clamp.places_mm

    @property
    def holding_steps(self) -> tuple[str, ...]:
        """Tape round both holders where the lid clamps them."""
        return () if self.sizes.clamp is None else HOLDING_STEPS

    @property
    def joining_steps(self) -> tuple[str, ...]:
        """Straps across seams, where there are any."""
        return splice_steps(self.sizes)

    @property
    def closing_steps(self) -> tuple[str, ...]:
        """The clamp's silicone, gauged; gasket and vent."""
        flange, vent = self.sizes.shell.flange, self.sizes.vent
        if self.gasket is not None and flange is not None and vent is not None:
            return gasket_steps(self.gasket, flange, vent)
        return () if self.sizes.clamp is None else CLOSING_STEPS

    @property
    def service(self) -> tuple[Clearance, ...]:
        """Over the lid, to take its screws out and lift it off with its lip."""
        one = self.screws[0]
        assert one.length_mm is not None
        driving = one.top_mm + one.length_mm + KEY_ARM_MM[one.size.key_mm]
        x0, y0, x1, y1 = self.sizes.shell.lid_plan.bounds
        top = self.sizes.shell.levels.lid_mm
        over = block((x0, y0, top), (x1, y1, top + max(driving, LIP_DEEP_MM)))
        return (
            Clearance(
                name="service clearance: lid", kind=ClearanceKind.LID_SERVICE, pieces=(over,)
            ),
        )

    @property
    def bill(self) -> tuple[BillItem, ...]:
        """Its cable glands, and what its clamp or its gasket is made of."""
        glands = tuple(
            BillItem(item=f"cable gland {one.gland.size} with nut, {one.purpose}", count=1)
            for one in self.sizes.holes
        )
        more = () if self.sizes.clamp is None else self.sizes.clamp.bought
        flange, vent = self.sizes.shell.flange, self.sizes.vent
        if self.gasket is not None and flange is not None and vent is not None:
            more = (*more, *gasket_bought(self.gasket, flange, vent))
        return (*glands, *(BillItem(item=item, count=count) for item, count in more))

    @property
    def notes(self) -> tuple[str, ...]:
        """How it was chosen."""
        return self.sizes.notes

    @property
    def cautions(self) -> tuple[str, ...]:
        """What no check covers yet."""
        return (NOT_CHECKED, *(() if self.gasket is None else gasket_cautions(self.gasket)))

    @property
    def ways(self) -> tuple[WireWay, ...]:
        """None: its rooms leave space for wires, their ways are not decided."""
        return ()

    def checks(
        self, pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, cell_block: CellBlock
    ) -> tuple[Check, ...]:
        """All checks of the enclosure but those of the vent path and of brackets."""
        return (
            *fitted_checks(pack, cell_layout, interconnect, cell_block, self.sizes),
            *splice_checks(pack, cell_block, self.sizes),
        )


@lru_cache(maxsize=4)
def _parts(enclosure: FittedEnclosure) -> tuple[Part, ...]:
    """Drawn once for all that reads them."""
    return fitted_parts(enclosure.sizes)


@dataclass(frozen=True, slots=True)
class _Fitted:
    """The form itself."""

    name: str = "fitted"
    follows_space: bool = True

    def cells_find_room(self, pack: Pack, cell_block_mm: tuple[float, float]) -> bool:
        """Whether held cells of these outer sizes may stand in the pack's space, by their plan."""
        return cells_find_room(pack, cell_block_mm)

    def rooms_least_mm2(self, pack: Pack) -> float:
        """Rooms for fuse and charge port, and the board standing on its thin side."""
        return rooms_least_mm2(pack)

    def design(
        self, pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, cell_block: CellBlock
    ) -> FittedEnclosure:
        """Tub and lid of a pack. Raises PlanError where the pack file must change."""
        sizes = design_fitted(pack, cell_layout, interconnect, cell_block)
        lid_mm = round(sizes.shell.levels.lid_mm - sizes.shell.levels.rim_mm, LEVEL_DIGITS)
        return FittedEnclosure(
            sizes=sizes,
            lid_screw=pack.enclosure.screw,
            lid_screw_long_mm=lid_screw_length_mm(replace(pack.enclosure, lid_mm=lid_mm)),
            gasket=pack.enclosure.gasket,
        )


FITTED = _Fitted()
