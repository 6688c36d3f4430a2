"""Sums of independent estimates."""

import math
from collections.abc import Sequence

from mv.base.estimate import Estimate


def sum_of_answers(parts: Sequence[Estimate]) -> Estimate:
    """The sum of independent estimates; the sides of their intervals add in quadrature.

    Propagation of uncertainty for a sum, JCGM 100:2008 (GUM) 5.1.2, side by side for intervals
    that are not symmetric. A part without an interval adds none.
    """
    estimate = math.fsum(float(part.estimate) for part in parts)
    below = [float(p.estimate) - p.low for p in parts if p.low is not None]
    above = [p.high - float(p.estimate) for p in parts if p.high is not None]
    low, high = estimate - math.hypot(*below), estimate + math.hypot(*above)
    return Estimate(estimate, low, high, parts[0].confidence)
