"""A mixture of Student t distributions: what is believed of a sum when its noise is itself uncertain."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mv.base.estimate import Estimate

FloatArray = npt.NDArray[np.float64]


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
        from scipy.optimize import brentq
        from scipy.special import stdtr, stdtrit

        used = self.weight > 1e-12
        weight, centre, scale = self.weight[used], self.centre[used], self.scale[used]
        parts = centre + scale * stdtrit(self.freedom, probability)
        low, high = float(parts.min()), float(parts.max())
        if high - low <= 1e-12 * max(1.0, abs(high)):
            return low
        spread = np.where(scale > 0, scale, np.finfo(float).tiny)

        def excess(value: float) -> float:
            return float(weight @ stdtr(self.freedom, (value - centre) / spread)) - probability

        return float(brentq(excess, low, high, xtol=1e-7 * (high - low)))

    def moved(self, *, add: float = 0.0, times: float = 1.0) -> "StudentMixture":
        """The belief about `add + times * quantity`."""
        return StudentMixture(self.weight, add + times * self.centre, abs(times) * self.scale, self.freedom)

    def widened(self, variance: float) -> "StudentMixture":
        """The belief when an independent error of that variance is added."""
        scale = np.sqrt(self.scale**2 + variance)
        return StudentMixture(self.weight, self.centre, scale, self.freedom)

    def estimate(self, confidence: float) -> Estimate:
        """Mean with the central interval of the stated confidence."""
        tail = (1.0 - confidence) / 2.0
        return Estimate(
            self.mean,
            self.quantile(tail),
            self.quantile(1.0 - tail),
            confidence,
            self.standard_deviation,
        )
