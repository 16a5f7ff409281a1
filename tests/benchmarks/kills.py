"""Runs killed at random moments: nothing is lost, and the next run leaves nothing behind.

Run by hand: ``python -m tests.benchmarks.kills`` for 100 kills by SIGKILL, SIGTERM and SIGHUP in
turn (some 25 s each), ``--kills N`` for others. ``make`` of one cell is killed somewhere between
its start and its end; every tenth is SIGKILL at a step of the swap itself, which random moments
hardly ever meet. Then it runs undisturbed. Wanted each time: the old or the new whole result
after the kill, at the latest once the next run has begun; the user's own file in it; after the
next run the result alone, and no file or process of the killed run anywhere. Exit status 1
otherwise.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from generators.own_files import file_rows

ROOT = Path(__file__).parents[2]
NAME = "one-cell"
OWN, TEXT = "notes/weld log.txt", "sheet 3 looked at\n"
SIGNALS = (signal.SIGKILL, signal.SIGTERM, signal.SIGHUP)
SWAP_STEPS = 3
PACK = """\
name: {name}
cell: {{format: '18650', capacity_ah: {capacity}}}
series: 1
parallel: 1
lattice: grid
"""
AT_STEP = """
import os, signal, sys
from generators import atomic_folder
real, steps = os.replace, []
def replaces(source, target):
    real(source, target)
    steps.append(target)
    if len(steps) == {step}:
        os.kill(os.getpid(), signal.SIGKILL)
atomic_folder.os.replace = replaces
from generators.cli import main
sys.exit(main())
"""


class Place:
    """A folder for the results, and one for all temporary files."""

    def __init__(self, folder: Path) -> None:
        self.out, self.temporary, self.file = folder / "out", folder / "tmp", folder / "pack.yaml"
        self.temporary.mkdir()
        self.environment = {**os.environ, "TMPDIR": str(self.temporary)}

    def started(self, capacity_ah: float, code: str | None = None) -> subprocess.Popen[str]:
        """A run of the pack; each capacity gives another result."""
        text = PACK.format(name=NAME, capacity=capacity_ah)
        self.file.write_text(text, encoding="utf-8")
        command = ["-m", "generators"] if code is None else ["-c", code]
        return subprocess.Popen(
            [sys.executable, *command, "make", str(self.file), "--out", str(self.out)],
            cwd=ROOT, env=self.environment, text=True, stdout=subprocess.PIPE,
            stderr=subprocess.PIPE, start_new_session=True,
        )  # fmt: skip

    def whole(self, capacity_ah: float) -> bool:
        """Whether the result is whole, that of this capacity, and has the user's file."""
        folder = self.out / NAME
        try:
            listed = json.loads((folder / "result.json").read_text(encoding="utf-8"))
            own = (folder / OWN).read_text(encoding="utf-8")
        except OSError:
            return False
        rows = [row for row in file_rows(folder, but="result.json") if row["path"] != OWN]
        return bool(
            rows == listed["files"]
            and listed["pack"]["cell"]["capacity_ah"] == capacity_ah
            and own == TEXT
        )

    def alone(self) -> bool:
        """Whether nothing lies about but the result."""
        return [one.name for one in self.out.iterdir()] == [NAME] and not any(
            self.temporary.iterdir()
        )


def recovered(place: Place) -> None:
    """What the next run does first."""
    subprocess.run(
        [sys.executable, "-c", "import sys; from pathlib import Path\n"
         "from generators.commands.common import begin\n"
         f"begin(Path(sys.argv[1]), {NAME!r}, [])", str(place.out)],
        cwd=ROOT, env=place.environment, check=True, capture_output=True,
    )  # fmt: skip


def no_process_left(group: int) -> bool:
    """Whether all processes of a killed run are gone, waited for a moment."""
    limit_s = time.monotonic() + 10
    while time.monotonic() < limit_s:
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.05)
    return False


def killed(place: Place, number: int, draw: random.Random, run_s: float) -> str:
    """One run killed, and the run after it; what went wrong, empty where nothing did."""
    old, new, after = (round(2.0 + (number + more) / 1000, 4) for more in (0.0, 0.5, 1.0))
    which = SIGNALS[number % len(SIGNALS)]
    step = draw.randrange(1, SWAP_STEPS + 1) if number % 10 == 9 else 0
    process = place.started(new, AT_STEP.format(step=step) if step else None)
    if not step:
        time.sleep(draw.uniform(0.0, run_s))
        process.send_signal(which)
    _, err = process.communicate()
    status = process.returncode
    if status not in (0, -signal.SIGKILL, -which, 128 + which):
        return f"status {status} after {which.name}: {err}"
    if not no_process_left(process.pid):
        return f"a process is left after {which.name}"
    recovered(place)
    if not place.whole(old) and not place.whole(new):
        return f"no whole result after {which.name}, swap step {step}"
    return made(place, after)


def made(place: Place, capacity_ah: float) -> str:
    """A run that nobody disturbs; what is wrong with what it leaves."""
    process = place.started(capacity_ah)
    _, err = process.communicate()
    if process.returncode != 0:
        return f"status {process.returncode} of the next run: {err}"
    if not place.whole(capacity_ah):
        return "the next result is not whole"
    return "" if place.alone() else "the next run leaves something behind"


def main() -> int:
    """Kill and count."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    draw = random.Random(chosen.seed)
    found: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        place = Place(Path(folder))
        begin_s = time.monotonic()
        place.started(2.0).communicate()
        run_s = time.monotonic() - begin_s
        (place.out / NAME / OWN).parent.mkdir()
        (place.out / NAME / OWN).write_text(TEXT, encoding="utf-8")
        for number in range(chosen.kills):
            wrong = killed(place, number, draw, run_s)
            found[wrong] += 1
            if wrong:
                print(f"kill {number}: {wrong}")
    print(f"{found['']} of {chosen.kills} kills: nothing lost, nothing left behind")
    return int(found[""] != chosen.kills)


if __name__ == "__main__":
    sys.exit(main())
