"""The pack file's form: every key with its unit, its bounds, its default and the reason for it.

The sections' forms stand by subject in ``*_models``. The models check each value alone;
``as_pack`` fills in defaults, ``rules`` checks values against each other. A key left out is None
here, since most defaults follow the can's size. In descriptions ``{default}`` stands for the
default, which ``schema`` fills in from ``layouts.defaults``.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from generators.packfile.cell_models import CellSection, GroupingSection
from generators.packfile.cut_plate_models import CutPlateEntry
from generators.packfile.electrical_models import (
    BmsSection,
    ChargerSection,
    ControllerSection,
    FuseSection,
    TapsSection,
)
from generators.packfile.machine_models import CoolingSection, LoadSection, MountSection
from generators.packfile.printed_models import EnclosureSection, HolderSection
from generators.packfile.printer_models import PrinterSection
from generators.packfile.section import MOST_CELLS, FileText, Section
from generators.packfile.space_models import SpaceSection
from generators.packfile.strip_models import LeadsSection, StripSection

__all__ = ["PackFile"]

NAME_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$"

LatticeWord = Literal["honeycomb", "grid", "free"]


def _or_a_file(form: dict[str, Any]) -> None:
    """A space may be a file of its own: the schema takes its path too."""
    form["anyOf"].append({"type": "string"})


class PackFile(Section):
    """A battery pack of cylindrical cells: what it is made of, where it goes, how it is printed."""

    name: str = Field(
        pattern=NAME_PATTERN,
        description="Name of the pack: letters, digits, - and _, up to 64. It names the folder of "
        "the result. Required.",
    )
    cell: CellSection = Field(description="One cell. Required.")
    series: int = Field(
        ge=1,
        le=MOST_CELLS,
        description="Number of groups in series; series times parallel is at most 10,000. "
        "Required.",
    )
    parallel: int = Field(
        ge=1, le=MOST_CELLS, description="Number of cells in parallel in a group. Required."
    )
    lattice: LatticeWord = Field(
        default="honeycomb",
        description="honeycomb, grid, or free: as many cells as fit an odd shape, on no lattice, "
        "so without straight strips. Default honeycomb: needs 13 % less area; a grid leaves more "
        "lip, and room for screws between cells.",
    )
    holder: HolderSection = Field(default=HolderSection(), description="The holders.")
    strip: StripSection = Field(default=StripSection(), description="The weld strips.")
    leads: LeadsSection = Field(default=LeadsSection(), description="The main leads.")
    fuse: FuseSection | None = Field(
        default=None, description="The main fuse that is fitted. Left out: one is proposed."
    )
    taps: TapsSection = Field(default=TapsSection(), description="The balance leads.")
    bms: BmsSection = Field(default=BmsSection(), description="The protection board.")
    disconnect: bool | None = Field(
        default=None,
        description="true where a plug or switch within reach disconnects the pack by hand, rated "
        "for its direct current and voltage. No default: then a caution says so.",
    )
    controller: ControllerSection | None = Field(
        default=None,
        description="The controller that the pack feeds. Left out: its voltages are not checked.",
    )
    charger: ChargerSection | None = Field(
        default=None, description="The charger. Left out: charge is not checked."
    )
    enclosure: EnclosureSection = Field(default=EnclosureSection(), description="Tub and lid.")
    mount: MountSection = Field(
        default=MountSection(), description="The brackets and the frame's holes."
    )
    space: SpaceSection | None = Field(
        default=None,
        json_schema_extra=_or_a_file,
        description="The space in the machine; or the path of a file with these keys at its top "
        "level. Left out: nothing checks whether the pack fits.",
    )
    grouping: GroupingSection = Field(
        default=GroupingSection(), description="Groups of cells placed in an outline."
    )
    load: LoadSection | None = Field(
        default=None,
        description="The load of the machine. Left out: no current is checked.",
    )
    cooling: CoolingSection = Field(
        default=CoolingSection(), description="What is round the enclosure, for its heat."
    )
    printer: PrinterSection = Field(
        default=PrinterSection(), description="The printer, and what a slicer is told."
    )
    plates_to_cut: Annotated[tuple[CutPlateEntry, ...], Field(max_length=50)] = Field(
        default=(),
        description="Flat metal plates of the machine, such as a motor's or a controller's, for a "
        "shop to cut: files in metal/. They are no part of the pack. No default: then there are "
        "none.",
    )
    measured_cells: FileText | None = Field(
        default=None,
        description="CSV table that cellstead sort wrote, relative to this file's folder, such as "
        "out/my-pack-sort/sorted-cells.csv: currents, heat and capacity then follow from every "
        "cell's own values. No default: then all cells are as the data sheet has them.",
    )
    spacing_floor_mm: float = Field(
        default=0.0,
        ge=0,
        le=20,
        description="Minimum clearance between bare parts at different potentials, mm, whatever "
        "the voltage table gives. Default 0: the table alone.",
    )
