"""Choosing a form: whole blocks of days are left out in turn, and the simplest of equals wins."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.regression.forms import Form, expected_sign
from mv.regression.least_squares import LEAST_NEW_SHARE
from mv.regression.terms import design

FloatArray = npt.NDArray[np.float64]
Codes = npt.NDArray[np.int64]

BLOCKS = 8  # contiguous, so that a day is not foretold from its neighbours (common practice, no source)
LEAST_POINTS_PER_TERM = 4  # common practice, no source
ROUNDING = 1e-9  # errors closer than this, as a share, are the same
LEAST_CARRIED = (
    1e-6  # share of a column's square outside a block, below which the block's formula is not trusted
)


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


def try_form(form: Form, y: FloatArray, matrix: FloatArray) -> Trial | None:
    """Cross-validate `form`, whose columns are `matrix`, by contiguous blocks; None where it has too many
    terms for the days.
    """
    if len(y) < LEAST_POINTS_PER_TERM * matrix.shape[1] or not np.isfinite(matrix).all():
        return None
    basis, upper = np.linalg.qr(matrix)
    if (np.abs(np.diag(upper)) <= LEAST_NEW_SHARE * np.linalg.norm(matrix, axis=0)).any():
        return None
    along = basis.T @ y
    full = np.linalg.solve(upper, along)
    wrong = tuple(
        term for term, value in zip(form.terms, full, strict=True) if expected_sign(term) * value < 0
    )
    return Trial(form, _errors_left_out(y, matrix, basis, y - basis @ along), wrong)


def _errors_left_out(
    y: FloatArray, matrix: FloatArray, basis: FloatArray, residual: FloatArray
) -> FloatArray:
    """Mean squared error on each block of days, fitted on the others.

    With orthonormal columns Q the error on a block is e + Q (I - Q'Q)^-1 Q'e, e the residuals of the whole
    fit on it: the sum of squares without a block, by Woodbury's identity. Where the other days hardly
    carry a column, they are fitted afresh.
    """
    rows = _block_rows(len(y))
    sizes = (rows < len(y)).sum(axis=1)
    columns = np.vstack([basis, np.zeros(basis.shape[1])])[rows]  # (block, day, column), filled up with zeros
    errors = np.append(residual, 0.0)[rows][:, :, None]
    across = columns.transpose(0, 2, 1)
    rest = np.eye(basis.shape[1]) - across @ columns
    carried = np.linalg.eigvalsh(rest)[:, 0] > LEAST_CARRIED
    rest[~carried] = np.eye(basis.shape[1])
    errors = errors + columns @ np.linalg.solve(rest, across @ errors)
    mean_squares = np.asarray((errors**2).sum(axis=(1, 2)) / sizes)
    for number in np.flatnonzero(~carried):
        block = rows[number, : sizes[number]]
        kept = np.delete(np.arange(len(y)), block)
        left_out = y[block] - matrix[block] @ np.linalg.lstsq(matrix[kept], y[kept], rcond=None)[0]
        mean_squares[number] = np.mean(left_out**2)
    return mean_squares


@lru_cache(maxsize=16)
def _block_rows(points: int) -> Codes:
    """The rows of each block, one block a row; shorter ones are filled up with `points`, which is none."""
    blocks = np.array_split(np.arange(points), min(BLOCKS, points))
    rows = np.full((len(blocks), len(blocks[0])), points)
    for number, block in enumerate(blocks):
        rows[number, : len(block)] = block
    return rows


def choose(
    forms: Sequence[Form],
    y: FloatArray,
    drivers: pd.DataFrame,
    *,
    bills: Codes | None = None,
    most_worse: float = np.inf,
) -> tuple[Form | None, list[Alternative]]:
    """The simplest form whose error is within one standard error of the best one's.

    `most_worse` is how much larger its squared error may be at most, as a share of the best one's: what
    acts in one season alone betters few blocks, and the standard error then hides it.

    The standard error is of the paired difference over the blocks. Forms with a coefficient of the
    wrong physical sign are out. None when no form can be tried. With `bills`, the number of each day's
    bill from 0, the rows of `drivers` are summed by bill and y is by bill.
    """
    names = list(dict.fromkeys(term for form in forms for term in form.terms))
    columns = dict(zip(names, billed(design(drivers, names), bills).T, strict=True))
    tried = [try_form(form, y, np.column_stack([columns[term] for term in form.terms])) for form in forms]
    trials = [trial for trial in tried if trial is not None]
    fit = [trial for trial in trials if not trial.wrong_signs]
    if not fit:
        return None, []
    best = _smallest(fit)
    good = [trial for trial in fit if as_good(trial, best, most_worse)]
    fewest = min(trial.form.parameters for trial in good)
    chosen = _smallest([trial for trial in good if trial.form.parameters == fewest])
    return chosen.form, [_account(trial, chosen, best, float(np.mean(y)), most_worse) for trial in trials]


def _smallest(trials: Sequence[Trial]) -> Trial:
    """The trial of the smallest error; of forms that span the same columns, the one tried first."""
    least = min(trial.mean_square for trial in trials)
    return next(trial for trial in trials if trial.mean_square <= least * (1 + ROUNDING))


def as_good(trial: Trial, best: Trial, most_worse: float) -> bool:
    """Whether the trial's error is within one standard error of the best one's, and within `most_worse`."""
    difference = trial.block_errors - best.block_errors
    error = float(np.std(difference, ddof=1) / np.sqrt(len(difference))) if len(difference) > 1 else 0.0
    allowed = min(error, most_worse * best.mean_square)
    return bool(difference.mean() <= allowed + ROUNDING * best.mean_square)


def _account(trial: Trial, chosen: Trial, best: Trial, mean: float, most_worse: float) -> Alternative:
    if trial is chosen:
        same = "the smallest error on days left out"
        why = same if trial is best else "the simplest within one standard error of the best"
    elif trial.wrong_signs:
        why = f"wrong physical sign: {', '.join(trial.wrong_signs)}"
    elif as_good(trial, best, most_worse):
        why = "as good, but not simpler"
    else:
        why = "a larger error on days left out"
    score = float(np.sqrt(trial.mean_square)) / mean if mean else float("nan")
    return Alternative(trial.form.name, len(trial.form.terms), score, trial is chosen, why)
