"""One check out of many of the same kind."""

from __future__ import annotations

from dataclasses import replace

from layouts.checks import Check, worst_of

LOW = Check(
    id="web",
    about="a",
    holds=True,
    value=2.0,
    limit=1.0,
    unit="mm",
    source="geometry",
    remedy="",
    where="first",
)


def test_nearest_to_the_limit_is_kept() -> None:
    """Of two that hold, the tighter one stands for both."""
    tighter = replace(LOW, value=1.2, where="second")
    assert [check.where for check in worst_of([LOW, tighter])] == ["second"]


def test_a_failing_one_is_never_hidden() -> None:
    """A failure wins over a figure that lies nearer to its limit."""
    upper = replace(LOW, at_least=False, value=0.99, limit=1.0)
    fails = replace(upper, holds=False, value=0.5, where="odd")
    assert [check.where for check in worst_of([upper, fails])] == ["odd"]


def test_order_of_first_ones_is_kept() -> None:
    """Kinds come out in the order in which they came first."""
    other = replace(LOW, id="lip")
    assert [check.id for check in worst_of([LOW, other, LOW])] == ["web", "lip"]
