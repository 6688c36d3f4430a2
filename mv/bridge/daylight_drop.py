"""Whether a meter's full power falls when the sun is up."""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

BRIGHT_ABOVE_DEG = 15.0
"""Sun elevation above which lamps that dim for daylight do. Common practice, no source."""
DROP = 0.04
"""Fall of the full power by day, share, that is dimming. Common practice, no source."""
FEWEST_HOURS = 8.0
"""Hours lit in the dark, and in bright sun, that the comparison needs. No source."""
LIT = 0.5
BURNING = 0.1
TWELFTHS = 12


def dims_by_day_when_held(
    power_kw: Floats, held: Bools, dark: Bools, sun_deg: Floats, *, hours: float
) -> bool | None:
    """From intervals held as occupied: does the median fall from dark to bright? None: not seen.

    True where it falls in any twelfth of the span: a sensor may have died later.
    """
    known = held & np.isfinite(power_kw)
    bright = known & (sun_deg > BRIGHT_ABOVE_DEG)
    return _falls(power_kw, known & dark, bright, (0.5,), hours)


def dims_by_day(power_kw: Floats, dark: Bools, sun_deg: Floats, *, hours: float) -> bool | None:
    """From lit intervals without knowing who was in: only where plateau and upper range agree.

    Lit is more than half way from floor to plateau. True where both fall in any twelfth of the
    span; None where the two disagree or the hours lack.
    """
    known = np.isfinite(power_kw)
    if not known.any():
        return None
    floor, top = np.quantile(power_kw[known], [0.01, 0.99])
    with np.errstate(invalid="ignore"):
        lit = known & (power_kw > floor + LIT * (top - floor))
        burning = known & (power_kw > floor + BURNING * (top - floor))
    bright = sun_deg > BRIGHT_ABOVE_DEG
    if _half_lit(burning & bright, lit & bright, hours):
        return None
    return _falls(power_kw, lit & dark, lit & bright, (0.8, 0.95), hours)


def _half_lit(burning: Bools, lit: Bools, hours: float) -> bool:
    """Whether lamps burn by day below half of their plateau for most of a twelfth of the span.

    That is either daylight dimming or a vacant level: without motion it is not told which.
    """
    parts = np.array_split(np.arange(len(burning)), TWELFTHS)
    return any(
        float(burning[part].sum()) * hours >= FEWEST_HOURS and lit[part].sum() < LIT * burning[part].sum()
        for part in parts
    )


def _falls(
    power_kw: Floats, at_night: Bools, by_day: Bools, quantiles: tuple[float, ...], hours: float
) -> bool | None:
    """Whether the quantiles fall from night to day in any twelfth of the span that shows it."""
    if float(at_night.sum()) * hours < FEWEST_HOURS:
        return None
    full = [float(np.quantile(power_kw[at_night], q)) for q in quantiles]
    answers: list[bool | None] = []
    for part in np.array_split(np.arange(len(power_kw)), TWELFTHS):
        light = power_kw[part][by_day[part]]
        if len(light) * hours < FEWEST_HOURS:
            continue
        falls = {
            float(np.quantile(light, q)) < (1.0 - DROP) * level
            for q, level in zip(quantiles, full, strict=True)
        }
        answers.append(falls.pop() if len(falls) == 1 else None)
    if True in answers:
        return True
    return None if not answers or None in answers else False
