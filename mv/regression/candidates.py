"""The forms worth trying on a meter, by what it feeds."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.regression.change_points import switching_elevation_deg, temperature_terms
from mv.regression.forms import (
    Form,
    Kind,
    base_structures,
    daylight_terms,
    is_known,
    presence_terms,
)
from mv.regression.selection import Alternative, choose
from mv.regression.terms import design

FloatArray = npt.NDArray[np.float64]

ELEVATIONS_DEG = np.arange(-9.0, 7.01, 0.25)
# Below this share of the year's range of day length, the daylight term is kept and shrunk rather
# than chosen or dropped by the data (common practice, no source).
LEAST_SHARE_OF_DAYLIGHT_RANGE = 0.8


def candidate_form(
    y: FloatArray,
    drivers: pd.DataFrame,
    *,
    kind: Kind,
    terms: Sequence[str] | None,
    applied_to: Sequence[pd.DataFrame],
) -> tuple[Form | None, list[Alternative]]:
    """The form to fit, with an account of those tried; the user's own `terms` go before all."""
    if terms is not None:
        return Form(tuple(terms)), []
    if kind == "outdoor":
        return _outdoor(y, drivers)
    tables = [drivers, *applied_to]
    presences = presence_terms(tables)
    starts = [Form((*base, *extra)) for base in base_structures(drivers) for extra in presences]
    complete = _complete(drivers, starts)
    y, drivers = y[complete], drivers[complete]
    chosen, tried = choose(starts, y, drivers)
    if chosen is None:
        return None, tried
    if kind == "whole building" and is_known(tables, "temperature_c"):
        chosen, more = _with_temperature(chosen, y, drivers)
        tried = [*tried, *more]
    presence = tuple(term for term in chosen.terms if (term,) in presences)
    dark = daylight_terms(tables, presence)
    options = [chosen, *(Form((*chosen.terms, term)) for term in dark)]
    best, more = choose(options, y, drivers)
    tried = [*tried, *more]
    season = ("season:cos", "season:sin")
    if best is not None and best is not chosen:
        return Form(chosen.terms, (best.terms[-1], *season)), tried
    return Form(chosen.terms, (*dark[:1], *season)), tried


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
    return choose(forms, y, drivers)
