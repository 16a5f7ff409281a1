"""The command in a process of its own, and outcomes of work that is put in its place."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from layouts.checks import Check
from tests.generators.packfile.files import PLAIN

ROOT = Path(__file__).parents[2]
HEAVY = ("OCP", "cadquery", "trimesh", "numpy", "scipy", "shapely", "manifold3d", "vtk", "rich")
BAD = PLAIN.replace("series: 10", "series: 0")


@dataclass(frozen=True)
class Made:
    """An outcome as ``make_pack`` gives it."""

    folder: Path
    failed: tuple[Check, ...] = ()
    notes: tuple[str, ...] = ()
    printing: str = "to print: about 4.0 h"


def failed_check(name: str) -> Check:
    """A check that does not hold (invented)."""
    return Check(
        id=name, about="distance of two cans", holds=False, value=1.2, limit=2.0, unit="mm",
        source="geometry", remedy="widen the web", where="cells 3 and 9",
    )  # fmt: skip


def run(*arguments: str | Path, code: str = "", **options: object) -> subprocess.CompletedProcess:
    """The command in a process of its own; ``code`` runs in it before."""
    start = f"import sys; sys.argv[0] = 'cellstead'\n{code}\nfrom generators.cli import main\n"
    return subprocess.run(
        [sys.executable, "-c", start + "sys.exit(main())", *map(str, arguments)],
        cwd=ROOT, text=True, capture_output=True, timeout=60, **options,
        # type: ignore[call-overload]
    )  # fmt: skip
