"""The forms worth trying on a meter, by what it feeds."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.regression.change_points import switching_elevation_deg
from mv.regression.darkness import ELEVATIONS_DEG
from mv.regression.forms import (
    HOLIDAY_WEEKS,
    LEAST_KNOWN_SHARE,
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
from mv.regression.temperature import steeper_sets, temperature_sets
from mv.regression.terms import design

FloatArray = npt.NDArray[np.float64]

# By how much the squared error of a simpler form of a whole building may exceed the best one's.
MOST_WORSE = 0.05  # common practice, no source
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
    if kind == "whole building" and is_known(tables, "temperature_c"):
        chosen, tried = _with_temperature(starts, y, drivers)
    else:
        chosen, tried = choose(starts, y, drivers)
    if chosen is None:
        return None, tried
    short = _span_years(drivers) < LEAST_YEAR_SHARE_FOR_SEASON
    unseen = _unseen_temperature(chosen, drivers) if kind == "whole building" and short else ()
    if kind == "whole building" and is_known(tables, "dark_hours"):
        unseen = ("dark_hours", *unseen)  # lights outdoors burn on the same meter
    presence = tuple(term for term in chosen.terms if (term,) in presences)
    # A whole building's hourly sum holds its darkness and sun; a second slope would only blur the two.
    dark = [] if chosen.by_hour and kind == "whole building" else daylight_terms(tables, presence)
    options = [chosen, *(Form((*chosen.terms, term)) for term in dark)]
    best, more = choose(options, y, drivers)
    tried = [*tried, *more]
    season: tuple[str, ...] = ("season:cos", "season:sin")
    if kind == "indoor" and not short:
        season = (*season, *HOLIDAY_WEEKS)
    seen = best.terms[-1] if best is not None and best is not chosen else next(iter(dark), "")
    other = _other_weight(seen, tables) if short and kind == "indoor" else ()
    daylight = (seen, *other) if seen else ()
    return Form(chosen.terms, (*daylight, *unseen, *season)), tried


def _other_weight(term: str, tables: Sequence[pd.DataFrame]) -> tuple[str, ...]:
    """The term of the same hours weighed by sun instead of darkness, or the other way round: one season
    cannot tell how lamps answer daylight in another, and in some no dark hour is seen at all.
    """
    head, _, hours = term.partition("_")
    other = f"{'sun' if head == 'dark' else 'dark'}_{hours}"
    known = head in ("dark", "sun") and all(
        table[other].notna().mean() >= LEAST_KNOWN_SHARE for table in tables
    )
    return (other,) if known and any(table[other].any() for table in tables) else ()


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


def _with_temperature(
    starts: Sequence[Form], y: FloatArray, drivers: pd.DataFrame
) -> tuple[Form | None, list[Alternative]]:
    """The best daily form with temperature terms, or the hourly model's sum, which holds the weather."""
    known = drivers["temperature_c"].notna().to_numpy()
    y, drivers = y[known], drivers[known]
    hourly = [form for form in starts if form.by_hour]
    daily = [form for form in starts if not form.by_hour]
    best, tried = _daily_with_temperature(daily, y, drivers) if daily else (None, [])
    both = [form for form in (best, *hourly) if form is not None]
    chosen, more = choose(both, y, drivers)
    return chosen, [*tried, *more]


def _daily_with_temperature(
    starts: Sequence[Form], y: FloatArray, drivers: pd.DataFrame
) -> tuple[Form | None, list[Alternative]]:
    """The start with the temperature terms that days left out support.

    The weather hides what tells days apart, and kinds of day hide the weather: temperature is first fitted
    beside the start with most terms, the start is then chosen beside that temperature, and temperature
    again beside the start.
    """
    richest = max(starts, key=lambda form: len(form.terms))
    first, _ = _best_temperature(richest, y, drivers)
    warmth = first.terms[len(richest.terms) :] if first is not None else ()
    beside = [Form((*form.terms, *warmth)) for form in starts]
    start, tried = choose(beside, y, drivers, most_worse=MOST_WORSE)
    if start is None:
        return choose(starts, y, drivers)
    base = Form(tuple(term for term in start.terms if term not in warmth))
    best, more = _best_temperature(base, y, drivers)
    return best or base, [*tried, *more]


def _best_temperature(
    base: Form, y: FloatArray, drivers: pd.DataFrame
) -> tuple[Form | None, list[Alternative]]:
    sets = temperature_sets(y, drivers, base.terms)
    best, tried = choose([Form((*base.terms, *extra)) for extra in sets], y, drivers, most_worse=MOST_WORSE)
    if best is None:
        return None, tried
    sets = steeper_sets(y, drivers, base.terms, best.terms[len(base.terms) :])
    bent, more = choose([Form((*base.terms, *extra)) for extra in sets], y, drivers, most_worse=MOST_WORSE)
    return bent or best, [*tried, *more]


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
