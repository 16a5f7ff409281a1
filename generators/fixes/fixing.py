"""Failing checks with fixes that were tried: keys and values with which they hold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from generators.fixes.electrical import ELECTRICAL
from generators.fixes.geometry import GEOMETRY
from generators.fixes.judging import Changed, Judge, Judged, SpentError
from generators.fixes.steps import Changes, changes_words
from layouts.checks import Check
from layouts.planning.pack_plan import PackPlan

__all__ = ["with_fixes"]

CANDIDATES = {**ELECTRICAL, **GEOMETRY}
DEEPEST = 4  # changes that one fix may be made of, each for what the one before makes fail
# checks whose own remedy is told too where no fix is found: it is measured, or no key of the file's
OWN_TOLD = frozenset({"space", "insert_pull", "wall_bending"})
TOLD_MOST = 3  # changes that are named where none of them does

# Why no key of the file is a fix
IN_ITS_ENTRY = (
    "no value of a key was tried: how the machine's plate may change is not known; its entry under "
    "plates_to_cut has its size and the places of holes and slots"
)
NO_KEY: Mapping[str, str] = {
    "cut_plate_edge": IN_ITS_ENTRY,
    "cut_plate_slot": IN_ITS_ENTRY,
    "cut_plate_holes": IN_ITS_ENTRY,
    "strip_one_piece": "no key moves a single strip: another series, parallel or lattice gives "
    "other strips",
    "strip_potentials": "no key moves a single strip: another series, parallel or lattice gives "
    "other strips",
    "wrong_join": "no key moves a single strip: another series, parallel or lattice gives other "
    "strips",
    "frame_holes": "no key moves the frame: measure its holes again and correct mount.frame",
    "screw_access": "move what stands over that foot, or leave its face out of mount.hold.faces",
    "links_present": "no key moves a single strip: another series, parallel or lattice gives "
    "other strips",
}


def with_fixes(
    checks: Sequence[Check], plan: PackPlan, *, mass_kg: float, changed: Changed
) -> tuple[Check, ...]:
    """The checks, each failing one with a tried fix as its remedy, or with the reason for none.

    ``changed``: the pack of the file with changed keys."""
    if all(check.holds for check in checks):
        return tuple(checks)
    judge = Judge(plan, mass_kg=mass_kg, changed=changed)
    failing = [check for check in checks if not check.holds]
    known = {check.id for check in failing}
    found: dict[str, str] = {}
    for number, check in enumerate(failing):
        judge.share(len(failing) - number)
        found[check.id] = _remedy(check, judge, known)
    return tuple(
        check if check.holds else replace(check, remedy=found[check.id]) for check in checks
    )


def _remedy(check: Check, judge: Judge, known: set[str]) -> str:
    if check.id not in CANDIDATES or check.id not in judge.now().failing:
        return NO_KEY.get(check.id, check.remedy)
    tried: list[Changes] = []
    try:
        for changes, holds in _trials(check, judge, known):
            if holds:
                return f"use {changes_words(changes)} (tried: it then holds)"
            tried.append(changes)
    except SpentError:
        if not tried:
            return "no fix was tried, for lack of time: mend what fails above, then make it again"
        return f"no fix was found in the trials there is time for{_told(tried)}{_own(check)}"
    if tried:
        return f"no fix was found{_told(tried)}{_own(check)}"
    if judge.cells_stay:
        return (
            "no fix was tried: it would move cells, and cells in an outline are then searched for "
            f"anew; {check.remedy}"
        )
    return f"no value of a key is left to try: {check.remedy}"


def _own(check: Check) -> str:
    """What the check itself tells: by how much a pack is too large for its space, or what carries
    it where printed pads and walls are not enough."""
    return f"; {check.remedy}" if check.id in OWN_TOLD and check.remedy else ""


def _told(tried: Sequence[Changes]) -> str:
    """The changes that do not do, the last ones: they go farthest."""
    words = [changes_words(one) for one in tried[-TOLD_MOST:]]
    return f"; tried without success: {'; '.join(words)}" if words else ""


def _trials(check: Check, judge: Judge, known: set[str]) -> Iterator[tuple[Changes, bool]]:
    """Changes and whether they are a fix, in the order in which they are tried."""
    now = judge.now()
    candidates = list(CANDIDATES[check.id](now.failing.get(check.id, check), now.plan))
    keys = {key for changes in candidates for key in changes}
    for changes, judged in judge.known():  # tried for another check, of the same keys
        if keys & set(changes) and check.id not in judged.failing and set(judged.failing) <= known:
            yield changes, True
    seen: list[Changes] = []
    for first in candidates:
        if first in seen or not judge.can_try(first):
            continue
        if not judge.holds_quickly(check.id, first):
            continue
        seen.append(first)
        yield _completed(check.id, first, judge, known)


def _completed(
    check_id: str, first: Changes, judge: Judge, known: set[str]
) -> tuple[Changes, bool]:
    """The change, and further ones for what fails by it; whether all hold in the end."""
    changes = dict(first)
    for _ in range(DEEPEST):
        judged = judge.judged(changes)
        if judged is None:
            return changes, False
        failing = [one for one in judged.failing if one == check_id or one not in known]
        if not failing:
            return changes, True
        more = _next(failing[0], judged, changes)
        if more is None or not judge.can_try(more):
            return changes, False
        changes |= more
    return changes, False


def _next(check_id: str, judged: Judged, changes: Changes) -> Changes | None:
    """The first change for a check that fails now and that the changes so far do not have.

    Only currents and voltages: there one larger part asks for the next."""
    if check_id not in ELECTRICAL:
        return None
    check = judged.failing[check_id]
    found = ELECTRICAL[check_id](check, judged.plan)
    return next((one for one in found if not one.items() <= changes.items()), None)
