"""Sizes and bands of cells against data sheets of single cells, as read; names left out."""

from __future__ import annotations

import math

import pytest

from layouts.formats import cell_formats
from layouts.ratings.tables import table_rows

# Format, chemistry and what a sheet says: greatest diameter and length [mm], mass [g], charge
# [Ah], empty, nominal and full volts. Makers' and suppliers' data sheets of single cells.
SHEETS = [
    ("18650", "nmc", 18.25, 65.0, 44.0, 2.0, (2.75, 3.7, 4.2)),
    ("18650", "nmc", 18.5, 65.5, 48.0, 2.6, None),
    ("21700", "nmc", 21.25, 70.62, 72.0, 5.0, (2.5, 3.6, 4.2)),
    ("26650", "lfp", 26.21, 65.66, 90.0, 3.3, (2.5, 3.2, 3.65)),
    ("26650", "lfp", 26.4, 65.5, 90.0, 4.0, (2.0, 3.2, 3.65)),
    ("14500", "nmc", 14.3, 50.3, 18.0, 0.8, (2.75, 3.7, 4.2)),
    ("18350", "nmc", 18.5, 35.2, 23.8, 1.4, (2.5, 3.6, 4.2)),
]


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: f"{sheet[0]}-{sheet[5]}Ah")
def test_a_sheets_cell_lies_within_its_bands(sheet) -> None:
    """Charge and mass by the can's volume, and volts: no real cell is called implausible."""
    _, chemistry, diameter_mm, length_mm, mass_g, capacity_ah, volts = sheet
    cm3 = math.pi / 4 * diameter_mm**2 * length_mm / 1000.0
    said = {"capacity_ah_cm3": capacity_ah / cm3, "mass_g_cm3": mass_g / cm3}
    if volts is not None:
        said |= dict(zip(("empty_v", "nominal_v", "full_v"), volts, strict=True))
    for row in table_rows("cell_bands"):
        if row["chemistry"] == chemistry and row["quantity"] in said:
            assert float(row["least"]) <= said.pop(row["quantity"]) <= float(row["most"])
    assert not said


@pytest.mark.parametrize("sheet", SHEETS[:5], ids=lambda sheet: f"{sheet[0]}-{sheet[5]}Ah")
def test_a_sheets_cell_fits_the_format(sheet) -> None:
    """The longest cell of a sheet fits between the lips, its diameter into the pocket, and its
    mass is near the format's."""
    name, _, diameter_mm, length_mm, mass_g, _, _ = sheet
    size = cell_formats()[name]
    assert length_mm <= size.longest_mm <= length_mm + 0.55
    assert diameter_mm < size.diameter_mm + size.clearance_mm
    assert size.mass_g == pytest.approx(mass_g, rel=0.07)
