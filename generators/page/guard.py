"""Who may ask the page: its own address alone; and what a browser may load for it."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

__all__ = ["PAGE_POLICY", "RESULT_POLICY", "Guard"]

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
Application = Callable[[Scope, Receive, Send], Awaitable[None]]

# Content Security Policy Level 3. The page: its own files, drawings as data, its own address.
PAGE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
# Files of a result act in an origin of their own: they can't ask the page for anything. Their own
# policy, by the digests of their scripts, comes on top of it.
RESULT_POLICY = (
    "sandbox allow-scripts allow-modals; default-src 'none'; img-src 'self' data:; "
    "style-src 'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)
HEADERS = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cache-control", b"no-store"),
)
FORBIDDEN = b"This page is for its own address alone.\n"
RESULTS = "/made/"  # paths of files of a result


class Guard:
    """Refuses a foreign Host, a foreign Origin and a change without one, WebSocket too."""

    def __init__(self, app: Application, *, hosts: frozenset[str]) -> None:
        """``hosts``: as the Host header names this server."""
        self._app, self._hosts = app, hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request or connection."""
        kind = scope["type"]
        if kind not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        if not self._is_ours(scope):
            await _refuse(kind, send)
            return

        async def with_headers(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                made = scope["path"].startswith(RESULTS)
                policy = RESULT_POLICY if made else PAGE_POLICY
                message["headers"] = [
                    *message.get("headers", ()),
                    (b"content-security-policy", policy.encode()),
                    *HEADERS,
                ]
            await send(message)

        await self._app(scope, receive, with_headers)

    def _is_ours(self, scope: Scope) -> bool:
        pairs = [(name.lower(), value) for name, value in scope["headers"]]
        hosts = [value.decode("latin-1").lower() for name, value in pairs if name == b"host"]
        origins = [value.decode("latin-1").lower() for name, value in pairs if name == b"origin"]
        if len(hosts) != 1 or hosts[0] not in self._hosts:
            return False
        if any(origin != f"http://{hosts[0]}" for origin in origins):
            return False
        reads = scope["type"] == "http" and scope["method"] in ("GET", "HEAD")
        return reads or len(origins) == 1


async def _refuse(kind: str, send: Send) -> None:
    if kind == "websocket":
        await send({"type": "websocket.close", "code": 1008})
        return
    headers = [(b"content-type", b"text/plain; charset=utf-8"), *HEADERS]
    await send({"type": "http.response.start", "status": 403, "headers": headers})
    await send({"type": "http.response.body", "body": FORBIDDEN})
