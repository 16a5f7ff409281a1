"""Whether two source trees make the same files: the judge of a change that should change nothing.

Run by hand: ``python -m tests.benchmarks.same_files OLD_TREE NEW_TREE``. Every command of
``same_packs`` runs with both trees; files, stdout, stderr and exit status are compared. The
exit status is 0 where all is the same, 1 where anything differs, 2 where a tree can't be used.

Each command runs in a folder of its own, with the tree on PYTHONPATH and relative paths, so
neither the tree's place nor the folder's stands in what is written: nothing is normalised but
times on stderr. What Python and numba compile goes beside the results, so trees stay as they
are; numba's goes away with the results, since it does not notice changes of what a function
calls.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.benchmarks.comparing import Compared, Rules, compare_folders, text_change
from tests.benchmarks.same_packs import RUNS, Run

SHOWN = 25  # lines told of one file
DONE = (0, 1)  # exit statuses of a command that has written its files
TOLD = "told.json"  # beside a run's folder: what was run, its status and what it printed
TIME = re.compile(r"\b\d+(?:\.\d+)? ?(?:ms|s|min)\b|\b\d+:\d\d(?::\d\d)?\b")


@dataclass(frozen=True, kw_only=True, slots=True)
class Made:
    """One command's end: its folder, what it printed, and how long it took [s]."""

    folder: Path
    status: int
    stdout: str
    stderr: str
    took_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Side:
    """A tree and where its results go. ``kept``: results that are there already stand."""

    tree: Path
    results: Path
    pycache: Path
    kept: bool

    def environment(self) -> dict[str, str]:
        """The tree first on the path, and nothing compiled into it."""
        return os.environ | {
            "PYTHONPATH": str(self.tree),
            "PYTHONPYCACHEPREFIX": str(self.pycache),
            "NUMBA_CACHE_DIR": str(self.results / "numba"),
        }


class TreeError(Exception):
    """A tree that the commands can't be run from."""


def state_of(tree: Path) -> str | None:
    """The tree's commit; None where files differ from it or there is none."""
    told = [
        subprocess.run(
            ["git", "-C", str(tree), *words], capture_output=True, text=True, check=False
        )
        for words in (("rev-parse", "HEAD"), ("status", "--porcelain"))
    ]
    if any(one.returncode for one in told) or told[1].stdout:
        return None
    return told[0].stdout.strip()


def side_of(tree: Path, keep: Path, role: str, *, cached: bool) -> Side:
    """Where a tree's results go below ``keep``; a cached one's only while its commit stands.

    Raises TreeError.
    """
    state = state_of(tree) if cached else None
    key = hashlib.sha256(f"{tree}\n{state}\n{sys.executable} {sys.version}".encode()).hexdigest()
    results = keep / f"{role}-{key[:16]}"
    if state is None:
        shutil.rmtree(results, ignore_errors=True)
    results.mkdir(parents=True, exist_ok=True)
    side = Side(tree=tree, results=results, pycache=keep / "pycache", kept=state is not None)
    code = "import generators, layouts; print(generators.__file__); print(layouts.__file__)"
    told = subprocess.run(
        [sys.executable, "-c", code],
        cwd=results, env=side.environment(), capture_output=True, text=True, check=False,
    )  # fmt: skip
    files = [Path(line) for line in told.stdout.splitlines()]
    if told.returncode or not all(file.is_relative_to(tree) for file in files):
        raise TreeError(f"{tree}: is no source tree of the tool: {told.stdout}{told.stderr}")
    return side


def made_by(side: Side, run: Run) -> Made:
    """Run a command with a tree, or take what the same command gave before."""
    home = side.results / run.name
    asked = {"arguments": run.arguments, "files": dict(run.files), "example": run.example}
    asked = json.loads(json.dumps(asked))
    if side.kept and (home / TOLD).is_file():
        told = json.loads((home / TOLD).read_text(encoding="utf-8"))
        if told.pop("asked") == asked:
            return Made(folder=home / "run", **told)
    beside = Path(tempfile.mkdtemp(prefix=f"{run.name}-", dir=side.results))
    told = _run(side, run, beside / "run")
    text = json.dumps({"asked": asked, **told}, indent=1)
    (beside / TOLD).write_text(text, encoding="utf-8")
    # whole or not at all: another comparison may use the same results
    if home.exists():
        replaced = Path(tempfile.mkdtemp(prefix="replaced-", dir=side.results))
        home.rename(replaced / run.name)
        shutil.rmtree(replaced)
    beside.rename(home)
    return Made(folder=home / "run", **told)


def _run(side: Side, run: Run, folder: Path) -> dict[str, Any]:
    folder.mkdir()
    for name, text in run.files.items():
        (folder / name).write_text(text, encoding="utf-8")
    if run.example is not None:
        printed = _called(side, ("example", run.example), folder)
        (folder / "pack.yaml").write_text(printed.stdout, encoding="utf-8")
    begin = time.perf_counter()
    ended = _called(side, run.arguments, folder)
    return {
        "status": ended.returncode,
        "stdout": ended.stdout,
        "stderr": ended.stderr,
        "took_s": time.perf_counter() - begin,
    }


def _called(
    side: Side, arguments: Sequence[str], folder: Path
) -> subprocess.CompletedProcess[str]:  # fmt: skip
    return subprocess.run(
        [sys.executable, "-m", "generators", *arguments],
        cwd=folder, env=side.environment(), capture_output=True, text=True, check=False,
        encoding="utf-8", stdin=subprocess.DEVNULL,
    )  # fmt: skip


def printed_faults(old: Made, new: Made) -> dict[str, tuple[str, ...]]:
    """What differs in exit status, stdout and stderr, and commands that made nothing."""
    faults: dict[str, tuple[str, ...]] = {}
    if old.status != new.status:
        faults["exit status"] = (f"{old.status} -> {new.status}", *new.stderr.splitlines()[:3])
    elif old.status not in DONE:
        faults["exit status"] = (f"both end with {old.status}", *new.stderr.splitlines()[:3])
    elif "Traceback (most recent call last)" in old.stderr + new.stderr:  # Python ends with 1 too
        faults["exit status"] = (
            "broke off with a fault of Python's",
            *new.stderr.splitlines()[-3:],
        )
    if old.stdout != new.stdout:
        faults["stdout"] = text_change(old.stdout, new.stdout)
    told_old, told_new = (TIME.sub("TIME", one.stderr) for one in (old, new))
    if told_old != told_new:
        faults["stderr"] = text_change(told_old, told_new)
    return faults


def compared(old: Side, new: Side, run: Run, rules: Rules) -> tuple[str, Compared]:
    """One command with both trees: the line that tells the outcome, and what differs."""
    was, now = made_by(old, run), made_by(new, run)
    files = compare_folders(was.folder, now.folder, rules=rules)
    faults = {**printed_faults(was, now), **files.faults}
    if not (was.folder / "out").is_dir():
        faults.setdefault("out", ("the old tree wrote nothing",))
    count = len(files.faults)
    told = f"{count} of {files.files} files differ" if count else f"same {files.files} files"
    printed = [name for name in faults if name not in files.faults]
    if printed:
        told += f"; {', '.join(printed)} differ" if count else f", but {', '.join(printed)}"
    excused = "".join(f"; {n} {why}" for why, n in files.excused.items())
    line = f"{run.name:16} {told}{excused} ({was.took_s:.1f} s, {now.took_s:.1f} s)"
    return line, Compared(files=files.files, faults=faults, excused=files.excused)


def tell(run: Run, outcome: Compared) -> None:
    """What differs of one command, file by file."""
    for name, lines in outcome.faults.items():
        print(f"\n{run.name}: {name}")
        for line in lines[:SHOWN]:
            print(f"    {line}")
        if len(lines) > SHOWN:
            print(f"    and {len(lines) - SHOWN} more")


@contextmanager
def _place(keep: Path | None) -> Iterator[Path]:
    if keep is None:
        with tempfile.TemporaryDirectory() as folder:
            yield Path(folder)
    else:
        keep.mkdir(parents=True, exist_ok=True)
        yield keep.resolve()


def _arguments(argv: Sequence[str] | None) -> argparse.Namespace:
    names = [run.name for run in RUNS]
    parser = argparse.ArgumentParser(prog="same_files", description=__doc__.splitlines()[0])
    parser.add_argument("old", type=Path, metavar="OLD_TREE")
    parser.add_argument("new", type=Path, metavar="NEW_TREE")
    parser.add_argument("--only", nargs="+", choices=names, metavar="NAME", default=names,
                        help=f"of {', '.join(names)}")  # fmt: skip
    parser.add_argument("--keep", type=Path, metavar="DIR",
                        help="keep results here; the old tree's are taken from here while its "
                        "commit stands")  # fmt: skip
    parser.add_argument("--jobs", type=int, default=1, metavar="N", help="commands at once")
    parser.add_argument("--allow", action="append", default=[], metavar="KEYPATH_GLOB",
                        help="keys of JSON files that may differ, such as 'parts.*.name'; may be "
                        "given more than once")  # fmt: skip
    return parser.parse_args(argv)


def main(argv: Sequence[str] | None = None) -> int:
    """Compare, print, and return the exit status."""
    asked = _arguments(argv)
    rules = Rules(allowed=tuple(asked.allow))
    runs = [run for run in RUNS if run.name in asked.only]
    outcomes: list[Compared] = []
    with _place(asked.keep) as keep, ThreadPoolExecutor(asked.jobs) as pool:
        try:
            old = side_of(asked.old.resolve(), keep, "old", cached=True)
            new = side_of(asked.new.resolve(), keep, "new", cached=False)
        except TreeError as error:
            print(error, file=sys.stderr)
            return 2
        for line, outcome in pool.map(lambda run: compared(old, new, run, rules), runs):
            print(line, flush=True)
            outcomes.append(outcome)
        for run, outcome in zip(runs, outcomes, strict=True):
            tell(run, outcome)
    wrong = sum(bool(outcome.faults) for outcome in outcomes)
    print(f"\n{wrong} of {len(runs)} runs differ" if wrong else f"\nall {len(runs)} runs the same")
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
