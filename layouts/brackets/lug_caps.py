"""What inserts in a mounting pad and the wall above it bear of one bracket's forces."""

from __future__ import annotations

from layouts.brackets.holding import LugSize

__all__ = ["least_caps_n", "lug_shares"]

Three = tuple[float, float, float]


def lug_shares(
    lug: LugSize, *, out_mm: float, below_mm: float, apart_mm: float
) -> tuple[Three, ...]:
    """Share of what is allowed that 1 N off the wall, along it and upright takes [1/N]: of the
    inserts, and of the wall.

    ``out_mm``, ``below_mm``: where the frame holds the bracket, from the pad's face and below the
    underside; ``apart_mm`` between its screws along the wall. As ``inserts.insert_pull`` and
    ``pad_walls.wall_bending`` have it, each force alone in its worse direction; pull and push are
    added, which is safe against the sum of their squares."""
    over, under = lug.high_mm - lug.up_mm, lug.up_mm
    turned = (1.0 - min(1.0, apart_mm / lug.apart_mm) / 2.0) / lug.apart_mm
    pulls = (
        max((below_mm + lug.high_mm) / over, below_mm / under, 1.0) / 2.0,
        turned * out_mm,
        out_mm / min(over, under) / 2.0,
    )
    pushes = (0.0, 0.5 + turned * (below_mm + lug.up_mm), 0.5)
    arms = (lug.up_mm + below_mm, 0.0, out_mm + lug.arm_mm)
    inserts = tuple(
        pull / lug.insert_n + push / lug.push_n for pull, push in zip(pulls, pushes, strict=True)
    )
    walls = tuple(arm / lug.moment_n_mm for arm in arms)
    return (inserts[0], inserts[1], inserts[2]), (walls[0], walls[1], walls[2])


def least_caps_n(*shares: Three) -> Three:
    """The most of each force that no part is asked more than allowed by [N]."""
    off, along, up = (max(each) for each in zip(*shares, strict=True))
    return 1.0 / off, 1.0 / along, 1.0 / up
