"""What joins the cells of a pack: plates, or straight strips."""

from __future__ import annotations

from dataclasses import replace

from layouts.cells.arrangement import CellLayout
from layouts.currents.bus_strips import with_bus_strips
from layouts.errors import PlanError
from layouts.pack import JointForm, Pack
from layouts.planning.plates import joined_by_plates
from layouts.strips.checks import strip_checks
from layouts.strips.joining import Interconnect
from layouts.strips.laying import join
from layouts.strips.lip import seat_checks
from layouts.strips.lip_checks import lip_checks

__all__ = ["joined", "joint_faults"]


def joined(pack: Pack, cell_layout: CellLayout) -> Interconnect:
    """The interconnect as the pack file asks for it.

    Where it leaves that open: plates, or straight strips where no plates can be laid or fewer
    checks of strips fail, with a note that says why. A string of single cells has strips.

    Raises PlanError where the file asks for plates, or for their fusible necks, and none can be
    laid."""
    fused = pack.strip.cell_fuse_mm is not None
    if pack.parallel == 1 or pack.strip.joints is JointForm.LINKS:
        if fused:
            raise _no_necks(pack)
        return _by_strips(pack, cell_layout)
    if "joints" in pack.strip.given or fused:  # straight strips have no necks
        return joined_by_plates(pack, cell_layout)
    try:
        plates = joined_by_plates(pack, cell_layout)
    except PlanError as error:
        if error.field != "strip.joints":  # another value of the file's is at fault
            raise
        return _instead(_by_strips(pack, cell_layout), error.why)
    faults = joint_faults(pack, cell_layout, plates)
    if not faults:
        return plates
    strips = _by_strips(pack, cell_layout)
    if len(joint_faults(pack, cell_layout, strips)) >= len(faults):
        return plates
    return _instead(strips, f"do not hold {', '.join(faults)}")


def _no_necks(pack: Pack) -> PlanError:
    wide_mm, long_mm = pack.strip.cell_fuse_mm or (0.0, 0.0)
    alone = pack.parallel == 1
    return PlanError(
        field="strip.cell_fuse_mm",
        value=f"{wide_mm:g} x {long_mm:g} mm",
        why="gives plates fusible necks, and this pack is joined by straight strips",
        remedy="leave the key out: a cell alone in its group can't be separated from others"
        if alone
        else "leave the key out, or write strip.joints: plates",
    )


def joint_faults(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> tuple[str, ...]:
    """Ids of the checks of metal and lip that do not hold."""
    checks = (
        *strip_checks(pack, cell_layout, interconnect),
        *lip_checks(pack, cell_layout, interconnect),
        *seat_checks(pack, cell_layout, interconnect),
    )
    return tuple(check.id for check in checks if not check.holds)


def _by_strips(pack: Pack, cell_layout: CellLayout) -> Interconnect:
    return with_bus_strips(pack, cell_layout, join(pack, cell_layout))


def _instead(strips: Interconnect, why: str) -> Interconnect:
    told = f"Straight strips in place of plates: plates {why}."
    return replace(strips, notes=(told, *strips.notes))
