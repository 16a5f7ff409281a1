"""Whole runs of invented packs, for tests."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from generators import makers, run
from generators.drawings.pictures import PictureJob, Pictures
from generators.made_part import MeshedPart
from generators.mesh_work import work_on_meshes
from generators.packfile.resolve import parse_pack
from generators.proven import Proofs
from generators.shaded.painted import Painted
from generators.solid_job import SolidJob
from layouts.checks import Check
from layouts.planning.pack_plan import PackPlan

__all__ = ["Progress", "bytes_of", "make", "odd_pack", "without_pictures"]

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


class _NoDraughtsman:
    """Hands out an empty drawing for each part, at once."""

    def __init__(self, *, forked: bool = False) -> None:
        pass

    def fork(self) -> None:
        pass

    def __enter__(self) -> _NoDraughtsman:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def start(self, job: PictureJob) -> None:
        self._names = [part.name for part in job.parts]

    def result(self) -> Pictures:
        svg = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"/>'
        drawn = dict.fromkeys(self._names, svg)
        return Pictures(above=drawn, below=dict(drawn), exploded=svg)


class _NoPainter:
    """Paints nothing."""

    def __init__(self, *, forked: bool = False) -> None:
        pass

    def fork(self) -> None:
        pass

    def __enter__(self) -> _NoPainter:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def start(self, plan: PackPlan, meshed: Sequence[MeshedPart]) -> None:
        pass

    def result(self) -> Painted:
        return Painted(pictures={}, names={}, undrawn={}, undrawn_names={})


class _MeshesHere:
    """Works in this process: what a second one would load is there already."""

    def __init__(self, *, forked: bool = False) -> None:
        pass

    def fork(self) -> None:
        pass

    def __enter__(self) -> _MeshesHere:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def start(self, plan: PackPlan, meshed: Sequence[MeshedPart], folder: Path) -> None:
        self._job = plan, tuple(meshed), folder

    def result(self) -> Proofs:
        return work_on_meshes(*self._job)


class _SolidsHere:
    """Works in this process: the kernel is loaded once for all tests."""

    def __enter__(self) -> _SolidsHere:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def start(self, job: SolidJob) -> None:
        self._job = job

    def result(self) -> tuple[float, ...]:
        from generators.solid_work import work_on_solids

        return work_on_solids(self._job)


def without_pictures(patch: pytest.MonkeyPatch) -> None:
    """Leave the pictures' content out of runs of this process: it proves nothing of the parts.

    The parts are made and proven in this process.
    """
    patch.setattr(makers, "Draughtsman", _NoDraughtsman)
    patch.setattr(makers, "Painter", _NoPainter)
    patch.setattr(makers, "MeshWorker", _MeshesHere)
    patch.setattr(makers, "SolidWorker", _SolidsHere)
