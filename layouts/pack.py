"""The pack as the user specified it, every default filled in: frozen values only."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from math import ceil
from typing import TYPE_CHECKING

from layouts.cut_plate_spec import CutPlate as CutPlate
from layouts.enclosure_spec import EnclosureSpec as EnclosureSpec
from layouts.enclosure_spec import EnclosureStyle as EnclosureStyle
from layouts.enclosure_spec import GasketSpec as GasketSpec
from layouts.enclosure_spec import Surroundings as Surroundings
from layouts.mount_spec import Mount as Mount
from layouts.mount_spec import MountShock as MountShock
from layouts.place_spec import RoomWish
from layouts.printer_spec import Printer as Printer
from layouts.ratings.bms import Port
from layouts.ratings.charge import Charger
from layouts.ratings.cycle import DutyCycle
from layouts.ratings.driving import DrivenMachine
from layouts.ratings.fuse import Fuse
from layouts.ratings.profile import Profile
from layouts.ratings.taps import BALANCE_LEAD_AWG
from layouts.ratings.wire import AmpacityTable
from layouts.spaces.space import Space

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class Lattice(Enum):
    """How cells lie beside each other."""

    HONEYCOMB = "honeycomb"
    GRID = "grid"


class Side(Enum):
    """A side of the plan."""

    PLUS_X = "+x"
    MINUS_X = "-x"
    PLUS_Y = "+y"
    MINUS_Y = "-y"


class Face(Enum):
    """Which ends of the cells: lower ends lie at z = 0, upper ends at the cell length."""

    UPPER = "upper"
    LOWER = "lower"


class Bay(Enum):
    """The air round the enclosure."""

    OPEN = "open"  # the machine's surroundings blow through
    CLOSED = "closed"  # it stands still between the enclosure and the walls of the space


class Sun(Enum):
    """Sun on the face that looks up, by that face's colour."""

    NONE = "none"
    LIGHT = "light"
    DARK = "dark"


@dataclass(frozen=True, kw_only=True, slots=True)
class Cooling:
    """How the heat of a pack gets away.

    ``below_free``: whether air reaches its lower face, or that of the closed bay."""

    bay: Bay = Bay.OPEN
    below_free: bool = False
    sun: Sun = Sun.NONE


@dataclass(frozen=True, kw_only=True, slots=True)
class Cell:
    """One cylindrical cell. Diameter and length are the largest that must go in, sleeve on.

    ``diameter_spread_mm``: one standard deviation of its diameter, round a mean that lies
    ``mean_below_mm`` under the largest; both judged.
    ``charge_c``, ``discharge_least_c``: temperatures by its data sheet; None: the usual ones.
    """

    format: str
    chemistry: str
    diameter_mm: float
    length_mm: float
    capacity_ah: float
    continuous_a: float
    internal_resistance_mohm: float
    mass_g: float
    empty_v: float
    nominal_v: float
    full_v: float
    max_c: float
    peak_a: float | None = None
    peak_s: float | None = None
    charge_a: float | None = None
    ac_resistance_mohm: float | None = None
    charge_c: tuple[float, float] | None = None
    discharge_least_c: float | None = None
    diameter_spread_mm: float = 0.03
    mean_below_mm: float = 0.10


@dataclass(frozen=True, kw_only=True, slots=True)
class Holder:
    """One holder end. ``clearance_mm`` is diametral: pocket diameter - can diameter;
    ``clearance_given``: by the pack file, so that it is kept.

    ``support_pins``: loose columns are printed under webs that would else hang. ``flank_posts``:
    tie posts may enlarge the held cells; without them the lid clamps these."""

    clearance_mm: float
    web_mm: float
    lip_mm: float
    depth_mm: float
    window_mm: float
    wall_mm: float
    ring_mm: float
    ring_hole_mm: float
    seat_mm: float
    web_recess_mm: float
    bar_mm: float
    channel_play_mm: float
    post_mm: float
    screw: str
    support_pins: bool
    flank_posts: bool = True
    clearance_given: bool = False


class JointForm(Enum):
    """What joins the can ends of one potential on one face."""

    PLATES = "plates"  # one cut sheet
    LINKS = "links"  # straight strips: rows along a group, links to the next


@dataclass(frozen=True, kw_only=True, slots=True)
class StripSpec:
    """Weld strips: rows join the cells of a group, links join consecutive groups.

    ``shape``: how the strips of a joint are cut (single, ladder, sheet: see
    ``layouts.strips.sheets``); ``stock_mm``: length that strip is bought in, None: 1 m, or coils
    where that is too short; ``stock_width_mm``: width of the sheet or roll that plates are cut
    from, None: as the widest plate needs. ``weld_spots``: weld spots on each cell end;
    ``weld_spot_mohm``: of one, ``weld_spot_a``: its continuous current; ``current_density_a_mm2``:
    limit of the metal's, None: its usual one. ``cell_fuse_mm``: width and length of the fusible
    necks of plates. ``given``: values of the pack file, which win over what is chosen for plates.
    """

    material: str
    row_width_mm: float
    link_width_mm: float
    lead_width_mm: float
    thickness_mm: float
    layers: int
    weld_spots: int = 4
    weld_spot_mohm: float = 0.4
    shape: str = "single"
    stock_mm: float | None = None
    stock_width_mm: float | None = None
    weld_spot_a: float = 8.0
    current_density_a_mm2: float | None = None
    joints: JointForm = JointForm.PLATES
    cell_fuse_mm: tuple[float, float] | None = None
    given: tuple[str, ...] = ()


STACK_LEAST_MM = 0.3  # highest strip below the lip's outer face; common practice, no source
PLATE_SHEET_MM = 0.15  # one layer of a plate; a bench spot welder welds two


def plate_sheet_mm(strip: StripSpec) -> float:
    """One layer of a plate, where its thickness is not chosen by current."""
    return strip.thickness_mm if "thickness_mm" in strip.given else PLATE_SHEET_MM


@dataclass(frozen=True, kw_only=True, slots=True)
class Leads:
    """The two main leads. ``side`` is a side of the space's plan (+x where no space is given).

    ``table``: which table their current is taken from; ``connector_a``: current of their plug.
    """

    side: Side
    wire_mm2: float
    outside_mm: float
    length_mm: float
    table: AmpacityTable = AmpacityTable.CABLE_75
    connector_a: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class BalanceLeadSpec:
    """The balance leads: their gauge, and whether each has a fuse of its own."""

    awg: int = BALANCE_LEAD_AWG
    fused: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Controller:
    """What the pack feeds, by its data sheet; None where not given.

    It runs from ``lowest_v`` to ``highest_v`` and stops drawing at ``cutoff_v``;
    ``capacitance_f``: what charges up when it is plugged in.
    """

    lowest_v: float | None = None
    cutoff_v: float | None = None
    highest_v: float | None = None
    capacitance_f: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Bms:
    """The protection board: length, width, thickness, wires not counted, and its data sheet.

    ``series``: cells that it counts; ``cold_charge_stop``: stops charge of cells below freezing;
    ``peak_a``: what it carries for ``peak_s``; ``loss_w``: its heat at ``continuous_a``.
    ``place``: where its room must stand; None: as is found.
    """

    board_mm: tuple[float, float, float]
    continuous_a: float | None = None
    peak_a: float | None = None
    peak_s: float | None = None
    series: int | None = None
    charge_a: float | None = None
    port: Port | None = None
    cold_charge_stop: bool | None = None
    loss_w: float | None = None
    place: RoomWish | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Pin:
    """A place in the space's plan and the group that its cell belongs to."""

    at_mm: tuple[float, float]
    group: int


@dataclass(frozen=True, kw_only=True, slots=True)
class GroupWishes:
    """Requirements on the groups of cells that are placed in a space's outline.

    ``voltage_weight``: share of the widest possible boundary that may be given up so that only
    consecutive groups touch; 0: boundaries alone count. ``volts_limit``: most volts between two
    touching cells, full; None: no limit. ``minus_side``, ``plus_side``: sides of the space's plan
    where group 1 and group S end; None: the side of the leads. ``exclude_mm``: places where no cell
    may stand."""

    voltage_weight: float = 0.2
    volts_limit: float | None = None
    minus_side: Side | None = None
    plus_side: Side | None = None
    pins: tuple[Pin, ...] = ()
    exclude_mm: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Load:
    """Load demand of the machine, continuous and peak, in amps or in watts.

    ``regeneration_a``: what its motor regenerates; ``profile``: watts over time;
    ``discharge_cutoff_v``: pack voltage under load at which the machine stops. ``machine``: what it
    is and how fast it is to go; ``cycle``: amps that repeat; None: not given. ``derived``:
    "continuous" and "peak" where those follow from the cycle or else the machine, None: neither."""

    continuous_a: float | None = None
    continuous_w: float | None = None
    peak_a: float | None = None
    peak_w: float | None = None
    peak_s: float | None = None
    regeneration_a: float | None = None
    profile: Profile | None = None
    discharge_cutoff_v: float | None = None
    ambient_c: float = 25.0
    acceleration_g: tuple[float, float, float] = (4.0, 4.0, 6.0)
    machine: DrivenMachine | None = None
    cycle: DutyCycle | None = None
    derived: tuple[str, ...] | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class MeasuredCells:
    """What was measured of every cell, in the order of the sites: by group, then along it.

    ``labels`` (N,); ``xy_mm`` (N, 2): where each site lay when the cells were sorted;
    ``capacity_ah`` (N,); ``resistance_mohm`` (N,) for direct current."""

    labels: tuple[str, ...]
    xy_mm: tuple[tuple[float, float], ...]
    capacity_ah: tuple[float, ...]
    resistance_mohm: tuple[float, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Pack:
    """One pack file, checked, every default filled in.

    ``free_spacing``: cells needn't stand on a lattice (``lattice: free``); ``lattice`` is then the
    honeycomb, which they come near to. ``disconnect``: whether there is a manual disconnect, None:
    not given. ``spacing_floor_mm``: least distance of bare parts of two potentials, whatever the
    table says. ``measured_cells``: None where none were sorted. ``plates_to_cut``:
    flat metal plates of the machine. ``fuse_place``: where the main fuse's room must stand."""

    name: str
    cell: Cell
    series: int
    parallel: int
    lattice: Lattice
    holder: Holder
    strip: StripSpec
    leads: Leads
    bms: Bms
    enclosure: EnclosureSpec
    mount: Mount
    printer: Printer
    space: Space | None = None
    load: Load | None = None
    grouping: GroupWishes = GroupWishes()
    free_spacing: bool = False
    fuse: Fuse | None = None
    fuse_place: RoomWish | None = None
    taps: BalanceLeadSpec = BalanceLeadSpec()
    controller: Controller | None = None
    charger: Charger | None = None
    disconnect: bool | None = None
    spacing_floor_mm: float = 0.0
    cooling: Cooling = Cooling()
    measured_cells: MeasuredCells | None = None
    plates_to_cut: tuple[CutPlate, ...] = ()

    @property
    def each_cell_mohm(self) -> float | NDArray[np.float64]:
        """Direct-current resistance of the cells: (N,) as measured, else the same for all."""
        if self.measured_cells is None:
            return self.cell.internal_resistance_mohm
        import numpy as np  # reading a pack file goes without

        return np.array(self.measured_cells.resistance_mohm)

    @property
    def pocket_mm(self) -> float:
        """Pocket diameter: the largest can plus the diametral clearance."""
        return self.cell.diameter_mm + self.holder.clearance_mm

    @property
    def pitch_mm(self) -> float:
        """Distance between the centres of touching lattice sites."""
        return self.pocket_mm + self.holder.web_mm

    @property
    def lip_to_lip_mm(self) -> float:
        """Distance between the two lips: longest can + ``LENGTH_PLAY_MM``. In thick layers it is
        a whole number of them, with ``LEAST_PLAY_MM`` at least."""
        layer_mm = self.printer.layer_mm
        if layer_mm <= FINE_LAYER_MM:
            return self.cell.length_mm + LENGTH_PLAY_MM
        layers = ceil((self.cell.length_mm + LEAST_PLAY_MM) / layer_mm - 1e-6)
        return round(layers * layer_mm, 6)


LENGTH_PLAY_MM = 0.2  # posts meet before the longest can is squeezed; common practice, no source
LEAST_PLAY_MM = 0.1  # judged: half of it
# finer layers round a height by a tenth of a millimetre at most, which the plays take
FINE_LAYER_MM = 0.2
