"""The loop over candidates, with invented ones: only numbers are planned here."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import pytest

from layouts.errors import PlanError
from layouts.planning.search import Found, Score, best_outside

OFF_MM = 5.0


@dataclass(frozen=True, kw_only=True)
class Invented:
    """A candidate that knows what comes of it."""

    name: str
    miss_mm: float = 0.0
    fits: bool = True
    failed: int = 0
    pieces: int = 10
    imbalance: float = 0.0
    mass_kg: float = 1.0


@dataclass(kw_only=True)
class Trial:
    """Plans invented candidates and counts what is asked."""

    estimated: list[str] = field(default_factory=list)
    planned: list[str] = field(default_factory=list)
    scored: list[str] = field(default_factory=list)

    def miss(self, one: Invented) -> float:
        """Its estimate."""
        self.estimated.append(one.name)
        return one.miss_mm

    def plan(self, one: Invented) -> Invented:
        """Its outside: itself; refused below 0 kg."""
        self.planned.append(one.name)
        if one.mass_kg < 0:
            raise PlanError(field="pack", why="can't be planned", remedy="change it")
        return one

    def score(self, one: Invented) -> Score:
        """What it knows of itself."""
        self.scored.append(one.name)
        return Score(
            fits=one.fits,
            failed=one.failed,
            pieces=one.pieces,
            imbalance_ratio=one.imbalance,
            mass_kg=one.mass_kg,
        )

    def best(self, *candidates: Invented, most: int = 12) -> Found[Invented, Invented]:
        """The search over these."""
        return best_outside(
            iter(candidates),
            miss_mm=self.miss,
            miss_off_mm=OFF_MM,
            plan_outside=self.plan,
            score=self.score,
            most=most,
        )


def test_a_single_candidate_is_planned_at_once() -> None:
    """No estimate, no score; it is planned though it would miss."""
    trial = Trial()
    found = trial.best(Invented(name="only", miss_mm=99.0, fits=False))
    assert found.candidate.name == "only"
    assert (trial.estimated, trial.planned, trial.scored) == ([], ["only"], [])
    assert (found.score, found.nearest, found.planned) == (None, None, 1)


def test_the_first_good_one_ends_the_search() -> None:
    """What comes after it is not even taken from the candidates."""
    trial = Trial()
    taken = []

    def given() -> Iterator[Invented]:
        for one in (
            Invented(name="out", fits=False, pieces=1),
            Invented(name="weak", failed=1),
            Invented(name="good", pieces=30),
            Invented(name="better", pieces=2),
        ):
            taken.append(one.name)
            yield one

    found = best_outside(
        given(),
        miss_mm=trial.miss,
        miss_off_mm=OFF_MM,
        plan_outside=trial.plan,
        score=trial.score,
    )
    assert found.candidate.name == "good"
    assert taken == trial.planned == ["out", "weak", "good"]
    assert found.planned == 3


def test_what_misses_by_more_than_the_estimates_error_is_left_out_and_the_nearest_kept() -> None:
    """Up to the error it may fit all the same and is planned."""
    trial = Trial()
    found = trial.best(
        Invented(name="far", miss_mm=90.0),
        Invented(name="near", miss_mm=OFF_MM + 0.1),
        Invented(name="farther", miss_mm=91.0),
        Invented(name="perhaps", miss_mm=OFF_MM),
    )
    assert trial.planned == ["perhaps"]
    assert found.candidate.name == "perhaps"
    assert found.nearest is not None
    assert (found.nearest[0].name, found.nearest[1]) == ("near", OFF_MM + 0.1)


def test_where_all_are_left_out_the_nearest_is_planned() -> None:
    """So that its checks tell what is missing; once."""
    trial = Trial()
    found = trial.best(
        Invented(name="far", miss_mm=90.0, fits=False),
        Invented(name="near", miss_mm=20.0, fits=False),
    )
    assert trial.planned == ["near"]
    assert found.candidate.name == "near" and found.planned == 1
    assert found.nearest is not None and found.nearest[1] == 20.0


def test_no_more_outsides_are_planned_than_allowed() -> None:
    """Those left out by their estimate don't count; the best of those planned is taken."""
    trial = Trial()
    found = trial.best(
        Invented(name="skipped", miss_mm=50.0),
        Invented(name="one", failed=3),
        Invented(name="two", failed=1),
        Invented(name="three"),
        most=2,
    )
    assert trial.planned == ["one", "two"]
    assert found.candidate.name == "two"
    with pytest.raises(ValueError, match="at least"):
        trial.best(Invented(name="one"), most=0)


def test_each_outside_is_planned_once_and_the_winners_is_handed_back() -> None:
    """The rest of the winner's plan goes on from it."""
    trial = Trial()
    candidates = [Invented(name=str(k), failed=9 - k) for k in range(5)]
    found = trial.best(*candidates)
    assert trial.planned == ["0", "1", "2", "3", "4"]
    assert found.outside is candidates[4]


@pytest.mark.parametrize(
    ("better", "worse"),
    [
        (Invented(name="a", failed=9), Invented(name="b", fits=False)),
        (Invented(name="a", failed=1, pieces=99), Invented(name="b", failed=2)),
        (Invented(name="a", failed=1, pieces=3, imbalance=9.0), Invented(name="b", failed=1)),
        (
            Invented(name="a", failed=1, imbalance=0.1, mass_kg=9.0),
            Invented(name="b", failed=1, imbalance=0.2),
        ),
        (Invented(name="a", failed=1, mass_kg=0.9), Invented(name="b", failed=1)),
    ],
)
def test_the_order_of_what_decides(better: Invented, worse: Invented) -> None:
    """Fit, checks, pieces, imbalance, mass; whichever comes first."""
    for pair in ((better, worse), (worse, better)):
        assert Trial().best(*pair).candidate.name == "a"


def test_noise_does_not_decide_and_the_earlier_of_equals_is_taken() -> None:
    """A billionth of a kilogram is none."""
    pair = (
        Invented(name="first", failed=1, mass_kg=1.0 + 1e-9),
        Invented(name="second", failed=1, mass_kg=1.0),
    )
    assert Trial().best(*pair).candidate.name == "first"


def test_what_planning_refuses_passes_through_and_no_candidate_is_an_error() -> None:
    """The pack file must change; a list without candidates is a mistake of the caller's."""
    with pytest.raises(PlanError, match="can't be planned"):
        Trial().best(Invented(name="only", mass_kg=-1.0))
    with pytest.raises(ValueError, match="no candidate"):
        Trial().best()
