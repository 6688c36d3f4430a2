"""The picture of the record tells each cause apart by mark and by words, never by colour alone."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from mv import figures
from mv.base.verification import Verification

CAUSES = (
    "exact duplicate",
    "flagged estimate",
    "catch-up lump",
    "short gap filled",
    "gap",
    "spike",
    "negative",
    "sentinel value",
    "frozen value",
)


@pytest.fixture
def faulted(verification: Verification):
    """A meter of the invented study on whose first days each cause befalls an hour of its own."""
    meter = next(iter(verification.meters.values()))
    codes = np.zeros(len(meter.energy_kwh), np.int8)
    an_hour = round(60 / meter.interval_minutes)
    for number in range(len(CAUSES)):
        codes[(24 * number + 12) * an_hour] = number + 1
    faults = pd.Series(codes, index=meter.energy_kwh.index)
    return replace(meter, faults=faults, fault_names=CAUSES)


def test_each_cause_has_its_own_mark_and_words(verification: Verification, faulted) -> None:
    words = figures.coverage_map(faulted, verification.study)
    marks = {str(trace.name).split(":")[0]: trace for trace in words.figure.data[1:]}
    drawn = [name for name in CAUSES if name != "gap"]
    assert set(drawn) <= set(marks)
    symbols = [marks[name].marker.symbol for name in (*drawn, "missing", "estimated")]
    assert len(set(symbols)) == len(symbols)
    for name in drawn:
        assert len(marks[name].x) == 1
        assert f"{name} in 1 hour" in words.caption
        assert words.table[f"hours of {name}"].sum() == 1
    assert words.table["hours of gap"].sum() == 1


def test_a_record_whose_causes_are_not_told_is_drawn_as_before(verification: Verification, faulted) -> None:
    words = figures.coverage_map(replace(faulted, faults=None, fault_names=()), verification.study)
    assert len(words.figure.data) == 3
    assert "Causes" not in words.caption
