"""Faults put into the code at random: how many of them do the tests find?

Run by hand, with the extra ``mutants`` installed:

    python -m tests.benchmarks.mutants --record             # once: which test runs which line
    python -m tests.benchmarks.mutants --seed 1             # 400 faults, about an hour
    python -m tests.benchmarks.mutants --show FILE          # survivors with their change
    python -m tests.benchmarks.mutants --record tests/layouts/heat   # after tests were added
    python -m tests.benchmarks.mutants --again FILE         # the survivors once more
    python -m tests.benchmarks.mutants --again FILE --all-tests      # against every normal test

Each fault is put into a copy of the tree. Tests that run its line are tried, those of the nearest
folder and the quickest first, until one fails or ``--seconds`` are over; one that ends no more
counts as found. Which of the survivors work out the same, somebody has to judge.
At the end every test that found a fault is run without one: what fails then has found nothing.
"""

from __future__ import annotations

import argparse
import difflib
import json
import queue
import shutil
import sys
import tempfile
import threading
from collections import Counter
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

from tests.benchmarks.covering_tests import Recorded, record
from tests.benchmarks.forked_tests import ROOT, Worker

FOLDERS = (
    "layouts/ratings", "layouts/electrical", "layouts/shorts", "layouts/heat", "layouts/currents",
    "layouts/strips", "layouts/holders", "layouts/enclosures", "generators/proofs",
)  # fmt: skip
KEPT = ROOT / "out" / "mutants"
# Starting the tests, and a machine that is busier than when the seconds were recorded.
START_S, SLOWER = 30.0, 2.5
ALL_TESTS_S = 3600.0
Row = dict[str, Any]


def main() -> int:
    """Exit status 1 if a fault survives."""
    given = _arguments()
    if given.record is not None:
        record(FOLDERS, given.kept, given.record)
        return 0
    if given.show:
        rows = _rows(given.show)
        _tell(rows, survivors=True)
        return 0
    known: list[Row] = []
    if given.again:
        target, rows = given.again, _rows(given.again)
        known = [row for row in rows if row["outcome"] == "killed"]
        rows = [row for row in rows if row["outcome"] != "killed"]
    else:
        rows = _drawn(given.number, given.seed)
        target = given.kept / f"seed-{given.seed}.jsonl"
    jobs = _jobs(rows, given)
    target.parent.mkdir(parents=True, exist_ok=True)
    done = known + _run(jobs, given.jobs, target.with_suffix(".part"))
    with target.open("w", encoding="utf-8") as file:
        file.writelines(f"{json.dumps(row)}\n" for row in done)
    target.with_suffix(".part").unlink(missing_ok=True)
    _tell(done, survivors=False)
    print(f"written to {target}")
    return int(any(row["outcome"] != "killed" for row in done))


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--record", nargs="*", metavar="TESTS", help="record which tests run what")
    parser.add_argument("--number", type=int, default=400)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--again", type=Path, metavar="FILE", help="survivors in a file of results")
    parser.add_argument("--all-tests", action="store_true", help="every normal test")
    parser.add_argument("--show", type=Path, metavar="FILE", help="print survivors")
    parser.add_argument("--seconds", type=float, default=60.0, help="of tests for each fault")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--kept", type=Path, default=KEPT, help="folder of records and results")
    return parser.parse_args()


def _drawn(number: int, seed: int) -> list[Row]:
    from tests.benchmarks.mutations import drawn

    files = [
        path.relative_to(ROOT).as_posix()
        for folder in FOLDERS
        for path in sorted((ROOT / folder).rglob("*.py"))
    ]
    return [asdict(mutation) for mutation in drawn(files, number, seed)]


def _jobs(rows: list[Row], given: argparse.Namespace) -> list[Row]:
    """Rows with the tests, and the longest time that they may take."""
    from tests.benchmarks.mutations import Mutation

    recorded = None if given.all_tests else Recorded(given.kept)
    names = [field.name for field in fields(Mutation)]
    jobs = []
    for row in rows:
        tests, enough_s, limit_s = ["tests"], ALL_TESTS_S, ALL_TESTS_S
        if recorded is not None:
            tests = recorded.tests(row["file"], row["line"], SLOWER * given.seconds)
            enough_s = given.seconds
            limit_s = START_S + enough_s + SLOWER * max(recorded.seconds[test] for test in tests)
        jobs.append({**{name: row[name] for name in names}, "tests": tests,
                     "enough_s": enough_s, "limit_s": limit_s})  # fmt: skip
    return jobs


def _with_fault(job: Row) -> Row:
    """The job with the faulty text, and what it changes."""
    from tests.benchmarks.mutations import Mutation, mutated

    text = mutated(Mutation(**{field.name: job[field.name] for field in fields(Mutation)}))
    assert text is not None
    source = (ROOT / job["file"]).read_text(encoding="utf-8")
    return {**job, "text": text, "change": _change(source, text)}


def _change(before: str, after: str) -> str:
    lines = difflib.unified_diff(before.splitlines(), after.splitlines(), n=1, lineterm="")
    return "\n".join(list(lines)[2:])


def _run(jobs: list[Row], workers: int, target: Path) -> list[Row]:
    """All results; each is written to a file as soon as it is known."""
    left: queue.SimpleQueue[Row] = queue.SimpleQueue()
    for job in jobs:
        left.put(job)
    done: list[Row] = []
    lock = threading.Lock()
    top = Path(tempfile.mkdtemp(prefix="mutants-"))

    def work(number: int) -> None:
        folder = top / str(number)
        folder.mkdir()
        worker = Worker(folder)
        while True:
            try:
                job = _with_fault(left.get_nowait())
            except queue.Empty:
                break
            found = worker.result(job)
            row = {
                k: v for k, v in job.items() if k not in ("text", "tests", "enough_s", "limit_s")
            }
            row |= {"tests": len(job["tests"]), **found}
            with lock:
                done.append(row)
                with target.open("w" if len(done) == 1 else "a", encoding="utf-8") as file:
                    print(json.dumps(row), file=file)
                print(f"{len(done)}/{len(jobs)} {row['file']}:{row['line']} {row['operator']} "
                      f"{row['outcome']} {row['by']} ({row['seconds']} s)", flush=True)  # fmt: skip
        worker.close()

    threads = [threading.Thread(target=work, args=(number,)) for number in range(workers)]
    try:
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        _strike(done, jobs, top)
    finally:
        shutil.rmtree(top, ignore_errors=True)
    return done


def _strike(done: list[Row], jobs: list[Row], top: Path) -> None:
    """Tests that fail without a fault have found none."""
    left = sorted({row["by"] for row in done if "::" in row["by"]})
    failing: set[str] = set()
    folder = top / "unchanged"
    folder.mkdir()
    worker = Worker(folder)
    while left:
        job = {"file": jobs[0]["file"], "text": None, "tests": left,
               "enough_s": ALL_TESTS_S, "limit_s": ALL_TESTS_S}  # fmt: skip
        found = worker.result(job)
        if found["outcome"] == "survived":
            break
        failing.add(found["by"])
        left = [test for test in left if test != found["by"]]
    worker.close()
    for row in done:
        if row["by"] in failing:
            print(f"fails without a fault too: {row['by']}")
            row["outcome"] = "unclear"


def _rows(path: Path) -> list[Row]:
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def _tell(rows: list[Row], *, survivors: bool) -> None:
    for row in sorted(rows, key=lambda row: (row["file"], row["line"])):
        if survivors and row["outcome"] != "killed":
            print(f"{row['file']}:{row['line']} {row['operator']} ({row['tests']} tests)")
            print(f"{row['change']}\n")
    counts = Counter(row["outcome"] for row in rows)
    for folder in FOLDERS:
        inside = [row for row in rows if row["file"].startswith(f"{folder}/")]
        killed = sum(row["outcome"] == "killed" for row in inside)
        print(f"{folder}: {killed} of {len(inside)}")
    print(f"{counts['killed']} of {len(rows)} found ({counts['killed'] / max(1, len(rows)):.1%})")


if __name__ == "__main__":
    sys.exit(main())
