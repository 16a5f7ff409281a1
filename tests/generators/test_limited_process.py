"""The process with limits: what comes out of it, whatever its work does."""

from __future__ import annotations

import signal
import sys

import pytest

from generators.limited_process import NoAnswer, WorkFaultError, answers
from tests.limited_work import works

CRASHED = NoAnswer(late=False, status=-signal.SIGSEGV)


def test_jobs_after_a_crash_are_done_all_the_same() -> None:
    """Each answer stands at its job's place."""
    assert answers(works, ["a", "crash", "b", "end", "crash", "c"], limit_s=20) == [
        "a", CRASHED, "b", NoAnswer(late=False, status=7), CRASHED, "c",
    ]  # fmt: skip
    assert answers(works, [], limit_s=20) == []


@pytest.mark.parametrize("job", ["hang", "loop in C"])
def test_what_does_not_end_is_ended(job: str) -> None:
    """The time counts for each job anew."""
    late = NoAnswer(late=True, status=-signal.SIGKILL)
    assert answers(works, ["a", job, "b"], limit_s=1.0) == ["a", late, "b"]


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere the limit is the system's")
def test_memory_has_a_limit() -> None:
    """The work may say so itself."""
    assert answers(works, ["memory"], limit_s=20, memory_bytes=200_000_000) == ["no memory"]
    assert answers(works, ["memory"], limit_s=20) == ["memory"]


def test_a_fault_of_the_work_comes_out_with_its_traceback() -> None:
    """Also where it can't even be loaded there."""
    with pytest.raises(WorkFaultError, match=r"(?s)Traceback.*a fault of the work") as caught:
        answers(works, ["a", "fault"], limit_s=20)
    assert isinstance(caught.value.__cause__, ValueError)
    with pytest.raises(WorkFaultError, match=r"(?s)Traceback.*its own") as caught:
        answers(works, ["own fault"], limit_s=20)
    assert caught.value.__cause__ is None
    with pytest.raises(WorkFaultError) as caught:
        answers(works, ["a"], limit_s=20, loads=["no_such_module"])
    assert isinstance(caught.value.__cause__, ImportError)


def test_what_it_prints_goes_to_standard_error_or_nowhere(
    capfd: pytest.CaptureFixture[str],
) -> None:
    """Standard output is the command's."""
    assert answers(works, ["print"], limit_s=20) == ["print"]
    printed = capfd.readouterr()
    assert (printed.out, sorted(printed.err.split())) == ("", ["printed", "told"])
    answers(works, ["print"], limit_s=20, quiet=True)
    assert capfd.readouterr() == ("", "")
