"""The label of the finished pack: at true size, all words on it, what its pack is."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from generators.drawings.linework import Layer, Lines, Words, sheet_svg
from generators.drawings.pack_label import LABEL_SIZES_MM, LabelFacts, label_size_mm, pack_label
from generators.report.label import label_facts, label_figure, label_sheet
from layouts.pack import EnclosureStyle
from layouts.planning.pack_plan import plan_pack
from tests.samples import linked_pack

LONGEST = LabelFacts(
    name="a-name-as-long-as-nobody-would-give-one-to-a-pack-of-cells",
    title="LITHIUM-ION BATTERY",
    figures=("100.8 V", "1234.5 Ah", "124438 Wh"),
    uses=(
        "28S247P of 32700, LFP. Full 102.2 V, empty 56.0 V.",
        "Load at most 1234.5 A. Main fuse 1250 A, 1000 V DC.",
        "Charge with a charger for 102.2 V, at most 1234.5 A, attended, at \N{MINUS SIGN}10 to 45 "
        "\N{DEGREE SIGN}C.",
    ),
    cautions=(
        "Home-made, not certified. It can burn: do not open, crush, wet or short it, nor heat it "
        "above 60 \N{DEGREE SIGN}C.",
        "Up to 103 V DC: electric shock.",
        "After a fall, wetting, smoke or hissing: keep away, take it outdoors only if that is "
        "safe, call the fire service.",
        "Never into household waste.",
    ),
    blanks=("Built by", "Date", "No."),
    shock=True,
)


@pytest.mark.parametrize("size_mm", LABEL_SIZES_MM)
def test_every_word_lies_on_the_label_at_true_size(size_mm: tuple[float, float]) -> None:
    """Sizes of ISO 216 (A7 74 x 105, A8 52 x 74), one unit a millimetre; the longest words go in,
    two lines of text do not touch, no capital is lower than 1.1 mm."""
    wide, high = size_mm
    sheet = pack_label(LONGEST, size_mm)
    frame = next(m for m in sheet.marks if isinstance(m, Lines) and m.layer is Layer.CUT)
    assert frame.box_mm == (0.0, 0.0, wide, high)
    words = [mark for mark in sheet.marks if isinstance(mark, Words) and mark.at_mm[1] > 0]
    assert len(words) >= 12
    for mark in words:
        x0, y0, _, y1 = mark.box_mm
        assert x0 >= 0 and y0 >= 0 and y1 <= high + 1e-9
        assert 0.72 * mark.size_mm >= 1.1
        left = {"start": x0, "middle": mark.at_mm[0], "end": mark.at_mm[0]}[mark.anchor]
        assert left <= wide
    begun = [mark for mark in words if mark.anchor == "start" and not mark.white]
    for one in begun:
        for other in begun:
            if one is not other and one.at_mm[0] == other.at_mm[0]:
                assert abs(one.at_mm[1] - other.at_mm[1]) >= 1.2 * min(one.size_mm, other.size_mm)
    found = re.search(
        r'width="([\d.]+)mm" height="[\d.]+mm" viewBox="\S+ \S+ ([\d.]+)', sheet_svg(sheet)
    )
    assert found is not None and found[1] == found[2]


def test_too_many_words_are_refused() -> None:
    """Rather than written over the blanks."""
    with pytest.raises(ValueError, match="do not go in 74 x 52 mm"):
        pack_label(replace(LONGEST, cautions=LONGEST.cautions * 3), LABEL_SIZES_MM[1])


def test_largest_size_that_lies_on_the_lid_is_taken() -> None:
    """Turned where that helps; where none lies on it that is said."""
    assert label_size_mm((106.0, 75.0)) == ((105.0, 74.0), True)
    assert label_size_mm((75.0, 106.0)) == ((105.0, 74.0), True)
    assert label_size_mm((104.0, 75.0)) == ((74.0, 52.0), True)
    assert label_size_mm((73.0, 73.0)) == ((74.0, 52.0), False)


def test_it_says_what_the_pack_is() -> None:
    """Volts, charge, energy, fuse and charger of this pack, worked by hand; a sign for electric
    shock above 60 V DC alone (IEC 60598-1:2008 clause 8.2.3, as quoted in a public forum)."""
    plan = plan_pack(linked_pack(4, 2))
    facts = label_facts(plan)
    assert facts.figures == ("14.4 V", "8.0 Ah", "115 Wh")  # 4 x 3.6 V, 2 x 4.0 Ah
    text = " ".join((*facts.uses, *facts.cautions))
    assert "Full 16.8 V" in text and "charger for 16.8 V" in text  # 4 x 4.2 V
    assert f"Main fuse {plan.electrical.fuse_protection.fuse.rating_a:g} A" in text
    assert "not certified" in text and "shock" not in text and not facts.shock
    high = label_facts(plan_pack(linked_pack(20, 1)))
    assert high.shock and any("electric shock" in one for one in high.cautions)


def test_the_report_says_where_it_goes() -> None:
    """On the lid where it lies within the screws; else, and without a lid, that is told."""
    pack = linked_pack(10, 4)
    plan = plan_pack(pack)
    assert "on the lid" in label_figure(plan, label_sheet(plan)).caption
    small = plan_pack(linked_pack(2, 1))
    assert "larger than the top" in label_figure(small, label_sheet(small)).caption
    bare = plan_pack(replace(pack, enclosure=replace(pack.enclosure, style=EnclosureStyle.NONE)))
    assert "on the case" in label_figure(bare, label_sheet(bare)).caption
