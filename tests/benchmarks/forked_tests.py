"""Tests of a faulty copy of the tree, each fault in a process forked from one that is warm.

The parent loads the libraries that take long to import, and nothing of the project; a child takes
over what is loaded, imports the project from the copy and runs the tests: seconds a fault.
"""

from __future__ import annotations

import importlib
import json
import math
import os
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

__all__ = ["Worker"]

ROOT = Path(__file__).parents[2]
HEAVY = (
    "numpy", "scipy.optimize", "scipy.sparse.linalg", "scipy.spatial", "shapely", "OCP",
    "cadquery", "trimesh", "manifold3d", "networkx", "numba", "pydantic", "yaml", "ezdxf",
    "reportlab.pdfgen", "rich", "pytest", "hypothesis", "xdist",
)  # fmt: skip
MEMORY_BYTES = 12 * 2**30
SKIPPED = (".git", ".venv", "out", ".mypy_cache", ".ruff_cache", ".hypothesis", "build", "dist")
# Compiled files go by the second in which a source was written.
ANOTHER_SECOND_S = 10.0


class Worker:
    """A copy of the tree and the warm process that tests faults in it, one after the other."""

    def __init__(self, folder: Path) -> None:
        self.tree = folder / "tree"
        shutil.copytree(ROOT, self.tree, ignore=shutil.ignore_patterns(*SKIPPED))
        (self.tree / "out").mkdir()
        shutil.copy2(ROOT / "out" / "README.md", self.tree / "out")
        temporary = folder / "tmp"
        temporary.mkdir()
        self._environment = {
            **os.environ, "PYTHONPATH": str(self.tree), "TMPDIR": str(temporary),
            "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1",
        }  # fmt: skip
        subprocess.run(  # compiles the tree and its tests once
            [sys.executable, "-m", "pytest", "-q", "--collect-only"],
            cwd=self.tree, env=self._environment, stdout=subprocess.DEVNULL, check=True,
        )  # fmt: skip
        self._environment["PYTHONDONTWRITEBYTECODE"] = "1"
        self._process: subprocess.Popen[str] | None = None

    def result(self, job: dict[str, Any]) -> dict[str, Any]:
        """``outcome``, ``by`` and ``seconds`` of a job: ``file``, ``text``, ``tests`` and times.

        ``tests``: ids in their order; files and folders run whole. ``text`` None: no fault.
        ``enough_s``: after that no test is begun, ``limit_s``: then they are stopped."""
        if self._process is None or self._process.poll() is not None:
            code = "from tests.benchmarks import forked_tests; forked_tests.serve()"
            self._process = subprocess.Popen(
                [sys.executable, "-c", code], cwd=self.tree, env=self._environment, text=True,
                stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            )  # fmt: skip
        assert self._process.stdin and self._process.stdout
        print(json.dumps(job), file=self._process.stdin, flush=True)
        found: dict[str, Any] = json.loads(self._process.stdout.readline())
        return found

    def close(self) -> None:
        """Ends the process."""
        if self._process is not None and self._process.stdin:
            self._process.stdin.close()
            self._process.wait(60)


def serve() -> None:
    """Takes jobs from standard input, a line each, and prints their results."""
    for name in HEAVY:
        importlib.import_module(name)
    assert not {"layouts", "generators"} & set(sys.modules)
    for line in sys.stdin:
        print(json.dumps(_tested(json.loads(line))), flush=True)


def _tested(job: dict[str, Any]) -> dict[str, Any]:
    began = time.monotonic()
    with _put_in(Path(job["file"]), job["text"]), tempfile.TemporaryDirectory() as temporary:
        said = Path(temporary, "result.json")
        child = os.fork()
        if child == 0:
            _run(job["tests"], said, Path(temporary), job["enough_s"])
        status = _waited(child, began + job["limit_s"])
        text = said.read_text(encoding="utf-8") if said.exists() else ""
    found = {"outcome": "survived", "by": ""}
    if status is None:
        found = {"outcome": "killed", "by": "time limit"}
    elif text:
        found = json.loads(text)
    elif status != 0:
        found = {"outcome": "killed", "by": f"process ended with {status}"}
    return {**found, "seconds": round(time.monotonic() - began, 1)}


@contextmanager
def _put_in(path: Path, text: str | None) -> Iterator[None]:
    """The file with a fault in it, for as long as it takes."""
    before, times = path.read_bytes(), path.stat()
    if text is not None:
        path.write_text(text, encoding="utf-8")
        os.utime(path, (times.st_atime, times.st_mtime + ANOTHER_SECOND_S))
    try:
        yield
    finally:
        path.write_bytes(before)
        os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))


def _waited(child: int, until: float) -> int | None:
    """How a child ended, or None if it was killed for its time, with all that it started."""
    status = None
    while status is None and time.monotonic() < until:
        ended, code = os.waitpid(child, os.WNOHANG)
        if ended:
            status = os.waitstatus_to_exitcode(code)
        else:
            time.sleep(0.05)
    try:
        os.killpg(child, signal.SIGKILL)
    except ProcessLookupError:
        return status
    if status is None:
        os.waitpid(child, 0)
    return status


def _run(tests: list[str], said: Path, temporary: Path, enough_s: float) -> None:
    """In the child: the tests until the first that fails; never returns."""
    os.setsid()
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    with open(temporary / "printed.txt", "wb") as printed:
        os.dup2(printed.fileno(), 1)
        os.dup2(printed.fileno(), 2)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    tempfile.tempdir = os.environ["TMPDIR"] = str(temporary)
    sys.dont_write_bytecode = True
    import pytest

    seen = _Seen(tests, enough_s)
    files = list(dict.fromkeys(test.split("::")[0] for test in tests))
    code = pytest.main(["-x", "-q", "-p", "no:cacheprovider", *files], plugins=[seen])
    outcome = "killed" if seen.failed or not (seen.enough or code in (0, 5)) else "survived"
    by = seen.failed or f"pytest: {code}" * (outcome == "killed")
    said.write_text(json.dumps({"outcome": outcome, "by": by}), encoding="utf-8")
    os._exit(0)


class _Seen:
    """Keeps the wanted tests in their order, and the first that fails."""

    def __init__(self, tests: list[str], enough_s: float) -> None:
        self.order = {test: number for number, test in enumerate(tests)}
        self.failed = ""
        self.enough = False
        self._enough_s, self._until = enough_s, math.inf
        self._session: Any = None

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        """Sorts the wanted tests and drops the others."""
        places = {item.nodeid: self._place(item.nodeid) for item in items}
        kept = [item for item in items if places[item.nodeid] is not None]
        items[:] = sorted(kept, key=lambda item: places[item.nodeid] or 0)
        self._until = time.monotonic() + self._enough_s

    def pytest_collectreport(self, report: Any) -> None:
        """A module that cannot be imported."""
        if report.failed:
            self.failed = self.failed or f"{report.nodeid} (import)"

    def pytest_runtest_logreport(self, report: Any) -> None:
        """A test that fails, or its set-up."""
        if report.failed:
            self.failed = self.failed or report.nodeid

    def pytest_runtest_logfinish(self, nodeid: str) -> None:
        """Ends after the test in which the time ran out."""
        if time.monotonic() > self._until and self._session is not None:
            self.enough = True
            self._session.shouldstop = "time is over"

    def pytest_sessionstart(self, session: Any) -> None:
        """Keeps what can be stopped."""
        self._session = session

    def _place(self, test: str) -> int | None:
        for name in (test, test.split("::")[0], *map(str, Path(test.split("::")[0]).parents)):
            if name in self.order:
                return self.order[name]
        return None
