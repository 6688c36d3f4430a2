"""Whether a meter's days alone show lamps that burn while it is dark and at no other time."""

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.regression.change_points import switching_elevation_deg
from mv.regression.forms import Form, base_structures, daylight_terms
from mv.regression.selection import Trial, try_form
from mv.regression.terms import design

FloatArray = npt.NDArray[np.float64]

ELEVATIONS_DEG = np.arange(-9.0, 7.01, 0.25)
LEAST_DAYS = 42  # a block of days left out is then most of a working week (common practice, no source)
# Squared error on days left out, over that of a constant: hours of darkness must explain as much as this
# before a meter is taken for lamps outdoors (common practice, no source).
LARGEST_SHARE_OF_FLAT = 0.5
# And over that of the best form of lights indoors (common practice, no source).
LARGEST_SHARE_OF_BEST = 1.2


def follows_darkness(y: pd.Series, drivers: pd.DataFrame) -> bool:
    """Whether energy by local day is in proportion to the hours of darkness, on every kind of day.

    Hours of darkness alone, without a constant, must foretell blocks of days left out about as well as
    the best of the forms of lights indoors, and far better than a constant.
    """
    known = np.isfinite(y.to_numpy(dtype=np.float64))
    values, table = y.to_numpy(dtype=np.float64)[known], drivers[known]
    if len(values) < LEAST_DAYS or not (values > 0).any():
        return False
    elevation = switching_elevation_deg(values, table, ELEVATIONS_DEG)
    night, flat = _tried(values, table, [Form((f"night:{elevation:.2f}",)), Form(("every day",))])
    if night.mean_square > LARGEST_SHARE_OF_FLAT * flat.mean_square:
        return False
    indoors = _tried(values, table, _indoor_forms(table))
    return night.mean_square <= LARGEST_SHARE_OF_BEST * min(trial.mean_square for trial in indoors)


def _indoor_forms(drivers: pd.DataFrame) -> list[Form]:
    bases = base_structures([drivers], None)
    dark = [(term,) for term in daylight_terms([drivers], ())]
    inside = [Form((*base, *extra)) for base in bases for extra in ((), *dark)]
    return [*inside, Form(("every day", "daylight_hours"))]


def _tried(y: FloatArray, drivers: pd.DataFrame, forms: list[Form]) -> list[Trial]:
    found = [try_form(form, y, design(drivers, form.terms)) for form in forms]
    return [trial for trial in found if trial is not None]
