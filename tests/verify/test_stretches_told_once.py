"""A stretch off the model that a finding explains carries that finding, and is listed with it alone."""

from datetime import date
from types import SimpleNamespace

import pandas as pd
import pytest

from mv.base.estimate import Estimate
from mv.drift import DriftFinding
from mv.regression import EventCandidate
from mv.verifying import candidates_found
from mv.verifying.candidates_found import event_candidates_of

SIZE = Estimate(10.0, 8.0, 12.0, 0.9)


def finding(where: str, since: date, *, kind: str = "step", zones: tuple[str, ...] = ()) -> DriftFinding:
    return DriftFinding(where, "x", since, SIZE, None, (), (), kind, zones=zones, key="the-finding")


def listed(monkeypatch: pytest.MonkeyPatch, *drift: DriftFinding) -> list[tuple[str, str | None]]:
    """Period and finding of a stretch in each period, 10 September to the end of November."""
    stretch = EventCandidate(pd.Timestamp("2024-09-10"), pd.Timestamp("2024-11-30"), SIZE, SIZE, True)
    monkeypatch.setattr(candidates_found, "event_candidates", lambda model, *, confidence: (stretch,))
    item = SimpleNamespace(
        meter=SimpleNamespace(id="LP"), zones=(SimpleNamespace(id="hall"),), events=(), confidence=0.9,
        baseline_model=object(), reporting_model=object(),
    )  # fmt: skip
    return [(row["period"], row["finding"]) for row in event_candidates_of(item, drift)]


@pytest.mark.parametrize(
    "found",
    [
        finding("hall", date(2024, 9, 12)),  # begins with the stretch
        finding("LP", date(2024, 12, 4)),  # the stretch is what came before the change
        finding("the site", date(2024, 9, 9), zones=("hall",)),
    ],
)
def test_a_change_at_the_edge_of_a_stretch_explains_it(
    monkeypatch: pytest.MonkeyPatch, found: DriftFinding
) -> None:
    assert listed(monkeypatch, found) == [("baseline", None), ("reporting", "the-finding")]


@pytest.mark.parametrize(
    "found",
    [
        finding("hall", date(2024, 7, 1)),
        finding("yard", date(2024, 9, 10)),
        finding("hall", date(2024, 9, 10), kind="gap"),
    ],
)
def test_another_change_does_not(monkeypatch: pytest.MonkeyPatch, found: DriftFinding) -> None:
    assert listed(monkeypatch, found) == [("baseline", None), ("reporting", None)]
