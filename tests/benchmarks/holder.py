"""A holder of 100 cells with all its features, against cutting plain pockets one by one.

Run by hand: ``python -m tests.benchmarks.holder``; with ``--check`` the exit status is 1 where
it is less than 50 times faster. Measured: from the tile's plan to its solid and its mesh, signs
and all. The other way: a plate, and a plain pocket cut out of it for each cell, no window and no
lead-in.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import cadquery as cq
import numpy as np

from generators.making import CHORD_MM
from generators.parts.holder import holder_body
from generators.solids.mesh import mesh
from generators.solids.stitch import solid
from layouts.holder import HolderTile
from layouts.pack import Pack
from layouts.pack_plan import plan_pack
from tests.samples import sample_pack

ROUNDS = 3
LEAST_RATIO = 50.0


def stitched_s(pack: Pack, tile: HolderTile) -> float:
    """Shortest time [s] from the plan of one holder to solid and mesh."""
    times = []
    for _ in range(ROUNDS):
        begin = time.perf_counter()
        body = holder_body(tile)
        solid(body)
        mesh(body, CHORD_MM)
        times.append(time.perf_counter() - begin)
    return min(times)


def cut_s(pack: Pack, tile: HolderTile) -> float:
    """Time [s] of one ``.cut`` a pocket, as CadQuery's own examples write it; nothing else."""
    xy = np.asarray(tile.xy_mm)
    size = np.ptp(xy, axis=0) + pack.pitch_mm + 2 * pack.holder.wall_mm
    high = pack.holder.lip_mm + pack.holder.depth_mm
    plate = cq.Workplane().box(*size.tolist(), high, centered=(True, True, False))
    middle = (xy.min(axis=0) + xy.max(axis=0)) / 2
    begin = time.perf_counter()
    for x, y in (xy - middle).tolist():
        pocket = cq.Workplane().center(x, y).circle(pack.pocket_mm / 2).extrude(high)
        plate = plate.cut(pocket.translate((0, 0, pack.holder.lip_mm)))
    return time.perf_counter() - begin


def main() -> int:
    """Measure and print."""
    pack = sample_pack(10, 10)
    tile = plan_pack(_on_a_large_bed(pack)).tiles[0]
    assert len(tile.xy_mm) == 100
    ours, cuts = stitched_s(pack, tile), cut_s(pack, tile)
    print(f"{cuts:6.2f} s  {len(tile.xy_mm)} plain pockets cut one by one")
    print(f"{ours:6.2f} s  the whole holder, solid and mesh")
    print(f"{cuts / ours:6.1f} x  faster (at least {LEAST_RATIO:g})")
    return int("--check" in sys.argv and cuts / ours < LEAST_RATIO)


def _on_a_large_bed(pack: Pack) -> Pack:
    """The same pack, its holder in one piece."""
    return replace(pack, printer=replace(pack.printer, bed_mm=(1000.0, 1000.0, 300.0)))


if __name__ == "__main__":
    sys.exit(main())
