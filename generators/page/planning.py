"""The planning processes' part: answers in stages, each told as soon as it is known.

``serve_quick`` stays and gives cells, space and gaps, all of them short. ``plan_whole`` is one
process for one question, which is ended when a newer one comes: a plan can't be broken off
otherwise."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable
from multiprocessing.connection import Connection
from typing import Any

from generators.drawings.plan import face_plan
from generators.faultlog import write_log
from generators.fixes.fixing import with_fixes
from generators.fixes.judging import Changed, in_space
from generators.form_choice import fitted_where_tub_fails, plan_with_form, with_fitted
from generators.packfile.faults import Fault, PackFileError
from generators.packfile.loader import load
from generators.packfile.resolve import ReadPack, parse_pack
from generators.page.drawn import (
    cells_drawn,
    checks_drawn,
    gap_drawn,
    most_row,
    outside_drawn,
    space_drawn,
    space_of,
)
from generators.page.question import Question
from layouts.errors import PlanError
from layouts.formats import cell_formats
from layouts.pack import Face, Pack
from layouts.placing.values import Effort
from layouts.planning.early import early_refusals
from layouts.planning.in_space import is_placed
from layouts.planning.layout_search import is_searched
from layouts.planning.pack_plan import PackPlan, completed, plan_checks
from layouts.planning.parts_list import enclosure_set_parts
from layouts.planning.steps import (
    OutsidePlan,
    bracketed,
    enclosed,
    fastened,
    interconnected,
    laid_out,
    outside_plan,
)
from layouts.spaces.space import Space
from layouts.suggesting.masses import planned_mass_g

__all__ = ["faults_row", "plan_whole", "read_sound", "serve_quick"]

KEPT_SPACES = 8
FACES = {"upper": Face.UPPER, "lower": Face.LOWER}


def serve_quick(wire: Connection) -> None:
    """Answer question after question as (sheet, number, stage, what); of a sheet the newest."""
    waiting: OrderedDict[tuple[str, bool], Question] = OrderedDict()
    spaces: dict[str, dict[str, Any]] = {}
    while True:
        try:
            while not waiting or wire.poll():
                asked = wire.recv()
                if asked is None:
                    return
                waiting[asked.sheet, asked.moving is None] = asked
            _, question = waiting.popitem(last=False)
            for stage, what in _quick(question, spaces):
                wire.send((question.sheet, question.number, stage, what))
                if wire.poll():
                    break
        except (EOFError, BrokenPipeError):
            return


def _quick(
    question: Question, spaces: dict[str, dict[str, Any]]
) -> Iterable[tuple[str, dict[str, Any]]]:
    """The stages of one question: ``gap``; or ``space``, ``cells`` or ``faults``, ``most``."""
    try:
        if question.moving is not None:
            yield "gap", _moved(question)
            return
        values = load(question.text.encode()).values
        space = None
        try:
            space = space_of(values, question.path)
            yield "space", {} if space is None else space_drawn(space)
        except PackFileError as error:
            yield "space_faults", faults_row(error.faults)
        try:
            yield "cells", _cells(question)
        except PackFileError as error:
            yield "faults", faults_row(error.faults)
        if space is not None:
            yield from _most(space, repr(values.get("space")), spaces)
    except (PackFileError, PlanError) as error:
        yield "said", {"text": str(error)}
    except Exception as error:
        yield "trouble", _trouble(error)


def _moved(question: Question) -> dict[str, Any]:
    moving = question.moving
    assert moving is not None
    try:
        space = space_of({"space": moving["space"]}, question.path)
    except PackFileError as error:
        return {"stands": None, "why": error.faults[0].why}
    if space is None:
        return {"stands": None}
    return gap_drawn(space, moving["pieces"], moving["side"])


def _cells(question: Question) -> dict[str, Any]:
    read = read_sound(question)
    if is_placed(read.pack) or is_searched(read.pack):
        return {}  # the space decides where they stand, which takes its time
    try:
        plan = laid_out(read.pack, effort=Effort.QUICK)
    except PlanError as error:
        raise read.refused(error) from error
    return cells_drawn(plan.pack, plan.cell_layout)


def _most(
    space: Space, key: str, spaces: dict[str, dict[str, Any]]
) -> Iterable[tuple[str, dict[str, Any]]]:
    """How many cells go in at most, by size; asked once for each space."""
    if key not in spaces:
        rows = []
        for size in cell_formats():
            rows.append(most_row(space, size))
            yield "pause", {}
        while len(spaces) >= KEPT_SPACES:
            spaces.pop(next(iter(spaces)))
        spaces[key] = {"rows": rows}
    yield "most", spaces[key]


def read_sound(question: Question) -> ReadPack:
    """The pack of a question. Raises PackFileError with all that keeps it from being planned."""
    read = parse_pack(question.text.encode(), question.path)
    errors = early_refusals(read.pack)
    if errors:
        raise read.refused(*errors)
    return read


def faults_row(faults: Iterable[Fault]) -> dict[str, Any]:
    """Faults as the page shows them."""
    return {
        "faults": [
            {
                "field": one.field,
                "line": one.line,
                "why": one.why,
                "value": one.value,
                "remedy": one.remedy,
            }
            for one in faults
        ]
    }


def plan_whole(wire: Connection, question: Question) -> None:
    """All stages of one question, as (stage, what); then the process ends."""
    try:
        for stage, what in _whole(question):
            wire.send((stage, what))
    except BrokenPipeError:
        return
    except PackFileError as error:
        wire.send(("faults", faults_row(error.faults)))
    except Exception as error:
        wire.send(("trouble", _trouble(error)))
    finally:
        wire.close()


def _trouble(error: Exception) -> dict[str, Any]:
    log = write_log(error, None)
    what = " ".join(f"{type(error).__name__}: {error}".split())[:200]
    return {"text": f"an internal fault: {what}; log: {log or 'none'}"}


def _whole(question: Question) -> Iterable[tuple[str, dict[str, Any]]]:
    read = read_sound(question)
    changed: Changed | None = read.changed
    cautions = [one.told() for one in read.cautions]
    plan: PackPlan | None = None
    try:
        for stage, what, found in _planned(read.pack):
            plan = found
            yield stage, what
    except PlanError as error:
        yield "at", {"text": "looking for another form"}
        try:
            plan, changed = plan_with_form(read.pack, changed, effort=Effort.QUICK)
        except PlanError:
            raise read.refused(error) from error
        yield from _told_plan(plan)
    assert plan is not None and changed is not None
    yield "at", {"text": "checking"}
    mass_kg = _mass_kg(plan)
    checks = plan_checks(plan, mass_kg=mass_kg)
    if plan.pack.space is not None:
        yield "at", {"text": "looking whether it goes into the space"}
        other = fitted_where_tub_fails(plan, changed)
        if other is not None:
            plan, changed = other, with_fitted(changed)
            yield from _told_plan(plan)
            mass_kg = _mass_kg(plan)
            checks = plan_checks(plan, mass_kg=mass_kg)
        checks = (*checks, *in_space(plan))
    said = {"notes": list(plan.notes), "cautions": [*plan.cautions, *cautions]}
    open_ = any(not check.holds for check in checks)
    yield "checks", {**checks_drawn(checks), **said, "looking": open_}
    if open_:
        yield "at", {"text": "trying fixes"}
        checks = with_fixes(checks, plan, mass_kg=mass_kg, changed=changed)
        yield "checks", {**checks_drawn(checks), **said, "looking": False}
    yield "at", {"text": ""}


def _planned(pack: Pack) -> Iterable[tuple[str, dict[str, Any], PackPlan | None]]:
    """Stages of the plan as the file has it; with the last one the plan."""
    if is_searched(pack):
        yield "at", {"text": "looking for places in the space"}, None
        outside = outside_plan(pack, effort=Effort.QUICK)
        yield "cells", cells_drawn(outside.pack, outside.cell_layout), None
        yield "faces", _faces(outside), None
    else:
        if is_placed(pack):
            yield "at", {"text": "placing cells"}, None
        cells = laid_out(pack, effort=Effort.QUICK)
        if is_placed(pack):
            yield "cells", cells_drawn(cells.pack, cells.cell_layout), None
        yield "at", {"text": "laying plates and strips"}, None
        block = fastened(interconnected(cells))
        yield "faces", _faces(block), None
        yield "at", {"text": "drawing enclosure and brackets"}, None
        outside = bracketed(enclosed(block))
    yield "outside", outside_drawn(outside), None
    yield "at", {"text": "calculating currents, heat and distances"}, None
    plan = completed(outside)
    yield "at", {"text": "checking"}, plan


def _told_plan(plan: OutsidePlan) -> Iterable[tuple[str, dict[str, Any]]]:
    yield "cells", cells_drawn(plan.pack, plan.cell_layout)
    yield "faces", _faces(plan)
    yield "outside", outside_drawn(plan)


def _mass_kg(plan: OutsidePlan) -> float:
    """Of the pack, before its holders are drawn."""
    parts = () if plan.enclosure_set is None else enclosure_set_parts(plan)
    grams = planned_mass_g(
        plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block, tuple(parts)
    )
    return grams / 1000.0


def _faces(plan: Any) -> dict[str, Any]:
    """The plan of each face, as the report draws it."""
    return {
        name: face_plan(
            plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block.outline, face
        )
        for name, face in FACES.items()
    }
