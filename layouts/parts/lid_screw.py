"""The screws of a lid: one length that suits lid and inserts."""

from __future__ import annotations

from layouts.errors import PlanError
from layouts.pack import EnclosureSpec
from layouts.parts.fasteners import insert_hole_deep_mm, insert_screw_length_mm, thinner_grip_mm

__all__ = ["lid_screw_length_mm"]


def lid_screw_length_mm(case: EnclosureSpec) -> float:
    """Length of the lid's screws [mm]. Raises PlanError for a lid that no usual length suits."""
    screw, lid_mm = case.screw, case.lid_mm
    deep_mm = insert_hole_deep_mm(screw, case.insert_mm)
    try:
        return insert_screw_length_mm(screw, grip_mm=lid_mm, hole_deep_mm=deep_mm)
    except ValueError as error:
        raise PlanError(
            field="enclosure.lid_mm",
            value=f"{lid_mm:g}",
            why=f"suits no standard length of {screw} into a heat-set insert of "
            f"{case.insert_mm:g} mm",
            remedy=f"use {thinner_grip_mm(screw, lid_mm):g}",
        ) from error
