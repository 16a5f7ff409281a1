"""The page's server: its own files, sheets over a WebSocket, uploads, and files of results."""

from __future__ import annotations

import asyncio
import contextlib
import io
import json
import mimetypes
import secrets
import zipfile
from collections.abc import AsyncIterator
from importlib.resources import files
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect

from generators.packfile.examples import example_names, example_text
from generators.packfile.loader import LARGEST_BYTES
from generators.page.children import Child, process_context
from generators.page.desk import Desk
from generators.page.fields import form_fields
from generators.page.folder import (
    LARGEST_UPLOAD_BYTES,
    FolderError,
    inside,
    pack_files,
    stored,
)
from generators.page.making import quick_answers
from generators.page.question import Question
from generators.page.sheet import EMPTY, Sheet
from generators.version import VERSION

__all__ = ["Page", "page_application"]

STATIC = {
    "/": "page.html",
    **{
        f"/{name}": name
        for name in (
            "page.css", "icon.svg", "page.js", "link.js", "forms.js", "bench.js", "space.js",
            "verdict.js", "work.js",
        )
    },
}  # fmt: skip
MOST_SHEETS = 40
LARGEST_MESSAGE = 2 * LARGEST_BYTES
MARK = "result.json"
ZIP_TIME = (1980, 1, 1, 0, 0, 0)  # the same bytes every time


class Page:
    """All sheets of one server. ``folder``: whose files it may read and write."""

    def __init__(self, folder: Path, out: Path, *, first: str | None = None) -> None:
        """``out``: where results go; ``first``: the pack file that is opened at the start."""
        self.folder, self.out, self.first = folder, out, first
        self.desks: dict[str, Desk] = {}
        self._context = process_context()
        self._quick: Child | None = None

    async def start(self) -> None:
        """Start the process that gives quick answers, and with it the planner."""
        self._quick = Child(self._context, quick_answers, (), told=self._answered)

    async def end(self) -> None:
        """End all processes."""
        for desk in self.desks.values():
            await desk.end()
        if self._quick is not None:
            await self._quick.stop()

    async def open(self, sheet: Sheet) -> str:
        """A desk for a sheet; its key. Raises FolderError where there are too many."""
        if len(self.desks) >= MOST_SHEETS:
            await self._close_idle()
        if len(self.desks) >= MOST_SHEETS:
            raise FolderError(
                f"no more than {MOST_SHEETS} packs can be open: save them and start the page again"
            )
        key = secrets.token_urlsafe(9)
        desk = Desk(key, sheet, context=self._context, ask_quick=self._asked_quick, out=self.out)
        self.desks[key] = desk
        await desk.renewed()
        return key

    async def _close_idle(self) -> None:
        """Close the oldest sheet that no tab has and whose file has all of it."""
        for key, desk in self.desks.items():
            if desk.is_idle:
                del self.desks[key]
                await desk.end()
                return

    async def _asked_quick(self, question: Question) -> None:
        if self._quick is not None:
            await self._quick.ask(question)

    def _answered(self, told: tuple[str, int, str, dict[str, Any]]) -> None:
        key, number, stage, what = told
        desk = self.desks.get(key)
        if desk is not None:
            desk.answered(number, stage, what)


def page_application(page: Page) -> Starlette:
    """The routes; ``Guard`` goes round it."""

    @contextlib.asynccontextmanager
    async def running(app: Starlette) -> AsyncIterator[None]:
        await page.start()
        yield
        await page.end()

    app = Starlette(
        routes=[
            *(Route(path, _static, methods=["GET"]) for path in STATIC),
            Route("/start", _start, methods=["GET"]),
            Route("/sheets", _open, methods=["POST"]),
            Route("/uploads", _upload, methods=["POST"]),
            Route("/sheets/{key}/text", _text, methods=["GET"]),
            WebSocketRoute("/sheets/{key}", _live),
            Route("/results/{name}", _result, methods=["GET"]),
            Route("/made/{name}.zip", _zip, methods=["GET"]),
            Route("/made/{name}/{file:path}", _made, methods=["GET"]),
        ],
        lifespan=running,
    )
    app.state.page = page
    return app


async def _static(request: Request) -> Response:
    name = STATIC[request.url.path]
    text = files("generators.page").joinpath("static", name).read_text(encoding="utf-8")
    return Response(text, media_type=mimetypes.guess_type(name)[0])


async def _start(request: Request) -> Response:
    """What a tab needs before a sheet: fields, files, examples."""
    page: Page = request.app.state.page
    return JSONResponse(
        {
            "version": VERSION,
            "folder": page.folder.name or str(page.folder),
            "files": await asyncio.to_thread(pack_files, page.folder),
            "examples": list(example_names()),
            "first": page.first,
            "sections": form_fields(),
        }
    )


async def _body(request: Request, most: int) -> bytes:
    """The body, up to ``most`` bytes. Raises FolderError for more, before all of it is read."""
    data = bytearray()
    async for piece in request.stream():
        data += piece
        if len(data) > most:
            raise FolderError(f"the file is larger than {most // 1_000_000} MB, the most")
    return bytes(data)


async def _open(request: Request) -> Response:
    """A new sheet: of a file in the folder, an example, a text, or an empty one."""
    page: Page = request.app.state.page
    try:
        asked = json.loads(await _body(request, LARGEST_MESSAGE))
        if "file" in asked:
            sheet = Sheet(page.folder, name=str(asked["file"]))
        elif "example" in asked and asked["example"] in example_names():
            sheet = Sheet(page.folder, text=example_text(asked["example"]))
        elif "text" in asked:
            text = str(asked["text"])
            if len(text.encode()) > LARGEST_BYTES:
                raise FolderError("the text is larger than a pack file may be (1 MB)")
            sheet = Sheet(page.folder, text=text)
        else:
            sheet = Sheet(page.folder, text=EMPTY)
        return JSONResponse({"key": await page.open(sheet)})
    except (FolderError, ValueError, TypeError) as error:
        return JSONResponse({"text": str(error)}, status_code=400)


async def _upload(request: Request) -> Response:
    """A drawing, mesh or solid into the folder; its name there."""
    page: Page = request.app.state.page
    try:
        data = await _body(request, LARGEST_UPLOAD_BYTES)
        wanted = request.query_params.get("name", "")
        return JSONResponse({"name": await asyncio.to_thread(stored, page.folder, wanted, data)})
    except (FolderError, OSError) as error:
        too_large = isinstance(error, FolderError) and "larger" in str(error)
        return JSONResponse({"text": str(error)}, status_code=413 if too_large else 400)


async def _text(request: Request) -> Response:
    """The sheet as a file to keep."""
    desk = request.app.state.page.desks.get(request.path_params["key"])
    if desk is None:
        return _none()
    name = desk.sheet.values.get("name")
    plain = isinstance(name, str) and name.isascii() and name.replace("-", "").isalnum()
    called = name if plain else "my-pack"  # a header takes no other letters
    return Response(
        desk.sheet.text.encode(),
        media_type="application/yaml",
        headers={"content-disposition": f'attachment; filename="{called}.yaml"'},
    )


async def _live(socket: WebSocket) -> None:
    """One tab at a sheet."""
    desk: Desk | None = socket.app.state.page.desks.get(socket.path_params["key"])
    await socket.accept()
    if desk is None:
        await socket.send_json({"got": "gone"})
        await socket.close()
        return
    tab = desk.opened()

    async def tells() -> None:
        while True:
            await socket.send_json(await tab.get())

    telling = asyncio.create_task(tells())
    try:
        while True:
            text = await socket.receive_text()
            what = json.loads(text) if len(text) <= LARGEST_MESSAGE else {}
            await desk.asked(what if isinstance(what, dict) else {})
    except (WebSocketDisconnect, json.JSONDecodeError):
        pass  # the tab is closed, or is none of ours
    finally:
        desk.closed(tab)
        telling.cancel()


def _none() -> Response:
    return PlainTextResponse("There is nothing of this name.\n", status_code=404)


def _folder_of(request: Request) -> Path | None:
    """A result's folder; None where there is none of that name."""
    page: Page = request.app.state.page
    try:
        folder = inside(page.out, request.path_params["name"])
    except FolderError:
        return None
    direct = folder.parent == page.out.resolve()
    return folder if direct and (folder / MARK).is_file() else None


async def _result(request: Request) -> Response:
    """All files of a result with their sizes."""
    folder = _folder_of(request)
    if folder is None:
        return _none()
    rows = [
        {"name": path.relative_to(folder).as_posix(), "bytes": path.stat().st_size}
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    ]
    return JSONResponse({"files": rows})


async def _made(request: Request) -> Response:
    """One file of a result."""
    folder = _folder_of(request)
    try:
        path = None if folder is None else inside(folder, request.path_params["file"])
    except FolderError:
        path = None
    if path is None or not path.is_file():
        return _none()
    return FileResponse(path)


async def _zip(request: Request) -> Response:
    """All files of a result as one."""
    folder = _folder_of(request)
    if folder is None:
        return _none()
    data = await asyncio.to_thread(_zipped, folder)
    name = f'attachment; filename="{folder.name}.zip"'
    return Response(data, media_type="application/zip", headers={"content-disposition": name})


def _zipped(folder: Path) -> bytes:
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(folder.rglob("*")):
            if path.is_file():
                name = f"{folder.name}/{path.relative_to(folder).as_posix()}"
                info = zipfile.ZipInfo(name, ZIP_TIME)
                info.compress_type = zipfile.ZIP_DEFLATED
                info.external_attr = 0o644 << 16
                archive.writestr(info, path.read_bytes())
    return whole.getvalue()
