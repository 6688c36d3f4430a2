"""Quantiles of a mixture of Student t distributions against SciPy's root finder and t distribution."""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import t

from mv.base.mixture import StudentMixture, estimates, quantiles

PROBABILITIES = np.array([0.0005, 0.05, 0.5, 0.95, 0.9995])


def _mixture(seed: int) -> StudentMixture:
    rng = np.random.default_rng(seed)
    weight = rng.dirichlet(np.full(40, 0.3))
    return StudentMixture(
        weight, rng.normal(500, 40, 40), rng.lognormal(3, 1.5, 40), float(rng.integers(3, 400))
    )


def _by_root(belief: StudentMixture, probability: float) -> float:
    def excess(value: float) -> float:
        parts = t.cdf(value, belief.freedom, belief.centre, belief.scale)
        return float(belief.weight @ parts) - probability

    return float(brentq(excess, -1e6, 1e6, xtol=1e-13, rtol=1e-15 * 4))


def test_quantiles_of_several_mixtures_are_those_of_a_root_finder() -> None:
    beliefs = [_mixture(seed) for seed in range(12)]
    found = quantiles(beliefs, PROBABILITIES)
    wanted = [[_by_root(belief, p) for p in PROBABILITIES] for belief in beliefs]
    assert found == pytest.approx(np.array(wanted), rel=1e-10)


def test_a_mixture_does_not_depend_on_those_beside_it() -> None:
    beliefs = [_mixture(seed) for seed in range(5)]
    for belief, together in zip(beliefs, estimates(beliefs, 0.9), strict=True):
        assert together.as_json() == pytest.approx(belief.estimate(0.9).as_json(), rel=1e-12)


def test_parts_without_spread_make_a_step_at_their_centre() -> None:
    belief = StudentMixture(np.array([0.5, 0.5]), np.array([1.0, 2.0]), np.array([0.0, 0.0]), 10.0)
    assert belief.quantile(0.25) == pytest.approx(1.0, abs=1e-9)
    assert belief.quantile(0.75) == pytest.approx(2.0, abs=1e-9)
    sure = StudentMixture(np.array([1.0]), np.array([7.0]), np.array([0.0]), 10.0)
    assert sure.quantile(0.05) == 7.0


def test_a_wide_and_a_narrow_part_far_apart_are_still_solved() -> None:
    belief = StudentMixture(np.array([0.9, 0.1]), np.array([0.0, 1e6]), np.array([1e-3, 1e5]), 3.0)
    for p in PROBABILITIES:
        assert belief.below(belief.quantile(float(p))) == pytest.approx(p, abs=1e-9)
