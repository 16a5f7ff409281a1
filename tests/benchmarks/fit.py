"""How long it takes to fit a pack into a mesh space of 100,000 triangles, and where it goes.

Run by hand: ``python -m tests.benchmarks.fit``; with ``--check`` the exit status is 1 where the
large mesh takes more than ten times as long as the same shape in 4,000 triangles.
"""

from __future__ import annotations

import sys
import time

from generators.fitting import pack_bodies, pack_parts
from generators.proofs.in_space import in_space_checks
from layouts.fitting.verdict import verdict
from layouts.planning.pack_plan import plan_pack
from layouts.spaces.space import Space
from tests.layouts.fitting.rooms import hull_room
from tests.samples import sample_pack

MOST_RATIO = 10.0


def main() -> int:
    """Print each stage."""
    begin = time.perf_counter()
    plan = plan_pack(sample_pack(10, 4))
    bodies, servicing = pack_bodies(plan, pack_parts(plan))
    print(f"{time.perf_counter() - begin:6.2f} s  plan and bodies of a pack of 40 cells")
    taken = []
    for around, along in ((40, 50), (200, 250)):
        hull = hull_room(around, along)
        begin = time.perf_counter()
        found = verdict(bodies, servicing, Space(room=hull))
        middle = time.perf_counter()
        body = bodies[found.fit.best.bend_to]
        checks = in_space_checks(body, Space(room=hull), found.fit.pose, found.fit.smallest_gap_mm)
        end = time.perf_counter()
        taken.append(end - begin)
        print(
            f"{middle - begin:6.2f} s  search, {len(hull.faces)} triangles: {found.words}\n"
            f"{end - middle:6.2f} s  proof on solids, holds: {all(c.holds for c in checks)}"
        )
    ratio = taken[1] / taken[0]
    print(f"{ratio:6.2f} x  the time for 25 times as many triangles (at most {MOST_RATIO:g})")
    return int("--check" in sys.argv and ratio > MOST_RATIO)


if __name__ == "__main__":
    sys.exit(main())
