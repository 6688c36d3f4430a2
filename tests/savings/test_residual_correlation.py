"""The meters' correlation by weeks, held to pandas' pairwise correlation of the same weekly means."""

import numpy as np
import pandas as pd
import pytest

from mv.savings.combine import USUAL_CORRELATION, WEIGHT_WEEKS, residual_correlation

DAYS = pd.date_range("2024-01-01", periods=40 * 7, freq="D")  # from a Monday


def test_meters_with_weeks_of_their_own_correlate_as_pandas_finds_by_pairs() -> None:
    rng = np.random.default_rng(5)
    common = np.repeat(rng.normal(size=40), 7)
    meters = [pd.Series(common * share + rng.normal(size=280), DAYS) for share in (0.5, 1.0, 2.0)]
    meters[0] = meters[0][:"2024-07-07"]
    meters[1] = meters[1]["2024-04-01":].where(lambda s: s.index != pd.Timestamp("2024-05-05"))
    weekly = pd.DataFrame({n: one.resample("W-SUN").mean() for n, one in enumerate(meters)})
    found, weeks = weekly.corr(), weekly.notna().astype(float).T @ weekly.notna().astype(float)
    expected = (weeks * found + WEIGHT_WEEKS * USUAL_CORRELATION) / (weeks + WEIGHT_WEEKS)
    ours = residual_correlation(meters)
    off = ~np.eye(3, dtype=bool)
    assert ours[off] == pytest.approx(expected.to_numpy()[off], rel=1e-9)
    assert np.diag(ours) == pytest.approx(1.0)


def test_a_meter_that_does_not_vary_is_taken_at_no_correlation_found() -> None:
    rng = np.random.default_rng(6)
    meters = [pd.Series(rng.normal(size=280), DAYS), pd.Series(0.3, DAYS)]
    expected = WEIGHT_WEEKS * USUAL_CORRELATION / (40 + WEIGHT_WEEKS)
    assert residual_correlation(meters)[0, 1] == pytest.approx(expected)
