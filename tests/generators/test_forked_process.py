"""A second process that begins as a copy of this one: as one that is started, and no more of it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest

from generators.forked_process import may_fork
from tests.generators.test_second_process import gone

ROOT = Path(__file__).parents[2]

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="copies are made on Linux alone")


def printed(code: str, status: int = 0) -> str:
    """What a fresh interpreter prints, which may be copied whatever the tests have loaded."""
    head = "import os, sys\nfrom generators.second_process import SecondProcess\n"
    done = subprocess.run(
        [sys.executable, "-c", head + textwrap.dedent(code)],
        cwd=ROOT, capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    assert done.returncode == status, done.stderr
    return done.stdout


def test_a_copy_gives_and_says_what_a_started_one_does() -> None:
    """Its result, the traceback of a fault, and an error of planning with its cause; what the run
    had not yet printed is printed once."""
    told = printed("""
        from layouts.errors import PlanError
        def answer(job):
            with SecondProcess("tests.limited_work", "working", forked=True) as second:
                second.fork()
                second._start(job)
                return second._result()
        sys.stdout.write("once ")
        print(answer("job"))
        print(len(answer("x" * 10**7)))
        try:
            answer("fault")
        except RuntimeError as error:
            print("a fault of the work" in str(error), "limited_work.py" in str(error))
        try:
            answer("plan")
        except PlanError as error:
            print(error, "ZeroDivisionError" in str(error.__cause__))
    """)
    assert told == "once job\n10000000\nTrue True\nholder: is odd (2), use 3 True\n"


def test_leaving_the_block_ends_copies_at_work_and_without_a_job() -> None:
    """Also one that has not begun is left without trouble."""
    told = printed("""
        def begun():
            return SecondProcess("tests.limited_work", "waiting", forked=True)
        with begun() as one, begun() as other, begun():
            one.fork()
            other.fork()
            one._start("hang")
            print(one._process.pid, other._process.pid)
    """)
    assert all(gone(int(pid)) for pid in told.split())


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGTERM])
def test_copies_and_started_ones_end_with_a_killed_parent(number: int) -> None:
    """None holds another's pipe open, so each sees at once that nobody is there any more."""
    code = textwrap.dedent("""
        import time
        from generators.second_process import SecondProcess
        def begun(forked):
            return SecondProcess("tests.limited_work", "waiting", forked=forked)
        with begun(False) as one, begun(True) as two, begun(True) as three:
            two.fork()
            three.fork()
            for each in (one, two, three):
                each._start("hang")
            print(*(each._process.pid for each in (one, two, three)), flush=True)
            time.sleep(60)
    """)
    with subprocess.Popen([sys.executable, "-c", code], cwd=ROOT, stdout=subprocess.PIPE) as run:
        assert run.stdout is not None
        pids = [int(pid) for pid in run.stdout.readline().split()]
        time.sleep(0.5)  # they have begun
        os.kill(run.pid, number)
    assert len(pids) == 3
    assert all(gone(pid) for pid in pids)


def test_copies_hold_no_pipe_of_another() -> None:
    """As it says: each copy holds its own three ends alone."""
    told = printed("""
        def pipes(pid):
            return {os.readlink(f"/proc/{pid}/fd/{fd}") for fd in os.listdir(f"/proc/{pid}/fd")}
        def begun():
            return SecondProcess("tests.limited_work", "waiting", forked=True)
        with begun() as one, begun() as other:
            one.fork()
            other.fork()
            import time
            time.sleep(1.0)
            both = [{each for each in pipes(second._process.pid) if each.startswith("pipe:")}
                    for second in (one, other)]
            print(len(both[0]), len(both[1]), len(both[0] & both[1]))
    """)
    assert told.split()[2] == "0"
    assert int(told.split()[1]) == int(told.split()[0])


def test_what_does_not_stand_a_copy_is_started_afresh() -> None:
    """A thread beside the run's own, or the kernel loaded."""
    told = printed("""
        import threading
        from generators.forked_process import may_fork
        print(may_fork())
        end = threading.Event()
        other = threading.Thread(target=end.wait)
        other.start()
        print(may_fork())
        end.set()
        other.join()
        sys.modules["OCP"] = os
        print(may_fork())
        with SecondProcess("tests.limited_work", "working", forked=True) as second:
            second.fork()
            second._start("job")
            print(type(second._process).__name__, second._result())
    """)
    assert told.split() == ["True", "False", "False", "Popen", "job"]
    assert isinstance(may_fork(), bool)
