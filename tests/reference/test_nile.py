"""Annual flow of the Nile at Aswan, 1871-1970 (Cobb 1978, Biometrika 65(2), table 1).

Break and residual sums of squares: output of the R package strucchange for this series as printed
in its reference documentation (one break after observation 28, 1898; RSS 2835157 and 1597457;
S0 = 2.9518, p = 5.409e-08). The data are read from statsmodels, which carries the same series.
"""

import numpy as np
import pandas as pd
import pytest

from mv.base.step_changes import best_mean_break, segment_starts
from mv.drift import residual_cusum_test
from mv.drift.expectation import Design, lag_one
from mv.drift.step_search import search


@pytest.fixture(scope="module")
def flow() -> np.ndarray:
    from statsmodels.datasets import nile

    return nile.load_pandas().data["volume"].to_numpy(dtype=float)


def test_the_one_break_is_after_1898(flow):
    found = best_mean_break(flow)
    assert found.after == 28
    assert found.mean_before == pytest.approx(1097.75, abs=1e-9)
    assert found.mean_after == pytest.approx(849.9722, abs=5e-5)


def test_the_residual_sums_of_squares_are_the_published(flow):
    found = best_mean_break(flow)
    assert round(found.rss_none) == 2835157
    assert round(found.rss_one) == 1597457
    assert found.sup_f == pytest.approx(75.92977, abs=1e-4)  # recomputed from the two sums


def test_the_cusum_of_residuals_rejects_a_constant_flow(flow):
    statistic, p, at = residual_cusum_test(flow - flow.mean())
    assert statistic == pytest.approx(2.9518, abs=5e-5)
    assert p == pytest.approx(5.409e-08, rel=1e-3)
    assert at == 28


def test_exact_segmentation_with_the_bic_penalty_finds_the_same_break(flow):
    noise = 1597457.194 / (len(flow) - 2)
    assert segment_starts(flow, penalty=2 * noise * np.log(len(flow)), min_length=15) == [0, 28]


@pytest.mark.parametrize("parts", [2, 3])
def test_segmentation_is_the_least_squares_partition(flow, parts):
    """RSS of strucchange's best partitions into 1 and 2 breaks (minimal segment 15)."""
    published = {2: 1597457, 3: 1552924}[parts]
    for penalty in np.geomspace(1e3, 1e6, 200):
        starts = segment_starts(flow, penalty=penalty, min_length=15)
        if len(starts) == parts:
            pieces = np.split(flow, starts[1:])
            total = sum(float(((piece - piece.mean()) ** 2).sum()) for piece in pieces)
            assert round(total) == published
            return
    pytest.fail(f"no penalty brings {parts} levels")


@pytest.mark.parametrize(("breaks", "bic"), [(0, 1318), (1, 1270)])
def test_the_information_criterion_is_the_published(flow, breaks, bic):
    """n log(RSS / n) + n (1 + log 2 pi) + 2 (m + 1) log n, as strucchange counts parameters."""
    found, n = best_mean_break(flow), len(flow)
    rss = found.rss_one if breaks else found.rss_none
    value = n * np.log(rss / n) + n * (1 + np.log(2 * np.pi)) + 2 * (breaks + 1) * np.log(n)
    assert round(value) == bic


def test_a_step_left_in_looks_like_autocorrelation(flow):
    """Lag-1 autocorrelation 0.498 before and 0.160 after taking the step out (worked from the data)."""
    days = pd.date_range("2001-01-01", periods=len(flow))
    found = best_mean_break(flow)
    level = np.where(np.arange(len(flow)) < found.after, found.mean_before, found.mean_after)
    for residual, published in ((flow - flow.mean(), 0.498), (flow - level, 0.160)):
        assert lag_one(residual, float(residual.std()), days) == pytest.approx(published, abs=0.02)


def test_the_search_for_drift_finds_the_one_step_and_its_size(flow):
    """Each year taken for a day: the step after observation 28, 247.78 less (1097.75 to 849.97)."""
    days = pd.date_range("2001-01-01", periods=len(flow))
    plan = Design(days, flow, np.ones((len(flow), 1)), ("constant",), np.ones(len(flow), dtype=bool))
    (step,) = search(plan).steps
    assert step.at == 28
    assert step.mean_kwh_a_day == pytest.approx(-247.78, rel=0.05)  # outlying years weigh less here
    assert not search(plan).slope_wins
