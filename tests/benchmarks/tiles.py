"""Holders in tiles: time a cell and memory as packs grow to the largest.

Run by hand: ``python -m tests.benchmarks.tiles``; with ``--check`` the exit status is 1 where a
cell of 1,000 or 10,000 takes more than 1.5 times that of 100, or 10,000 take 4 GB or more. Each
size is a process of its own: plan of cells, strips, screws and tiles, then each tile's drawing,
solid, mesh and STEP file, one after the other.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
SIZES = ((10, 10), (50, 20), (100, 100))
MOST_RATIO = 1.5
MOST_BYTES = 4e9


def made(series: int, parallel: int) -> dict[str, float]:
    """Make all holder tiles of a pack in this process: seconds of each step, peak bytes."""
    from generators.exports.step import StepKind, mute_kernel, write_part_step
    from generators.making import CHORD_MM
    from generators.parts.holder import holder_part
    from generators.solids.mesh import mesh
    from generators.solids.stitch import solid
    from layouts.arrange import arrange
    from layouts.fastening import fasten
    from layouts.holder_design import holder_tiles
    from layouts.strips import join
    from layouts.tiles import tile_polygons
    from tests.samples import sample_pack

    mute_kernel()
    steps = dict.fromkeys(
        ("arrange", "join", "fasten", "tiles", "body", "solid", "mesh", "step"), 0.0
    )
    at = time.perf_counter()

    def done(step: str) -> None:
        nonlocal at
        now = time.perf_counter()
        steps[step] += now - at
        at = now

    pack = sample_pack(series, parallel)
    arrangement = arrange(pack)
    done("arrange")
    joining = join(pack, arrangement)
    done("join")
    core = fasten(pack, arrangement, joining)
    done("fasten")
    tiles = holder_tiles(pack, arrangement, joining, core, tile_polygons(arrangement))
    done("tiles")
    with tempfile.TemporaryDirectory() as folder:
        for tile in tiles:
            part = holder_part(tile, lip_to_lip_mm=pack.lip_to_lip_mm)
            done("body")
            shape = solid(part.body)
            done("solid")
            mesh(part.body, CHORD_MM)
            done("mesh")
            write_part_step(
                Path(folder) / "tile.step", part.name, StepKind(solid=shape, colour=part.colour)
            )
            done("step")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024.0
    return steps | {"parts": float(len(tiles)), "peak_bytes": peak}


def main() -> int:
    """Measure each size and print."""
    if len(sys.argv) == 3 and sys.argv[1].isdigit():
        print(json.dumps(made(int(sys.argv[1]), int(sys.argv[2]))))
        return 0
    missed = False
    first_s = 0.0
    for series, parallel in SIZES:
        done = subprocess.run(
            [sys.executable, "-m", __spec__.name, str(series), str(parallel)],
            cwd=ROOT, stdout=subprocess.PIPE, check=True, text=True,
        )  # fmt: skip
        told = json.loads(done.stdout)
        parts, peak = told.pop("parts"), told.pop("peak_bytes")
        cells = series * parallel
        each_s = sum(told.values()) / cells
        first_s = first_s or each_s
        ratio = each_s / first_s
        missed |= ratio > MOST_RATIO or peak >= MOST_BYTES
        print(
            f"{cells:6d} cells in {parts:.0f} tiles: {each_s * 1e3:6.2f} ms a cell, "
            f"{ratio:.2f} x, peak {peak / 1e9:.2f} GB"
        )
        print("       ms a cell: " + ", ".join(
            f"{step} {seconds / cells * 1e3:.2f}" for step, seconds in told.items()
        ))
    print(f"at most {MOST_RATIO:g} x and {MOST_BYTES / 1e9:g} GB")
    return int("--check" in sys.argv and missed)


if __name__ == "__main__":
    sys.exit(main())
