"""Models of meters that give weeks or bills: the days' drivers summed over each bill."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.estimate import CannotSay
from mv.base.study_records import Event
from mv.regression.acceptance import acceptance_tests
from mv.regression.findings import Finding, confounding_findings, sign_findings
from mv.regression.fit import model_figures, model_terms
from mv.regression.fitted import FittedModel, days_since_epoch
from mv.regression.forms import LEAST_KNOWN_SHARE, PRESENCE, Form, Kind, is_known
from mv.regression.least_squares import independent_columns
from mv.regression.posterior import posterior
from mv.regression.priors import NoiseScale, prior_precisions, residual_variance
from mv.regression.selection import billed, choose
from mv.regression.temperature import temperature_sets
from mv.regression.terms import design

FloatArray = npt.NDArray[np.float64]
Codes = npt.NDArray[np.int64]

LEAST_DAYS_BEYOND = 45  # of whole bills, on each side of a change point (common practice, no source)
LEAST_BILLS = 6  # common practice, no source
LEAST_DAYS_OF_A_YEAR = 350.0  # below it the result says so (Guideline 14 asks for 12 months, from memory)


def fit_bills(
    energy_kwh: pd.Series,
    last_days: pd.Series,
    drivers: pd.DataFrame,
    *,
    kind: Kind = "indoor",
    terms: Sequence[str] | None = None,
    events: Sequence[Event] = (),
    applied_to: Sequence[pd.DataFrame] = (),
) -> FittedModel | CannotSay:
    """Fit bills: `energy_kwh` by each bill's first local day, `last_days` its last (both included).

    `drivers` holds every day of every bill. The model then serves days like any other: its departures
    are known by the bill only, so totals over much less than a bill say little. An event "model" gets
    a coefficient of its own; bills of events "set aside" are for the caller to leave out.
    """
    energy_kwh = energy_kwh.dropna().sort_index()
    days, bills = _days_of_bills(energy_kwh, last_days, pd.DatetimeIndex(drivers.index))
    if len(energy_kwh) < LEAST_BILLS:
        return CannotSay("model", f"only {len(energy_kwh)} bills with energy; {LEAST_BILLS} are needed")
    if (np.bincount(bills, minlength=len(energy_kwh)) == 0).any():
        return CannotSay("model", "a bill lies outside the days whose drivers are known")
    table, y = _without_holes(drivers.loc[days]), energy_kwh.to_numpy(dtype=np.float64)
    length = np.bincount(bills).astype(np.float64)
    forms = _forms(table, kind, applied_to, y, bills) if terms is None else [Form(tuple(terms))]
    form, tried = choose(forms, y, table, bills=bills)
    if form is None:
        return CannotSay("model", f"{len(y)} bills do not carry any form")
    modelled_events = [f"event:{e.first}:{e.last}" for e in events if e.treatment == "model"]
    if terms is None:
        dark = "dark_open_hours" if is_known([table, *applied_to], "dark_open_hours") else "dark_hours"
        shrunk = () if dark in form.terms or kind == "outdoor" else (dark,)
        form = Form(form.terms, (*shrunk, "season:cos", "season:sin"))
    form = _told_apart(Form((*form.terms, *modelled_events), form.shrunk), table, bills)
    matrix = billed(design(table, (*form.terms, *form.shrunk)), bills)
    step = float(np.median(length))
    times = days_since_epoch(pd.DatetimeIndex(energy_kwh.index)) / step
    variance = residual_variance(y, matrix, length / step)
    precisions = prior_precisions(variance, y[bills] / length[bills], table, form)
    belief = posterior(y, matrix, times, length / step, precisions)
    modelled = matrix @ belief.coefficients
    residuals = pd.Series(y - modelled, index=energy_kwh.index)
    reported = model_terms(belief, form)
    figures = model_figures(y, modelled, matrix.shape[1], y - modelled, y - modelled)
    columns = (*form.terms, *form.shrunk)
    return FittedModel(
        kind=kind,
        form=form.name,
        terms=reported,
        n=len(y),
        p=len(columns),
        r2=figures["r2"],
        cv_rmse=figures["cv_rmse"],
        nmbe=figures["nmbe"],
        lag1_autocorrelation=figures["lag1_autocorrelation"],
        durbin_watson=figures["durbin_watson"],
        tests=tuple(acceptance_tests(y, matrix, figures, reported, table)),
        findings=(
            *sign_findings(columns, belief.coefficients, np.array([t.standard_error for t in reported])),
            *confounding_findings(matrix[:, : len(form.terms)], form.terms, times),
            *_few(len(y), step),
        ),
        alternatives=tuple(tried),
        persistence=belief.noise_summary(),
        fitted=pd.Series(modelled, index=energy_kwh.index),
        residuals=residuals,
        set_aside_days=pd.DatetimeIndex([]),
        columns=columns,
        known=table,
        matrix=matrix,
        posterior=belief,
        noise=NoiseScale({True: 1.0, False: 1.0}, 0.0, 1.0),
        step_days=step,
    )


def _days_of_bills(
    energy_kwh: pd.Series, last_days: pd.Series, known: pd.DatetimeIndex
) -> tuple[pd.DatetimeIndex, Codes]:
    spans = [
        pd.date_range(first, last_days[first], freq="D").intersection(known) for first in energy_kwh.index
    ]
    codes = np.repeat(np.arange(len(spans), dtype=np.int64), [len(span) for span in spans])
    days = np.concatenate([span.to_numpy() for span in spans]) if spans else known[:0].to_numpy()
    return pd.DatetimeIndex(days), codes


def _without_holes(table: pd.DataFrame) -> pd.DataFrame:
    """Drivers unknown on a few days (at most a tenth) taken in line with the days about them."""
    holes = [
        name
        for name in (str(column) for column in table.select_dtypes("number"))
        if table[name].isna().any() and table[name].notna().mean() >= LEAST_KNOWN_SHARE
    ]
    filled: dict[str, pd.Series] = {name: table[name].interpolate(limit_direction="both") for name in holes}
    return table.assign(**filled)


def _told_apart(form: Form, table: pd.DataFrame, bills: Codes) -> Form:
    """The form without columns that the others already hold."""
    columns = (*form.terms, *form.shrunk)
    free = {columns[number] for number in independent_columns(billed(design(table, columns), bills))}
    return Form(
        tuple(term for term in form.terms if term in free),
        tuple(term for term in form.shrunk if term in free),
    )


def _forms(
    table: pd.DataFrame, kind: Kind, applied_to: Sequence[pd.DataFrame], y: FloatArray, bills: Codes
) -> list[Form]:
    """What a dozen bills can tell apart: days, one calendar or presence term, temperature."""
    tables = [table, *applied_to]
    if kind == "outdoor":
        return [Form(("dark_hours",)), Form(("every day", "dark_hours"))]
    bases: list[tuple[str, ...]] = [("every day",), ("open days", "closed days")]
    bases += [("every day", name) for name in ("hours_open", *PRESENCE) if is_known(tables, name)]
    if kind == "whole building" and is_known(tables, "temperature_c"):
        sets = temperature_sets(y, table, ("every day",), bills=bills, least_days_beyond=LEAST_DAYS_BEYOND)
        bases += [("every day", *extra) for extra in sets if extra]
    return [Form(base) for base in bases]


def _few(bills: int, step_days: float) -> list[Finding]:
    if bills * step_days >= LEAST_DAYS_OF_A_YEAR:
        return []
    what = f"{bills} bills cover less than a year: seasons not seen are guessed."
    return [Finding("few bills", what)]
