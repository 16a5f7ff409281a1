"""Sweeps give the same whatever runs them; a cluster that isn't there is one clear line."""

from __future__ import annotations

import contextlib
import importlib.util
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from generators.suggesting.running import ClusterError, on_cluster, over_processes
from layouts.suggesting.setting import Axis, Setting
from layouts.suggesting.sweep import SweepResult, sweep
from tests.suggesting_samples import here, offer, setting

SMALL = setting((165, 110, 90), offer(), volts_v=14.4, energy_wh=65.0, axes=(Axis.Z,))


@pytest.fixture(scope="module")
def plain() -> SweepResult:
    """The sweep in this process."""
    found = sweep(SMALL, here)
    assert found.rows
    return found


def doubled(setting: Setting, job: int) -> int:
    """Work for a runner."""
    return 2 * job


def failing(setting: Setting, job: int) -> int:
    """Work that goes wrong."""
    raise ZeroDivisionError("as meant")


def waiting(folder: Setting, job: int) -> None:
    """Work without end; a file says that it has begun."""
    Path(f"{os.environ['BEGUN']}/{job}").touch()
    time.sleep(60)


def needing_more(setting: Setting, job: int) -> int:
    """Work for which a machine lacks a package."""
    raise ModuleNotFoundError("No module named 'layouts'")


@pytest.mark.slow
def test_processes_give_the_same_as_one(plain: SweepResult) -> None:
    """Two fresh processes, the same rows in the same order; progress never falls back."""
    told: list[tuple[str, float]] = []
    with over_processes(SMALL, 2, lambda stage, share: told.append((stage, share))) as run:
        found = sweep(SMALL, run)
    assert found == plain
    assert {stage for stage, _ in told} == {
        "estimating", "planning the least", "planning", "checking",
    }  # fmt: skip
    for name in ("planning the least", "planning"):
        planning = [share for stage, share in told if stage == name]
        assert planning == sorted(planning)
        assert len(planning) > 1


def test_one_process_works_here() -> None:
    """With one job no process is begun."""
    with over_processes(SMALL, 1) as run:
        assert run(doubled, SMALL, [3, 1, 2], "doubling") == [6, 2, 4]


@pytest.mark.slow
def test_faults_of_workers_come_through() -> None:
    """What goes wrong in a worker goes wrong here, and the pool is closed."""
    with pytest.raises(ZeroDivisionError, match="as meant"), over_processes(SMALL, 2) as run:
        run(failing, SMALL, [1, 2], "failing")


@pytest.fixture(scope="module")
def cluster() -> Iterator[str]:
    """Address of a Dask cluster on this machine; skipped where Dask isn't installed, but in CI."""
    if importlib.util.find_spec("distributed") is None and not os.environ.get("CI"):
        pytest.skip("distributed is not installed")
    from distributed import LocalCluster

    with LocalCluster(
        n_workers=1,
        threads_per_worker=1,
        processes=False,
        dashboard_address=None,
        host="127.0.0.1",
        protocol="tcp",
    ) as local:
        yield local.scheduler_address


@pytest.mark.slow
def test_a_cluster_gives_the_same(cluster: str, plain: SweepResult) -> None:
    """The same rows from a local Dask cluster."""
    with on_cluster(SMALL, cluster) as run:
        assert sweep(SMALL, run) == plain


def test_a_worker_that_lacks_the_package_is_told(cluster: str) -> None:
    """An import that fails there is a line on what to install."""
    with (
        pytest.raises(
            ClusterError, match=r"can't import what it needs: .*install the same version"
        ),
        on_cluster(SMALL, cluster) as run,
    ):
        run(needing_more, SMALL, [1], "failing")


def free_port() -> int:
    """A port of this machine where nothing listens."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:{port}", "nonsense://{port}"])
def test_an_unreachable_cluster_is_one_line(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """No scheduler there, or no address at all."""
    pytest.importorskip("distributed")
    monkeypatch.setattr("generators.suggesting.running.CONNECT_S", 1.0)
    there = address.format(port=free_port())
    with pytest.raises(ClusterError) as error, on_cluster(SMALL, there):
        raise AssertionError("never reached")
    assert str(error.value).startswith(f"no Dask scheduler can be reached ({there})")
    assert "\n" not in str(error.value)


def test_a_cluster_without_dask_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the package the line names the extra."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    with (
        pytest.raises(ClusterError, match=r'pip install "cellstead\[cluster\]"'),
        on_cluster(SMALL, "tcp://127.0.0.1:1"),
    ):
        raise AssertionError("never reached")


@pytest.mark.slow
def test_worker_processes_end_with_a_killed_parent(tmp_path: Path) -> None:
    """Nothing tells them but that it is gone."""
    code = (
        "from tests.generators.suggesting.test_running import SMALL, over_processes, waiting\n"
        "if __name__ == '__main__':\n"
        "    with over_processes(SMALL, 2) as run:\n"
        "        run(waiting, SMALL, [1, 2], 'waiting')\n"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", code], cwd=Path(__file__).parents[3], start_new_session=True,
        env={**os.environ, "BEGUN": str(tmp_path)}, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    limit_s = time.monotonic() + 60
    while len(list(tmp_path.iterdir())) < 2:
        assert process.poll() is None and time.monotonic() < limit_s
        time.sleep(0.05)
    process.kill()
    process.wait()
    limit_s = time.monotonic() + 20
    with contextlib.suppress(ProcessLookupError):  # all are gone
        while time.monotonic() < limit_s:
            os.killpg(process.pid, 0)
            time.sleep(0.05)
        os.killpg(process.pid, signal.SIGKILL)
        pytest.fail("a worker goes on")
