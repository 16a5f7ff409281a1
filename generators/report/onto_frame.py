"""How brackets come onto the frame, for the order of work: what is drilled, where screws go."""

from __future__ import annotations

from generators.report.metal_work import bent_brackets
from layouts.planning.held import FrameScrew, frame_screws
from layouts.planning.pack_plan import PackPlan

__all__ = ["brackets_first", "frame_screw_words", "onto_frame"]

FEET = "Brackets: the screws into the mounting pads first, then the feet to the frame."
CAPS = "Brackets: the screws into the mounting pads first, then the caps{liner} round the tubes."
COORDINATES = "x and y in mm, in the coordinates of the space"
DRILLED_EMPTY = (
    "Drill the frame now, while the enclosure is empty: {where}. A hole weakens a frame: ask its "
    "maker where one is allowed, and look what lies behind. Deburr, paint bare metal, and remove "
    "every chip from frame and enclosure: chips short cells."
)


def brackets_first(plan: PackPlan) -> tuple[str, ...]:
    """What is done about brackets before any cell is in the enclosure."""
    where = _drilled(plan)
    return (*bent_brackets(plan), *((DRILLED_EMPTY.format(where=where),) if where else ()))


def _drilled(plan: PackPlan) -> str:
    """How holes in the frame are found that depend on the brackets; empty where there are none."""
    mount = plan.pack.mount
    if plan.enclosure_set is None or not plan.enclosure.pads:
        return ""
    if mount.tube_mm is not None:
        if not mount.cross_bolt:
            return ""
        return (
            "hang it on its tubes by the brackets, tighten the caps evenly, and drill each tube "
            "through the hole in the middle of its cap"
        )
    if mount.slot_mm:
        return (
            "set it in its place by the brackets, move it in their slots until it is right, "
            "tighten them, and drill for the locking screw through each foot"
        )
    new = [one for one in frame_screws(plan) if one.hole is None] if mount.frame else []
    return f"{'; '.join(frame_screw_words(one) for one in new)}; {COORDINATES}" if new else ""


def onto_frame(plan: PackPlan) -> str:
    """How brackets are screwed on; where each screw goes, if they are placed on a frame."""
    mount = plan.pack.mount
    if mount.tube_mm is not None:
        liner = " and rubber" if mount.liner_mm else ""
        return CAPS.format(liner=liner)
    if not mount.frame or not plan.enclosure.pads:
        return FEET
    found = "; ".join(frame_screw_words(one) for one in frame_screws(plan))
    return f"{FEET} Frame screws: {found}; {COORDINATES}."


def frame_screw_words(one: FrameScrew) -> str:
    """One screw: what it goes into, and what is behind that."""
    if one.hole is None:
        into, behind = "drilled into", "a nut behind it"
    else:
        into, behind = "into a hole of", "tapped" if one.hole.thread else "a nut behind it"
    return (
        f"bracket {one.on}: {one.screw} {into} {one.plate.name} ({one.plate.thick_mm:g} mm thick, "
        f"{behind}) at x {one.at_mm[0]:.1f}, y {one.at_mm[1]:.1f}"
    )
