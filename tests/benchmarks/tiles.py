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
FIRST = (10, 10)
SIZES = ((50, 20), (100, 100))
STEPS = ("arrange", "join", "fasten", "tiles", "body", "solid", "mesh", "step")
MOST_RATIO = 1.5
MOST_BYTES = 4e9


def made(series: int, parallel: int) -> dict[str, float]:
    """Make all holder tiles of a pack in this process: processor's seconds a step, peak bytes."""
    from generators.exports.step import StepKind, mute_kernel, write_part_step
    from generators.kernel.stitch import solid
    from generators.meshes.mesh import mesh
    from layouts.cells.arrange import arrange
    from layouts.cells.tiles import tile_polygons
    from layouts.holders.design import holder_tiles
    from layouts.holders.drawing import holder_part
    from layouts.holders.fastening import fasten
    from layouts.parts.drawing import CHORD_MM
    from layouts.planning.estimate import envelope
    from layouts.strips.laying import join
    from tests.samples import sample_pack

    mute_kernel()
    steps = dict.fromkeys(STEPS, 0.0)
    at = time.process_time()

    def done(step: str) -> None:
        nonlocal at
        now = time.process_time()
        steps[step] += now - at
        at = now

    pack = sample_pack(series, parallel)
    cell_layout = arrange(pack, estimate=envelope)
    done("arrange")
    interconnect = join(pack, cell_layout)
    done("join")
    cell_block = fasten(pack, cell_layout, interconnect)
    done("fasten")
    tiles = holder_tiles(pack, cell_layout, interconnect, cell_block, tile_polygons(cell_layout))
    done("tiles")
    with tempfile.TemporaryDirectory() as folder:
        for tile in tiles:
            part = holder_part(tile, lip_to_lip_mm=pack.lip_to_lip_mm)
            done("body")
            shape = solid(part.drawing.body)
            done("solid")
            mesh(part.drawing.body, CHORD_MM)
            done("mesh")
            write_part_step(
                Path(folder) / "tile.step", part.name, StepKind(solid=shape, colour=part.colour)
            )
            done("step")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024.0
    return steps | {"parts": float(len(tiles)), "peak_bytes": peak}


def told_of(series: int, parallel: int) -> dict[str, float]:
    """The same from a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.tiles", str(series), str(parallel)],
        cwd=ROOT, stdout=subprocess.PIPE, check=True, text=True,
    )  # fmt: skip
    told: dict[str, float] = json.loads(done.stdout)
    return told


def each_s(size: tuple[int, int], told: dict[str, float]) -> float:
    """Seconds a cell, all steps together."""
    return sum(told[step] for step in STEPS) / (size[0] * size[1])


def show(size: tuple[int, int], told: dict[str, float]) -> None:
    """Print one size."""
    cells = size[0] * size[1]
    print(
        f"{cells:6d} cells in {told['parts']:.0f} tiles: {each_s(size, told) * 1e3:.2f} ms a cell, "
        f"peak {told['peak_bytes'] / 1e9:.2f} GB"
    )
    steps = ", ".join(f"{step} {told[step] / cells * 1e3:.2f}" for step in STEPS)
    print(f"        ms a cell: {steps}", flush=True)


def main() -> int:
    """Measure each size and print."""
    if len(sys.argv) == 3 and sys.argv[1].isdigit():
        print(json.dumps(made(int(sys.argv[1]), int(sys.argv[2]))))
        return 0
    missed = False
    before = told_of(*FIRST)
    show(FIRST, before)
    for size in SIZES:
        large, after = told_of(*size), told_of(*FIRST)
        ratio = each_s(size, large) / ((each_s(FIRST, before) + each_s(FIRST, after)) / 2)
        missed |= ratio > MOST_RATIO or large["peak_bytes"] >= MOST_BYTES
        show(size, large)
        print(f"        {ratio:.2f} x the time of a cell of 100, measured before and after")
        before = after
    print(f"at most {MOST_RATIO:g} x and {MOST_BYTES / 1e9:g} GB")
    return int("--check" in sys.argv and missed)


if __name__ == "__main__":
    sys.exit(main())
