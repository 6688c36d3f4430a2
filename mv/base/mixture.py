"""A mixture of Student t distributions: what is believed of a sum when its noise is itself uncertain."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mv.base.estimate import Estimate

FloatArray = npt.NDArray[np.float64]

LEAST_WEIGHT = 1e-12  # parts of less are not counted in a quantile
ROUNDING = 1e-12  # of a bracket's width, or of a value: below lies arithmetic
LAST_STEP = 1e-7  # of the first bracket and in probability: Newton's next step would be about its square
MOST_STEPS = 200


@dataclass(frozen=True)
class StudentMixture:
    """Parts with weights that sum to one; `scale` is each part's t scale, `freedom` its degrees of freedom.

    All parts share the unit of `centre`.
    """

    weight: FloatArray
    centre: FloatArray
    scale: FloatArray
    freedom: float

    @property
    def mean(self) -> float:
        """Weighted centre."""
        return float(self.weight @ self.centre)

    @property
    def standard_deviation(self) -> float:
        """Of the whole mixture; t parts with 2 degrees of freedom or fewer count with 3."""
        freedom = max(self.freedom, 3.0)
        within = self.scale**2 * freedom / (freedom - 2.0)
        return float(np.sqrt(self.weight @ (within + (self.centre - self.mean) ** 2)))

    def below(self, value: float) -> float:
        """Probability of lying below `value`."""
        from scipy.special import stdtr

        spread = np.where(self.scale > 0, self.scale, np.finfo(float).tiny)
        return float(self.weight @ stdtr(self.freedom, (value - self.centre) / spread))

    def quantile(self, probability: float) -> float:
        """The value below which lies `probability`."""
        return float(quantiles([self], np.array([probability]))[0, 0])

    def moved(self, *, add: float = 0.0, times: float = 1.0) -> "StudentMixture":
        """The belief about `add + times * quantity`."""
        return StudentMixture(self.weight, add + times * self.centre, abs(times) * self.scale, self.freedom)

    def widened(self, variance: float) -> "StudentMixture":
        """The belief when an independent error of that variance is added."""
        scale = np.sqrt(self.scale**2 + variance)
        return StudentMixture(self.weight, self.centre, scale, self.freedom)

    def estimate(self, confidence: float) -> Estimate:
        """Mean with the central interval of the stated confidence."""
        return estimates([self], confidence)[0]


def estimates(beliefs: Sequence[StudentMixture], confidence: float) -> list[Estimate]:
    """Each belief's mean with its central interval; the beliefs have equally many parts."""
    tail = (1.0 - confidence) / 2.0
    ends = quantiles(beliefs, np.array([tail, 1.0 - tail]))
    return [
        Estimate(belief.mean, float(low), float(high), confidence, belief.standard_deviation)
        for belief, (low, high) in zip(beliefs, ends, strict=True)
    ]


def quantiles(beliefs: Sequence[StudentMixture], probability: FloatArray) -> FloatArray:
    """The values below which lies each `probability`, a row for each belief, all found together.

    The beliefs have equally many parts. The parts' own quantiles bracket the mixture's.
    """
    from scipy.special import stdtrit

    weight = np.repeat([belief.weight for belief in beliefs], len(probability), axis=0)
    used = (weight > LEAST_WEIGHT).any(axis=0)
    weight = np.where(weight > LEAST_WEIGHT, weight, 0.0)[:, used]
    centre = np.repeat([belief.centre[used] for belief in beliefs], len(probability), axis=0)
    scale = np.repeat([belief.scale[used] for belief in beliefs], len(probability), axis=0)
    freedom = np.repeat([belief.freedom for belief in beliefs], len(probability))[:, None]
    wanted = np.tile(probability, len(beliefs))
    parts = centre + scale * stdtrit(freedom, wanted[:, None])
    low = np.where(weight > 0, parts, np.inf).min(axis=1)
    high = np.where(weight > 0, parts, -np.inf).max(axis=1)
    start = np.clip((weight * parts).sum(axis=1) / weight.sum(axis=1), low, high)
    spread = np.where(scale > 0, scale, np.finfo(float).tiny)
    found = _crossing(weight, centre, spread, freedom, wanted, start, (low, high))
    return found.reshape(len(beliefs), len(probability))


def _crossing(
    weight: FloatArray,
    centre: FloatArray,
    spread: FloatArray,
    freedom: FloatArray,
    wanted: FloatArray,
    value: FloatArray,
    bracket: tuple[FloatArray, FloatArray],
) -> FloatArray:
    """Where each row's probability reaches `wanted`: Newton's steps, halving where one leaves the bracket."""
    from scipy.special import gammaln, stdtr

    low, high = bracket
    width = high - low
    settled = width <= ROUNDING * np.maximum(1.0, np.abs(high))
    peak = np.exp(gammaln((freedom + 1) / 2) - gammaln(freedom / 2)) / np.sqrt(freedom * np.pi)
    for _ in range(MOST_STEPS):
        if settled.all():
            break
        with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
            z = (value[:, None] - centre) / spread
            excess = (weight * stdtr(freedom, z)).sum(axis=1) - wanted
            density = peak * np.exp(-0.5 * (freedom + 1) * np.log1p(z * z / freedom)) / spread
            newton = value - excess / (weight * density).sum(axis=1)
        low, high = np.where(excess < 0, value, low), np.where(excess < 0, high, value)
        inside = (newton >= low) & (newton <= high)
        moved = np.where(inside, newton, (low + high) / 2)
        close = inside & (np.abs(moved - value) <= LAST_STEP * width) & (np.abs(excess) <= LAST_STEP)
        value = np.where(settled, value, moved)
        settled = settled | close | (high - low <= ROUNDING * width)
    return value
