"""``holder.flank_posts``: refused where no lid clamps the holders."""

from __future__ import annotations

import pytest

from tests.generators.packfile.files import added, read


@pytest.mark.parametrize("style", ["tub", "none"])
def test_posts_stay_where_no_lid_clamps(style: str) -> None:
    """With line, field, value and way out; taken with the fitted enclosure, or where it is true."""
    space = "" if style == "tub" else "space: {box_mm: [300, 300, 90]}\n"
    case = f"enclosure: {{style: {style}}}\n{space}"
    (told,) = added(case + "holder: {flank_posts: false}\n")
    line = 5 + case.count("\n")
    assert told.startswith(f"p.yaml:{line}")
    assert "holder.flank_posts: needs a lid that clamps the holders" in told
    assert f"enclosure.style {style} has not" in told
    assert "(false)" in told and "write enclosure: {style: fitted}, or delete it" in told


def test_a_lid_that_clamps_is_thicker() -> None:
    """3 mm instead of 2, unless the file says otherwise."""
    text = (
        "name: p\ncell: {format: '18650'}\nseries: 2\nparallel: 2\nenclosure: {style: fitted%s}\n"
    )
    assert read(text % "").pack.enclosure.lid_mm == 2.0
    asked = "holder: {flank_posts: false}\n"
    assert read(text % "" + asked).pack.enclosure.lid_mm == 3.0
    assert read(text % ", lid_mm: 2.4" + asked).pack.enclosure.lid_mm == 2.4
