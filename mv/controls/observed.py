"""The latest month's word on every setting that is watched without an agreed value.

Taken from the monthly rows: the last month that shows the setting, with that month's interval. What
neither the last month nor the one before shows is "cannot say", with the last reason.
"""

from operator import itemgetter

import pandas as pd

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.setting_records import MONTHLY_COLUMNS, SettingObserved
from mv.controls.monthly import Row

HOUR, SHARE, DEGREES = "local hour", "fraction", "degrees of sun elevation"
INDOOR = {
    "schedule_on_hour": HOUR,
    "schedule_off_hour": HOUR,
    "first_on_hour": HOUR,
    "last_off_hour": HOUR,
    "after_hours_kwh": "kWh a month",
    "after_hours_share": SHARE,
    "override_share": SHARE,
    "off_when_vacant": "",
    "daylight_depth": SHARE,
    "daylight_deepest": SHARE,
    "daylight_threshold_deg": DEGREES,
    "daylight_saturation_deg": DEGREES,
    "daylight_hold_off_share": SHARE,
}
OUTDOOR = {
    "switching_on_deg": DEGREES,
    "switching_off_deg": DEGREES,
    "part_night_dim": "",
    "part_night_level": SHARE,
    "burning_by_day_share": SHARE,
}
OUTDOOR_REASONS = {
    "part_night_level": "the lamps show one level all night",
    "switching_on_deg": "the load was not seen to rise at dusk",
    "switching_off_deg": "the load was not seen to fall at dawn",
}
UNSEEN = "no month shows it"
STALE_MONTHS = 1  # before the last month, beyond which a value is not taken for the present; no source


def observed_settings(
    zone: str, monthly: pd.DataFrame, *, outdoor: bool, confidence: float
) -> tuple[SettingObserved, ...]:
    """One entry a setting, in a fixed order."""
    units = OUTDOOR if outdoor else INDOOR
    latest = None if monthly.empty else str(monthly["month"].max())
    rows: dict[str, list[Row]] = {name: [] for name in units}
    for row in zip(*(monthly[column] for column in MONTHLY_COLUMNS), strict=True):
        if row[1] in rows:
            rows[row[1]].append(row)
    return tuple(
        _observed(zone, name, unit, sorted(rows[name], key=itemgetter(0)), latest, confidence)
        for name, unit in units.items()
    )


def nothing_observed(zone: str, why: str, *, outdoor: bool) -> tuple[SettingObserved, ...]:
    """The same list where the meter shows no setting at all."""
    units = OUTDOOR if outdoor else INDOOR
    return tuple(
        SettingObserved(zone, name, unit, None, CannotSay(f"{name} of {zone}", why), why)
        for name, unit in units.items()
    )


def _observed(
    zone: str, name: str, unit: str, months: list[Row], latest: str | None, confidence: float
) -> SettingObserved:
    """`months`: the setting's rows in order of month."""
    reason = _last_reason(months) or OUTDOOR_REASONS.get(name, UNSEEN)
    row = next((row for row in reversed(months) if not pd.isna(row[2])), None)
    if row is None:
        return SettingObserved(zone, name, unit, None, CannotSay(f"{name} of {zone}", reason), reason)
    month, value = row[0], row[2]
    if latest is not None and _months_apart(month, latest) > STALE_MONTHS:
        told = ("yes" if value else "no") if isinstance(value, bool) else f"{float(value or 0.0):.3g}"
        why = f"last shown in {month}, as {told}; what it is now does not show: {reason}"
        return SettingObserved(zone, name, unit, None, CannotSay(f"{name} of {zone}", why), why)
    why = f"as {month} shows it" + ("" if month == latest else f"; no later month does: {reason}")
    return SettingObserved(zone, name, unit, month, _answer(row, confidence), why)


def _months_apart(earlier: str, later: str) -> int:
    (y1, m1), (y2, m2) = (map(int, month.split("-")) for month in (earlier, later))
    return 12 * (y2 - y1) + m2 - m1


def _answer(row: Row, confidence: float) -> Answer:
    value = row[2]
    if value is None or isinstance(value, bool):
        return Estimate(bool(value), None, None, confidence)
    low, high = (None if pd.isna(end) else float(end or 0.0) for end in row[3:5])
    return Estimate(float(value), low, high, confidence)


def _last_reason(months: list[Row]) -> str | None:
    return next((str(row[5]) for row in reversed(months) if not pd.isna(row[5])), None)
