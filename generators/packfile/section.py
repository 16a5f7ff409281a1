"""What the sections of a pack file share: their base, and values that more than one takes."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from layouts.pack import Side

__all__ = [
    "CHEMISTRY_PATTERN",
    "MOST_CELLS",
    "CornersMm",
    "FileText",
    "PlaceMm",
    "Section",
    "SideWord",
]

MOST_CELLS = 10_000
CHEMISTRY_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9_-]{0,23}$"

# a closed choice: the word becomes the enum here, once
SideWord = Annotated[Side, Field(strict=False)]

PlaceMm = Annotated[float, Field(ge=-10_000, le=10_000)]
Corner = tuple[PlaceMm, PlaceMm]
# two opposite corners of a rectangle in a plan
CornersMm = tuple[Corner, Corner]
FileText = Annotated[str, Field(pattern=r"^\S.{0,399}$")]


class Section(BaseModel):
    """What all sections share: no unknown keys, no silent conversions, no NaN."""

    model_config = ConfigDict(
        extra="forbid", strict=True, allow_inf_nan=False, frozen=True, hide_input_in_errors=True
    )
