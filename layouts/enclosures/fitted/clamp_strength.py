"""Forces of the lid's clamp: what it must hold, what its silicone gives, what each insert bears."""

from __future__ import annotations

import math

import numpy as np
from scipy.spatial import cKDTree

from layouts.brackets.strength import GRAVITY_M_S2
from layouts.cells.arrangement import CellLayout
from layouts.enclosures.fitted.clamp_springs import BAND, SET_LEFT, cord_n_mm, disc_n
from layouts.enclosures.fitted.lid_screws import LidScrew
from layouts.enclosures.fitted.sizes import Clamp, FittedSizes
from layouts.formats import materials
from layouts.holders.fastening import CellBlock
from layouts.holders.posts import POSTS_APART_MM
from layouts.pack import Load, Pack

__all__ = ["carried_kg", "lid_bulge_mm", "need_n", "preload_n", "screw_forces_n", "screw_holds_n"]

LIFT_RATIO = 1.2  # preload over the held cells' lift in a jolt; common practice, no source
# Mass of the held cells, holders and metal counted, over that of bare cells; judgement, no source
HELD_OVER_CELLS = 1.15
# What an M3 insert 5.7 long and an M3 screw in 7.5 of printed thread hold at first: a quarter of
# what a cylinder of PETG round them would shear at 25 MPa across the layers, set to the low end of
# hobby pull tests; from memory. A quarter of that for years under load, and 1.5 of safety: common
# practice, no source.
INSERT_MM, THREAD_MM = (4.6, 5.7), (3.0, 7.5)  # diameter, length
ACROSS_MPA, PETG_MPA, SHEARED = 25.0, 44.0, 0.25
LASTS, SAFETY = 0.25, 1.5
LID_MPA, LID_POISSON = 1800.0, 0.38  # printed PETG, from memory


def carried_kg(pack: Pack, cell_layout: CellLayout, cell_block: CellBlock) -> float:
    """Mass of the held cells that silicone holds down: of cells farther from every post, with its
    rigid pad under the lid, than half the way that posts may be apart [kg]."""
    each = pack.cell.mass_g / 1000.0 * HELD_OVER_CELLS
    if not cell_block.posts:
        return each * len(cell_layout.xy_mm)
    posts = cKDTree([(post.x_mm, post.y_mm) for post in cell_block.posts])
    return each * int((posts.query(cell_layout.xy_mm)[0] > POSTS_APART_MM / 2).sum())


def need_n(pack: Pack, cell_layout: CellLayout, cell_block: CellBlock) -> float:
    """Preload that keeps the held cells from lifting off the floor in a jolt [N]."""
    up_g = abs((pack.load or Load()).acceleration_g[2])
    return LIFT_RATIO * carried_kg(pack, cell_layout, cell_block) * GRAVITY_M_S2 * up_g


def preload_n(clamp: Clamp) -> float:
    """What the silicone gives after years, at the least squeeze of its band [N]."""
    return SET_LEFT * _force_n(clamp, BAND[0])


def _force_n(clamp: Clamp, squeeze: float) -> float:
    cord_mm = math.fsum(cord.long_mm for cord in clamp.cords)
    return cord_n_mm(squeeze) * cord_mm + disc_n(squeeze) * len(clamp.discs)


def screw_forces_n(sizes: FittedSizes) -> dict[LidScrew, float]:
    """For each lid screw what new silicone at the greatest squeeze pulls it with [N].

    Cord pulls its own screw, a disc the nearest."""
    assert sizes.clamp is not None
    forces = dict.fromkeys(sizes.shell.screws, 0.0)
    for cord in sizes.clamp.cords:
        own = min(forces, key=lambda one: math.dist(one.at_mm, cord.screw_mm))
        forces[own] += cord_n_mm(BAND[1]) * cord.long_mm
    for at in sizes.clamp.discs:
        forces[min(forces, key=lambda one: math.dist(one.at_mm, at))] += disc_n(BAND[1])
    return forces


def screw_holds_n(pack: Pack, screw: LidScrew) -> float:
    """What a lid screw's insert, or the thread that it forms, holds for years [N]."""
    wide, long = INSERT_MM if screw.insert else THREAD_MM
    if screw.insert:
        long = min(long, pack.enclosure.insert_mm)
    across = ACROSS_MPA * min(1.0, materials()[pack.printer.material].strength_mpa / PETG_MPA)
    return SHEARED * math.pi * wide * long * across / math.sqrt(3.0) * LASTS / SAFETY


def lid_bulge_mm(pack: Pack, cell_block: CellBlock, sizes: FittedSizes) -> float:
    """How far the lid bulges over the cells: a plate bent by an even moment at its long edges,
    M b^2 / (8 D), where silicone pushes beside the screws that hold it down [mm]."""
    clamp, shell = sizes.clamp, sizes.shell
    assert clamp is not None
    x0, y0, x1, y1 = cell_block.box_mm
    push = [(cord.middle_mm, cord_n_mm(BAND[1]) * cord.long_mm) for cord in clamp.cords]
    push += [(at, disc_n(BAND[1])) for at in clamp.discs]
    screws = np.array([screw.at_mm for screw in shell.screws])
    turning = math.fsum(
        force * float(np.hypot(*(screws - at).T).min()) for at, force in push
    )  # fmt: skip
    moment = turning / (2 * (x1 - x0 + y1 - y0))  # N mm for each mm of edge
    lid = shell.levels.lid_mm - shell.levels.rim_mm
    stiffness = LID_MPA * lid**3 / (12.0 * (1.0 - LID_POISSON**2))
    return moment * min(x1 - x0, y1 - y0) ** 2 / (8.0 * stiffness)
