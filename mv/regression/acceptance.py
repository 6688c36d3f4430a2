"""The published limits beside the model's values."""

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.regression import statistics
from mv.regression.findings import CALENDAR_TERMS
from mv.regression.fitted import Criterion, Term
from mv.regression.least_squares import least_squares
from mv.regression.terms import label

FloatArray = npt.NDArray[np.float64]

GUIDELINE_14 = "ASHRAE Guideline 14 (from memory)"
IPMVP = "IPMVP (from memory)"
CV_RMSE_LIMIT = 0.25  # energy, 12 to 60 months of reporting data
NMBE_LIMIT = 0.005
NET_BIAS_LIMIT = 0.00005
R2_LIMIT = 0.75
T_LIMIT = 2.0
BASELINE_DAYS_LIMIT = 365


def acceptance_tests(
    y: FloatArray,
    matrix: FloatArray,
    figures: Mapping[str, float | None],
    terms: Sequence[Term],
    drivers: pd.DataFrame,
) -> list[Criterion]:
    """CV(RMSE), bias, R2, t and length of the data, each with its limit and source."""
    days = int((drivers.index.max() - drivers.index.min()).days) + 1
    tests = [
        _test("CV(RMSE)", CV_RMSE_LIMIT, figures["cv_rmse"], "at most", f"{GUIDELINE_14}, 12-60 months"),
        _test("NMBE", NMBE_LIMIT, figures["nmbe"], "at most", "common practice, no source"),
        _test(
            "net determination bias of the least-squares fit", NET_BIAS_LIMIT,
            _least_squares_bias(y, matrix), "at most", GUIDELINE_14,
        ),
        _test("R2 (says little of a steady load)", R2_LIMIT, figures["r2"], "at least", IPMVP),
        _test("days from first to last", BASELINE_DAYS_LIMIT, float(days), "at least",
              f"{GUIDELINE_14}, prescriptive path, baseline"),
    ]  # fmt: skip
    return [*tests, *_least_t([term for term in terms if _is_slope(term)])]


def _least_t(drivers: Sequence[Term]) -> list[Criterion]:
    """The weakest driver against its limit; a weaker one that is held near nothing stands beside it."""
    weakest = min(drivers, key=_size_of_t, default=None)
    judged = min((term for term in drivers if not term.shrunk), key=_size_of_t, default=None)
    rows = []
    if judged is not None:
        name = f"least |t| of a driver ({label(judged.name)})"
        rows.append(_test(name, T_LIMIT, _size_of_t(judged), "at least", IPMVP))
    if weakest is not None and weakest is not judged:
        rows.append(
            Criterion(
                f"least |t| of all ({label(weakest.name)}; not judged: physics asks for the term, and it "
                "is held near nothing where the data are silent)",
                T_LIMIT, _size_of_t(weakest), None, IPMVP,
            )
        )  # fmt: skip
    return rows


def _size_of_t(term: Term) -> float:
    return abs(term.t or 0.0)


def _is_slope(term: Term) -> bool:
    return not term.name.startswith(CALENDAR_TERMS)


def _test(name: str, limit: float, value: float | None, sense: str, source: str) -> Criterion:
    if value is None or not np.isfinite(value):
        return Criterion(name, limit, None, None, source)
    passed = abs(value) <= limit if sense == "at most" else value >= limit
    return Criterion(name, limit, float(value), bool(passed), source)


def _least_squares_bias(y: FloatArray, matrix: FloatArray) -> float | None:
    if not np.any(y):
        return None
    return statistics.net_bias(y, least_squares(y, matrix[:, matrix.any(axis=0)]).fitted)
