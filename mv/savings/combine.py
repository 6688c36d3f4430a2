"""From meters to the site: errors of meters go together as far as their days do."""

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.estimate import Answer, CannotSay, Estimate

FloatArray = npt.NDArray[np.float64]

# Residuals are compared as weekly means: totals depend on what lasts (common practice, no source).
FIRST_MONDAY, WEEK_DAYS = np.datetime64("2000-01-03", "D"), 7
# Correlations are drawn towards this by as much weight as this many weeks: meters of one site share
# people and weather (common practice, no source).
USUAL_CORRELATION, WEIGHT_WEEKS = 0.2, 8.0
ROUNDING = 1e-12  # of a sum of squares: less of it is arithmetic, not a column that varies


def residual_correlation(residuals: Sequence[pd.Series]) -> FloatArray:
    """Correlation of the meters' weekly mean residuals, drawn towards 0.2 where weeks are few."""
    size = len(residuals)
    matrix = np.eye(size)
    if size < 2:
        return matrix
    weeks, found = _by_pairs(_weekly_means(residuals))
    drawn = (weeks * found + WEIGHT_WEEKS * USUAL_CORRELATION) / (weeks + WEIGHT_WEEKS)
    return _nearest_positive(np.where(matrix == 1.0, 1.0, drawn))


def _by_pairs(table: FloatArray) -> tuple[FloatArray, FloatArray]:
    """For each pair of columns the rows that both know, and their correlation; 0 where it has none."""
    known = np.isfinite(table)
    seen = known.astype(np.float64)
    weeks = seen.T @ seen
    count = np.maximum(seen.sum(axis=0), 1.0)
    apart = np.where(known, table - np.where(known, table, 0.0).sum(axis=0) / count, 0.0)
    often = np.maximum(weeks, 1.0)
    sums, squares = apart.T @ seen, (apart**2).T @ seen
    own = squares - sums**2 / often  # of the row's column, over the weeks of the pair
    both = apart.T @ apart - sums * sums.T / often
    varies = np.minimum(own, own.T) > ROUNDING * np.maximum(squares, squares.T)
    usable = (weeks > 2) & varies
    return weeks, np.where(usable, both / np.sqrt(np.where(usable, own * own.T, 1.0)), 0.0)


def _weekly_means(residuals: Sequence[pd.Series]) -> FloatArray:
    """A row for each week from Monday, a column for each meter; NaN where a meter has no day."""
    found = [series[np.isfinite(series.to_numpy(dtype=np.float64))] for series in residuals]
    weeks = [_weeks(pd.DatetimeIndex(series.index)) for series in found]
    seen = [one for one in weeks if len(one)]
    first = min((int(one.min()) for one in seen), default=0)
    rows = max((int(one.max()) for one in seen), default=-1) + 1 - first
    table: FloatArray = np.full((rows, len(found)), np.nan)
    for place, (series, week) in enumerate(zip(found, weeks, strict=True)):
        total = np.bincount(week - first, weights=series.to_numpy(dtype=np.float64), minlength=rows)
        days = np.bincount(week - first, minlength=rows)
        table[days > 0, place] = total[days > 0] / days[days > 0]
    return table


def _weeks(index: pd.DatetimeIndex) -> npt.NDArray[np.int64]:
    days = (index.to_numpy().astype("datetime64[D]") - FIRST_MONDAY).astype(np.int64)
    return days // WEEK_DAYS


def _nearest_positive(matrix: FloatArray) -> FloatArray:
    values, vectors = np.linalg.eigh(matrix)
    if values.min() >= 0:
        return matrix
    repaired = (vectors * np.clip(values, 0, None)) @ vectors.T
    size = np.sqrt(np.diag(repaired))
    return np.asarray(repaired / np.outer(size, size))


def combine(
    answers: Mapping[str, Answer],
    residuals: Mapping[str, pd.Series],
    *,
    metering_half_widths: Mapping[str, float] | None = None,
    what: str = "avoided_kwh",
) -> Answer:
    """Sum over meters. Half-widths combine through the correlation of the meters' residuals.

    Metering errors, already in each answer, may have one cause (the same make of sensor, the same
    calibration): their half-widths are taken out, added as they stand, and put back.
    """
    silent = [answer for answer in answers.values() if isinstance(answer, CannotSay)]
    if silent or not answers:
        return CannotSay(what, "; ".join(answer.why for answer in silent) or "no meter has an answer")
    names = list(answers)
    known = [answer for answer in answers.values() if isinstance(answer, Estimate)]
    metering = np.array([(metering_half_widths or {}).get(name, 0.0) for name in names])
    correlation = residual_correlation([residuals[name] for name in names])
    below = np.array([float(a.estimate) - float(a.low or 0.0) for a in known])
    above = np.array([float(a.high or 0.0) - float(a.estimate) for a in known])
    errors = np.array([a.standard_error or 0.0 for a in known])
    centre = float(sum(float(answer.estimate) for answer in known))
    return Estimate(
        centre,
        centre - _joined(below, metering, correlation),
        centre + _joined(above, metering, correlation),
        known[0].confidence,
        float(np.sqrt(errors @ correlation @ errors)),
    )


def _joined(widths: FloatArray, metering: FloatArray, correlation: FloatArray) -> float:
    own = np.sqrt(np.clip(widths**2 - metering**2, 0.0, None))
    return float(np.sqrt(own @ correlation @ own + metering.sum() ** 2))
