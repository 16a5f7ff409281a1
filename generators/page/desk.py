"""A sheet in work: what its tabs ask, what the planning processes answer."""

from __future__ import annotations

import asyncio
import re
import time
from collections.abc import Awaitable, Callable, Mapping
from multiprocessing.context import BaseContext
from pathlib import Path
from typing import Any

from generators.packfile.faults import field_name
from generators.page.children import Child
from generators.page.editing import EditError
from generators.page.folder import FolderError, outside_faults
from generators.page.making import make_result, plan_one, search_rows
from generators.page.question import Question
from generators.page.sheet import Sheet

__all__ = ["Desk"]

Told = dict[str, Any]
# Answers that a newer text makes void: a tab that opens is told the rest, the newest of each
STAGES = ("space", "space_faults", "cells", "faces", "outside", "checks", "most", "faults", "at")
FIX = re.compile(r"use (.+) \(tried: it then holds\)")
FIX_KEY = re.compile(r"([a-z_0-9.]+): (\[[^]]*\]|\"[^\"]*\"|[^,\s]+)(?:, | and |$)")


class Desk:
    """One sheet, its tabs and its processes."""

    def __init__(
        self,
        key: str,
        sheet: Sheet,
        *,
        context: BaseContext,
        ask_quick: Callable[[Question], Awaitable[None]],
        out: Path,
    ) -> None:
        """``ask_quick``: of the process that all sheets share; ``out``: where results go."""
        self.key, self.sheet, self.out = key, sheet, out
        self._context, self._ask_quick = context, ask_quick
        self._tabs: set[asyncio.Queue[Told]] = set()
        self._answers: dict[str, Told] = {}
        self._whole: Child | None = None
        self._search: Child | None = None
        self._make: Child | None = None
        self._rows: list[Mapping[str, Any]] = []
        self._made_by: Told | None = None
        self._turn = asyncio.Lock()
        self._asking: asyncio.Task[None] | None = None

    # --- tabs

    def opened(self) -> asyncio.Queue[Told]:
        """A new tab: what it is told, beginning with all that is known."""
        tab: asyncio.Queue[Told] = asyncio.Queue()
        tab.put_nowait(self._sheet_row())
        for stage in STAGES:
            if stage in self._answers:
                tab.put_nowait(self._answers[stage])
        if self._made_by is not None:
            tab.put_nowait(self._made_by)
        self._tabs.add(tab)
        return tab

    def closed(self, tab: asyncio.Queue[Told]) -> None:
        """The tab is no more; the work stays."""
        self._tabs.discard(tab)

    def tell(self, got: str, **what: Any) -> Told:
        """Tell all tabs."""
        row = {"got": got, **what}
        for tab in self._tabs:
            tab.put_nowait(row)
        return row

    def _sheet_row(self) -> Told:
        sheet = self.sheet
        return {
            "got": "sheet", "number": sheet.number, "text": sheet.text, "values": sheet.values,
            "file": sheet.name, "saved": sheet.saved == sheet.text, "undo": sheet.can_undo,
            "redo": sheet.can_redo,
        }  # fmt: skip

    # --- what a tab asks

    async def asked(self, what: Mapping[str, Any]) -> None:
        """One message of a tab. What can't be done is told to all of them in a line."""
        act = _ACTS.get(str(what.get("do")))
        if act is None:
            self.tell("said", text="the page asked for something that is not known")
            return
        try:
            await act(self, what)
        except (EditError, FolderError) as error:
            self.tell("said", text=str(error))
            self.tell(**self._sheet_row())
        except (LookupError, TypeError, ValueError) as error:
            self.tell("said", text=f"the page asked for something that can't be done: {error}")

    async def _set(self, what: Mapping[str, Any]) -> None:
        self.sheet.change([(tuple(path), value) for path, value in what["edits"]])
        await self.renewed()

    async def _write(self, what: Mapping[str, Any]) -> None:
        self.sheet.write(str(what["text"]))
        await self.renewed()

    async def _undo(self, what: Mapping[str, Any]) -> None:
        self.sheet.undo()
        await self.renewed()

    async def _redo(self, what: Mapping[str, Any]) -> None:
        self.sheet.redo()
        await self.renewed()

    async def _save(self, what: Mapping[str, Any]) -> None:
        name = self.sheet.save()
        self.tell(**self._sheet_row())
        self.tell("said", text=f"saved as {name}")

    async def _move(self, what: Mapping[str, Any]) -> None:
        outside = self._answers.get("outside")
        if outside is None or outside.get("fixed"):
            return
        space = what["space"]
        if not isinstance(space, dict) or "file" in space or _names_files(space):
            return
        moving = {"space": space, "pieces": outside["pieces"], "side": outside["side"]}
        await self._ask_quick(
            Question(
                sheet=self.key, number=int(what["number"]), path=self.sheet.path, moving=moving
            )
        )

    async def _suggest(self, what: Mapping[str, Any]) -> None:
        await self._stop_search(what)
        if self._refuse_outside():
            return
        wishes = {key: _number(what.get(key)) for key in ("volts", "wh", "amps")}
        question = self._question()
        self._search = Child(
            self._context,
            search_rows,
            (question, wishes),
            told=self._searched,
            ended=self._search_ended,
        )
        self.tell("search", state="runs", stage="starting", share=0.0)

    def _search_ended(self) -> None:
        self.tell("search", state="ended")

    def _searched(self, told: tuple[str, Any]) -> None:
        stage, what = told
        if stage == "at":
            self.tell("search", state="runs", stage=what[0], share=what[1])
        elif stage in ("rows", "early"):
            self._rows = what["rows"]
            rows = [{k: v for k, v in row.items() if k != "edits"} for row in self._rows]
            state = "found" if stage == "rows" else "early"
            self.tell("search", state=state, **{**what, "rows": rows})
        else:
            self.tell("search", state="broke", text=what)

    async def _stop_search(self, what: Mapping[str, Any]) -> None:
        if self._search is not None:
            search, self._search = self._search, None
            await search.stop()
            self.tell("search", state="ended")

    async def _take(self, what: Mapping[str, Any]) -> None:
        row = self._rows[int(what["row"])]
        self.sheet.change(row["edits"])
        await self.renewed()

    async def _take_fix(self, what: Mapping[str, Any]) -> None:
        edits = fix_edits(str(what["remedy"]))
        if not edits:
            raise EditError("this remedy names no key: change the field yourself")
        self.sheet.change(edits)
        await self.renewed()

    async def _start_making(self, what: Mapping[str, Any]) -> None:
        if self._make is not None or self._refuse_outside():
            return
        self._made_by = None
        began, number = time.monotonic(), self.sheet.number

        def told(message: tuple[str, Any]) -> None:
            stage, what = message
            took = round(time.monotonic() - began, 1)
            if stage == "at":
                self.tell("make", state="runs", stage=what[0], share=what[1], took=took)
            elif stage == "made":
                self._made_by = self.tell("make", state="made", took=took, number=number, **what)
            elif stage == "faults":
                self._made_by = self.tell("make", state="broke", **what)
            else:
                self._made_by = self.tell("make", state="broke", text=what)

        def ended() -> None:
            self._make = None
            if self._made_by is None:
                self.tell("make", state="ended")

        self._make = Child(
            self._context,
            make_result,
            (self.sheet.text, self.sheet.path, str(self.out)),
            told=told,
            ended=ended,
        )
        self.tell("make", state="runs", stage="starting", share=0.0, took=0.0)

    async def _cancel(self, what: Mapping[str, Any]) -> None:
        if self._make is not None:
            making, self._make = self._make, None
            await making.stop(gently=True)
            self.tell("make", state="cancelled")

    # --- what the planner answers

    async def renewed(self) -> None:
        """The text is another one: tell the tabs, and ask the planner anew."""
        self.tell(**self._sheet_row())
        if self._refuse_outside():
            return
        self._asking = asyncio.create_task(self._ask(self._question()))

    async def _ask(self, question: Question) -> None:
        """Ask both; the planner of the text before is ended. Waits until they have started."""
        await self._ask_quick(question)
        async with self._turn:
            if self._whole is not None:
                await self._whole.stop()
            self._whole = None
            if question.number == self.sheet.number:
                self._whole = Child(
                    self._context,
                    plan_one,
                    (question,),
                    told=lambda told: self.answered(question.number, *told),
                )

    def answered(self, number: int, stage: str, what: Mapping[str, Any]) -> None:
        """A stage of the planner's answer; those of an older text are dropped."""
        if stage == "gap":
            self.tell("gap", number=number, **what)
            return
        if number != self.sheet.number or stage == "pause" or (stage == "cells" and not what):
            return
        row = self.tell(stage, number=number, **what)
        if stage in STAGES:
            self._answers[stage] = row
            if stage == "space":
                self._answers.pop("space_faults", None)
            if stage == "cells":
                self._answers.pop("faults", None)

    async def end(self) -> None:
        """End all processes of this sheet."""
        for child in (self._whole, self._search, self._make):
            if child is not None:
                await child.stop(gently=child is self._make)

    @property
    def is_idle(self) -> bool:
        """Whether nobody looks at the sheet, nothing is made of it and nothing can be lost."""
        return not self._tabs and self._make is None and self.sheet.saved == self.sheet.text

    def _question(self) -> Question:
        sheet = self.sheet
        return Question(sheet=self.key, number=sheet.number, text=sheet.text, path=sheet.path)

    def _refuse_outside(self) -> bool:
        """Whether the text names what the page does not read; told as faults then."""
        rows = [
            {
                "field": field_name(path),
                "line": 1,
                "why": why,
                "value": name,
                "remedy": "use the command line for it" if "script" in why else "name another file",
            }
            for path, name, why in outside_faults(self.sheet.folder, self.sheet.text)
        ]
        if rows:
            self._answers["faults"] = self.tell("faults", number=self.sheet.number, faults=rows)
        return bool(rows)


def fix_edits(remedy: str) -> list[tuple[tuple[str, ...], Any]]:
    """The keys and values of a fix that was tried, out of its words; none where it is no fix."""
    from generators.packfile.loader import load

    found = FIX.fullmatch(remedy.strip())
    if found is None:
        return []
    edits = []
    for key, value in FIX_KEY.findall(found[1]):
        values = load(f"value: {value}\n".encode()).values
        edits.append((tuple(key.split(".")), values["value"]))
    return edits


def _names_files(space: Mapping[str, Any]) -> bool:
    bodies = space.get("keep_out") or ()
    return any(isinstance(one, Mapping) and "file" in one for one in bodies)


def _number(value: Any) -> float | None:
    return float(value) if isinstance(value, int | float) and value > 0 else None


_ACTS: Mapping[str, Callable[[Desk, Mapping[str, Any]], Awaitable[None]]] = {
    "set": Desk._set,
    "write": Desk._write,
    "undo": Desk._undo,
    "redo": Desk._redo,
    "save": Desk._save,
    "move": Desk._move,
    "suggest": Desk._suggest,
    "stop": Desk._stop_search,
    "take": Desk._take,
    "fix": Desk._take_fix,
    "make": Desk._start_making,
    "cancel": Desk._cancel,
}
