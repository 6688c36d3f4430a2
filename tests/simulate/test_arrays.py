"""Run-length arithmetic against counting one step at a time."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mv.simulate.arrays import autoregressive, merged, minute_share, overlap_count, runs, stream

SPANS = st.lists(st.tuples(st.integers(0, 900), st.integers(0, 300)), max_size=12)


@given(st.lists(st.booleans(), max_size=40))
def test_runs_cover_exactly_the_true_steps(flags: list[bool]) -> None:
    first, last = runs(np.array(flags, dtype=bool))
    covered = {i for a, b in zip(first, last, strict=True) for i in range(a, b)}
    assert covered == {i for i, flag in enumerate(flags) if flag}
    assert all(a < b for a, b in zip(first, last, strict=True))


@given(SPANS)
def test_overlaps_are_counted_step_by_step(spans: list[tuple[int, int]]) -> None:
    starts = np.array([a for a, _ in spans], dtype=np.int64)
    ends = np.array([a + n for a, n in spans], dtype=np.int64)
    slow = [sum(a <= step < a + n for a, n in spans) for step in range(600)]
    assert overlap_count(starts, ends, 600).tolist() == slow


@settings(deadline=None)
@given(SPANS)
def test_the_share_of_each_minute_is_its_covered_seconds(spans: list[tuple[int, int]]) -> None:
    ordered = sorted(spans)
    starts = np.array([a for a, _ in ordered], dtype=float)
    ends = np.array([a + n for a, n in ordered], dtype=float)
    second = np.zeros(1200, dtype=bool)
    for a, n in spans:
        second[a : a + n] = True
    share = minute_share(*merged(starts, ends), 20)
    assert share == pytest.approx(second.reshape(20, 60).mean(axis=1), abs=1e-9)


def test_each_stream_is_its_own_and_repeats() -> None:
    assert stream(1, "a").random() == stream(1, "a").random()
    drawn = [stream(seed, name).random() for seed in (1, 2) for name in ("a", "b", "a/b")]
    assert len(set(drawn)) == 6


@pytest.mark.parametrize("correlation", [0.0, 0.7, 0.95])
def test_an_autoregressive_series_has_its_correlation_and_spread_from_the_start(correlation: float) -> None:
    series = autoregressive(stream(3, "x"), 60_000, correlation=correlation, sd=2.0)
    assert np.corrcoef(series[1:], series[:-1])[0, 1] == pytest.approx(correlation, abs=0.02)
    assert series.std() == pytest.approx(2.0, rel=0.05)
    firsts = [autoregressive(stream(s, "y"), 5, correlation=correlation, sd=2.0)[0] for s in range(400)]
    assert np.std(firsts) == pytest.approx(2.0, rel=0.1)
