"""An enclosure that finds no place in its space: the plan's own advice reaches the user, with what
was tried beside it."""

from __future__ import annotations

from typing import Any

import pytest

from generators.fixes.refusals import with_tried_remedy
from generators.packfile.resolve import parse_pack
from layouts.errors import NoPlaceError, PlanError
from layouts.pack import EnclosureStyle
from tests.layouts.enclosures.fitted.made_spaces import pack_text

ADVICE = "by estimate it stands in a space 10 mm wider on every side"


def refusal(**other: Any) -> PlanError:
    """As the fitted enclosure refuses."""
    words = {
        "field": "enclosure.style", "value": "fitted", "why": "finds no place for all of it",
        "first": "a larger space", "remedy": "enclosure: {style: tub}", "advice": lambda: ADVICE,
    }  # fmt: skip
    return NoPlaceError(**{**words, **other}).advised()


def test_the_plans_advice_stays_where_no_change_does() -> None:
    """The tub that its remedy names is tried like the other changes, and named among them."""
    pack = parse_pack(pack_text(0).encode(), "box.yaml").pack
    tried: list[dict[str, object]] = []

    def changed(changes: Any) -> Any:
        tried.append(dict(changes))
        raise ValueError("refused")

    told = with_tried_remedy(refusal(), pack, changed)
    assert told.remedy.startswith(f"{ADVICE}; no fix was found; tried without success: ")
    assert "{style: tub}" not in told.remedy
    assert told.remedy.endswith("enclosure.style: none")
    assert {"enclosure.style": "tub"} in tried and {"lattice": "honeycomb"} in tried
    assert {"parallel": 2} in tried  # one less than the file's
    assert (told.field, told.value, told.why) == ("enclosure.style", "fitted", refusal().why)


def test_a_space_that_is_too_low_keeps_its_remedy() -> None:
    """Of cells placed in an outline only what was tried is told, as their remedy names a number."""
    pack = parse_pack(pack_text(0).encode(), "box.yaml").pack

    def changed(changes: Any) -> Any:
        raise ValueError("refused")

    low = PlanError(field="space", value="box of 9 x 9 x 9 mm", why="is low", remedy="a higher one")
    assert with_tried_remedy(low, pack, changed).remedy.startswith("a higher one; no fix was found")
    few = PlanError(
        field="space", value="3 of 9 cells fit", why="is small", remedy="use parallel: 1"
    )
    assert with_tried_remedy(few, pack, changed).remedy.startswith("no fix was found; tried")


@pytest.mark.slow
def test_a_refused_pack_is_told_what_goes_in() -> None:
    """A space drawn for 3S3P that 3S6P does not find: fewer cells, tried with their check of the
    space, and the planner's own advice."""
    from layouts.planning.pack_plan import plan_pack

    text = pack_text(0).replace("parallel: 3", "parallel: 9")
    read = parse_pack(text.encode(), "box.yaml")
    with pytest.raises(PlanError) as caught:
        plan_pack(read.pack)
    told = with_tried_remedy(caught.value, read.pack, read.changed)
    assert told.remedy.startswith("use ")
    assert "(tried: it can then be planned)" in told.remedy
    assert caught.value.field == "enclosure.style"
    assert read.pack.enclosure.style is EnclosureStyle.FITTED
