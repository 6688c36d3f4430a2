"""The noise's filter and sums against the same algebra with full covariance matrices."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from mv.regression.noise import NoiseGrid, noise_grid, variance_of_sum, whiten
from mv.regression.posterior import posterior

GRID = NoiseGrid(np.array([0.0, 0.5, 0.9]), np.array([0.0, 0.7, 0.5]), np.array([0.0, 0.0, 0.3]), np.zeros(3))
DRAW = np.random.default_rng(5)
TIMES = np.sort(DRAW.choice(60, 40, replace=False)).astype(float)


def _covariance(number: int, one: np.ndarray, other: np.ndarray) -> np.ndarray:
    apart = np.abs(np.subtract.outer(one, other))
    lasting = GRID.persistent_share[number] * GRID.persistence[number] ** apart
    slow = GRID.slow_share[number] * GRID.slow_persistence**apart
    return lasting + slow + GRID.new_share[number] * (apart == 0)


@pytest.mark.parametrize("number", [0, 1, 2])
def test_whitening_gives_the_likelihood_of_the_full_covariance(number: int) -> None:
    y = DRAW.normal(size=40)
    whitened = whiten(y[:, None], TIMES, GRID)
    rows = whitened.rows[:, number, 0]
    ours = -0.5 * (rows @ rows + whitened.log_determinant[number] + 40 * np.log(2 * np.pi))
    full = multivariate_normal(np.zeros(40), _covariance(number, TIMES, TIMES)).logpdf(y)
    assert ours == pytest.approx(full, rel=1e-10)


@pytest.mark.parametrize("number", [0, 1, 2])
def test_variance_of_a_weighted_sum_over_gaps(number: int) -> None:
    weights = DRAW.uniform(0.5, 2, 40)
    full = weights @ _covariance(number, TIMES, TIMES) @ weights
    assert variance_of_sum(weights, TIMES, GRID)[number] == pytest.approx(full, rel=1e-10)


def test_variance_of_an_ar1_sum_has_its_closed_form() -> None:
    """s2 [m (1+r)/(1-r) - 2 r (1 - r^m)/(1-r)^2], the exact variance of a sum of AR(1) terms."""
    grid = NoiseGrid(np.array([0.6]), np.array([1.0]), np.array([0.0]), np.zeros(1))
    m, r = 30, 0.6
    exact = m * (1 + r) / (1 - r) - 2 * r * (1 - r**m) / (1 - r) ** 2
    assert variance_of_sum(np.ones(m), np.arange(m * 1.0), grid)[0] == pytest.approx(exact, rel=1e-12)


@pytest.mark.parametrize("number", [0, 1, 2])
def test_error_of_a_predicted_total_with_full_matrices(number: int) -> None:
    """Var(sum of later noise - total @ (X'X)^-1 X' noise), every covariance written out."""
    design = np.column_stack([np.ones(40), DRAW.uniform(0, 10, 40)])
    scale = DRAW.uniform(0.5, 2, 40)
    later_times = TIMES[-1] + 5 + np.arange(20.0)
    later, later_scale = np.column_stack([np.ones(20), DRAW.uniform(0, 10, 20)]), np.full(20, 1.5)
    belief = posterior(DRAW.normal(size=40), design, TIMES, scale, [(np.zeros(2), 1.0)], grid=GRID)
    total = later.sum(axis=0)
    gain = (total @ np.linalg.inv(design.T @ design) @ design.T) * scale
    own = later_scale @ _covariance(number, later_times, later_times) @ later_scale
    shared = gain @ _covariance(number, TIMES, later_times) @ later_scale
    error = gain @ _covariance(number, TIMES, TIMES) @ gain
    exact = belief.variance[number] * (own + error - 2 * shared)
    ours = belief.predicted_total(total, later_scale, later_times).scale[number] ** 2
    assert ours == pytest.approx(exact, rel=1e-9)


def test_the_grid_finds_persistence_again() -> None:
    noise = np.zeros(600)
    for t in range(1, 600):
        noise[t] = 0.8 * noise[t - 1] + DRAW.normal() * 0.6
    ones, times = np.ones((600, 1)), np.arange(600.0)
    lasting = posterior(noise + 5, ones, times, np.ones(600), [(np.zeros(1), 1.0)]).noise_summary()
    fresh = posterior(DRAW.normal(size=600), ones, times, np.ones(600), [(np.zeros(1), 1.0)]).noise_summary()
    assert lasting["1"] == pytest.approx(0.8, abs=0.08)
    assert abs(fresh["1"]) < 0.1


def test_shares_of_every_noise_add_up_to_one() -> None:
    grid = noise_grid()
    np.testing.assert_allclose(grid.persistent_share + grid.slow_share + grid.new_share, 1.0)


def test_a_level_of_its_own_on_open_days_is_not_taken_for_memory() -> None:
    """Open and closed days differ in noise, and open days lie above the form: no day tells of another."""
    opened = np.arange(364) % 7 < 5
    scale = np.where(opened, 1.0, 0.2)
    y = 10 + 2 * opened + scale * DRAW.normal(size=364)
    times, constant = np.arange(364.0), (np.zeros(1), 1.0)
    kept = posterior(y, np.ones((364, 1)), times, scale, [constant])
    aside = posterior(y, np.ones((364, 1)), times, scale, [constant], level_aside=True)
    assert kept.noise_summary()["30"] > 0.1
    assert aside.noise_summary()["30"] < 0.05


def test_noise_that_persists_wholly_is_whitened_as_the_full_covariance_says() -> None:
    grid = NoiseGrid(np.array([0.0, 0.4, 0.9]), np.ones(3), np.zeros(3), np.zeros(3))
    y = DRAW.normal(size=40)
    whitened = whiten(y[:, None], TIMES, grid)
    for number, persistence in enumerate(grid.persistence):
        covariance = persistence ** np.abs(TIMES[:, None] - TIMES[None, :])
        rows = whitened.rows[:, number, 0]
        assert rows @ rows == pytest.approx(y @ np.linalg.solve(covariance, y), rel=1e-10)
        assert whitened.log_determinant[number] == pytest.approx(np.linalg.slogdet(covariance)[1], abs=1e-9)
