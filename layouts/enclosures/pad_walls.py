"""Bending of the walls at mounting pads, across the printed layers: sections, check, blocks.

A bracket's foot stands out from the wall: what lifts it bends the wall over the pad. Finite
elements of a tub with its lid on (``tests/layouts/enclosures/test_wall_elements.py``) are below
these formulas wherever a pad stands along its wall.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from layouts.brackets.holding import LugSize
from layouts.brackets.inserts import insert_pull, insert_pull_n, insert_push_n
from layouts.brackets.kind import PAD_SIZES, Hold, MountingPad
from layouts.brackets.loads import BracketLoad, bracket_loads, guessed_mass_kg
from layouts.brackets.registry import kind_of
from layouts.brackets.strength import ACROSS_SOURCE, SAFETY, across_limit_mpa, warm_ratio
from layouts.checks import Check
from layouts.pack import Pack

__all__ = [
    "BLOCK_UNDER_MM",
    "PadWall",
    "bare_modulus_mm3",
    "block_modulus_mm3",
    "lug_of",
    "pad_wall",
    "pads_for_load",
    "wall_bending",
    "wall_moment_n_mm",
]

# All of these are common practice, no source
BLOCK_UNDER_MM = 2.0  # a block ends so far under the rim: no rain stands at the lid's joint
BESIDE_MM = 26.0  # of the wall beside a pad or block that counts: no more than was held against
# finite elements
BLOCK_STEP_MM = 2.0  # of widths of blocks
LUG_WIDE_MM, LUG_OUT_MM = 34.0, 10.0  # of a pad: along its wall, out of it
LEAST_BLOCK_MM = 24.0  # narrower ones bear more than the formula says at their edges


@dataclass(frozen=True, kw_only=True, slots=True)
class PadWall:
    """The wall at one pad: its thickness, ``out_mm`` from its middle plane to the pad's face, and
    the level section just above the pad: its name, and its section modulus about a line along the
    wall."""

    pad: MountingPad
    wall_mm: float
    out_mm: float
    section: str
    modulus_mm3: float


def bare_modulus_mm3(wall_mm: float, pad_wide_mm: float, pad_high_mm: float) -> float:
    """Of the wall just above a pad, as a flat strip as wide as the pad and half its height more on
    both sides.

    A strip as wide again would be safe beside a corner of the tub, but not in the middle of a long
    wall."""
    return (pad_wide_mm + pad_high_mm) * wall_mm**2 / 6.0


def block_modulus_mm3(wall_mm: float, block_mm: float, deep_mm: float, beside_mm: float) -> float:
    """Of a block and the wall behind it, ``beside_mm`` wider than the block, as a T.

    ``deep_mm``: how far the block stands out from the wall."""
    wide = block_mm + beside_mm
    wall, block = wide * wall_mm, block_mm * deep_mm
    of_wall, of_block = wall_mm / 2.0, wall_mm + deep_mm / 2.0
    middle = (wall * of_wall + block * of_block) / (wall + block)
    second = (wide * wall_mm**3 + block_mm * deep_mm**3) / 12.0
    second += wall * (of_wall - middle) ** 2 + block * (of_block - middle) ** 2
    return second / max(middle, wall_mm + deep_mm - middle)


def pad_wall(pad: MountingPad, *, wall_mm: float, pad_mm: float, out_mm: float) -> PadWall:
    """A flat wall at a pad ``pad_mm`` wide that stands out ``out_mm``: the section just above it,
    its block, which goes up to the rim, or the bare wall."""
    beside = min(pad.high_mm, BESIDE_MM)
    if pad.block_mm:
        name = "block above the pad"
        modulus = block_modulus_mm3(wall_mm, pad.block_mm, out_mm, beside)
    else:
        name, modulus = "wall above the pad", bare_modulus_mm3(wall_mm, pad_mm, beside)
    return PadWall(
        pad=pad, wall_mm=wall_mm, out_mm=out_mm + wall_mm / 2, section=name, modulus_mm3=modulus
    )


def lug_of(pack: Pack, wall: PadWall) -> LugSize:
    """A pad with what its inserts and the wall above it may bear, as brackets ask for it."""
    pad, material = wall.pad, pack.printer.material
    allowed = warm_ratio(pack) / SAFETY
    return LugSize(
        wide_mm=LUG_WIDE_MM, high_mm=pad.high_mm, out_mm=LUG_OUT_MM, screw=pad.screw,
        apart_mm=pad.apart_mm, up_mm=pad.up_mm, arm_mm=wall.out_mm,
        moment_n_mm=across_limit_mpa(pack) * wall.modulus_mm3,
        insert_n=insert_pull_n(pad.screw, material) * allowed,
        push_n=insert_push_n(pad.screw, material) * allowed,
    )  # fmt: skip


def wall_moment_n_mm(load: BracketLoad, wall: PadWall, hold: Hold) -> float:
    """Greatest moment about the wall's middle plane.

    The lift acts as far out as the frame holds the bracket. The pull off the wall adds or takes
    away by its distance from the pad's screws; as the floor bears an unknown share of that, it
    counts where it adds alone."""
    arm, lever = hold.out_mm + wall.out_mm, wall.pad.up_mm + hold.below_mm
    return max(load.most(up=arm), load.most(up=arm, off=lever))


def pads_for_load(
    pack: Pack,
    pads: Sequence[MountingPad],
    wall_of: Callable[[MountingPad], PadWall],
    *,
    deep_mm: float,
) -> tuple[MountingPad, ...]:
    """The smallest pads and screws whose inserts hold, with blocks where the bare wall does not;
    the largest where none do. All are alike, and as they are without a load.

    ``wall_of``: the wall at a pad as it is; ``deep_mm``: how far its block stands out from it. A
    block is no wider than the stretch of wall that is kept for a bracket."""
    if pack.load is None or not pads:
        return tuple(pads)
    mass_kg, kind = guessed_mass_kg(pack), kind_of(pack)
    # a script's bracket was drawn for the smallest
    sizes = PAD_SIZES if pack.mount.script is None else PAD_SIZES[:1]
    for screw, high, up in sizes:
        pads = [replace(pad, screw=screw, high_mm=high, up_mm=up) for pad in pads]
        hold = kind.design(pack, pads, mass_kg=mass_kg).hold
        if all(check.holds for check in insert_pull(pack, pads, hold, mass_kg=mass_kg)):
            break
    walls = [wall_of(pad) for pad in pads]
    need = _least_block_mm(
        pack, walls, hold, mass_kg=mass_kg, deep_mm=deep_mm, most_mm=kind.wall_mm(pack)
    )
    return tuple(replace(pad, block_mm=need) for pad in pads)


def _least_block_mm(
    pack: Pack,
    walls: Sequence[PadWall],
    hold: Hold,
    *,
    mass_kg: float,
    deep_mm: float,
    most_mm: float,
) -> float:
    """Width of blocks that hold, in whole steps, or the most; 0 where the walls do as they are."""
    limit = across_limit_mpa(pack)
    loads = bracket_loads(pack, [one.pad for one in walls], hold, mass_kg=mass_kg)
    need = 0.0
    for load, wall in zip(loads, walls, strict=True):
        moment = wall_moment_n_mm(load, wall, hold)
        if moment <= limit * wall.modulus_mm3:
            continue
        need = max(need, LEAST_BLOCK_MM)
        while need < most_mm:
            modulus = block_modulus_mm3(wall.wall_mm, need, deep_mm, BESIDE_MM)
            if moment <= limit * modulus:
                break
            need += BLOCK_STEP_MM
    return min(need, most_mm)


def wall_bending(
    pack: Pack, walls: Sequence[PadWall], hold: Hold, *, mass_kg: float
) -> tuple[Check, ...]:
    """Stress across the layers in the wall at the pad that is worst; nothing without a load."""
    if pack.load is None or not walls:
        return ()
    found = []
    loads = bracket_loads(pack, [one.pad for one in walls], hold, mass_kg=mass_kg)
    for load, wall in zip(loads, walls, strict=True):
        x, y = wall.pad.middle_mm
        where = f"{wall.section}, pad at ({x:.0f}, {y:.0f})"
        found.append((wall_moment_n_mm(load, wall, hold) / wall.modulus_mm3, where))
    stress, where = max(found)
    limit = across_limit_mpa(pack)
    return (
        Check(
            id="wall_bending",
            about="bending stress across the layers of the wall at a mounting pad",
            holds=stress <= limit, value=stress, limit=limit, unit="MPa", at_least=False,
            source="beam formula, lid screwed on, held against finite elements of flat walls; "
            + ACROSS_SOURCE,
            remedy="a thicker enclosure.wall_mm, a stronger printer.material, a lower "
            "load.acceleration_g, more than these brackets, or the tub on a metal plate that "
            "carries its floor",
            where=where,
        ),
    )  # fmt: skip
