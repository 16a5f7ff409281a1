"""A holder of 100 cells with all its features, against cutting plain pockets one by one.

Run by hand: ``python -m tests.benchmarks.holder``; with ``--check`` the exit status is 1 where
it is less than 50 times faster. Measured: from the tile's plan to its solid and its mesh, signs
and all. The other way: a plate with the strip channels, and a plain pocket cut out of it for
each cell, no window and no lead-in.
"""

from __future__ import annotations

import statistics
import sys
import time
from dataclasses import replace

import cadquery as cq
import numpy as np

from generators.kernel.stitch import solid
from generators.meshes.mesh import mesh
from layouts.holders.drawing import holder_drawing
from layouts.holders.holder import HolderTile
from layouts.pack import Pack
from layouts.parts.drawing import CHORD_MM
from layouts.planning.pack_plan import plan_pack
from tests.samples import sample_pack

ROUNDS = 3
LEAST_RATIO = 50.0


def stitched_s(tile: HolderTile) -> float:
    """Time [s] from the plan of one holder to its solid and its mesh."""
    begin = time.perf_counter()
    body = holder_drawing(tile).body
    solid(body)
    mesh(body, CHORD_MM)
    return time.perf_counter() - begin


def cut_s(tile: HolderTile) -> float:
    """Time [s] of one ``.cut`` a plain pocket, as CadQuery's own examples write it.

    The plate has its strip channels already, cut in one go and not counted: through them the
    pockets meet, and each cut has all of its neighbours' faces to look at.
    """
    xy = np.asarray(tile.xy_mm)
    size = np.ptp(xy, axis=0) + tile.pocket_mm + 5.0
    middle = (xy.min(axis=0) + xy.max(axis=0)) / 2
    high = tile.lip_mm + tile.depth_mm
    plate = (
        cq.Workplane()
        .center(*middle.tolist())
        .box(*size.tolist(), high, centered=(True, True, False))
    )
    channels = [
        cq.Workplane().polyline([tuple(at) for at in quad.tolist()]).close()
        .extrude(tile.lip_mm + tile.web_recess_mm).val()
        for quad in tile.channels
    ]  # fmt: skip
    plate = cq.Workplane(plate.val().cut(*channels))
    begin = time.perf_counter()
    for x, y in xy.tolist():
        pocket = cq.Workplane().center(x, y).circle(tile.pocket_mm / 2).extrude(high)
        plate = plate.cut(pocket.translate((0, 0, tile.lip_mm)))
    return time.perf_counter() - begin


def main() -> int:
    """Measure ours before and after the cuts, so that what else runs slows both, and print."""
    tile = plan_pack(_on_a_large_bed(sample_pack(10, 10))).tiles[0]
    assert len(tile.xy_mm) == 100
    times = [stitched_s(tile) for _ in range(ROUNDS)]
    cuts = cut_s(tile)
    times += [stitched_s(tile) for _ in range(ROUNDS)]
    ours = statistics.median(times)
    print(f"{cuts:6.2f} s  {len(tile.xy_mm)} plain pockets cut one by one")
    print(f"{ours:6.2f} s  the whole holder, solid and mesh")
    print(f"{cuts / ours:6.1f} x  faster (at least {LEAST_RATIO:g})")
    return int("--check" in sys.argv and cuts / ours < LEAST_RATIO)


def _on_a_large_bed(pack: Pack) -> Pack:
    """The same pack, its holder in one piece."""
    return replace(pack, printer=replace(pack.printer, bed_mm=(1000.0, 1000.0, 300.0)))


if __name__ == "__main__":
    sys.exit(main())
