"""The forms worth trying on a meter, by what it feeds."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.regression.change_points import switching_elevation_deg, temperature_terms
from mv.regression.darkness import ELEVATIONS_DEG
from mv.regression.forms import (
    Form,
    Kind,
    base_structures,
    daylight_terms,
    hourly_structures,
    is_known,
    presence_terms,
)
from mv.regression.priors import LEAST_YEAR_SHARE_FOR_SEASON
from mv.regression.selection import Alternative, choose
from mv.regression.terms import design

FloatArray = npt.NDArray[np.float64]

# Where heating and cooling begin when the days seen cannot say (common practice, no source).
USUAL_CHANGES_C = {"heat": 13.0, "cool": 18.0}


def candidate_form(
    y: FloatArray,
    drivers: pd.DataFrame,
    *,
    kind: Kind,
    terms: Sequence[str] | None,
    applied_to: Sequence[pd.DataFrame],
    hourly_sum: str | None = None,
    only_hourly: bool = False,
) -> tuple[Form | None, list[Alternative]]:
    """The form to fit, with an account of those tried; the user's own `terms` go before all.

    The column `hourly_sum`, if any, is tried beside the daily forms, or alone.
    """
    if terms is not None:
        return Form(tuple(terms)), []
    if kind == "outdoor":
        return _outdoor(y, drivers)
    tables = [drivers, *applied_to]
    if not only_hourly and _span_years(drivers) < LEAST_YEAR_SHARE_FOR_SEASON:
        hourly_sum = None  # a part of a year: too few days to judge what 168 hours of the week foretell
    presences = presence_terms(tables)
    bases = hourly_structures(tables, hourly_sum) if only_hourly else base_structures(tables, hourly_sum)
    starts = [Form((*base, *extra)) for base in bases for extra in presences]
    complete = _complete(drivers, starts)
    y, drivers = y[complete], drivers[complete]
    chosen, tried = choose(starts, y, drivers)
    if chosen is None:
        return None, tried
    if kind == "whole building" and is_known(tables, "temperature_c"):
        chosen, more = _with_temperature(chosen, y, drivers)
        tried = [*tried, *more]
    short = _span_years(drivers) < LEAST_YEAR_SHARE_FOR_SEASON
    unseen = _unseen_temperature(chosen, drivers) if kind == "whole building" and short else ()
    if kind == "whole building" and is_known(tables, "dark_hours"):
        unseen = ("dark_hours", *unseen)  # lights outdoors burn on the same meter
    presence = tuple(term for term in chosen.terms if (term,) in presences)
    dark = daylight_terms(tables, presence)
    options = [chosen, *(Form((*chosen.terms, term)) for term in dark)]
    best, more = choose(options, y, drivers)
    tried = [*tried, *more]
    season = ("season:cos", "season:sin")
    if best is not None and best is not chosen:
        return Form(chosen.terms, (best.terms[-1], *unseen, *season)), tried
    return Form(chosen.terms, (*dark[:1], *unseen, *season)), tried


def _span_years(drivers: pd.DataFrame) -> float:
    return float((drivers.index[-1] - drivers.index[0]).days / 365.25)


def _unseen_temperature(form: Form, drivers: pd.DataFrame) -> tuple[str, ...]:
    """Heating and cooling terms that a short baseline could not fit, to be kept near zero."""
    if not is_known([drivers], "temperature_c"):
        return ()
    heads = {term.partition(":")[0] for term in form.terms}
    return tuple(f"{side}:{change:.1f}" for side, change in USUAL_CHANGES_C.items() if side not in heads)


def _complete(drivers: pd.DataFrame, forms: Sequence[Form]) -> npt.NDArray[np.bool_]:
    """Days on which every form's drivers are known, so that all are judged on the same days."""
    names = sorted({term for form in forms for term in form.terms})
    return np.asarray(np.isfinite(design(drivers, names)).all(axis=1), dtype=bool)


def _with_temperature(form: Form, y: FloatArray, drivers: pd.DataFrame) -> tuple[Form, list[Alternative]]:
    known = drivers["temperature_c"].notna().to_numpy()
    base = design(drivers[known], form.terms)
    sets = temperature_terms(y[known], drivers.loc[known, "temperature_c"].to_numpy(), base)
    best, tried = choose([Form((*form.terms, *extra)) for extra in sets], y[known], drivers[known])
    return best or form, tried


def _outdoor(y: FloatArray, drivers: pd.DataFrame) -> tuple[Form | None, list[Alternative]]:
    elevation = switching_elevation_deg(y, drivers, ELEVATIONS_DEG)
    forms = [
        Form(("every day",)),
        Form((f"night:{elevation:.2f}",)),
        Form(("every day", f"night:{elevation:.2f}")),
    ]
    best, tried = choose(forms, y, drivers)
    if best is None or best.terms == ("every day",):
        return best, tried
    return Form(best.terms, ("twilight", "year:cos", "year:sin")), tried
