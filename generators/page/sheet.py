"""A pack file under work: its text, what was before it, where it is saved."""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from generators.packfile.faults import Path as KeyPath
from generators.packfile.loader import load
from generators.page.editing import EditError, edited
from generators.page.folder import FolderError, free_name, inside, read_text

__all__ = ["EMPTY", "Edit", "Sheet"]

Edit = tuple[KeyPath, Any]
MOST_UNDONE = 200
TYPING_S = 1.5
EMPTY = """\
# A pack file: only name, cell, series and parallel are required. Every other key has a default
# with a reason.

name: my-pack

space:
  box_mm: [300, 220, 110]
"""


class Sheet:
    """The text with its history. ``number`` counts the texts, so that answers find theirs."""

    def __init__(self, folder: Path, *, name: str | None = None, text: str = EMPTY) -> None:
        """``name``: of a file in the folder, which is read; None: ``text``, not saved yet.

        Raises FolderError."""
        self.folder = folder
        self.file = None if name is None else inside(folder, name)
        self.text = text if self.file is None else read_text(self.file)
        self.saved = None if self.file is None else self.text
        self.number = 1
        self._before: list[str] = []
        self._after: list[str] = []
        self._last: tuple[KeyPath, float] | None = None

    @property
    def name(self) -> str:
        """The file's name as messages call it."""
        return "new pack" if self.file is None else self.file.name

    @property
    def path(self) -> str:
        """The path that relative names in the text count from."""
        return str(self.file or self.folder / "new-pack.yaml")

    @property
    def can_undo(self) -> bool:
        """Whether a change can be taken back."""
        return bool(self._before)

    @property
    def can_redo(self) -> bool:
        """Whether a change that was taken back can be made again."""
        return bool(self._after)

    @property
    def values(self) -> dict[str, Any]:
        """The plain values that can be read."""
        return dict(load(self.text.encode()).values)

    def change(self, edits: Sequence[Edit]) -> None:
        """Several keys as one step; a key that is typed on belongs to the step before.

        Raises EditError, and nothing is changed then."""
        text = self.text
        for path, value in edits:
            if not path:
                raise EditError("no key is named")
            text = edited(text, tuple(path), value)
        now_s, last = time.monotonic(), self._last
        one = tuple(edits[0][0]) if len(edits) == 1 else None
        if one is not None and last is not None and last[0] == one and now_s - last[1] < TYPING_S:
            if text != self.text:
                self._after = []
                self._take(text)
        else:
            self.write(text)
        self._last = None if one is None else (one, now_s)

    def write(self, text: str) -> None:
        """Another text as one step."""
        if text == self.text:
            return
        self._before = [*self._before[-MOST_UNDONE:], self.text]
        self._after = []
        self._take(text)

    def undo(self) -> None:
        """The text before the last step; nothing where there is none."""
        self._last = None
        if self._before:
            self._after.append(self.text)
            self._take(self._before.pop())

    def redo(self) -> None:
        """The step that was taken back last, again."""
        if self._after:
            self._before.append(self.text)
            self._take(self._after.pop())

    def save(self) -> str:
        """Write the text to its file, whole or not at all; a new one gets a name by the pack's.

        Raises FolderError, also where someone else has changed the file meanwhile."""
        if self.file is None:
            called = self.values.get("name")
            self.file = free_name(
                self.folder, f"{called if isinstance(called, str) else 'my-pack'}.yaml"
            )
        elif self.file.exists() and read_text(self.file) != self.saved:
            raise FolderError(
                f"{self.file.name} was changed by another program since it was opened: save under "
                "another name, or open it again"
            )
        _written(self.file, self.text)
        self.saved = self.text
        return self.file.name

    def _take(self, text: str) -> None:
        self.text = text
        self.number += 1


def _written(file: Path, text: str) -> None:
    beside: str | None = None
    try:
        handle, beside = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
        with open(handle, "wb") as stream:
            stream.write(text.encode())
        mode = os.stat(file).st_mode & 0o777 if file.exists() else 0o644
        os.chmod(beside, mode)
        os.replace(beside, file)
    except OSError as error:
        if beside is not None:
            Path(beside).unlink(missing_ok=True)
        raise FolderError(f"can't be written: {error.strerror} ({file.name})") from error
