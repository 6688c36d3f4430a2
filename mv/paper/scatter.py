"""Residuals: what the meter read less what the model says, day by day."""

from collections.abc import Sequence

from mv.paper.scale import scale_over, tick_words
from mv.paper.svg import Inks, Sheet


def residuals_by_day(
    dates: Sequence[str], residuals_kwh: Sequence[float | None], used: Sequence[bool],
    inks: Inks, spoken: str, *, width: float, title: str,
) -> str:  # fmt: skip
    """A dot a day; days that are not in the fit as small crosses. `dates` are YYYY-MM-DD, in order."""
    sheet = Sheet(width, 128, spoken)
    left, right, top, bottom = 44.0, width - 6, 24.0, 104.0
    up = scale_over(residuals_kwh, bottom, top)
    sheet.text(left, 12, title, inks.ink, size=11.5, bold=True)
    sheet.text(right, 12, "metered less model, kWh a day", inks.muted, anchor="end", size=11)
    for value in up.ticks(4):
        sheet.line(left, up(value), right, up(value), inks.muted if value == 0 else inks.rule, 0.8)
        sheet.text(left - 6, up(value) + 4, tick_words(value), inks.muted, anchor="end", size=11)
    step = (right - left) / max(len(dates), 1)
    spots = [
        (left + step * (n + 0.5), up(value), used[n])
        for n, value in enumerate(residuals_kwh)
        if value is not None
    ]
    sheet.dots([(x, y) for x, y, fitted in spots if fitted], 1.3, inks.metered)
    for x, y, fitted in spots:
        if not fitted:
            sheet.line(x - 2.5, y - 2.5, x + 2.5, y + 2.5, inks.attention, 1)
            sheet.line(x - 2.5, y + 2.5, x + 2.5, y - 2.5, inks.attention, 1)
    last = -99.0
    for n, day in enumerate(dates):
        place = left + step * n
        if day.endswith("-01") and place - last > 46:
            sheet.text(place, bottom + 16, day[:7], inks.muted, size=11)
            last = place
    return sheet.svg()
