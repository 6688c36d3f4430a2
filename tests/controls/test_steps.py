"""Levels of a daily statistic, and the exact segmentation behind them."""

import itertools

import numpy as np
import pytest

from mv.base.step_changes import best_mean_break, segment_starts
from mv.controls.daily import Daily
from mv.controls.steps import levels


def daily(values):
    values = np.asarray(values, dtype=float)
    return Daily(np.arange(len(values), dtype=np.int64) + 19000, values, np.full(len(values), 12.0))


def test_segmentation_equals_the_best_of_all_partitions():
    """Against brute force over every partition into one to three parts of at least two values."""
    rng = np.random.default_rng(4)
    for _ in range(20):
        values = rng.standard_normal(9) + np.repeat([0.0, 3.0, -1.0], 3)
        cuts = [c for k in range(3) for c in itertools.combinations(range(2, 8), k)]

        def cost(cut, values=values):
            parts = np.split(values, cut)
            if min(map(len, parts)) < 2:
                return np.inf
            return sum(((p - p.mean()) ** 2).sum() for p in parts) + 2.5 * len(parts)

        best = min(cuts, key=cost)
        found = segment_starts(values, penalty=2.5, min_length=2)
        assert cost(tuple(found[1:])) <= cost(best) + 1e-9


def test_a_break_needs_room_on_both_sides():
    with pytest.raises(ValueError, match="cannot be cut"):
        best_mean_break(np.ones(3), min_length=2)


def test_a_step_is_dated_to_the_day():
    rng = np.random.default_rng(1)
    values = np.where(np.arange(200) < 120, 0.80, 0.95) + 0.004 * rng.standard_normal(200)
    found = levels(daily(values), least_step=0.02)
    assert [level.first_day - 19000 for level in found] == [0, 120]
    assert found[0].value == pytest.approx(0.80, abs=0.002)
    assert found[1].value == pytest.approx(0.95, abs=0.002)


def test_a_step_smaller_than_matters_is_none():
    values = np.where(np.arange(200) < 120, 0.800, 0.810)
    assert len(levels(daily(values), least_step=0.02)) == 1


def test_a_wandering_series_is_not_cut_into_levels():
    """Autocorrelated days, lag-1 0.7: at most one of 40 series is taken for a change."""
    false = 0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        e = np.zeros(300)
        for i in range(1, 300):
            e[i] = 0.7 * e[i - 1] + rng.standard_normal() * 0.006
        false += len(levels(daily(0.5 + e), least_step=0.02)) > 1
    assert false <= 1


def test_a_few_odd_days_are_no_level():
    rng = np.random.default_rng(2)
    values = 10 + 0.2 * rng.standard_normal(250)
    values[[40, 41, 90, 150, 151, 200]] += 6.0
    assert len(levels(daily(values), least_step=1.0)) == 1


def test_an_empty_series_has_no_levels():
    assert levels(daily([]), least_step=0.1) == []
