"""Month by month: metered bars under the expected energy with its band; and the running total."""

from collections.abc import Sequence
from dataclasses import dataclass

from mv.paper.scale import Scale, scale_over, tick_words
from mv.paper.svg import Inks, Sheet, room

MONTH_LETTERS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class MonthBar:
    """One month, kWh. `low` and `high` are the ends of the expected energy's band."""

    month: str  # YYYY-MM
    metered: float | None
    expected: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class RunningPoint:
    """The end of one month, kWh since the reporting period began."""

    month: str
    saved: float
    promised: float | None


def month_bars(rows: Sequence[MonthBar], inks: Inks, spoken: str, *, width: float, marked: str = "") -> str:
    """Metered bars; the expected energy as an open diamond with its band; `marked` month in full colour."""
    sheet = Sheet(width, 236 if width > 500 else 214, spoken)
    left, right, top, bottom = 44.0, width - 6, 34.0, sheet.height - 32
    values = [v for row in rows for v in (row.metered, row.expected, row.low, row.high)]
    up = scale_over(values, bottom, top)
    names = [("metered", "bar"), ("expected with the old lighting, and its band", "diamond")]
    _key(sheet, inks, names, width)
    _rules(sheet, up, left, right, inks)
    step = (right - left) / max(len(rows), 1)
    for place, row in enumerate(rows):
        middle = left + step * (place + 0.5)
        full = not marked or row.month == marked
        if row.metered is not None:
            half = min(step * 0.31, 17)
            fill = inks.metered if full else inks.saved
            sheet.rect(middle - half, up(0), 2 * half, up(row.metered) - up(0), fill)
        if row.low is not None and row.high is not None:
            sheet.line(middle, up(row.low), middle, up(row.high), inks.expected, 1.6)
            for end in (row.low, row.high):
                sheet.line(middle - 4, up(end), middle + 4, up(end), inks.expected, 1.6)
        if row.expected is not None:
            sheet.diamond(middle, up(row.expected), 4.2, inks.expected, inks.sheet)
        _month_name(sheet, rows[place].month, middle, bottom, place, step, inks, bold=row.month == marked)
    return sheet.svg()


def running_total(
    points: Sequence[RunningPoint], inks: Inks, spoken: str, *,
    width: float, last_low: float | None = None, last_high: float | None = None,
) -> str:  # fmt: skip
    """What has been saved so far as a solid line, the promise spread over the days as a dotted one."""
    sheet = Sheet(width, 220 if width > 500 else 204, spoken)
    left, right, top, bottom = 52.0, width - 14, 34.0, sheet.height - 32
    values = [p.saved for p in points] + [p.promised for p in points] + [last_low, last_high]
    up = scale_over(values, bottom, top)
    promised = [p for p in points if p.promised is not None]
    _key(sheet, inks, [("saved so far", "line"), *([("promised so far", "dots")] if promised else [])], width)
    _rules(sheet, up, left, right, inks)
    step = (right - left) / max(len(points), 1)

    def across(place: int) -> float:
        return left + step * (place + 1) - step * 0.3

    start = (left, up(0))
    sheet.path([start, *((across(n), up(p.saved)) for n, p in enumerate(points))], inks.metered, 2.2)
    sheet.dots([(across(n), up(p.saved)) for n, p in enumerate(points)], 2.8, inks.metered)
    due = [(across(n), up(p.promised)) for n, p in enumerate(points) if p.promised is not None]
    if due:
        sheet.path([start, *due], inks.ink, 2.0, "1.5 4")
    if last_low is not None and last_high is not None and points:
        end = across(len(points) - 1)
        sheet.line(end, up(last_low), end, up(last_high), inks.metered, 1.6)
        for value in (last_low, last_high):
            sheet.line(end - 4, up(value), end + 4, up(value), inks.metered, 1.6)
    for place, point in enumerate(points):
        _month_name(sheet, point.month, across(place), bottom, place, step, inks)
    return sheet.svg()


def _rules(sheet: Sheet, up: Scale, left: float, right: float, inks: Inks) -> None:
    for value in up.ticks(5):
        sheet.line(left, up(value), right, up(value), inks.muted if value == 0 else inks.rule, 0.8)
        sheet.text(left - 6, up(value) + 4, tick_words(value), inks.muted, anchor="end", size=11)
    sheet.text(2, up.end - 8, "kWh", inks.muted, size=11)


def _month_name(
    sheet: Sheet, month: str, middle: float, bottom: float, place: int, step: float, inks: Inks, *,
    bold: bool = False,
) -> None:  # fmt: skip
    year, number = month[:4], int(month[5:7])
    every = max(1, round(30 / max(step, 1.0) + 0.49)) if step < 26 else 1
    if place % every == 0 or bold:
        ink = inks.ink if bold else inks.muted
        sheet.text(middle, bottom + 14, MONTH_LETTERS[number - 1], ink, anchor="middle", size=11, bold=bold)
    if place == 0 or number == 1:
        sheet.text(middle, bottom + 27, year, inks.muted, anchor="middle", size=11)


def _key(sheet: Sheet, inks: Inks, entries: Sequence[tuple[str, str]], width: float) -> None:
    """What the marks mean, on one line above the chart."""
    place = 44.0
    for words, mark in entries:
        middle = 10.0
        if mark == "bar":
            sheet.rect(place, middle - 5, 12, 10, inks.metered)
        elif mark == "diamond":
            sheet.line(place + 6, middle - 8, place + 6, middle + 8, inks.expected, 1.6)
            sheet.diamond(place + 6, middle, 4.2, inks.expected, inks.sheet)
        elif mark == "line":
            sheet.line(place, middle, place + 14, middle, inks.metered, 2.2)
        else:
            sheet.line(place, middle, place + 14, middle, inks.ink, 2.0, "1.5 4")
        fit = words if place + room(words) + 18 < width else words.split(",")[0]
        sheet.text(place + 18, middle + 4, fit, inks.ink, size=11.5)
        place += 18 + room(fit, 11.5) + 18
