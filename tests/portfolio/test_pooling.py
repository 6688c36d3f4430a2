"""The pooled interval holds the truth as often as it says, where errors have a common cause."""

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import lfilter
from scipy.stats import norm

from mv.base.estimate import Estimate
from mv.portfolio import Share, common_correlation, pooled

BASELINE, GAP, REPORTING, BLOCK = 364, 60, 365, 56
Z = float(norm.ppf(0.95))


def share(
    estimate: float, half: float, residuals: dict[str, float] | None = None, **metering: float
) -> Share:
    return Share(Estimate(estimate, estimate - half, estimate + half, 0.9), residuals or {}, metering)


def autoregressive(rng: np.random.Generator, rows: int, memory: float) -> np.ndarray:
    """Unit variance, correlation memory ** days apart."""
    steps = rng.normal(size=(rows, 200 + BASELINE + GAP + REPORTING)) * np.sqrt(1 - memory**2)
    return lfilter([1.0], [1.0, -memory], steps, axis=1)[:, 200:]


@cache
def error_variance(memory: float) -> float:
    """Of the mean-of-baseline forecast of the reporting total, exactly."""
    weights = np.concatenate([np.full(BASELINE, REPORTING / BASELINE), np.zeros(GAP), -np.ones(REPORTING)])
    apart = np.abs(np.subtract.outer(np.arange(len(weights)), np.arange(len(weights))))
    return float(weights @ memory**apart @ weights)


def invented_portfolio(
    rng: np.random.Generator, studies: int, common: float, memory: tuple[float, float]
) -> list[Share]:
    """Studies whose days depart from their mean for a reason of their own and for a common one.

    Each forecasts the reporting period by the baseline's mean and knows its own error exactly; the
    truth of each avoided energy is zero.
    """
    size = rng.lognormal(0.0, 0.8, studies)[:, None]
    shock = autoregressive(rng, 1, memory[0])
    days = size * (np.sqrt(common) * shock + np.sqrt(1 - common) * autoregressive(rng, studies, memory[1]))
    base = days[:, :BASELINE]
    level = base.mean(axis=1, keepdims=True)
    errors = (level - days[:, BASELINE + GAP :]).sum(axis=1)
    spread = np.sqrt(common * error_variance(memory[0]) + (1 - common) * error_variance(memory[1]))
    blocks = (base - level)[:, : BASELINE // BLOCK * BLOCK].reshape(studies, -1, BLOCK).mean(axis=2)
    return [
        share(float(error), float(Z * one * spread), {f"{k:02d}": float(v) for k, v in enumerate(row)})
        for error, one, row in zip(errors, size[:, 0], blocks, strict=True)
    ]


@pytest.mark.parametrize(
    ("studies", "common", "memory"),
    [
        (10, 0.1, (0.7, 0.7)),
        (10, 0.4, (0.9, 0.5)),
        (60, 0.3, (0.7, 0.7)),
        (60, 0.1, (0.9, 0.5)),
    ],
)
def test_ninety_per_cent_intervals_hold_the_truth_in_85_to_95_of_a_hundred_and_naive_ones_do_not(
    studies: int, common: float, memory: tuple[float, float]
) -> None:
    rng = np.random.default_rng([studies, round(100 * common)])
    pools = [pooled(invented_portfolio(rng, studies, common, memory)) for _ in range(300)]
    held = np.mean([pool.total.low <= 0 <= pool.total.high for pool in pools])
    naive = np.mean([abs(pool.total.estimate) <= pool.if_independent for pool in pools])
    assert 0.85 <= held <= 0.95
    assert naive < held and (studies < 60 or naive < 0.7)


def test_without_residuals_the_usual_correlation_stands_in() -> None:
    pool = pooled([share(100.0, 10.0), share(100.0, 10.0)])
    assert pool.correlation == 0.2 and pool.blocks == 0.0
    half = (pool.total.high - pool.total.low) / 2
    assert half == pytest.approx(np.hypot(pool.own, pool.common))
    assert pool.own == pytest.approx(np.sqrt(200.0)) and pool.if_independent == pytest.approx(pool.own)


def test_one_study_pools_to_itself() -> None:
    alone = Share(Estimate(100.0, 80.0, 130.0, 0.9), {}, {"1 %": 5.0})
    pool = pooled([alone])
    assert (pool.total.low, pool.total.high) == (pytest.approx(80.0), pytest.approx(130.0))


def test_meters_of_one_accuracy_class_add_as_they_stand_and_classes_in_quadrature() -> None:
    same = pooled([share(1.0, 3.0, one=3.0), share(1.0, 4.0, one=4.0)])
    assert same.metering == pytest.approx(7.0) and same.own == 0.0
    apart = pooled([share(1.0, 3.0, one=3.0), share(1.0, 4.0, other=4.0)])
    assert apart.metering == pytest.approx(5.0)


def test_a_common_cause_is_seen_in_the_residuals_of_the_same_weeks_only() -> None:
    weeks = [f"{k:02d}" for k in range(26)]
    shock = np.random.default_rng(3).normal(size=26)
    together = [dict(zip(weeks, shock * size, strict=True)) for size in (1.0, 5.0, 2.0)]
    found, blocks = common_correlation(together, np.ones(3))
    assert found == pytest.approx((26 * 1.0 + 0.2) / 27) and blocks == pytest.approx(26.0)
    years = [{f"{n}-{week}": value for week, value in one.items()} for n, one in enumerate(together)]
    assert common_correlation(years, np.ones(3)) == (0.2, 0.0)


def test_the_mean_correlation_of_pairs_is_that_of_every_pair_weighed() -> None:
    rng = np.random.default_rng(8)
    table = rng.normal(size=(4, 20)) + rng.normal(size=20)
    weights = np.array([1.0, 2.0, 0.5, 3.0])
    studies = [{f"{k:02d}": float(v) for k, v in enumerate(row)} for row in table]
    pairs = np.corrcoef(table) * np.outer(weights, weights)
    off = ~np.eye(4, dtype=bool)
    mean = pairs[off].sum() / np.outer(weights, weights)[off].sum()
    found, _ = common_correlation(studies, weights)
    assert found == pytest.approx((20 * mean + 0.2) / 21)


def test_intervals_of_different_confidence_are_brought_to_one() -> None:
    wide = Estimate(10.0, 10.0 - norm.ppf(0.975), 10.0 + norm.ppf(0.975), 0.95)
    usual = Estimate(10.0, 10.0 - Z, 10.0 + Z, 0.9)
    pool = pooled([Share(usual, {}, {}), Share(wide, {}, {}), Share(usual, {}, {})])
    assert pool.total.confidence == 0.9
    assert pool.own == pytest.approx(Z * np.sqrt(3))


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.tuples(st.floats(-1e6, 1e6), st.floats(0.01, 1e5), st.floats(0, 1)), min_size=1, max_size=12)
)
def test_the_pooled_interval_lies_between_independence_and_full_dependence(
    rows: list[tuple[float, float, float]],
) -> None:
    shares = [share(centre, half, None, one=half * part) for centre, half, part in rows]
    pool = pooled(shares)
    half = (pool.total.high - pool.total.low) / 2
    largest = np.sqrt(2.1) * sum(row[1] for row in rows)  # the Student factor of three degrees is 1.43
    assert pool.if_independent * (1 - 1e-9) <= half <= largest * (1 + 1e-9)
    assert pool.total.estimate == pytest.approx(sum(row[0] for row in rows), abs=1e-6)
