"""Balance leads: fuse, melting and what is said where they have no fuse."""

from __future__ import annotations

import pytest

from layouts.errors import PlanError
from layouts.ratings.taps import balance_lead_caution, rate_balance_leads


def test_a_balance_lead_by_the_tables() -> None:
    """Gauge 22 carries 7 A in free air at 30 C and melts at 41 A (Preece); its fuse lies below."""
    found = rate_balance_leads(group_short_a=1200.0, pack_short_a=1100.0, highest_v=54.6)
    assert found.ampacity_a == pytest.approx(7.0, rel=1e-9)
    assert found.melts_a == pytest.approx(80.02 * 0.6438**1.5, rel=1e-3)
    assert found.choice.fits and found.choice.fuse.rating_a < found.ampacity_a


def test_leads_without_fuses_are_cautioned() -> None:
    """A group of 1200 A melts it; with fuses nothing is said."""
    found = rate_balance_leads(group_short_a=1200.0, pack_short_a=1100.0, highest_v=54.6)
    said = balance_lead_caution(found, fused=False)
    assert (
        said is not None
        and "1200 A" in said
        and "melt" in said
        and "54.6 V" in said
        and "1100 A" in said
    )
    assert balance_lead_caution(found, fused=True) is None


def test_a_weak_group_burns_rather_than_melts() -> None:
    """30 A is below the melting current of gauge 22."""
    said = balance_lead_caution(
        rate_balance_leads(group_short_a=30.0, pack_short_a=25.0, highest_v=14.6), fused=False
    )
    assert said is not None and "burn" in said


def test_a_gauge_beyond_the_table_is_refused() -> None:
    """Gauge 30 has no row."""
    with pytest.raises(PlanError, match="free_air goes from"):
        rate_balance_leads(group_short_a=1200.0, pack_short_a=1100.0, highest_v=54.6, awg=30)
