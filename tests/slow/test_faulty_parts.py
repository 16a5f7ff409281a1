"""A fault put into a drawing or a design ends a whole run, from the pack file on, in its check."""

from __future__ import annotations

from pathlib import Path

import pytest

from layouts.enclosures.box import form
from tests.generators.proofs.made_pack import TEXT
from tests.generators.proofs.test_as_planned import FAULTS
from tests.runs import make, without_pictures


@pytest.mark.slow
@pytest.mark.parametrize("fault", FAULTS)
def test_a_whole_run_fails_at_the_fault(
    fault: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The named checks are among those that the run tells as failed."""
    patch, _, expected = FAULTS[fault]
    without_pictures(monkeypatch)
    form._parts.cache_clear()  # drawings are kept from one plan to the next
    try:
        with pytest.MonkeyPatch.context() as wrong:
            patch(wrong)
            _, failed = make(TEXT, tmp_path)
    finally:
        form._parts.cache_clear()
    assert expected <= {check.id for check in failed}
