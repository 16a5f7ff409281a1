"""Where the screws of brackets on a frame go, for the order of work."""

from __future__ import annotations

from layouts.planning.held import FrameScrew, frame_screws
from layouts.planning.pack_plan import PackPlan

__all__ = ["frame_screw_words", "onto_frame"]


FEET = "Brackets: the screws into the mounting pads first, then the feet to the frame."


def onto_frame(plan: PackPlan) -> str:
    """How brackets are screwed on; where each screw goes, in the coordinates of the space, where
    they are placed on a frame."""
    if not plan.pack.mount.frame or not plan.enclosure.pads:
        return FEET
    found = "; ".join(frame_screw_words(one) for one in frame_screws(plan))
    return f"{FEET} Frame screws, mm from the space's corner: {found}."


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
