"""Whole runs of invented packs, for tests."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any, Self

import pytest

from generators import makers, run
from generators.drawings.pictures import Pictures, draw
from generators.exports.templates import write_templates
from generators.layer_work import work_on_layers
from generators.mesh_work import work_on_meshes
from generators.packfile.resolve import parse_pack
from generators.print_work import work_on_printing
from generators.proven import Proofs
from generators.shaded.painted import Painted
from generators.shaded.painting import paint_plan
from layouts.checks import Check
from layouts.printable.judging import Printability
from layouts.printing.totals import PackPrint

__all__ = ["Progress", "all_here", "bytes_of", "make", "odd_pack", "without_pictures"]

Progress = Callable[[str, float], None]


def odd_pack(series: int, parallel: int, *, lattice: str, format: str) -> str:
    """A pack file with nothing but what has no default."""
    return (
        f"name: odd-pack\ncell: {{format: '{format}'}}\nseries: {series}\nparallel: {parallel}\n"
        f"lattice: {lattice}\n"
    )


def make(
    text: str, out: Path, report_progress: Progress = lambda stage, share: None
) -> tuple[Path, tuple[Check, ...]]:
    """Make a pack file's text in ``out``: the result's folder and the checks that fail."""
    read = parse_pack(text.encode(), "pack.yaml")
    outcome = run.make_pack(
        read.pack,
        source_text=read.source_text,
        cautions=read.cautions,
        out_dir=out,
        report_progress=report_progress,
        changed=read.changed,
    )
    return outcome.folder, outcome.failed


def bytes_of(folder: Path) -> dict[str, str]:
    """SHA-256 of every file below a folder, by its path from there."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


class _Here:
    """Works in this process: what another one would load is there already."""

    def __init__(self, *, forked: bool = False) -> None:
        pass

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def fork(self) -> None:
        """It has begun."""

    def start(self, *job: Any) -> None:
        """Keep what is to be done."""
        self._job = job


class _NoDraughtsman(_Here):
    """Hands out an empty drawing for each part, at once."""

    def result(self) -> Pictures:
        (job,) = self._job
        svg = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"/>'
        drawn = dict.fromkeys((part.name for part in job.parts), svg)
        return Pictures(above=drawn, below=dict(drawn), exploded=svg)


class _NoPainter(_Here):
    """Paints nothing."""

    def result(self) -> Painted:
        return Painted(pictures={}, names={}, undrawn={}, undrawn_names={})


class _DraughtsmanHere(_Here):
    def result(self) -> Pictures:
        return draw(*self._job)


class _PainterHere(_Here):
    def result(self) -> Painted:
        return paint_plan(*self._job)


class _MeshesHere(_Here):
    def result(self) -> Proofs:
        return work_on_meshes(*self._job)


class _PrintingHere(_Here):
    def result(self) -> PackPrint:
        return work_on_printing(*self._job)


class _LayersHere(_Here):
    def result(self) -> Printability:
        return work_on_layers(*self._job)


class _TemplatesHere(_Here):
    def finish(self) -> None:
        write_templates(*self._job)


class _SolidsHere(_Here):
    def result(self) -> tuple[float, ...]:
        from generators.solid_work import work_on_solids  # the kernel: once for all tests

        return work_on_solids(*self._job)


def all_here(patch: pytest.MonkeyPatch) -> None:
    """Runs of this process do all of their work in it: no other one loads anything."""
    for name, here in (
        ("Draughtsman", _DraughtsmanHere),
        ("Painter", _PainterHere),
        ("TemplateMaker", _TemplatesHere),
        ("MeshWorker", _MeshesHere),
        ("PrintPlanner", _PrintingHere),
        ("LayerJudge", _LayersHere),
        ("SolidWorker", _SolidsHere),
    ):
        patch.setattr(makers, name, here)


def without_pictures(patch: pytest.MonkeyPatch) -> None:
    """As ``all_here``, and leave the pictures' content out: it proves nothing of the parts."""
    all_here(patch)
    patch.setattr(makers, "Draughtsman", _NoDraughtsman)
    patch.setattr(makers, "Painter", _NoPainter)
