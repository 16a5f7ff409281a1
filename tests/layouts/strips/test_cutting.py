"""The cutting list: every piece once, no bar overfull, waste stated and its bound true."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layouts.errors import PlanError
from layouts.strips import cutting
from layouts.strips.cutting import (
    CutList,
    Stock,
    StripPiece,
    cut_list,
    stock_of,
    strip_cut_lists,
    strip_piece_rows,
)
from layouts.strips.laying import join
from tests.layouts.boxed import arrange
from tests.layouts.strips.joinings import joined
from tests.samples import sample_pack

lengths = st.lists(st.integers(1, 1000).map(lambda v: v / 2), min_size=1, max_size=40)


def cut(many: list[float], stock: Stock) -> CutList:
    """Pieces named by their place in the list."""
    pieces = [StripPiece(name=f"p{k}", length_mm=length) for k, length in enumerate(many)]
    return cut_list(pieces, stock, width_mm=8.0, thickness_mm=0.15)


@given(lengths, st.sampled_from([0.0, 0.5, 2.0]))
@settings(max_examples=150, deadline=None)
def test_every_piece_is_cut_once_and_no_bar_is_overfull(many: list[float], kerf: float) -> None:
    """Names come out as they went in; pieces with the cuts between them fit each bar."""
    stock = Stock(length_mm=500.0, kerf_mm=kerf)
    made = cut(many, stock)
    names = Counter(piece.name for bar in made.bars for piece in bar.pieces)
    assert names == Counter(f"p{k}" for k in range(len(many)))
    for bar in made.bars:
        used = sum(piece.length_mm for piece in bar.pieces)
        assert used + kerf * (len(bar.pieces) - 1) <= 500.0 + 1e-9
        assert bar.rest_mm == pytest.approx(max(500.0 - used - kerf * len(bar.pieces), 0.0))


@given(lengths, st.sampled_from([0.0, 0.5]))
@settings(max_examples=150, deadline=None)
def test_waste_is_stated_and_not_below_its_bound(many: list[float], kerf: float) -> None:
    """Stock is pieces and waste; the bound holds and is met where the list says so."""
    made = cut(many, Stock(length_mm=500.0, kerf_mm=kerf))
    assert made.used_mm + made.waste_mm == pytest.approx(500.0 * len(made.bars))
    assert made.used_mm == pytest.approx(sum(many))
    assert made.waste_mm >= made.least_waste_mm - 1e-9
    assert made.least_waste_mm >= -1e-9
    assert made.proven == (made.waste_mm == pytest.approx(made.least_waste_mm))
    assert 0 <= made.waste_ratio < 1


def least_bars(sizes: tuple[int, ...], room: int) -> int:
    """By trying everything: pieces one by one into every bar with room."""

    @cache
    def fewest(k: int, free: tuple[int, ...]) -> int:
        if k == len(sizes):
            return len(free)
        best = fewest(k + 1, tuple(sorted((*free, room - sizes[k]))))
        for left in set(free):
            if sizes[k] <= left:
                rest = list(free)
                rest.remove(left)
                best = min(best, fewest(k + 1, tuple(sorted((*rest, left - sizes[k])))))
        return best

    return fewest(0, ())


@given(st.lists(st.integers(8, 60), min_size=1, max_size=9))
@settings(max_examples=120, deadline=None)
def test_few_pieces_come_out_of_the_fewest_bars(many: list[int]) -> None:
    """Against all ways of cutting: the list is one of the best, and proven to be."""
    made = cut([float(v) for v in many], Stock(length_mm=100.0, kerf_mm=0.0))
    assert made.proven
    assert len(made.bars) == least_bars(tuple(sorted(many, reverse=True)), 100)


def test_a_list_that_first_fit_misses_is_found() -> None:
    """Longest first gives 3 bars, 2 do: 5+3+2 and 4+3+3 out of bars of 10 (worked by hand)."""
    made = cut([5.0, 4.0, 3.0, 3.0, 3.0, 2.0], Stock(length_mm=10.0, kerf_mm=0.0))
    assert len(made.bars) == 2 and made.proven
    assert len(cutting._first_fit([5, 4, 3, 3, 3, 2], 10)) == 3
    assert made.waste_mm == 0.0


def test_many_like_pieces_are_proven_by_their_number() -> None:
    """58 pieces of 33.5 and one of 35 in bars of 1000: 29 go in each, so three bars, not two."""
    made = cut([33.5] * 58 + [35.0], Stock(length_mm=1000.0, kerf_mm=0.0))
    assert len(made.bars) == 3 and made.proven
    assert made.used_mm < 2 * 1000.0  # by length alone two would do


def test_a_bound_is_raised_where_no_list_is_found() -> None:
    """8, 6, 5, 3 and 2 fill two bars of 12 to the end, yet nothing makes 12 with the 8: three."""
    made = cut([8.0, 6.0, 5.0, 3.0, 2.0], Stock(length_mm=12.0, kerf_mm=0.0))
    assert cutting._least_bars([8000, 6000, 5000, 3000, 2000], 12_000) == 2
    assert len(made.bars) == 3 and made.proven


def test_without_steps_the_list_says_that_it_is_not_proven(monkeypatch: pytest.MonkeyPatch) -> None:
    """A search that ends early leaves bound and list as they were, apart."""
    monkeypatch.setattr(cutting, "SEARCH_STEPS", 0)
    made = cut([5.0, 4.0, 3.0, 3.0, 3.0, 2.0], Stock(length_mm=10.0, kerf_mm=0.0))
    assert len(made.bars) == 3 and made.least_bars == 2 and not made.proven
    assert made.waste_mm == 10.0 and made.least_waste_mm == 0.0


def test_the_kerf_counts_between_pieces_only() -> None:
    """Two pieces and one cut fill a bar to the end; one kerf more and the second does not fit."""
    assert len(cut([49.0, 50.0], Stock(length_mm=100.0, kerf_mm=1.0)).bars) == 1
    assert len(cut([49.1, 50.0], Stock(length_mm=100.0, kerf_mm=1.0)).bars) == 2
    assert len(cut([100.0], Stock(length_mm=100.0, kerf_mm=1.0)).bars) == 1


@pytest.mark.parametrize(
    ("many", "stock", "why"),
    [
        ([1200.0], Stock(), "is longer than the stock of 1000 mm"),
        ([0.0], Stock(), "is longer than the stock"),
        ([math.nan], Stock(), "is longer than the stock"),
        ([10.0], Stock(length_mm=0.0), "a stock length and a kerf"),
        ([10.0], Stock(kerf_mm=-1.0), "a stock length and a kerf"),
    ],
)
def test_what_can_not_be_cut_is_refused(many: list[float], stock: Stock, why: str) -> None:
    """Too long a piece and a stock without length are reported, naming the piece."""
    with pytest.raises(PlanError, match=why):
        cut(many, stock)


def test_all_layers_of_all_strips_are_listed_by_section() -> None:
    """10S4P: every strip as often as it has layers, at its own length, 1 m lengths by default."""
    _, _, interconnect = joined(10, 4, layers=2)
    cuts = strip_cut_lists(interconnect)
    assert [(c.width_mm, c.thickness_mm) for c in cuts] == sorted(
        {(s.width_mm, s.thickness_mm) for s in interconnect.strips}
    )
    assert sum(len(bar.pieces) for c in cuts for bar in c.bars) == sum(
        strip.layers for strip in interconnect.strips
    )
    total = sum(math.dist(s.start_mm, s.end_mm) * s.layers for s in interconnect.strips)
    assert sum(c.used_mm for c in cuts) == pytest.approx(total)
    assert all(c.stock == Stock(length_mm=1000.0, kerf_mm=0.5) for c in cuts)
    assert all(c.proven for c in cuts)
    for c in cuts:
        assert sum(count for _, count in strip_piece_rows(c)) == sum(len(b.pieces) for b in c.bars)


def test_a_strip_longer_than_a_metre_comes_off_a_coil() -> None:
    """That width alone is bought as a coil of 10 m, or twice that."""
    _, _, interconnect = joined(4, 2)
    for length, coil in ((1_500.0, 10_000.0), (15_000.0, 20_000.0)):
        long = replace(
            interconnect.strips[0], width_mm=12.0, start_mm=(0.0, 0.0), end_mm=(length, 0.0)
        )
        cuts = strip_cut_lists(replace(interconnect, strips=(*interconnect.strips, long)))
        assert {c.width_mm: c.stock.length_mm for c in cuts}[12.0] == coil
        assert cuts[0].stock.length_mm == 1000.0


def test_the_pack_file_says_what_stock_there_is() -> None:
    """Its own length, or the usual ones; a piece that does not come out of it names the key."""
    pack = sample_pack(4, 3)
    cell_layout = arrange(pack)
    interconnect = join(pack, cell_layout)
    assert stock_of(pack) is None
    short = replace(pack, strip=replace(pack.strip, stock_mm=150.0))
    lists = strip_cut_lists(interconnect, stock_of(short))
    assert {cut.stock.length_mm for cut in lists} == {150.0}
    tiny = replace(pack, strip=replace(pack.strip, stock_mm=20.0))
    with pytest.raises(PlanError, match=r"strip\.stock_mm"):
        strip_cut_lists(interconnect, stock_of(tiny))
