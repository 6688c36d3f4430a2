"""Choosing a form: whole blocks of days are left out in turn, and the simplest of equals wins."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.regression.forms import Form, expected_sign
from mv.regression.least_squares import independent_columns
from mv.regression.terms import design

FloatArray = npt.NDArray[np.float64]
Codes = npt.NDArray[np.int64]

BLOCKS = 8  # contiguous, so that a day is not foretold from its neighbours (common practice, no source)
LEAST_POINTS_PER_TERM = 4  # common practice, no source


@dataclass(frozen=True)
class Alternative:
    """One form tried: its error on days left out, as a fraction of the mean, and why it fell."""

    form: str
    terms: int
    cross_validated_cv_rmse: float
    chosen: bool
    why: str


@dataclass(frozen=True)
class Trial:
    """A form with its squared error by block of days left out."""

    form: Form
    block_errors: FloatArray
    wrong_signs: tuple[str, ...]

    @property
    def mean_square(self) -> float:
        """Mean squared error on days left out."""
        return float(self.block_errors.mean())


def billed(matrix: FloatArray, bills: Codes | None) -> FloatArray:
    """Rows summed by bill number; as they are without bills."""
    if bills is None:
        return matrix
    total = np.zeros((int(bills.max()) + 1, matrix.shape[1]))
    np.add.at(total, bills, matrix)
    return total


def try_form(form: Form, y: FloatArray, drivers: pd.DataFrame, bills: Codes | None) -> Trial | None:
    """Cross-validate `form` by contiguous blocks; None where it has too many terms for the days."""
    matrix = billed(design(drivers, form.terms), bills)
    if len(y) < LEAST_POINTS_PER_TERM * matrix.shape[1] or not np.isfinite(matrix).all():
        return None
    if len(independent_columns(matrix)) < matrix.shape[1]:
        return None
    full = np.linalg.lstsq(matrix, y, rcond=None)[0]
    wrong = tuple(
        term for term, value in zip(form.terms, full, strict=True) if expected_sign(term) * value < 0
    )
    blocks = np.array_split(np.arange(len(y)), min(BLOCKS, len(y)))
    errors = np.empty(len(blocks))
    for number, block in enumerate(blocks):
        kept = np.ones(len(y), dtype=bool)
        kept[block] = False
        fitted = np.linalg.lstsq(matrix[kept], y[kept], rcond=None)[0]
        errors[number] = np.mean((y[block] - matrix[block] @ fitted) ** 2)
    return Trial(form, errors, wrong)


def choose(
    forms: Sequence[Form], y: FloatArray, drivers: pd.DataFrame, *, bills: Codes | None = None
) -> tuple[Form | None, list[Alternative]]:
    """The simplest form whose error is within one standard error of the best one's.

    The standard error is of the paired difference over the blocks. Forms with a coefficient of the
    wrong physical sign are out. None when no form can be tried. With `bills`, the number of each day's
    bill from 0, the rows of `drivers` are summed by bill and y is by bill.
    """
    trials = [trial for form in forms if (trial := try_form(form, y, drivers, bills)) is not None]
    fit = [trial for trial in trials if not trial.wrong_signs]
    if not fit:
        return None, []
    best = min(fit, key=lambda trial: trial.mean_square)
    chosen = min(
        (trial for trial in fit if _as_good(trial, best)),
        key=lambda trial: (trial.form.parameters, trial.mean_square),
    )
    return chosen.form, [_account(trial, chosen, best, float(np.mean(y))) for trial in trials]


def _as_good(trial: Trial, best: Trial) -> bool:
    difference = trial.block_errors - best.block_errors
    error = float(np.std(difference, ddof=1) / np.sqrt(len(difference))) if len(difference) > 1 else 0.0
    return bool(difference.mean() <= error)


def _account(trial: Trial, chosen: Trial, best: Trial, mean: float) -> Alternative:
    if trial is chosen:
        same = "the smallest error on days left out"
        why = same if trial is best else "the simplest within one standard error of the best"
    elif trial.wrong_signs:
        why = f"wrong physical sign: {', '.join(trial.wrong_signs)}"
    elif _as_good(trial, best):
        why = "as good, but not simpler"
    else:
        why = "a larger error on days left out"
    score = float(np.sqrt(trial.mean_square)) / mean if mean else float("nan")
    return Alternative(trial.form.name, len(trial.form.terms), score, trial is chosen, why)
