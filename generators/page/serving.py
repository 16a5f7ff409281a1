"""Runs the page's server on this machine alone, until it is stopped."""

from __future__ import annotations

import socket
import threading
import webbrowser
from pathlib import Path

import uvicorn

from generators.page.app import LARGEST_MESSAGE, Page, page_application
from generators.page.guard import Guard

__all__ = ["PortTakenError", "serve"]

CLOSING_S = 1


class PortTakenError(Exception):
    """Another program listens at the port."""


def serve(
    folder: Path, out: Path, *, first: str | None, host: str, port: int, opens_browser: bool
) -> None:
    """Serve until Ctrl-C. Raises PortTakenError."""
    listener = socket.socket()
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
    except OSError as error:
        listener.close()
        raise PortTakenError from error
    hosts = frozenset({f"{host}:{port}", f"localhost:{port}"})
    page = Page(folder, out, first=first)
    server = uvicorn.Server(
        uvicorn.Config(
            Guard(page_application(page), hosts=hosts),
            log_level="warning",
            access_log=False,
            server_header=False,
            ws_max_size=LARGEST_MESSAGE,
            timeout_graceful_shutdown=CLOSING_S,
        )
    )
    address = f"http://{host}:{port}/"
    print(f"{address}  (folder {folder}; stop with Ctrl-C)", flush=True)
    if opens_browser:
        threading.Timer(0.5, webbrowser.open, (address,)).start()
    with listener:
        server.run(sockets=[listener])
