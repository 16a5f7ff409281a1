"""The other processes of a run, which load what they need while the run itself does.

Nothing that is slow to load is loaded here, so that they start at once.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from generators.second_process import SecondProcess

if TYPE_CHECKING:
    from pathlib import Path

    from generators.drawings.pictures import PictureJob, Pictures
    from generators.exports.templates import TemplateJob
    from generators.layer_work import LayerJob
    from generators.made_part import MeshedPart
    from generators.print_work import PrintJob
    from generators.proven import Proofs
    from generators.shaded.painted import Painted
    from generators.solid_job import SolidJob
    from layouts.planning.pack_plan import PackPlan
    from layouts.printable.judging import Printability
    from layouts.printing.totals import PackPrint

__all__ = [
    "Draughtsman", "LayerJudge", "Makers", "MeshWorker", "Painter", "PrintPlanner", "SolidWorker",
    "TemplateMaker", "started_makers",
]  # fmt: skip


class Draughtsman(SecondProcess):
    """A second process that draws while the run goes on with files and proofs."""

    def __init__(self, *, forked: bool = False) -> None:
        super().__init__("generators.drawings.pictures", "drawing", forked=forked)

    def start(self, job: PictureJob) -> None:
        """Hand over what is to be drawn."""
        self._start(job)

    def result(self) -> Pictures:
        """Wait for the pictures. Raises RuntimeError with what the process said when it fails."""
        pictures: Pictures = self._result()
        return pictures


class Painter(SecondProcess):
    """A second process that paints the shaded pictures while the run goes on."""

    def __init__(self, *, forked: bool = False) -> None:
        super().__init__("generators.shaded.painting", "painting the pictures", forked=forked)

    def start(self, plan: PackPlan, meshed: Sequence[MeshedPart]) -> None:
        """Hand over the plan and the parts' meshes."""
        self._start((plan, tuple(meshed)))

    def result(self) -> Painted:
        """Wait for the pictures. Raises RuntimeError with what the process said when it fails."""
        painted: Painted = self._result()
        return painted


class TemplateMaker(SecondProcess):
    """A second process that writes the templates while the run goes on."""

    def __init__(self, *, forked: bool = False) -> None:
        super().__init__("generators.exports.templates", "writing templates", forked=forked)

    def start(self, job: TemplateJob) -> None:
        """Hand over what is to be written."""
        self._start(job)

    def finish(self) -> None:
        """Wait until all is written; OSError as it came, RuntimeError where it fails otherwise."""
        self._result()


class MeshWorker(SecondProcess):
    """A second process that writes the files to print and proves the parts, both from meshes."""

    def __init__(self, *, forked: bool = False) -> None:
        super().__init__("generators.mesh_work", "proving the parts", forked=forked)

    def start(self, plan: PackPlan, meshed: Sequence[MeshedPart], folder: Path) -> None:
        """Hand over the plan, the parts' meshes and the folder of the run."""
        self._start((plan, tuple(meshed), folder))

    def result(self) -> Proofs:
        """Wait for the files and the proofs.

        Raises OSError as it came; LibraryError, naming the field, where a geometry library can't;
        RuntimeError with what the process said where it fails otherwise.
        """
        proven: Proofs = self._result()
        return proven


class PrintPlanner(SecondProcess):
    """A second process that lays parts on beds and estimates hours, filament and cost."""

    def __init__(self, *, forked: bool = False) -> None:
        super().__init__("generators.print_work", "planning the printing", forked=forked)

    def start(self, job: PrintJob) -> None:
        """Hand over what is to be printed."""
        self._start(job)

    def result(self) -> PackPrint:
        """Wait for the files and the estimate; OSError as it came, RuntimeError where it fails
        otherwise."""
        printing: PackPrint = self._result()
        return printing


class LayerJudge(SecondProcess):
    """A second process that looks at the parts' layers."""

    def __init__(self, *, forked: bool = False) -> None:
        super().__init__("generators.layer_work", "looking at the layers", forked=forked, long=True)

    def start(self, job: LayerJob) -> None:
        """Hand over the parts."""
        self._start(job)

    def result(self) -> Printability:
        """Wait for the checks. Raises RuntimeError with what the process said when it fails."""
        found: Printability = self._result()
        return found


class SolidWorker(SecondProcess):
    """A second process that makes the parts' solids and writes STEP; it loads the kernel."""

    def __init__(self) -> None:
        super().__init__("generators.solid_work", "making the solids", long=True)

    def start(self, job: SolidJob) -> None:
        """Hand over the parts."""
        self._start(job)

    def result(self) -> tuple[float, ...]:
        """Wait for the files; returns the solids' volumes [mm3], in the parts' order.

        Raises OSError as it came; LibraryError, naming the field, where the kernel can't;
        RuntimeError with what the process said where it fails otherwise.
        """
        volumes: tuple[float, ...] = self._result()
        return volumes


@dataclass(frozen=True, kw_only=True, slots=True)
class Makers:
    """Each takes one job."""

    draughtsman: Draughtsman
    painter: Painter
    templates: TemplateMaker
    meshes: MeshWorker
    printing: PrintPlanner
    layers: LayerJudge
    solids: SolidWorker

    def begin(self) -> None:
        """Begin those that are copies of this process, once all is loaded that they share."""
        gc.freeze()  # else each copy would look through all of it, again and again
        for one in (
            self.templates, self.painter, self.meshes, self.layers, self.printing, self.draughtsman
        ):  # fmt: skip
            one.fork()


@contextmanager
def started_makers(*, forked: bool = False) -> Iterator[Makers]:
    """All of them, started at once; leaving the block ends them whatever happened.

    ``forked``: of all but the kernel's, which loads alone what it needs, ``begin`` makes copies of
    this process in place of fresh ones: they find loaded what they share with the run."""
    with (
        SolidWorker() as solids,
        MeshWorker(forked=forked) as meshes,
        TemplateMaker(forked=forked) as templates,
        Draughtsman(forked=forked) as draughtsman,
        PrintPlanner(forked=forked) as printing,
        LayerJudge(forked=forked) as layers,
        Painter(forked=forked) as painter,
    ):
        yield Makers(
            draughtsman=draughtsman,
            painter=painter,
            templates=templates,
            meshes=meshes,
            printing=printing,
            layers=layers,
            solids=solids,
        )
