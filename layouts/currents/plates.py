"""What a pack's plates conduct: each sheet reduced to links between its can ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.currents.strips import BUS_MATERIAL
from layouts.formats import conductors
from layouts.strips.field import STEP_MM, Covering, SheetField, sheet_field
from layouts.strips.plate import BusPlate, Conduction, SheetLayer

__all__ = ["conducting"]

# over which the spots of one can end feed the sheet: against four spots of 0.5 to 1.0 mm radius
# the sheet's ohms are off by -3 to +7 % (finite elements)
CONTACT_MM = 2.5
# of the raster where fusible necks of a millimetre or two carry the current: within 0.5 % of finite
# elements there, 2.3 % with the usual one; and at the holes in copper beneath nickel: within 2.4 %
# of the formula for the ring round a can end, 6 % with the usual one
FINE_STEP_MM = STEP_MM / 2.0
KEY_MM = 6  # decimals to which two sheets are the same


def _sheet_siemens(layers: Sequence[SheetLayer]) -> float:
    """Thickness over resistivity, all layers together, at 20 C [S]."""
    known = conductors()
    return sum(one.thickness_mm * 1e-3 / known[one.material].ohm_m for one in layers)


def conducting(
    cell_layout: CellLayout,
    plates: Sequence[BusPlate],
    known: dict[bytes, SheetField] | None = None,
) -> tuple[BusPlate, ...]:
    """The plates with their resistances, by their layers and bars.

    A main lead lands on the bar's end, else where the tail begins, else on the outermost can end.
    ``known``: reduced sheets of earlier calls, by shape: like sheets are solved once.
    """
    known = {} if known is None else known
    found = []
    for plate in plates:
        field = _field(cell_layout, plate, known)
        both, ohm = field.links()
        cells = np.array(plate.cells, dtype=np.int64)
        between = both[:, 1] < len(cells)
        landing = tuple(
            (int(cells[cell]), one)
            for (cell, _), one in zip(both[~between].tolist(), ohm[~between].tolist(), strict=True)
        )
        conduction = Conduction(
            pairs=cells[both[between]], ohm=ohm[between], landing=landing, field=field
        )
        found.append(replace(plate, conduction=conduction))
    return tuple(found)


def _field(cell_layout: CellLayout, plate: BusPlate, known: dict[bytes, SheetField]) -> SheetField:
    """One plate reduced; the same shape with the same contacts is looked up."""
    xy, bar = cell_layout.xy_mm[list(plate.cells)], plate.bar
    contacts: list[BaseGeometry] = list(shapely.buffer(shapely.points(xy), CONTACT_MM))
    coverings = []
    if plate.is_end:
        contacts.append(_landing(cell_layout, plate))
    if bar is not None:
        copper = bar.thickness_mm * 1e-3 / conductors()[BUS_MATERIAL].ohm_m
        coverings.append(Covering(shape=bar.shape, siemens=copper))
    if plate.pierced is not None:  # current gets into it beside the holes alone
        on_sheet = shapely.intersection(plate.pierced, plate.body)
        coverings.append(Covering(shape=on_sheet, siemens=_sheet_siemens(plate.layers_beneath)))
    siemens = _sheet_siemens(plate.whole_layers)
    fine = bool(plate.cell_fuses) or plate.pierced is not None
    step_mm = FINE_STEP_MM if fine else STEP_MM
    x0, y0 = plate.body.bounds[:2]
    key = b"".join(
        shapely.to_wkb(shapely.set_precision(affinity.translate(one, -x0, -y0), 10.0**-KEY_MM))
        for one in (plate.body, *contacts, *(one.shape for one in coverings))
    )
    own = key + repr((siemens, [one.siemens for one in coverings])).encode()
    if own in known:
        return known[own]
    if coverings:
        known[own] = sheet_field(
            plate.body, contacts, siemens, coverings=coverings, step_mm=step_mm
        )
    else:  # of one metal throughout: other layers of the same shape differ by a factor alone
        if key not in known:
            known[key] = sheet_field(plate.body, contacts, 1.0, step_mm=step_mm)
        known[own] = known[key].scaled(siemens)
    return known[own]


def _landing(cell_layout: CellLayout, plate: BusPlate) -> BaseGeometry:
    """Where the main lead takes its current from an end group's plate."""
    if plate.bar is not None:
        return plate.bar.landing
    if plate.tail_end_mm is not None:
        at = shapely.Point(plate.tail_end_mm)
        near = shapely.get_coordinates(shapely.shortest_line(plate.body, at))[0]
        return shapely.Point(near).buffer(CONTACT_MM)
    xy = cell_layout.xy_mm[list(plate.cells)]
    far = xy[int(np.argmax(xy[:, 0]))]
    return shapely.Point(float(far[0]) + CONTACT_MM + 1.0, float(far[1])).buffer(1.5)
