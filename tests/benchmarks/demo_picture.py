"""The picture of the demo pack that the README shows, made by the tool.

Run by hand after changes to the demo or to pictures: ``python -m tests.benchmarks.demo_picture``
writes it; with ``--check`` it says how much of the one that is there is out of date.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from PIL import Image

from generators.made_part import meshed_part
from generators.packfile.resolve import read_pack
from generators.shaded.painted import CUTAWAY
from generators.shaded.painting import paint_plan
from layouts.planning.pack_plan import plan_pack
from layouts.planning.parts_list import parts_of

EXAMPLES = Path(__file__).parents[2] / "layouts" / "examples"
PACK, PICTURE = EXAMPLES / "orchard-trolley.yaml", EXAMPLES / "orchard-trolley.png"
OTHER = 24  # of 255: a pixel that differs by more is another
MOST_OTHER_RATIO = 0.02


def demo_picture() -> bytes:
    """The cutaway of the demo pack as its file has it."""
    plan = plan_pack(read_pack(PACK).pack)
    return paint_plan(plan, [meshed_part(part) for part in parts_of(plan)]).files[f"{CUTAWAY}.png"]


def other_ratio(one: Path, other: Path) -> float:
    """Share of pixels in which two pictures differ; 1 where their sizes do."""
    a, b = (np.asarray(Image.open(path).convert("RGB")).astype(int) for path in (one, other))
    if a.shape != b.shape:
        return 1.0
    return float((np.abs(a - b).max(axis=2) > OTHER).mean())


def main() -> int:
    """Write the picture, or with ``--check`` compare."""
    data = demo_picture()
    if "--check" not in sys.argv[1:]:
        PICTURE.write_bytes(data)
        print(f"{PICTURE}: {len(data)} bytes")
        return 0
    fresh = PICTURE.with_suffix(".fresh.png")
    fresh.write_bytes(data)
    share = other_ratio(PICTURE, fresh)
    fresh.unlink()
    print(f"{100 * share:.2f} % of its pixels are out of date, {100 * MOST_OTHER_RATIO:g} at most")
    return int(share > MOST_OTHER_RATIO)


if __name__ == "__main__":
    sys.exit(main())
