"""What a reader must know of a model before trusting it."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.regression.forms import expected_sign
from mv.regression.terms import column, label

FloatArray = npt.NDArray[np.float64]

CONDITION_LIMIT = 30.0  # of columns scaled to unit length (Belsley, Kuh & Welsch 1980, from memory)
TREND_LIMIT = 0.9  # correlation of a driver with the calendar (common practice, no source)
RANGE_LOW, RANGE_HIGH = 0.90, 1.10  # of the baseline's least and greatest (Guideline 14, from memory)
CALENDAR_TERMS = (
    "every day", "open days", "closed days", "kind:", "weekday:", "event", "season", "year:", "weeks:",
)  # fmt: skip
SHARE_TO_MENTION = 0.01  # of days beyond the range (common practice, no source)


@dataclass(frozen=True, slots=True)
class Finding:
    """Something the data say about the model; `code` is a short stable name."""

    code: str
    what: str


def sign_findings(terms: tuple[str, ...], coefficients: FloatArray, errors: FloatArray) -> list[Finding]:
    """Coefficients whose sign contradicts physics."""
    found = []
    for term, value, error in zip(terms, coefficients, errors, strict=True):
        if expected_sign(term) * value < 0 and abs(value) > error:
            found.append(
                Finding(
                    "wrong sign",
                    f"More {label(term)} should {'raise' if expected_sign(term) > 0 else 'lower'} the "
                    f"use, yet its coefficient is {value:.4g} (standard error {error:.2g}): "
                    "another influence that the drivers do not hold moves with it.",
                )
            )
    return found


def confounding_findings(design: FloatArray, terms: tuple[str, ...], times: FloatArray) -> list[Finding]:
    """Drivers that the data cannot tell apart from one another or from any trend in time."""
    found = []
    lengths = np.linalg.norm(design, axis=0)
    condition = float(np.linalg.cond(design / np.where(lengths > 0, lengths, 1.0)))
    if condition > CONDITION_LIMIT:
        found.append(
            Finding(
                "confounded drivers",
                f"The drivers move together (condition number {condition:.0f}, limit "
                f"{CONDITION_LIMIT:.0f}): single coefficients mean little, their sum may still hold.",
            )
        )
    for number, term in enumerate(terms):
        if np.ptp(design[:, number]) > 0 and not term.startswith(("event", "season", "year:")):
            r = float(np.corrcoef(design[:, number], times)[0, 1])
            if abs(r) > TREND_LIMIT:
                found.append(
                    Finding(
                        "confounded with time",
                        f"{label(term)} runs with the calendar (correlation {r:+.2f}): its effect "
                        "cannot be told from any other slow change in these months.",
                    )
                )
    return found


def range_findings(model_drivers: pd.DataFrame, used: pd.DataFrame, terms: tuple[str, ...]) -> list[Finding]:
    """Drivers beyond the range seen: above 110 % of the greatest or below 90 % of the least."""
    found = []
    for term in terms:
        if term.startswith(CALENDAR_TERMS):
            continue
        seen, now = column(model_drivers, term), column(used, term)
        seen, now = seen[np.isfinite(seen)], now[np.isfinite(now)]
        if len(seen) == 0 or len(now) == 0:
            continue
        low, high = _widened(float(seen.min()), float(seen.max()))
        share = float(np.mean((now < low) | (now > high)))
        if share > SHARE_TO_MENTION:
            found.append(
                Finding(
                    "beyond the range",
                    f"{label(term)} leaves the range the model has seen ({seen.min():.4g} to "
                    f"{seen.max():.4g}, widened by 10 %) on {share:.0%} of the days it is applied to.",
                )
            )
    return found


def _widened(low: float, high: float) -> tuple[float, float]:
    lowest = low * (RANGE_LOW if low >= 0 else RANGE_HIGH)
    return lowest, high * (RANGE_HIGH if high >= 0 else RANGE_LOW)
