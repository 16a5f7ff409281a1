"""Pictures of the parts and of the exploded assembly, and the process that draws them beside the run."""

from __future__ import annotations

import pickle
import subprocess
import sys
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from generators.solids.drilled import Bore
from generators.solids.slabs import Body

__all__ = ["Cans", "PartPicture", "PictureJob", "Pictures", "draw", "Draughtsman"]

# How far each kind of part moves out of its place, in heights of the assembly.
_LIFTS = {"tub": -1.9, "holder_lower": 0.0, "barrier": 0.9, "holder_upper": 1.9, "lid": 2.7}
_CANS_LIFT = 0.9
_BRACKET_OUT_MM = 30.0
# Printed size of a part's picture and of the exploded assembly's, at most.
PART_WITHIN_MM = (82.0, 62.0)
EXPLODED_WITHIN_MM = (150.0, 190.0)
# A bracket turns its ribs to +x, +y; every other part is seen from the front right.
_VIEWS = {"bracket": (1.4, 1.0, 0.9)}


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PartPicture:
    """One part to be drawn: its body, sideways holes, role and places in the assembly."""

    name: str
    role: str
    body: Body
    bores: tuple[Bore, ...]
    placed: tuple[NDArray[np.float64], ...]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Cans:
    """The cells of the exploded picture, (n, 2) centres [mm]."""

    xy_mm: NDArray[np.float64]
    diameter_mm: float
    length_mm: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PictureJob:
    """All that is to be drawn of one pack."""

    parts: tuple[PartPicture, ...]
    cans: Cans


@dataclass(frozen=True, kw_only=True, slots=True)
class Pictures:
    """SVG texts: from above and from below by part name, as printed; and the exploded assembly."""

    above: dict[str, str]
    below: dict[str, str]
    exploded: str


def draw(job: PictureJob) -> Pictures:
    """Draw everything; loads the kernel."""
    from generators.drawings.hidden_lines import (
        VIEW_FROM_ABOVE,
        located,
        visible_lines,
    )
    from generators.drawings.svg import line_drawing
    from generators.solids.drilled import drilled_solid
    from generators.solids.stitch import solid

    shapes = {part.name: drilled_solid(solid(part.body), part.bores) for part in job.parts}
    above: dict[str, str] = {}
    below: dict[str, str] = {}
    for part in job.parts:
        x, y, z = _VIEWS.get(part.role, VIEW_FROM_ABOVE)
        for drawn, view, way in ((above, (x, y, z), "above"), (below, (x, y, -z), "below")):
            lines = visible_lines([shapes[part.name]], view=view)
            drawn[part.name] = line_drawing(
                lines, title=f"{part.name}, as printed, from {way}", within_mm=PART_WITHIN_MM
            )
    exploded = []
    for part in job.parts:
        for matrix in part.placed:
            exploded.append(located(shapes[part.name], _apart(part.role, matrix, job.cans)))
    exploded += _cans(job.cans, located)
    lines = visible_lines(exploded)
    return Pictures(
        above=above,
        below=below,
        exploded=line_drawing(
            lines, title="the assembly, pulled apart", within_mm=EXPLODED_WITHIN_MM
        ),
    )


def _apart(role: str, matrix: NDArray[np.float64], cans: Cans) -> NDArray[np.float64]:
    moved = matrix.copy()
    if role == "bracket":
        way = np.sign(matrix[:2, 3] - cans.xy_mm.mean(axis=0)) * (1.0, 0.0)
        moved[:2, 3] += way * _BRACKET_OUT_MM
        moved[2, 3] += _LIFTS["tub"] * cans.length_mm
        return moved
    moved[2, 3] += _LIFTS.get(role, 0.0) * cans.length_mm
    return moved


def _cans(cans: Cans, located: Any) -> list[Any]:
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder

    one = BRepPrimAPI_MakeCylinder(cans.diameter_mm / 2, cans.length_mm).Shape()
    made = []
    for x, y in cans.xy_mm.tolist():
        place = np.eye(4)
        place[:3, 3] = x, y, _CANS_LIFT * cans.length_mm
        made.append(located(one, place))
    return made


class Draughtsman:
    """A second process that draws while the run goes on with files and proofs.

    It is started early, so that it loads the kernel meanwhile. ``result`` raises
    RuntimeError with what the process said when it fails. Use it as a context: leaving it
    ends the process whatever happened.
    """

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-c", "from generators.drawings.pictures import serve; serve()"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )

    def __enter__(self) -> Draughtsman:
        return self

    def __exit__(self, *_: object) -> None:
        if self._process.poll() is None:
            self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout, self._process.stderr):
            if pipe is not None and not pipe.closed:
                pipe.close()

    def start(self, job: PictureJob) -> None:
        """Hand over what is to be drawn."""
        assert self._process.stdin is not None
        try:
            self._process.stdin.write(pickle.dumps(job))
            self._process.stdin.close()
        except BrokenPipeError:
            pass  # it has died: result() tells why, with what it said
        self._process.stdin = None

    def result(self) -> Pictures:
        """Wait for the pictures."""
        out, complaint = self._process.communicate()
        if self._process.returncode != 0:
            raise RuntimeError(f"drawing failed: {complaint.decode(errors='replace').strip()}")
        pictures = pickle.loads(out)
        assert isinstance(pictures, Pictures)
        return pictures


def serve() -> None:
    """The drawing process: a job in on standard input, pictures out on standard output."""
    import OCP.HLRBRep  # noqa: F401  # loaded while the run is still planning

    job = pickle.loads(sys.stdin.buffer.read())
    sys.stdout.buffer.write(pickle.dumps(draw(job)))
