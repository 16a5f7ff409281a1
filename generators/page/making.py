"""The work of the children that take long: looking for packs that fit, and making one."""

from __future__ import annotations

import json
import warnings
from collections.abc import Mapping, Sequence
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from generators.page.children import leads_group
from generators.page.question import Question

__all__ = ["make_result", "plan_one", "quick_answers", "search_rows"]

MOST_ROWS = 12
NOT_NAMED = "my-pack"
OUTSIDES = "planning the least"  # the sweep's stage that plans the first packs' outsides


def quick_answers(wire: Connection) -> None:
    """``serve_quick`` in a group of its own."""
    from generators.page.planning import serve_quick

    leads_group()
    serve_quick(wire)


def plan_one(wire: Connection, question: Question) -> None:
    """``plan_whole`` in a group of its own."""
    from generators.page.planning import plan_whole

    leads_group()
    plan_whole(wire, question)


def search_rows(wire: Connection, question: Question, asked: Mapping[str, float | None]) -> None:
    """What ``cellstead suggest`` would list for the space: ("at", (stage, share)), ("early", ...)
    with rows that are not checked yet, then ("rows", ...) or ("broke", text). Each row has the
    edits that make the sheet that pack."""
    leads_group()
    from generators.packfile.faults import PackFileError
    from generators.suggesting.given import GivenError
    from layouts.errors import PlanError

    try:
        wire.send(("rows", _searched(wire, question, asked)))
    except PackFileError as error:
        wire.send(("broke", "; ".join(f"{f.field} {f.why}" for f in error.faults[:3])))
    except (GivenError, PlanError) as error:
        wire.send(("broke", str(error)))
    finally:
        wire.close()


def _searched(
    wire: Connection, question: Question, wishes: Mapping[str, float | None]
) -> dict[str, Any]:
    from generators.packfile.loader import load
    from generators.packfile.resolve import parse_pack
    from generators.page.drawn import space_of
    from generators.suggesting.given import GivenError, Where, make_given
    from generators.suggesting.running import over_processes
    from layouts.suggesting.ranking import ranked, without_twins
    from layouts.suggesting.setting import Asked, Axis
    from layouts.suggesting.sweep import sweep

    values = load(question.text.encode()).values
    numbers = {"name": NOT_NAMED, "series": 1, "parallel": 1}
    lacking = {key: one for key, one in numbers.items() if key not in values}
    if not isinstance(values.get("cell"), Mapping):  # the built-in cells are looked at
        read, space = None, space_of(values, question.path)
    else:
        text = json.dumps({**values, **lacking})
        read = parse_pack(text.encode(), question.path)
        space = read.pack.space
    if space is None:
        raise GivenError("draw the space first")
    if wishes.get("volts") is None and "series" in lacking:
        raise GivenError("give the volts first")
    where = Where(name="space", space=space, file=None, pack=read)
    asked = Asked(
        volts_v=wishes.get("volts"), energy_wh=wishes.get("wh"), current_a=wishes.get("amps")
    )
    given = make_given(where, asked, cells=None, axes=(Axis.Z,))

    def rows_of(ranks: Sequence[Any]) -> list[dict[str, Any]]:
        return [_row(one, given, values, wishes) for one in ranks[:MOST_ROWS]]

    def told_early(work: Any, setting: Any, jobs: Any, stage: str) -> Any:
        """The runner's answers; rows whose outside is planned are told before they are checked."""
        answers = run(work, setting, jobs, stage)
        if stage == OUTSIDES:
            fitting = [row for rows in answers for row in rows if row.fits]
            kept = without_twins(ranked(fitting, setting.asked))
            wire.send(("early", {"rows": rows_of(ranked(kept, setting.asked))}))
        return answers

    with over_processes(given.setting, 1, lambda stage, x: wire.send(("at", (stage, x)))) as run:
        found = sweep(given.setting, told_early)
    rows = rows_of(found.rows)
    near = None
    if found.nearest is not None:
        of, fit = found.nearest.candidate, found.nearest.fit
        near = {"pack": _name_of(found.nearest, given), "cells": of.cells, "gap": fit.gap_mm}
    return {
        "rows": rows, "looked": found.looked_at, "planned": found.planned, "nearest": near,
        "advice": found.advice, "assumed": given.offers.assumed,
    }  # fmt: skip


def _name_of(row: Any, given: Any) -> str:
    of = row.candidate
    cell = given.setting.offers[of.offer].name
    return f"{cell}, {of.series}S{of.parallel}P, {of.lattice.value}"


def _row(
    one: Any, given: Any, values: Mapping[str, Any], wishes: Mapping[str, float | None]
) -> dict[str, Any]:
    from layouts.pack import EnclosureStyle

    row = one.row
    of = row.candidate
    offer, base = given.setting.offers[of.offer], given.setting.base
    edits: list[tuple[tuple[str, ...], Any]] = []
    if "name" not in values:
        edits.append((("name",), NOT_NAMED))
    if not isinstance(values.get("cell"), Mapping):
        edits.append((("cell",), dict(offer.given)))
    edits += [
        (("series",), of.series),
        (("parallel",), of.parallel),
        (("lattice",), of.lattice.value),
        (("leads", "side"), row.fit.way.side.value),
        (("leads", "wire_mm2"), base.leads.wire_mm2),
        (("enclosure", "style"), None if of.form is EnclosureStyle.TUB else of.form.value),
    ]
    if wishes.get("amps") is not None:
        edits.append((("load", "continuous_a"), wishes["amps"]))
    if isinstance(values.get("bms"), Mapping) and "series" in values["bms"]:
        edits.append((("bms", "series"), of.series))
    return {
        "name": _name_of(row, given),
        "form": of.form.value,
        "series": of.series,
        "parallel": of.parallel,
        "wh": round(row.energy_wh),
        "volts": round(row.nominal_v, 1),
        "amps": round(row.current_a, 1),
        "kg": round(row.mass_kg, 1),
        "gap": None if row.by_estimate else round(row.fit.gap_mm, 1),
        "failed": list(row.failed or ()),
        "reasons": list(one.reasons),
        "edits": edits,
    }


def make_result(wire: Connection, text: str, path: str, out: str) -> None:
    """``cellstead make``: ("at", (stage, share)), then ("made", ...), ("faults", ...) or
    ("broke", text). SIGTERM ends it with its folder cleaned up."""
    leads_group()
    from generators.packfile.faults import PackFileError
    from generators.signals import ending_signals

    try:
        with ending_signals():
            wire.send(("made", _made(wire, text, path, Path(out))))
    except KeyboardInterrupt:
        return
    except PackFileError as error:
        from generators.page.planning import faults_row

        wire.send(("faults", faults_row(error.faults)))
    except Exception as error:
        from generators.faultlog import write_log

        wire.send(("broke", f"{error}; log: {write_log(error, None) or 'none'}"))
    finally:
        wire.close()


def _made(wire: Connection, text: str, path: str, out: Path) -> dict[str, Any]:
    from generators.atomic_folder import recover
    from generators.makers import started_makers
    from generators.outfolder import prepare
    from generators.page.drawn import check_rows
    from generators.page.planning import read_sound
    from generators.result import MARK
    from generators.run import make_pack
    from layouts.errors import PlanError

    with started_makers() as makers:
        read = read_sound(Question(sheet="", number=0, text=text, path=path))
        prepare(out, read.pack.name, holds=MARK)
        recover(out, read.pack.name, holds=MARK)
        try:
            with warnings.catch_warnings(record=True) as warned:
                done = make_pack(
                    read.pack,
                    source_text=read.source_text,
                    cautions=read.cautions,
                    out_dir=out,
                    report_progress=lambda stage, share: wire.send(("at", (stage, share))),
                    changed=read.changed,
                    makers=makers,
                )
        except PlanError as error:
            raise read.refused(error) from error
    return {
        "folder": done.folder.name,
        "failed": check_rows(done.failed),
        "printing": done.printing,
        "notes": [*done.notes, *(str(one.message) for one in warned)],
        "cautions": [one.told() for one in read.cautions],
    }
