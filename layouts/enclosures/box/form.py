"""The rectangular enclosure as the rest reads it: its sizes turned into shell, parts, screws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from layouts.brackets.kind import MountingPad
from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.enclosures.box.checks import enclosure_checks
from layouts.enclosures.box.design import design_enclosure
from layouts.enclosures.box.gas import blocked, box_gas_links
from layouts.enclosures.box.lid import lid_parts
from layouts.enclosures.box.pads import wall_at
from layouts.enclosures.box.screws import box_screws, lid_screws
from layouts.enclosures.box.sizes import EnclosureDesign
from layouts.enclosures.box.tub import tub_parts
from layouts.enclosures.form import (
    BillItem,
    Compartment,
    GasLink,
    RimEdge,
    Seal,
    StandingBody,
)
from layouts.enclosures.pad_walls import PadWall
from layouts.holders.fastening import CellBlock
from layouts.pack import Face, Pack
from layouts.parts.clearance import Clearance, ClearanceKind
from layouts.parts.convex import block
from layouts.parts.outlet import CableOutlet
from layouts.parts.part import Part
from layouts.parts.screw import KEY_ARM_MM, PlacedScrew
from layouts.parts.shell import BoardPlace, Shell, box
from layouts.strips.joining import Interconnect
from layouts.wiring.ways import WireWay

__all__ = ["BOX", "BoxEnclosure"]


@dataclass(frozen=True, kw_only=True, slots=True)
class BoxEnclosure:
    """Tub and lid of a rectangular plan."""

    sizes: EnclosureDesign

    @property
    def shell(self) -> Shell:
        """Walls, floor and lid."""
        d = self.sizes
        return Shell(
            cavity=box(d.cavity),
            outer=box(d.outer),
            corner_radius_mm=d.outer_corner_mm,
            wall_mm=d.wall_mm,
            z_under_mm=d.z_under_mm,
            z_floor_mm=d.z_floor_mm,
            z_rim_mm=d.z_rim_mm,
            z_lid_mm=d.z_lid_mm,
        )

    @property
    def parts(self) -> tuple[Part, ...]:
        """Tub and lid, or their pieces."""
        return _parts(self.sizes)

    @property
    def screws(self) -> tuple[PlacedScrew, ...]:
        """Those of the lid, then those that close a cut tub and a cut lid."""
        return box_screws(self.sizes)

    @property
    def outlets(self) -> tuple[CableOutlet, ...]:
        """The glands in the +x wall."""
        d = self.sizes
        return tuple(
            CableOutlet(
                gland=one.gland,
                purpose=one.purpose,
                at_mm=np.array((d.outer.x1, one.y_mm, one.z_mm)),
                out=np.array((1.0, 0.0, 0.0)),
                wall_mm=d.wall_mm,
                wire_mm=one.wire_mm,
            )
            for one in d.glands
        )

    @property
    def pads(self) -> tuple[MountingPad, ...]:
        """Pads for brackets on the +x and the -x wall."""
        return self.sizes.pads

    @property
    def pad_walls(self) -> tuple[PadWall, ...]:
        """The wall or block above each."""
        return tuple(wall_at(pad, self.sizes.wall_mm) for pad in self.sizes.pads)

    @property
    def pose(self) -> None:
        """It is looked for afterwards."""
        return

    @property
    def compartments(self) -> tuple[Compartment, ...]:
        """None of its own: the board stands beside the cells."""
        return ()

    @property
    def standing(self) -> tuple[StandingBody, ...]:
        """None: the fuse lies in its lead."""
        return ()

    @property
    def gas_side(self) -> None:
        """It leaves on several."""
        return

    @property
    def board(self) -> BoardPlace:
        """On edge, right of the held cells."""
        return self.sizes.bay.place

    @property
    def seal(self) -> Seal | None:
        """It is open."""
        return None

    @property
    def gas_blocked(self) -> dict[Face, NDArray[np.float64]]:
        """Pads and bosses in the gaps over both faces."""
        return {face: blocked(self.sizes, face) for face in Face}

    def gas_links(
        self, pack: Pack, cell_layout: CellLayout, rim: Sequence[RimEdge]
    ) -> tuple[GasLink, ...]:
        """The space beside the board, slots, and the gap behind the lid's drip skirts."""
        return box_gas_links(self.sizes, pack, cell_layout, rim)

    @property
    def clamped_mm(self) -> tuple[tuple[tuple[float, float], ...], ...]:
        """None: posts alone set the holders' distance."""
        return ()

    @property
    def holding_steps(self) -> tuple[str, ...]:
        """None: posts hold both holders."""
        return ()

    @property
    def joining_steps(self) -> tuple[str, ...]:
        """None: its joining flanges are told with the parts."""
        return ()

    @property
    def closing_steps(self) -> tuple[str, ...]:
        """None of its own."""
        return ()

    @property
    def service(self) -> tuple[Clearance, ...]:
        """Over the lid, to take its screws out and lift it off its drip skirts."""
        d, one = self.sizes, lid_screws(self.sizes)[0]
        assert one.length_mm is not None
        driving = one.top_mm + one.length_mm + KEY_ARM_MM[one.size.key_mm]
        lifting = d.skirt_deep_mm + d.support_pad_lid_mm
        plan, top = d.lid_box, d.z_lid_mm
        over = block((plan.x0, plan.y0, top), (plan.x1, plan.y1, top + max(driving, lifting)))
        return (
            Clearance(
                name="service clearance: lid", kind=ClearanceKind.LID_SERVICE, pieces=(over,)
            ),
        )

    @property
    def bill(self) -> tuple[BillItem, ...]:
        """Its cable glands."""
        return tuple(
            BillItem(item=f"cable gland {one.gland.size} with nut, {one.purpose}", count=1)
            for one in self.sizes.glands
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """What was left out or cut in pieces."""
        return self.sizes.notes

    @property
    def cautions(self) -> tuple[str, ...]:
        """None of its own."""
        return ()

    @property
    def ways(self) -> tuple[WireWay, ...]:
        """Those of its compartment."""
        return self.sizes.ways

    def checks(
        self, pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, cell_block: CellBlock
    ) -> tuple[Check, ...]:
        """Screws, room around the cell block, hold, pads, wires' bend, seams."""
        return enclosure_checks(pack, cell_layout, interconnect, cell_block, self.sizes)


@lru_cache(maxsize=4)
def _parts(d: EnclosureDesign) -> tuple[Part, ...]:
    """Drawn once for all that reads them."""
    return (*tub_parts(d), *lid_parts(d))


@dataclass(frozen=True, slots=True)
class _Box:
    """The form itself."""

    name: str = "tub"
    follows_space: bool = False

    def cells_find_room(self, pack: Pack, cell_block_mm: tuple[float, float]) -> bool:
        """Always: the layout of the cells is chosen by the estimated outside."""
        return True

    def rooms_least_mm2(self, pack: Pack) -> float:
        """None: the estimated outside counts them."""
        return 0.0

    def design(
        self, pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, cell_block: CellBlock
    ) -> BoxEnclosure:
        """Tub and lid of a pack. Raises PlanError where the pack file must change."""
        return BoxEnclosure(sizes=design_enclosure(pack, cell_layout, interconnect, cell_block))


BOX = _Box()
