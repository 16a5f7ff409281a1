"""Other processes of the page: started from one that has everything loaded, ended with all they
have started."""

from __future__ import annotations

import asyncio
import contextlib
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.context import BaseContext
from typing import Any

__all__ = ["Child", "leads_group", "process_context"]

PRELOADED = ("generators.page.planning",)
CLEANING_S = 0.4  # what a child that is asked to stop has for removing its half-written folder


def process_context() -> BaseContext:
    """Children fork from a server that has loaded the planner, so that they start at once; where
    there is no fork each loads it anew."""
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(list(PRELOADED))
    return context


def leads_group() -> None:
    """Called by a child: what it starts is ended with it, and it ends with the page."""
    if hasattr(os, "setsid"):
        os.setsid()
    threading.Thread(target=_end_with_page, daemon=True).start()


def _end_with_page() -> None:
    page = multiprocessing.parent_process()
    if page is None:
        return
    page.join()
    if hasattr(os, "killpg") and os.getpgid(0) == os.getpid():
        os.killpg(os.getpid(), signal.SIGKILL)
    os._exit(1)


class Child:
    """One process that works and tells; ``told`` and ``ended`` are called in the page's loop."""

    def __init__(
        self,
        context: BaseContext,
        target: Callable[..., None],
        arguments: tuple[Any, ...],
        *,
        told: Callable[[Any], None],
        ended: Callable[[], None] = lambda: None,
    ) -> None:
        """``target`` gets its end of a wire first, then ``arguments``."""
        self._loop = asyncio.get_running_loop()
        self._told, self._ended = told, ended
        self._stopped = self._gone = False
        self._wire, far = context.Pipe()
        self._process = context.Process(  # type: ignore[attr-defined]
            target=target, args=(far, *arguments)
        )
        self._ready = asyncio.ensure_future(asyncio.to_thread(self._start, far))

    async def ask(self, question: Any) -> None:
        """Send something to it."""
        await asyncio.shield(self._ready)
        with contextlib.suppress(BrokenPipeError, OSError):
            self._wire.send(question)

    async def stop(self, *, gently: bool = False) -> None:
        """End it and what it has started; ``gently``: it may clean up first. Nothing that it told
        is heard any more."""
        self._stopped = True
        await asyncio.shield(self._ready)
        await asyncio.to_thread(self._end, gently)

    def _start(self, far: Connection) -> None:
        self._process.start()  # waits until the server has loaded all
        far.close()
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        with contextlib.suppress(EOFError, OSError):
            while True:
                self._tell(self._told, self._wire.recv())
        self._process.join()
        self._end_group()
        self._gone = True
        self._tell(lambda _: self._ended(), None)

    def _tell(self, whom: Callable[[Any], None], what: Any) -> None:
        def heard() -> None:
            if not self._stopped:
                whom(what)

        with contextlib.suppress(RuntimeError):  # the loop has ended
            self._loop.call_soon_threadsafe(heard)

    def _end(self, gently: bool) -> None:
        process = self._process
        if self._gone:  # its number may be another program's by now
            return
        if gently and process.is_alive():
            process.terminate()
            process.join(CLEANING_S)
        self._end_group()
        process.join()

    def _end_group(self) -> None:
        """End it and all it has started, also what is left of these when it is gone itself."""
        process = self._process
        if process.pid is None or not hasattr(os, "killpg"):
            if process.is_alive():
                process.kill()
            return
        with contextlib.suppress(ProcessLookupError, PermissionError):
            if process.is_alive() and os.getpgid(process.pid) != process.pid:
                process.kill()
            else:
                os.killpg(process.pid, signal.SIGKILL)
