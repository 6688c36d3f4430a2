"""Numbers and intervals in words, rounded to what their interval supports."""

import math
from collections.abc import Mapping
from typing import Any

import pandas as pd

EstimateDict = Mapping[str, Any]
TWO_DIGITS_BELOW = 3.55
WHOLE_FROM = 1000.0  # in the unit shown
ARITHMETIC = 1e-9  # below it a number is the rounding of the arithmetic, not a finding
NO_BREAK = "\u00a0"  # keeps a number and its unit on one line


def step_of(half_width: float) -> float:
    """The power of ten to which an estimate and its interval are rounded, from the half-width.

    Two digits of the half-width are kept when its three leading ones are below 355, one otherwise:
    the rounding rule of the Review of Particle Physics (Particle Data Group; from memory).
    """
    if not math.isfinite(half_width) or half_width <= 0:
        return 1.0
    exponent = math.floor(math.log10(half_width))
    leading = half_width / 10.0**exponent
    return float(10.0 ** (exponent - 1 if leading < TWO_DIGITS_BELOW else exponent))


def settled(value: float) -> float:
    """The value, or a true nought where it is but the rounding of the arithmetic."""
    return 0.0 if abs(value) < ARITHMETIC else value


def number(value: float, *, step: float = 1.0) -> str:
    """`value` rounded to `step`, with thousands separated and a true minus sign."""
    rounded = round(value / step) * step
    places = max(0, -math.floor(math.log10(step))) if step < 1 else 0
    text = f"{abs(rounded):,.{places}f}"
    return f"−{text}" if rounded < 0 and float(text.replace(",", "")) != 0 else text


def half_width(estimate: EstimateDict) -> float | None:
    """Half the interval's length; None where there is no interval."""
    low, high = estimate.get("low"), estimate.get("high")
    return None if low is None or high is None else (high - low) / 2.0


def amount(estimate: EstimateDict, unit: str, *, least: float = 0.0) -> str:
    """The estimate alone, rounded to what its interval supports and not finer than `least`: "41,000 kWh"."""
    return in_unit(number(estimate["estimate"], step=max(shown_step(estimate), least)), unit)


def beside(value: float, estimate: EstimateDict, unit: str) -> str:
    """A number told beside an estimate, with no more digits than the estimate has."""
    return in_unit(number(value, step=max(1.0, shown_step(estimate))), unit)


def between(estimate: EstimateDict, unit: str, *, joint: str = "to", least: float = 0.0) -> str:
    """The interval: "36,000 to 46,000 kWh"."""
    if half_width(estimate) is None:
        return "no interval"
    step = max(shown_step(estimate), least)
    low, high = (number(estimate[end], step=step) for end in ("low", "high"))
    return in_unit(f"{low} {joint} {high}", unit)


def with_interval(
    estimate: EstimateDict | None, unit: str, *, confidence: bool = True, least: float = 0.0
) -> str:
    """Estimate and interval: "41,000 kWh (36,000 to 46,000 kWh, 90 % confidence)"."""
    if estimate is None:
        return "cannot tell"
    if half_width(estimate) is None:
        return amount(estimate, unit, least=least)
    if not confidence:
        return f"{amount(estimate, unit, least=least)} ({between(estimate, '', least=least)})"
    sure = per_cent(estimate.get("confidence", 0.9))
    told = between(estimate, unit, least=least)
    return f"{amount(estimate, unit, least=least)} ({told}, {sure} confidence)"


def in_unit(text: str, unit: str) -> str:
    """A number and its unit, kept on one line."""
    return f"{text}{NO_BREAK}{unit}" if unit else text


def per_cent(fraction: float, *, places: int = 0) -> str:
    """A fraction as the screen shows it: "94 %"."""
    text = f"{abs(fraction) * 100:,.{places}f}"
    return f"{'−' if fraction < 0 and float(text.replace(',', '')) else ''}{text}{NO_BREAK}%"


def share(estimate: EstimateDict) -> str:
    """A fraction's estimate alone, rounded to what its interval supports: "94 %"."""
    if half_width(estimate) is None:
        return per_cent(estimate["estimate"])
    return amount(_hundredfold(estimate), "%")


def share_with_interval(estimate: EstimateDict) -> str:
    """A fraction's estimate and interval as the screen shows them: "94 % (89 to 99 %)"."""
    if half_width(estimate) is None:
        return share(estimate)
    return f"{share(estimate)} ({between(_hundredfold(estimate), '')})"


def _hundredfold(estimate: EstimateDict) -> EstimateDict:
    return {key: 100.0 * estimate[key] for key in ("estimate", "low", "high")}


def money(value: float, currency: str) -> str:
    """An amount of money without false cents: "1,240 USD"."""
    return in_unit(number(value, step=1.0 if abs(value) >= 20 else 0.01), currency)


def day_words(day: object) -> str:
    """ "5 November 2023"."""
    stamp = pd.Timestamp(str(day))
    return f"{stamp.day} {stamp.strftime('%B %Y')}"


def counted(count: int, noun: str, plural: str | None = None) -> str:
    """ "1 meter", "3 meters"."""
    return f"{count:,} {noun if count == 1 else plural or noun + 's'}"


def listed(names: list[str]) -> str:
    """ "a, b and c"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else ""


def shown_step(estimate: EstimateDict) -> float:
    """What an estimate and its interval are rounded to wherever they are shown, screen or paper.

    That of the interval's half-width (`step_of`), and from a thousand on never finer than 1: no meter
    tells a fifth digit and a tenth (common practice, no source).
    """
    width = half_width(estimate)
    if width and width > abs(float(estimate["estimate"])):  # one long side must not round the estimate away
        sides = (estimate["estimate"] - estimate["low"], estimate["high"] - estimate["estimate"])
        width = min(sides) if min(sides) > 0 else width
    size = abs(float(estimate["estimate"]))
    if width:
        return max(step_of(width), 1.0 if size >= WHOLE_FROM else 0.0)
    return 1.0 if size >= 100 else 0.01 if size else 1.0
