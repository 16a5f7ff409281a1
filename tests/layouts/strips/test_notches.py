"""Balance leads over their insulation, and the notches that they lie in."""

from __future__ import annotations

import pytest

from layouts.pack import BalanceLeadSpec
from layouts.strips.lip import balance_lead_mm, notch_mm
from tests.samples import sample_pack


# bare diameters of ASTM B258 in mm: 0.0320, 0.0253, 0.0201 and 0.0159 in
@pytest.mark.parametrize(("awg", "bare_mm"), [(20, 0.812), (22, 0.644), (24, 0.511), (26, 0.405)])
def test_a_notch_takes_its_lead_with_little_play(awg: int, bare_mm: float) -> None:
    """Half a millimetre of insulation all round, told to a tenth; 0.2 to 0.6 mm of play."""
    pack = sample_pack(3, 1, taps=BalanceLeadSpec(awg=awg, fused=False))
    wide = balance_lead_mm(pack)
    assert wide == pytest.approx(bare_mm + 1.06, abs=0.06)
    assert wide == pytest.approx(round(wide, 1))
    assert 0.2 <= notch_mm(pack) - wide <= 0.6
