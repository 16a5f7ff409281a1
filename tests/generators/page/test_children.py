"""Processes of the page: how they end."""

from __future__ import annotations

import asyncio
import multiprocessing
import os
from multiprocessing.connection import Connection

import pytest

from generators.page.children import Child

LONGEST_S = 60.0


@pytest.mark.skipif(not hasattr(os, "killpg"), reason="no process groups here")
def test_a_child_that_has_ended_is_not_killed_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its number may be that of another program's group by then."""
    killed: list[tuple[int, int]] = []

    async def ends_and_is_stopped() -> None:
        ended = asyncio.Event()
        child = Child(
            multiprocessing.get_context("spawn"),
            Connection.close,
            (),
            told=lambda told: None,
            ended=ended.set,
        )
        await asyncio.wait_for(ended.wait(), LONGEST_S)
        monkeypatch.setattr(os, "killpg", lambda group, signal: killed.append((group, signal)))
        await child.stop()

    asyncio.run(ends_and_is_stopped())
    assert killed == []
