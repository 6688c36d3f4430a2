"""The claim's charts, drawn for print from the result and the shared figures' tables."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from mv.base import wording
from mv.base.document import Drawing
from mv.base.result_parts import estimate, part, rows
from mv.base.verification import Verification
from mv.claim import BRIDGES
from mv.documents.found_drawings import finding_drawings
from mv.documents.month_page import BROAD, NARROW, month_bars_of, running_points
from mv.documents.print_inks import print_inks
from mv.figures import costliest_first
from mv.paper import ChainStep, chain, interval_rule, month_bars, residuals_by_day, running_total

MOST_SHOWN_FINDINGS = 12  # with pictures; the tables name them all; common practice, no source


def claim_drawings(verification: Verification) -> dict[str, Drawing]:
    """Every chart that the data support, by the name under which the claim asks for it."""
    drawn: dict[str, Drawing | None] = {
        "promise": _promise(verification),
        "months": _months(verification),
        "running": _running(verification),
    }
    drawn |= {f"steps:{name}": _steps(verification, name, title) for name, title in BRIDGES.items()}
    for model in rows(verification.result, "models"):
        meter, period = str(model["meter"]), str(model["period"])
        drawn[f"residuals:{meter}:{period}"] = _residuals(verification, meter, period)
    drawn |= _findings(verification)
    return {name: drawing for name, drawing in drawn.items() if drawing is not None}


def _findings(verification: Verification) -> dict[str, Drawing | None]:
    """What shows each of the costliest findings: two pictures side by side, or one across the sheet."""
    drawn: dict[str, Drawing | None] = {}
    for row in costliest_first(rows(verification.result, "drift"))[:MOST_SHOWN_FINDINGS]:
        key = str(row.get("id") or "")
        pictures = finding_drawings(verification, key) if key else ()
        if len(pictures) == 1:
            pictures = finding_drawings(verification, key, width=BROAD)
        drawn |= {f"finding:{key}:{n}": picture for n, picture in enumerate(pictures[:2])}
    return drawn


def _promise(verification: Verification) -> Drawing | None:
    annual = estimate(verification.result, "savings", "normalised_annual_kwh")
    if annual is None:
        return None
    promised = part(verification.result, "predicted", "annual_kwh")
    said = wording.with_interval(annual, "kWh a year")
    due = f" Promised: {wording.number(promised)} kWh." if promised is not None else ""
    words = f"Verified: {said}.{due}"
    drawn = [
        interval_rule(
            float(annual["estimate"]), annual.get("low"), annual.get("high"), promised, print_inks(), words,
            width=width, unit="kWh a year", best="best estimate", due="promised",
        )
        for width in (BROAD, NARROW)
    ]  # fmt: skip
    caption = "The dark bar is the interval, the upright line in it the best estimate."
    return Drawing("Saving in a typical year", drawn[0], caption, words, drawn[1])


def _months(verification: Verification) -> Drawing | None:
    bars = month_bars_of(verification)
    if not bars:
        return None
    words = (
        f"{wording.counted(len(bars), 'month')}: metered energy, and what the old lighting would have used."
    )
    drawn = [month_bars(bars, print_inks(), words, width=width) for width in (BROAD, NARROW)]
    days = sum(int(row.get("modelled_days") or 0) for row in rows(verification.result, "savings", "monthly"))
    stood_in = f", but for {wording.counted(days, 'meter day')} that are modelled" if days else ""
    caption = f"The expected energy is modelled; the bars are metered{stood_in}."
    return Drawing("Month by month", drawn[0], caption, words, drawn[1])


def _running(verification: Verification) -> Drawing | None:
    points = running_points(verification)
    if not points:
        return None
    whole = estimate(verification.result, "savings", "avoided_kwh") or {}
    low, high = whole.get("low"), whole.get("high")
    words = (
        f"Avoided so far, up to {wording.number(points[-1].saved)} kWh at the end of the reporting period."
    )
    drawn = [
        running_total(points, print_inks(), words, width=width, last_low=low, last_high=high)
        for width in (BROAD, NARROW)
    ]
    caption = "The bar at the end is the interval of the whole; the promise is spread evenly over the days."
    return Drawing("Running total against the promise", drawn[0], caption, words, drawn[1])


def _steps(verification: Verification, name: str, title: str) -> Drawing | None:
    steps = rows(verification.result, "bridge", name)
    if not steps:
        return None
    chained = _chained(verification, name, steps)
    words = f"{title}: {'; '.join(f'{step.name} {step.words}' for step in chained)}."
    drawn = [chain(chained, print_inks(), words, width=width) for width in (BROAD, NARROW)]
    return Drawing(
        "", drawn[0], "Steps in kWh, from top to bottom; bars to the left take away.", words, drawn[1]
    )


def _chained(verification: Verification, name: str, steps: list[Mapping[str, Any]]) -> list[ChainStep]:
    """The steps between the totals from which and to which they lead."""
    changes = [_step(step) for step in steps]
    total = sum(step.kwh or 0.0 for step in changes)
    if name == "predicted_to_verified":
        promised = part(verification.result, "predicted", "annual_kwh")
        begin = float(promised) if promised is not None else 0.0
        return [_total("predicted", begin), *changes, _total("verified", begin + total)]
    return [*changes, _total("avoided energy", total)]


def _total(name: str, kwh: float) -> ChainStep:
    return ChainStep(name, kwh, wording.number(kwh), "total")


def _step(step: Mapping[str, Any]) -> ChainStep:
    found = estimate(step, "kwh")
    if found is None:
        return ChainStep(str(step["step"]), None, "cannot tell")
    width = wording.half_width(found)
    rounding = max(wording.step_of(width) if width else 1.0, 1.0)
    shown = wording.number(float(found["estimate"]), step=rounding)
    plain = shown if shown.startswith("−") or shown == "0" else f"+{shown}"
    apart = f" ± {wording.number(width, step=rounding)}" if width and width >= rounding / 2 else ""
    return ChainStep(str(step["step"]), float(found["estimate"]), f"{plain}{apart}")


def _residuals(verification: Verification, meter: str, period: str) -> Drawing | None:
    daily = verification.daily
    days = daily[(daily["meter"] == meter) & (daily["period"] == period)]
    rest = days["actual_kwh"] - days["expected_kwh" if period == "baseline" else "reporting_model_kwh"]
    if not rest.notna().any():
        return None
    dates = [str(text) for text in days["day"].dt.strftime("%Y-%m-%d")]
    values = [None if pd.isna(value) else float(value) for value in rest]
    used = [bool(flag) for flag in days["in_fit"]]
    words = f"Residuals of {meter}, {period} period: {int(rest.notna().sum())} days."
    drawn = [
        residuals_by_day(dates, values, used, print_inks(), words, width=width, title=meter)
        for width in (BROAD, NARROW)
    ]
    caption = "A dot a day. Crosses: days not wholly metered, which are not in the fit."
    return Drawing("", drawn[0], caption, words, drawn[1])
