"""What all sections of a pack file share."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

__all__ = ["Section"]


class Section(BaseModel):
    """What all sections share: no unknown keys, no silent conversions, no NaN."""

    model_config = ConfigDict(
        extra="forbid", strict=True, allow_inf_nan=False, frozen=True, hide_input_in_errors=True
    )
