"""One change of every key of a frame. All values are invented."""

from __future__ import annotations

from tests.generators.packfile.change import Change, Sections, seen, under

__all__ = ["frame_changes"]

HOLE = {"at_mm": [250, 100], "screw": "M5"}
PLATE: Sections = {
    "at_mm": [0, 0, 0], "normal": "+z", "outline_mm": [[0, 0], [300, 0], [300, 200], [0, 200]],
    "thick_mm": 2, "holes": [{"at_mm": [50, 100], "screw": "M5"}, HOLE],
}  # fmt: skip
FLOOR = {"name": "floor", "plate": PLATE}


def frame_changes(fitted: Sections) -> dict[str, Change]:
    """By their whole names; ``fitted``: sections of a fitted enclosure in a space, with a load."""
    on_floor = fitted | {"mount": {"frame": [{"name": "floor", "plate": PLATE | {"drill": True}}]}}
    return {
        "mount.frame": Change(to=[FLOOR], seen="frame", beside=fitted),
        **{
            f"mount.frame.{key}": Change(
                before=[FLOOR], to=[FLOOR | {key: to}], seen="frame", beside=fitted
            )
            for key, to in (("name", "tray"), ("plate", PLATE | {"drill": True}))
        },
        **{
            f"mount.frame.plate.{key}": Change(
                before=[FLOOR],
                to=[FLOOR | {"plate": PLATE | {key: to}}],
                seen="frame",
                beside=fitted,
            )
            for key, to in (
                ("at_mm", [1, 0, 0]),
                ("normal", "-z"),
                ("thick_mm", 3),
                ("drill", True),
                ("outline_mm", [[0, 0], [255, 0], [255, 200], [0, 200]]),
                ("holes", [HOLE]),
            )
        },
        **{
            f"mount.frame.plate.holes.{key}": Change(
                before=[FLOOR],
                to=[FLOOR | {"plate": PLATE | {"holes": [HOLE | {key: to}]}}],
                seen="frame",
                beside=fitted,
            )
            for key, to in (("at_mm", [252, 100]), ("screw", "M4"), ("thread", True))
        },
        "mount.hold": Change(to={"most": 1}, seen="frame", beside=on_floor),
        **under("mount.hold", seen("frame", beside=on_floor, faces=["+x", "-x"], most=1)),
    }
