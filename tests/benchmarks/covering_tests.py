"""Which tests run a line, and how long each takes: recorded once, then asked.

A pytest plugin too: ``-p tests.benchmarks.covering_tests`` adds the seconds of each passed test to
the file named in the environment. Tests that fail or take part in no run are not known.
"""

from __future__ import annotations

import ast
import json
import os
import re
import subprocess
import sys
from collections import defaultdict
from functools import cache
from pathlib import Path
from typing import Any

__all__ = ["Recorded", "record"]

ROOT = Path(__file__).parents[2]
SECONDS_VARIABLE = "SECONDS_OF_TESTS"
SECONDS, COVERAGE = "seconds.json", "coverage"
# A test that is not near the code, or only stands in a file with one that runs the line (a pack
# that both use is made by whichever comes first), is put off as if it took so many times longer.
FAR, ONLY_SAME_FILE = 3.0, 10.0
LEAST_S = 0.02
# Of lines that hundreds of tests run, the best suffice; reading a file of tests takes time too.
MOST_TESTS, MOST_FILES = 600, 15

_passed: dict[str, float] = {}
_failed: set[str] = set()


def pytest_runtest_logreport(report: Any) -> None:
    """Seconds of set-up, test and tear-down together."""
    _passed[report.nodeid] = _passed.get(report.nodeid, 0.0) + report.duration
    if not report.passed:
        _failed.add(report.nodeid)


def pytest_sessionfinish(session: Any) -> None:
    """Adds what passed to the file, once for all workers."""
    target = os.environ.get(SECONDS_VARIABLE)
    if target and not hasattr(session.config, "workerinput"):
        path = Path(target)
        before = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
        passed = {test: s for test, s in _passed.items() if test not in _failed}
        path.write_text(json.dumps({**before, **passed}, indent=0), encoding="utf-8")


def record(folders: tuple[str, ...], into: Path, tests: list[str]) -> None:
    """Run the normal tests once, or only some and add them to what is there."""
    into.mkdir(parents=True, exist_ok=True)
    config = into / "measured.ini"
    sources = "".join(f"\n    {folder}" for folder in folders)
    config.write_text(
        f"[run]\nrelative_files = true\ndata_file = {into / COVERAGE}\nsource ={sources}\n",
        encoding="utf-8",
    )
    added = ["--cov-append"] if tests else []
    subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-n", "2", "-p", __name__, *added, "--cov",
         f"--cov-config={config}", "--cov-context=test", "--cov-report=", *tests],
        cwd=ROOT, env={**os.environ, SECONDS_VARIABLE: str(into / SECONDS)}, check=False,
    )  # fmt: skip


class Recorded:
    """What ``record`` has found."""

    def __init__(self, folder: Path) -> None:
        from coverage import CoverageData

        self.seconds: dict[str, float] = json.loads((folder / SECONDS).read_text(encoding="utf-8"))
        self._data = CoverageData(basename=str(folder / COVERAGE))
        self._data.read()
        self._measured = sorted(self._data.measured_files())
        self._in_file: dict[str, list[str]] = defaultdict(list)
        for test in self.seconds:
            self._in_file[test.split("::")[0]].append(test)
        self._lines_of = cache(self._lines)

    def tests(self, file: str, line: int, budget_s: float) -> list[str]:
        """Tests that may see a fault in a line, the best first, together within the time.

        A line that runs on import alone, such as a constant, is looked for where its name is
        used; else every test of the module will do."""
        wanted = self._covering(file, _statement(file, line))
        if not wanted:
            wanted = self._using(file, line) or {
                test for tests in self._lines_of(file).values() for test in tests
            }
        near = f"tests/{Path(file).parent.as_posix()}/"
        rank = {test: self._rank(test, near) for test in wanted}
        for test_file in {test.split("::")[0] for test in wanted}:
            for test in self._in_file[test_file]:
                rank.setdefault(test, ONLY_SAME_FILE * self._rank(test, near))
        chosen: list[str] = []
        files: set[str] = set()
        spent = 0.0
        for test in sorted(rank, key=lambda t: (rank[t], t)):
            file_of_tests = test.split("::")[0]
            full = len(files) >= MOST_FILES and file_of_tests not in files
            if len(chosen) == MOST_TESTS:
                break
            if chosen and (full or spent + self.seconds[test] > budget_s):
                continue
            files.add(file_of_tests)
            chosen.append(test)
            spent += self.seconds[test]
        return chosen

    def _rank(self, test: str, near: str) -> float:
        return max(LEAST_S, self.seconds[test]) * (1.0 if test.startswith(near) else FAR)

    def _lines(self, file: str) -> dict[int, set[str]]:
        """Tests by line of a file."""
        found: dict[int, set[str]] = defaultdict(set)
        for measured in self._measured:
            if _relative(measured) == file:
                for line, contexts in self._data.contexts_by_lineno(measured).items():
                    tests = {context.rsplit("|", 1)[0] for context in contexts if context}
                    found[line] |= tests & self.seconds.keys()
        return dict(found)

    def _covering(self, file: str, lines: range) -> set[str]:
        return {test for line in lines for test in self._lines_of(file).get(line, ())}

    def _using(self, file: str, line: int) -> set[str]:
        """Tests of the lines, in all measured files, that name what a line at the top sets."""
        names = _set_at(file, line)
        if not names:
            return set()
        named = re.compile(rf"\b(?:{'|'.join(map(re.escape, names))})\b")
        found: set[str] = set()
        for measured in self._measured:
            path = _relative(measured)
            text = (ROOT / path).read_text(encoding="utf-8") if (ROOT / path).exists() else ""
            for number, content in enumerate(text.splitlines(), start=1):
                if named.search(content):
                    found |= self._covering(path, _statement(path, number))
        return found


def _relative(measured: str) -> str:
    """A measured file's path from the project's folder."""
    parts = Path(measured).parts
    first = min(k for k, part in enumerate(parts) if part in ("layouts", "generators"))
    return Path(*parts[first:]).as_posix()


@cache
def _tree(file: str) -> ast.Module:
    return ast.parse((ROOT / file).read_text(encoding="utf-8"))


def _statement(file: str, line: int) -> range:
    """Lines of the smallest statement that a line belongs to."""
    spans = [
        range(node.lineno, (node.end_lineno or node.lineno) + 1)
        for node in ast.walk(_tree(file))
        if isinstance(node, ast.stmt) and node.lineno <= line <= (node.end_lineno or node.lineno)
    ]
    smallest = min(spans, key=len, default=range(line, line + 1))
    return smallest if len(smallest) < 30 else range(line, line + 1)


def _set_at(file: str, line: int) -> set[str]:
    """Names that a statement at the top of a module, or of a class in it, gives a value."""
    for node in _tree(file).body:
        for part in [node, *(node.body if isinstance(node, ast.ClassDef) else [])]:
            if isinstance(part, ast.Assign | ast.AnnAssign) and (
                part.lineno <= line <= (part.end_lineno or part.lineno)
            ):
                targets = part.targets if isinstance(part, ast.Assign) else [part.target]
                return {
                    name.id
                    for target in targets
                    for name in ast.walk(target)
                    if isinstance(name, ast.Name)
                }
    return set()
