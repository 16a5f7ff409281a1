"""What the page's server gives and refuses, asked without a browser and without a planner."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

starlette = pytest.importorskip("starlette.testclient", reason="extra `test` brings starlette")
from starlette.testclient import TestClient  # noqa: E402
from starlette.websockets import WebSocketDisconnect  # noqa: E402

from generators.packfile.examples import FIRST, example_text  # noqa: E402
from generators.packfile.messages import all_keys  # noqa: E402
from generators.page import app as served  # noqa: E402
from generators.page.fields import form_fields  # noqa: E402
from generators.page.folder import outside_faults  # noqa: E402
from generators.page.guard import Guard  # noqa: E402

HOST = "127.0.0.1:8230"
OURS = {"origin": f"http://{HOST}"}
SOCKETS = f"ws://{HOST}/sheets"
ORIGINS = ["http://evil.example", "null", f"https://{HOST}", "http://127.0.0.1:1"]


class IdlePage(served.Page):
    """A page whose planner is never started: nothing is planned."""

    async def start(self) -> None:
        """No process."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a pack file and a result; beside it something private."""
    inner = tmp_path / "packs"
    result = inner / "out" / "sample"
    result.mkdir(parents=True)
    (inner / "sample.yaml").write_text(example_text(FIRST), encoding="utf-8")
    (result / "result.json").write_text("{}", encoding="utf-8")
    (result / "report.html").write_text("<script>alert(1)</script>", encoding="utf-8")
    (tmp_path / "private.yaml").write_text("cell: 1\nname: private\n", encoding="utf-8")
    return inner


@pytest.fixture
def client(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    """The whole server but for its processes."""
    from generators.page.desk import Desk

    async def asks_nobody(self: Desk, question: object) -> None:
        """No planner."""

    monkeypatch.setattr(Desk, "_ask", asks_nobody)
    app = served.page_application(IdlePage(folder, folder / "out"))
    guarded = Guard(app, hosts=frozenset({HOST}))
    with TestClient(guarded, base_url=f"http://{HOST}") as opened:
        yield opened


def sheet_key(client: Any, what: dict[str, str]) -> str:
    """The key of a sheet that was opened."""
    answer = client.post("/sheets", content=json.dumps(what), headers=OURS)
    assert answer.status_code == 200, answer.text
    key: str = answer.json()["key"]
    return key


def test_the_page_has_a_strict_policy(client: Any) -> None:
    """No script or style but its own files; nothing is left to the browser's guess."""
    for path in served.STATIC:
        answer = client.get(path)
        assert answer.status_code == 200
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert "http://" not in answer.text.replace("http://www.w3.org/", "")
        assert " style=" not in answer.text and "onclick=" not in answer.text


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8230", "127.0.0.1:99", ""])
def test_a_foreign_host_is_refused(client: Any, host: str) -> None:
    """Also where a name of somebody else's leads to this machine."""
    assert client.get("/start", headers={"host": host}).status_code == 403


@pytest.mark.parametrize("origin", ORIGINS)
def test_a_foreign_origin_is_refused(client: Any, origin: str) -> None:
    """For reading, for changing and for the WebSocket."""
    headers = {"origin": origin}
    assert client.get("/start", headers=headers).status_code == 403
    assert client.post("/sheets", content="{}", headers=headers).status_code == 403
    key = sheet_key(client, {})
    with (
        pytest.raises(WebSocketDisconnect),
        client.websocket_connect(f"{SOCKETS}/{key}", headers=headers),
    ):
        pass


def test_changes_and_sockets_without_an_origin_are_refused(client: Any) -> None:
    """Browsers always tell it; reading goes without."""
    assert client.get("/start").status_code == 200
    assert client.post("/sheets", content="{}").status_code == 403
    with (
        pytest.raises(WebSocketDisconnect),
        client.websocket_connect(f"{SOCKETS}/{sheet_key(client, {})}"),
    ):
        pass


def test_files_outside_the_folder_are_refused(client: Any, folder: Path) -> None:
    """Opened, named by a pack file, or asked for as part of a result."""
    private = str(folder.parent / "private.yaml")
    for name in ("../private.yaml", private, "out/../../private.yaml", "", "\0"):
        answer = client.post("/sheets", content=json.dumps({"file": name}), headers=OURS)
        assert answer.status_code == 400, name
        assert "private\n" not in answer.text
    for path in (
        "/made/sample/..%2f..%2f..%2fprivate.yaml", "/made/..%2f/sample.yaml", "/made/sample/no",
        "/made/sample%2f..%2f../x", "/results/%2e%2e", "/made/packs.zip",
    ):  # fmt: skip
        assert client.get(path).status_code == 404, path
    (folder / "link.yaml").symlink_to(private)
    answer = client.post("/sheets", content='{"file": "link.yaml"}', headers=OURS)
    assert answer.status_code == 400


def test_pack_files_may_not_name_what_lies_outside(folder: Path) -> None:
    """Nor a script; files that they name are looked into too."""
    (folder / "bay.yaml").write_text("file: ../../etc/bay.stl\n", encoding="utf-8")
    (folder / "below").mkdir()
    (folder / "below" / "bay.yaml").write_text("file: bay.stl\n", encoding="utf-8")
    for text, key in (
        ("space: {file: /etc/hostname}", "file"),
        ("space: ../private.yaml", "space"),
        ("space: bay.yaml", "space"),
        ("printer: {profile: ../private.yaml}", "profile"),
        ("measured_cells: ../x.csv", "measured_cells"),
        ("load: {profile: ../x.csv}", "profile"),
        ("space: {keep_out: [{name: a, file: ../x.stl}]}", "file"),
        ("mount: {kind: script, script: own.py}", "script"),
    ):
        faults = outside_faults(folder, text)
        assert [path[-1] for path, _, _ in faults] == [key], text
    assert outside_faults(folder, "space: below/bay.yaml\nname: ../x\n") == []


def test_uploads_have_a_limit_and_plain_names(client: Any, folder: Path) -> None:
    """Too much is refused, what is no drawing too; a file that is there is never replaced."""
    most = b"0" * (served.LARGEST_UPLOAD_BYTES + 1)
    assert client.post("/uploads?name=a.stl", content=most, headers=OURS).status_code == 413
    for name in ("a.html", "a.py", "a", "..", "a.stl.exe"):
        answer = client.post(f"/uploads?name={name}", content=b"x", headers=OURS)
        assert answer.status_code == 400, name
    for data, name in ((b"one", "bay.dxf"), (b"two", "bay-2.dxf"), (b"one", "bay.dxf")):
        answer = client.post("/uploads?name=../../b%20/bay.DXF", content=data, headers=OURS)
        assert answer.json() == {"name": name}
    assert (folder / "bay.dxf").read_bytes() == b"one"
    big = json.dumps({"text": "#" * 1_000_001})
    assert client.post("/sheets", content=big, headers=OURS).status_code == 400


def test_results_act_in_an_origin_of_their_own(client: Any) -> None:
    """A sandbox: what stands in a made file can't ask the page for anything."""
    answer = client.get("/made/sample/report.html")
    assert answer.status_code == 200
    policy = answer.headers["content-security-policy"]
    assert policy.startswith("sandbox ") and "allow-same-origin" not in policy
    assert "connect-src" not in policy and "default-src 'none'" in policy
    names = [row["name"] for row in client.get("/results/sample").json()["files"]]
    assert names == ["report.html", "result.json"]
    data = client.get("/made/sample.zip")
    with zipfile.ZipFile(io.BytesIO(data.content)) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == ["sample/report.html", "sample/result.json"]
        assert archive.read("sample/result.json") == b"{}"
    assert client.get("/made/sample.zip").content == data.content


def test_a_sheet_is_given_as_a_file_whatever_its_name(client: Any) -> None:
    """Its own name where a header can carry it."""
    for name, file in (("cart-light", "cart-light"), ("пак", "my-pack"), ('"; x="', "my-pack")):
        text = f"name: {json.dumps(name)}\n"
        answer = client.get(f"/sheets/{sheet_key(client, {'text': text})}/text")
        assert answer.status_code == 200 and answer.content == text.encode()
        assert answer.headers["content-disposition"] == f'attachment; filename="{file}.yaml"'


def test_two_sheets_and_two_tabs(client: Any) -> None:
    """Tabs of one sheet see each other's changes; another sheet is left alone; a tab that opens
    later is told where the work stands."""
    one, other = sheet_key(client, {"file": "sample.yaml"}), sheet_key(client, {})
    with (
        client.websocket_connect(f"{SOCKETS}/{one}", headers=OURS) as first,
        client.websocket_connect(f"{SOCKETS}/{one}", headers=OURS) as second,
        client.websocket_connect(f"{SOCKETS}/{other}", headers=OURS) as third,
    ):
        assert {tab.receive_json()["got"] for tab in (first, second, third)} == {"sheet"}
        first.send_json({"do": "set", "edits": [[["parallel"], 6]]})
        for tab in (first, second):
            told = tab.receive_json()
            assert told["values"]["parallel"] == 6 and not told["saved"]
        third.send_json({"do": "set", "edits": [[["series"], "many"]]})
        told = third.receive_json()
        assert told["values"]["series"] == "many" and told["values"]["space"]
        for wrong in ({"do": "nonsense"}, {"do": "take", "row": 99}):
            third.send_json(wrong)
            assert third.receive_json()["got"] == "said"
    with client.websocket_connect(f"{SOCKETS}/{one}", headers=OURS) as again:
        assert again.receive_json()["values"]["parallel"] == 6


def test_saved_sheets_make_room_for_others(client: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Those that no tab has; what is not saved is kept, and then no more are opened."""
    monkeypatch.setattr(served, "MOST_SHEETS", 2)
    unsaved, saved = sheet_key(client, {}), sheet_key(client, {"file": "sample.yaml"})
    other = sheet_key(client, {})
    assert set(client.app._app.state.page.desks) == {unsaved, other}
    assert saved != other
    answer = client.post("/sheets", content="{}", headers=OURS)
    assert answer.status_code == 400 and "no more than 2" in answer.json()["text"]


def test_every_key_of_the_file_has_its_field() -> None:
    """With its help, but for those of the space, which is drawn, and lists of sections."""
    fields = {".".join(one["path"]): one for row in form_fields() for one in row["fields"]}
    keys = {
        ".".join((*place, key))
        for place, names in all_keys().items()
        for key in names
        if "space" not in (*place, key)
    }
    lists = tuple(f"{name}." for name, one in fields.items() if one["kind"] == "values")
    lacking = [key for key in keys - set(fields) if not key.startswith(lists)]
    assert [key for key in lacking if not any(one.startswith(f"{key}.") for one in fields)] == []
    assert "grouping.pins." in lists
    assert len(fields) > 100
    assert all(len(one["help"]) > 10 for one in fields.values())
