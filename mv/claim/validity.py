"""The range of conditions that each baseline model has seen, and the reporting days outside it."""

import pandas as pd

from mv.base import wording
from mv.base.document import Block, Prose, grid
from mv.claim.cells import fixed
from mv.claim.material import Material

CONDITIONS = {
    "hours_open": "hours open",
    "occupied_hours": "occupied hours, or people x hours",
    "daylight_hours": "daylight hours",
    "dark_open_hours": "dark hours while open",
    "dark_occupied_hours": "dark occupied hours",
    "temperature_c": "outdoor temperature, °C",
}
LEAST_BEYOND = 0.01  # share of the baseline's range; less is rounding (common practice, no source)


def validity(material: Material) -> Block:
    """Lowest and highest of each condition a day in both periods; meters that share them share a row."""
    daily = material.verification.daily
    modelled = {str(model["meter"]) for model in material.models("baseline")}
    merged: dict[tuple[str, ...], list[str]] = {}
    for meter in material.by_meter:
        if meter in modelled:
            for row in _ranges(daily[daily["meter"] == meter]):
                merged.setdefault(row, []).append(meter)
    if not merged:
        return Prose("No daily conditions are on record.", "cannot")
    order = {name: place for place, name in enumerate(CONDITIONS.values())}
    listed = sorted(merged.items(), key=lambda entry: order[entry[0][0]])
    return grid(
        "Range of validity: conditions of a day in the baseline, and in the reporting period",
        [
            ("condition", "left", 1.8),
            ("baseline", "right", 1),
            ("reporting", "right", 1),
            ("reporting days outside", "right", 0.9),
            ("meters", "left", 2),
        ],
        [(*row, wording.listed(meters)) for row, meters in listed],
        note="A model is sure of what it has seen; what lies outside is named with the model it concerns.",
    )


def _ranges(days: pd.DataFrame) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    before, after = days[(days["period"] == "baseline") & days["in_fit"]], days[days["period"] == "reporting"]
    for column, name in CONDITIONS.items():
        seen, met = (
            (part[column].dropna() if column in part else pd.Series(dtype=float)) for part in (before, after)
        )
        if seen.empty or met.empty or (seen.max() == seen.min() == met.max() == met.min()):
            continue
        slack = LEAST_BEYOND * float(seen.max() - seen.min())
        outside = int(((met < seen.min() - slack) | (met > seen.max() + slack)).sum())
        rows.append((name, _span(seen), _span(met), f"{outside} of {len(met)}"))
    return rows


def _span(values: pd.Series) -> str:
    return f"{fixed(float(values.min()), 1)} to {fixed(float(values.max()), 1)}"
