"""Where the box's own screws stand: on the lid, and through the joining flanges beside seams."""

from __future__ import annotations

import numpy as np

from layouts.enclosures.box.seams import FLANGE_MM
from layouts.enclosures.box.sizes import EnclosureDesign, SeamDesign
from layouts.enclosures.laps import SEAM_GAP_MM
from layouts.parts.fasteners import Into, insert_screw_length_mm
from layouts.parts.screw import PlacedScrew

__all__ = ["box_screws", "lid_screws"]


def box_screws(d: EnclosureDesign) -> tuple[PlacedScrew, ...]:
    """All screws that hold tub and lid together."""
    return (
        *lid_screws(d),
        *_seam_screws(d, d.tub_seams, "tub"),
        *_seam_screws(d, d.lid_seams, "lid"),
    )


def lid_screws(d: EnclosureDesign) -> tuple[PlacedScrew, ...]:
    """From above through the lid into the bosses."""
    screwed = [boss for boss in d.bosses if boss.screw]
    return tuple(
        PlacedScrew(
            where="lid to tub",
            name=f"lid screw {number}",
            heads="lid screw heads",
            screw=d.lid_screw,
            at_mm=np.array((boss.x_mm, boss.y_mm, d.z_lid_mm)),
            out=np.array((0.0, 0.0, 1.0)),
            through_mm=d.lid_mm,
            into=Into.INSERT,
            length_mm=d.lid_screw_long_mm,
            insert_hole_deep_mm=d.insert_deep_mm,
        )
        for number, boss in enumerate(screwed, start=1)
    )


def _seam_screws(d: EnclosureDesign, seams: SeamDesign, part: str) -> tuple[PlacedScrew, ...]:
    """Through each passing joining flange into the insert of the one behind the seam."""
    return tuple(
        PlacedScrew(
            where=f"pieces of the {part}",
            name=f"screw between pieces of the {part}",
            heads=f"seam screw heads of the {part}",
            screw=d.lid_screw,
            at_mm=np.array((at.x_mm, at.y_mm, at.z_mm)),
            out=-np.eye(3)[flange.axis],
            through_mm=flange.thick_mm,
            gap_mm=SEAM_GAP_MM,
            into=Into.INSERT,
            length_mm=insert_screw_length_mm(d.lid_screw, grip_mm=FLANGE_MM),
            insert_hole_deep_mm=d.insert_deep_mm,
        )
        for flange in seams.flanges
        if not flange.insert
        for at in flange.screws
    )
