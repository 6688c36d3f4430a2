"""From a meter's days to a fitted model."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.estimate import CannotSay
from mv.base.study_records import Event
from mv.base.wording import counted
from mv.regression import statistics
from mv.regression.acceptance import acceptance_tests
from mv.regression.candidates import candidate_form
from mv.regression.findings import Finding, confounding_findings, sign_findings
from mv.regression.fitted import FittedModel, Term, completed, days_since_epoch
from mv.regression.forms import Form, Kind
from mv.regression.least_squares import independent_columns
from mv.regression.outliers import far_days
from mv.regression.posterior import Posterior, posterior
from mv.regression.priors import noise_scale, prior_precisions, residual_variance
from mv.regression.selection import Alternative
from mv.regression.terms import column, design

FloatArray = npt.NDArray[np.float64]

LEAST_DAYS = 14  # two of each weekday (common practice, no source)
HAPPENINGS = "happenings"
# Measured by tests/benchmarks/bench_placebo.py on an open archive of university meters.
WHOLE_BUILDING_CHANGE = (
    "A whole building changes by itself: in 33 measured university buildings with nothing known to have "
    "changed, the use moved by a median of 4.6 % from one year to the next, and intervals such as this "
    "one held no change in little more than half of them. List what changed on site as [[event]]s."
)


def fit(
    y: pd.Series,
    drivers: pd.DataFrame,
    *,
    kind: Kind = "indoor",
    terms: Sequence[str] | None = None,
    events: Sequence[Event] = (),
    applied_to: Sequence[pd.DataFrame] = (),
    hourly_sum: str | None = None,
    only_hourly: bool = False,
) -> FittedModel | CannotSay:
    """Fit `y` (kWh a day, or mean kW in a window) by naive local day on `drivers` of those days.

    NaN days take no part. `terms` fixes the form; otherwise it is chosen, drivers being used only
    where `applied_to` (the tables the model will be applied to) know them too. Days of an event "set
    aside" take no part, an event "model" gets a coefficient of its own, "note only" changes nothing.
    `hourly_sum` names the column with an hourly model's daily sums, which is tried as well, or alone.
    """
    y, drivers = _aligned(y, drivers, events)
    if len(y) < LEAST_DAYS:
        return CannotSay("model", f"only {len(y)} days with usable energy; {LEAST_DAYS} are needed")
    values = y.to_numpy(dtype=np.float64)
    modelled = [_event_term(e) for e in events if e.treatment == "model"]
    modelled = [term for term in modelled if 0 < column(drivers, term).sum() < len(drivers)]
    far = far_days(values, *_rough_design(drivers, modelled))
    kept = ~far
    form, alternatives = candidate_form(
        values[kept], drivers[kept], kind=kind, terms=terms, applied_to=applied_to,
        hourly_sum=hourly_sum, only_hourly=only_hourly,
    )  # fmt: skip
    if form is None:
        return CannotSay("model", f"{len(y)} days do not carry any form")
    form = Form((*form.terms, *modelled), form.shrunk)
    far = far_days(values, _matrix(drivers, form), drivers["is_open_day"].to_numpy(dtype=bool))
    model = _fitted(y, drivers, far, form, kind, alternatives)
    if kind != "whole building":
        return model
    return replace(model, findings=(*model.findings, Finding("whole building", WHOLE_BUILDING_CHANGE)))


def _aligned(y: pd.Series, drivers: pd.DataFrame, events: Sequence[Event]) -> tuple[pd.Series, pd.DataFrame]:
    y = y[np.isfinite(y.to_numpy(dtype=np.float64))].sort_index()
    y = y[y.index.isin(drivers.index)]
    for event in (e for e in events if e.treatment == "set aside"):
        y = y[(y.index < pd.Timestamp(event.first)) | (y.index > pd.Timestamp(event.last))]
    return y, drivers.loc[y.index]


def _event_term(event: Event) -> str:
    return f"event:{event.first}:{event.last}"


def _rough_design(drivers: pd.DataFrame, modelled: Sequence[str]) -> tuple[FloatArray, npt.NDArray[np.bool_]]:
    """Kinds of day and the season: enough to see which days stand apart."""
    from mv.regression.forms import kind_terms

    names = [*kind_terms(drivers), "season:cos", "season:sin", *modelled]
    return design(drivers, names), drivers["is_open_day"].to_numpy(dtype=bool)


def _matrix(drivers: pd.DataFrame, form: Form) -> FloatArray:
    columns = (*form.terms, *form.shrunk)
    return completed(design(drivers, columns), drivers, drivers, columns)


def _kept_columns(matrix: FloatArray, free_terms: int) -> list[int]:
    """Columns that do not depend on those before; and shrunk ones of hours that were never seen."""
    kept = set(independent_columns(matrix))
    unseen = {n for n in range(free_terms, matrix.shape[1]) if not matrix[:, n].any()}
    return sorted(kept | unseen)


def _fitted(
    y: pd.Series,
    drivers: pd.DataFrame,
    far: npt.NDArray[np.bool_],
    form: Form,
    kind: Kind,
    alternatives: Sequence[Alternative],
) -> FittedModel:
    kept_drivers, values = drivers[~far], y.to_numpy(dtype=np.float64)[~far]
    matrix = _matrix(drivers, form)
    columns = (*form.terms, *form.shrunk)
    free = _kept_columns(matrix[~far], len(form.terms))
    form = Form(
        tuple(c for i, c in enumerate(columns) if i in free and c in form.terms),
        tuple(c for i, c in enumerate(columns) if i in free and c in form.shrunk),
    )
    matrix, columns = matrix[:, free], (*form.terms, *form.shrunk)
    times = days_since_epoch(pd.DatetimeIndex(kept_drivers.index))
    noise = noise_scale(values, matrix[~far], kept_drivers)
    pilot = np.linalg.lstsq(matrix[~far], values, rcond=None)[0]
    by_day = noise.on(kept_drivers, matrix[~far] @ pilot)
    variance = residual_variance(values, matrix[~far], by_day)
    precisions = prior_precisions(variance, values, kept_drivers, form)
    belief = posterior(values, matrix[~far], times, by_day, precisions, level_aside=True)
    modelled = matrix[~far] @ belief.coefficients
    terms = model_terms(belief, form)
    residuals = pd.Series(values - modelled, index=kept_drivers.index)
    away = pd.Series(
        y.to_numpy(dtype=np.float64)[far] - matrix[far] @ belief.coefficients, index=y.index[far]
    )
    errors = np.array([term.standard_error for term in terms])
    findings = [
        *sign_findings(columns, belief.coefficients, errors),
        *confounding_findings(matrix[~far][:, : len(form.terms)], form.terms, times),
        *_far_findings(away),
    ]
    figures = model_figures(
        values,
        modelled,
        len(columns),
        values - modelled,
        np.asarray(residuals.asfreq("D"), dtype=np.float64),
    )
    return FittedModel(
        kind=kind,
        form=form.name,
        terms=(*terms, *_happenings(away, len(y))),
        n=len(values),
        p=len(columns),
        r2=figures["r2"],
        cv_rmse=figures["cv_rmse"],
        nmbe=figures["nmbe"],
        lag1_autocorrelation=figures["lag1_autocorrelation"],
        durbin_watson=figures["durbin_watson"],
        tests=tuple(acceptance_tests(values, matrix[~far], figures, terms, kept_drivers)),
        findings=tuple(findings),
        alternatives=tuple(alternatives),
        persistence=belief.noise_summary(),
        fitted=pd.Series(modelled, index=kept_drivers.index),
        residuals=residuals,
        set_aside_days=pd.DatetimeIndex(y.index[far]),
        columns=columns,
        known=kept_drivers,
        matrix=matrix[~far],
        posterior=belief,
        noise=noise,
        rare_kwh_per_day=float(away.sum()) / len(y),
        rare_variance_per_day=_rare_variance(away) / len(y),
    )


def model_terms(belief: Posterior, form: Form) -> tuple[Term, ...]:
    """The coefficients with standard errors that allow for persistence."""
    errors = np.sqrt(np.diag(belief.mean_covariance))
    rows = zip((*form.terms, *form.shrunk), belief.coefficients, errors, strict=True)
    return tuple(
        Term(
            name, float(value), float(error), float(value / error) if error > 0 else None, name in form.shrunk
        )
        for name, value, error in rows
    )


def model_figures(
    values: FloatArray, modelled: FloatArray, parameters: int, residuals: FloatArray, by_step: FloatArray
) -> dict[str, float | None]:
    """Figures of fit, None where undefined; `by_step` are the residuals with NaN for steps left out."""
    figures = {
        "r2": statistics.r_squared(values, modelled),
        "cv_rmse": statistics.cv_rmse(values, modelled, parameters),
        "nmbe": statistics.nmbe(values, modelled, parameters),
        "lag1_autocorrelation": statistics.lag1_autocorrelation(by_step),
        "durbin_watson": statistics.durbin_watson(residuals),
    }
    return {name: value if np.isfinite(value) else None for name, value in figures.items()}


def _runs(days: pd.Series) -> list[pd.Series]:
    """Far days in runs of neighbours at most three days apart: each run is one happening."""
    if days.empty:
        return []
    gap = days.index.to_series().diff() > pd.Timedelta(days=3)
    return [run for _, run in days.groupby(gap.cumsum().to_numpy())]


def _rare_variance(away: pd.Series) -> float:
    """Sum of squared sizes of the happenings: what as many more of them would add to the variance."""
    return float(sum(run.sum() ** 2 for run in _runs(away)))


def _happenings(away: pd.Series, days: int) -> tuple[Term, ...]:
    """The far days' departures spread over all days, so that the model's total is the meter's."""
    if away.empty:
        return ()
    mean, error = float(away.sum()) / days, float(np.sqrt(_rare_variance(away))) / days
    return (Term(HAPPENINGS, mean, error, mean / error if error > 0 else None, shrunk=True),)


def _far_findings(away: pd.Series) -> list[Finding]:
    if away.empty:
        return []
    spans = [
        f"{run.index[0]:%Y-%m-%d}" + (f" to {run.index[-1]:%Y-%m-%d}" if len(run) > 1 else "")
        for run in _runs(away)
    ]
    shown = ", ".join(spans[:6]) + (" and others" if len(spans) > 6 else "")
    return [
        Finding(
            "days far from the rest",
            f"Kept out of the fit: {counted(len(away), 'day')} ({shown}), {away.sum():+,.0f} kWh "
            "from the model in all; as much is expected of other days in proportion. Where it was a "
            "holiday or an event that will not come again, list it in the study file.",
        )
    ]
