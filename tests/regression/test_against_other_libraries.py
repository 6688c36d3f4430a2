"""Our own arithmetic beside general libraries that do the same: statsmodels, pvlib, ruptures."""

import warnings

import numpy as np
import pandas as pd
import pytest

from mv.base.step_changes import segment_starts
from mv.drivers import sun_elevation_deg
from mv.regression import least_squares


def test_least_squares_is_that_of_statsmodels() -> None:
    from statsmodels.regression.linear_model import OLS

    draw = np.random.default_rng(1)
    design = np.column_stack([np.ones(80), 1e5 * draw.normal(size=80), 1e-3 * draw.normal(size=80)])
    y = design @ [3.0, 2e-5, 4e3] + draw.normal(size=80)
    ours, theirs = least_squares(y, design), OLS(y, design).fit()
    np.testing.assert_allclose(ours.coefficients, theirs.params, rtol=1e-8)
    np.testing.assert_allclose(ours.standard_errors, theirs.bse, rtol=1e-8)
    np.testing.assert_allclose(ours.covariance, theirs.cov_params(), rtol=1e-7)
    assert ours.r2 == pytest.approx(theirs.rsquared)


@pytest.mark.parametrize(("latitude", "longitude"), [(64.1, -21.9), (1.3, 103.8), (-43.5, 172.6)])
def test_the_sun_stands_where_nrels_algorithm_puts_it(latitude: float, longitude: float) -> None:
    from pvlib.solarposition import spa_python

    instants = pd.date_range("1975-01-01", "2045-12-31", periods=4000, tz="UTC")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        theirs = spa_python(instants, latitude, longitude)["elevation"].to_numpy()
    np.testing.assert_allclose(sun_elevation_deg(instants, latitude, longitude), theirs, atol=0.02)


@pytest.mark.parametrize("seed", range(12))
def test_changes_of_level_are_those_of_ruptures(seed: int) -> None:
    from ruptures import KernelCPD

    draw = np.random.default_rng(seed)
    size = int(draw.integers(30, 365))
    values = draw.normal(size=size) + np.repeat(draw.normal(0, 2, 6), size // 6 + 1)[:size]
    penalty = float(draw.uniform(2, 30))
    search = KernelCPD(kernel="linear", min_size=5).fit(values[:, None])
    theirs = [int(place) for place in search.predict(pen=penalty)[:-1]]
    assert segment_starts(values, penalty=penalty, min_length=5)[1:] == theirs
