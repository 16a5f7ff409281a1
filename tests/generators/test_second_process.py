"""The second process of a run ends with it, also where the run is killed."""

from __future__ import annotations

import os
import subprocess
import sys
import time
import traceback
from pathlib import Path

import pytest

from generators.second_process import SecondProcess
from layouts.errors import PlanError

ROOT = Path(__file__).parents[2]


def gone(pid: int) -> bool:
    """Whether a process ends within ten seconds; one that nobody has waited for counts as ended."""
    limit_s = time.monotonic() + 10
    while time.monotonic() < limit_s:
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            return True
        state = Path(f"/proc/{pid}/stat")
        if state.exists() and state.read_text(encoding="utf-8").split()[2] == "Z":
            return True
        time.sleep(0.02)
    return False


@pytest.mark.parametrize("job", ["hang", None], ids=["at work", "without a job"])
def test_it_ends_with_a_killed_parent(job: str | None) -> None:
    """Whatever it does: nothing is written any more into a folder that the next run removes."""
    code = (
        "import time\n"
        "from generators.second_process import SecondProcess\n"
        "with SecondProcess('tests.limited_work', 'waiting') as second:\n"
        f"    if {job!r} is not None: second._start({job!r})\n"
        "    print(second._process.pid, flush=True)\n"
        "    time.sleep(60)\n"
    )
    with subprocess.Popen([sys.executable, "-c", code], cwd=ROOT, stdout=subprocess.PIPE) as run:
        assert run.stdout is not None
        pid = int(run.stdout.readline())
        time.sleep(0.5)  # it has begun
        os.kill(pid, 0)
        run.kill()
    assert gone(pid)


def test_leaving_the_block_ends_it_at_work_too() -> None:
    """As where the run stops with an error."""
    with SecondProcess("tests.limited_work", "waiting") as second:
        second._start("hang")
        pid = second._process.pid
    assert gone(pid)


def test_what_it_gives_and_what_it_says_come_out() -> None:
    """The result as it is; a failure with its traceback."""
    with SecondProcess("tests.limited_work", "working") as second:
        second._start("job")
        assert second._result() == "job"
    with SecondProcess("tests.limited_work", "working") as second:
        second._start("fault")
        with pytest.raises(RuntimeError, match=r"(?s)working failed: .*a fault of the work"):
            second._result()


def test_an_error_of_planning_crosses_with_its_cause_in_words() -> None:
    """As it was raised there, its fields included; the log can tell where and why."""
    with SecondProcess("tests.limited_work", "working") as second:
        second._start("plan")
        with pytest.raises(PlanError) as raised:
            second._result()
    error = raised.value
    assert str(error) == "holder: is odd (2), use 3"
    assert (error.field, error.why, error.remedy, error.value) == ("holder", "is odd", "use 3", "2")
    told = "".join(traceback.format_exception(error))
    assert "ZeroDivisionError: of a library" in told and "limited_work.py" in told
