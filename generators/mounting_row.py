"""result.json: how brackets on a frame hold a pack."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from layouts.mount_spec import Mount
from layouts.planning.held import MOST_USE, frame_screws, held_pack
from layouts.planning.pack_plan import PackPlan

__all__ = ["enclosed_rows", "mounting_row", "without_frame"]


def without_frame(row: dict[str, Any], mount: Mount) -> dict[str, Any]:
    """The row of ``mount``, its keys of frames left out where the file has none of them."""
    if mount.use or mount.frame or mount.hold.none:
        return row
    return {key: value for key, value in row.items() if key not in ("use", "frame", "hold")}


def enclosed_rows(
    plan: PackPlan, plain: Callable[[Any], Any], enclosure: dict[str, Any], *, mass_kg: float
) -> dict[str, Any]:
    """The way of gas, the row of the enclosure, and how it is held; nothing without one."""
    gas = {} if plan.enclosure_set is None else {"gas_way": plain(plan.gas)}
    return {**gas, **enclosure, **mounting_row(plan, plain, mass_kg=mass_kg)}


def mounting_row(plan: PackPlan, plain: Callable[[Any], Any], *, mass_kg: float) -> dict[str, Any]:
    """``mounting``: how brackets on a frame hold the pack, and where their screws go in the space;
    nothing of other packs. ``limits``: (+, -) along the pack's x, y, z [N], about them [N m]."""
    if not plan.pack.mount.frame or plan.enclosure_set is None:
        return {}
    held = held_pack(plan, mass_kg=mass_kg)
    if held is None:
        return {"mounting": {"brackets": 0}}
    answer = held.answer
    frame_rows = [
        {
            "bracket": one.on, "on": one.plate.name, "screw": one.screw, "at_mm": plain(one.at_mm),
            "drill": one.hole is None,
        }
        for one in frame_screws(plan)
    ]  # fmt: skip
    return {
        "mounting": {
            "brackets": len(held.holds),
            "use": plain(min(answer.use, MOST_USE)),
            "lowest_hz": plain(answer.lowest_hz),
            "limits": plain(held.limits),
            "level_limits_without_friction": plain(held.level_limits),
            "frame_screws": frame_rows,
        }
    }
