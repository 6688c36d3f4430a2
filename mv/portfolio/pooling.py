"""The sum over studies, with an interval that knows of common causes.

Studies share weather, calendars, the economy, a make of meter and a kind of model; their errors do not
average out as independent ones do. Adding half-widths in quadrature is then too narrow, and the more
studies the worse.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mv.base.estimate import Estimate

FloatArray = npt.NDArray[np.float64]

# The correlation is drawn towards this by as much weight as this many eight-week blocks: the same as
# for the meters of one site, and for what residuals cannot show, such as a bias that all models share
# (common practice, no source).
USUAL_CORRELATION, WEIGHT_BLOCKS = 0.2, 1.0
FEWEST_BLOCKS = 3  # of a study, for its residuals to be compared (common practice, no source)
FEWEST_FREEDOM = 3.0  # of the quantile for the common part (common practice, no source)


@dataclass(frozen=True)
class Share:
    """One study's part of the sum: its estimate, its residuals by block, its metering part by class.

    All in the unit of `estimate` but the residuals, of which only the shape counts.
    """

    estimate: Estimate
    residuals: Mapping[str, float]
    metering: Mapping[str, float]


@dataclass(frozen=True)
class Pool:
    """The sum and what its interval is made of: half-widths at `total.confidence`.

    `own` is what averages out, `common` what does not, `metering` the meters' accuracies;
    `correlation` is between two studies' errors, from `blocks` eight-week blocks (effective number).
    `if_independent` is the half-width that adding in quadrature would give, for comparison only.
    """

    studies: int
    total: Estimate
    own: float
    common: float
    metering: float
    correlation: float
    blocks: float
    if_independent: float


def pooled(shares: Sequence[Share]) -> Pool:
    """The sum over at least one study, with its interval.

    With w_i the half-width of study i without its metering part m_i, and r the correlation of errors
    between studies (`common_correlation`), the half-width of the sum is the root of

        sum(w_i^2) + (t/z)^2 r (sum(w_i)^2 - sum(w_i^2)) + M^2

    where t and z are the Student and normal quantiles of the confidence, the Student one with as many
    degrees of freedom as there were blocks to learn r from, less one; and M^2 is the sum over
    accuracy classes of (sum of the class's m_i)^2, since meters of one class may err alike. The rule
    for correlated errors is that of the Guide to the Expression of Uncertainty in Measurement,
    JCGM 100:2008, 5.2.2, equation (13) with all r_ij = r. Sides are treated apart.
    Not valid where a few studies rule the sum and theirs are the residuals that are missing.
    """
    confidence = common_confidence([share.estimate for share in shares])
    below, above = (_widths(shares, end, confidence) for end in ("low", "high"))
    correlation, blocks = common_correlation([s.residuals for s in shares], (below + above) / 2)
    factor = _student_over_normal(confidence, max(blocks - 1.0, FEWEST_FREEDOM))
    metering = _metering(shares, confidence)
    centre = float(sum(float(share.estimate.estimate) for share in shares))
    parts = [_parts(widths, correlation, factor) for widths in (below, above)]
    low, high = (float(np.sqrt(own**2 + common**2 + metering**2)) for own, common in parts)
    totals = [_whole_width(share.estimate, confidence) for share in shares]
    return Pool(
        studies=len(shares),
        total=Estimate(centre, centre - low, centre + high, confidence),
        own=(parts[0][0] + parts[1][0]) / 2,
        common=(parts[0][1] + parts[1][1]) / 2,
        metering=metering,
        correlation=correlation,
        blocks=blocks,
        if_independent=float(np.sqrt(np.sum(np.square(totals)))),
    )


def common_correlation(residuals: Sequence[Mapping[str, float]], weights: FloatArray) -> tuple[float, float]:
    """Correlation between two studies' errors, from residuals in the same weeks; and how many weeks.

    z_i(t) is study i's residual in block t over its own root mean square, about its mean. Then

        r = sum_t [(sum_i w_i z_i)^2 - sum_i w_i^2 z_i^2] / sum_t [(sum_i w_i)^2 - sum_i w_i^2]

    over the studies present in each block: the mean of all pairs' correlations, each weighed by what it
    adds to the sum's variance, without a matrix of pairs. It is drawn towards 0.2 by the weight of one
    block and is at least 0. The effective number of blocks is (sum_t D)^2 / sum_t D^2, D the
    denominator's terms.
    """
    names = sorted({block for study in residuals for block in study if len(study) >= FEWEST_BLOCKS})
    place = {name: number for number, name in enumerate(names)}
    sums, squares, most, most_squares = (np.zeros(len(names)) for _ in range(4))
    for study, weight in zip(residuals, weights, strict=True):
        shape = _standardised(study)
        if shape is None:
            continue
        where = [place[name] for name in study]
        sums[where] += weight * shape
        squares[where] += (weight * shape) ** 2
        most[where] += weight
        most_squares[where] += weight**2
    possible = most**2 - most_squares
    pairs = possible > 1e-9 * max(1e-300, float(possible.max(initial=0.0)))
    if not pairs.any():
        return USUAL_CORRELATION, 0.0
    found = float((sums**2 - squares)[pairs].sum() / possible[pairs].sum())
    blocks = float(possible[pairs].sum() ** 2 / (possible[pairs] ** 2).sum())
    drawn = (blocks * found + WEIGHT_BLOCKS * USUAL_CORRELATION) / (blocks + WEIGHT_BLOCKS)
    return min(1.0, max(0.0, drawn)), blocks


def common_confidence(estimates: Sequence[Estimate]) -> float:
    """The confidence that most of the estimates have; of equals, the highest."""
    found = [estimate.confidence for estimate in estimates]
    return max(sorted(set(found)), key=lambda one: (found.count(one), one))


def _standardised(study: Mapping[str, float]) -> FloatArray | None:
    values = np.array(list(study.values()), dtype=np.float64)
    if len(values) < FEWEST_BLOCKS:
        return None
    centred = values - values.mean()
    size = float(np.sqrt(np.mean(centred**2)))
    return None if size <= 1e-12 * max(1.0, float(np.abs(values).max())) else centred / size


def _widths(shares: Sequence[Share], end: str, confidence: float) -> FloatArray:
    """Each study's distance to one end at the common confidence, its metering part taken out."""
    widths = []
    for share in shares:
        whole = abs(float(getattr(share.estimate, end)) - float(share.estimate.estimate))
        own = max(0.0, whole**2 - sum(share.metering.values()) ** 2) ** 0.5
        widths.append(own * _rescaled(share.estimate.confidence, confidence))
    return np.array(widths, dtype=np.float64)


def _whole_width(estimate: Estimate, confidence: float) -> float:
    width = (float(estimate.high or 0.0) - float(estimate.low or 0.0)) / 2
    return width * _rescaled(estimate.confidence, confidence)


def _parts(widths: FloatArray, correlation: float, factor: float) -> tuple[float, float]:
    squares = float(np.sum(widths**2))
    pairs = max(0.0, float(widths.sum()) ** 2 - squares)
    return squares**0.5, factor * (correlation * pairs) ** 0.5


def _metering(shares: Sequence[Share], confidence: float) -> float:
    classes: dict[str, float] = {}
    for share in shares:
        for name, width in share.metering.items():
            scaled = width * _rescaled(share.estimate.confidence, confidence)
            classes[name] = classes.get(name, 0.0) + scaled
    return float(np.sqrt(sum(width**2 for width in classes.values())))


def _rescaled(stated: float, wanted: float) -> float:
    """What turns a half-width at one confidence into one at another: ratio of normal quantiles."""
    return 1.0 if stated == wanted else _normal(wanted) / _normal(stated)


def _normal(confidence: float) -> float:
    from scipy.special import ndtri

    return float(ndtri(0.5 + confidence / 2))


def _student_over_normal(confidence: float, freedom: float) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(freedom, 0.5 + confidence / 2)) / _normal(confidence)
