"""What shows a finding, for print: day by day, hour by hour, and a setting month by month."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from mv.paper.months import MONTH_LETTERS
from mv.paper.scale import Scale, scale_over, tick_words
from mv.paper.svg import Inks, Sheet, room

TIGHT = 260.0  # points of width below which a chart is a small one beside words
DASHES = "5 3"


@dataclass(frozen=True, slots=True)
class DayDots:
    """A dot a day. Places count from 0 among `dates` (YYYY-MM-DD).

    `levels`: first and last place, value, and whether it is that of the change. `changes` get an
    upright mark, `others` a thin one; `odd` days a triangle; `blank` is a stretch without readings.
    """

    dates: Sequence[str]
    values: Sequence[float | None]
    unit: str
    levels: Sequence[tuple[int, int, float, bool]] = ()
    changes: Sequence[int] = ()
    others: Sequence[int] = ()
    odd: frozenset[int] = frozenset()
    blank: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class HourLines:
    """The usual day of one kind: 24 values of kW on either side."""

    kind: str
    before: Sequence[float | None]
    after: Sequence[float | None]


@dataclass(frozen=True, slots=True)
class MonthLevel:
    """A setting in one month; None where it does not show."""

    month: str
    value: float | None
    low: float | None
    high: float | None


def days_with_levels(dots: DayDots, inks: Inks, spoken: str, *, width: float) -> str:
    """Dots, levels before and since, and the day of change."""
    sheet, area = _begun(inks, spoken, dots.unit, width)
    up = scale_over([*dots.values, *(level[2] for level in dots.levels)], area.bottom, area.top)
    _rules(sheet, up, area, inks)
    step = (area.right - area.left) / max(len(dots.dates), 1)

    def across(place: float) -> float:
        return area.left + step * place

    if dots.blank is not None:
        first, last = dots.blank
        sheet.rect(across(first), area.top, step * (last - first + 1), area.bottom - area.top, inks.rule)
    spots = [(n, across(n + 0.5), up(value)) for n, value in enumerate(dots.values) if value is not None]
    sheet.dots([(x, y) for n, x, y in spots if n not in dots.odd], 1.2, inks.metered)
    for n, x, y in spots:
        if n in dots.odd:
            sheet.path(
                [(x - 2.6, y + 2), (x + 2.6, y + 2), (x, y - 2.8), (x - 2.6, y + 2)], inks.attention, 1.3
            )
    for place in dots.others:
        sheet.line(across(place), area.top, across(place), area.bottom, inks.faint, 0.8, "1.5 3")
    for place in dots.changes:
        sheet.line(across(place), area.top - 4, across(place), area.bottom, inks.attention, 1.4, "7 3")
    for first, last, value, now in dots.levels:
        ink, dash = (inks.ink, "") if now else (inks.expected, DASHES)
        sheet.line(across(first), up(value), across(last + 1), up(value), ink, 2.2, dash)
    _months(sheet, dots.dates, across, area, inks)
    names = [("before", inks.expected, DASHES), ("since", inks.ink, "")] if len(dots.levels) == 2 else []
    _key(sheet, names, area, inks)
    return sheet.svg()


def usual_hours(
    lines: Sequence[HourLines], names: tuple[str, str], inks: Inks, spoken: str, *, width: float
) -> str:
    """The usual day of each kind before (dashed) and since (solid), kinds side by side."""
    sheet, area = _begun(inks, spoken, "kW", width)
    every = [value for line in lines for value in (*line.before, *line.after)]
    up = scale_over(every, area.bottom, area.top)
    _rules(sheet, up, area, inks)
    each = (area.right - area.left + 10) / max(len(lines), 1)
    for number, line in enumerate(lines):
        left = area.left + number * each
        step = (each - 10) / 24
        for values, ink, dash in ((line.before, inks.expected, DASHES), (line.after, inks.metered, "")):
            points = [(left + step * (n + 0.5), up(v)) for n, v in enumerate(values) if v is not None]
            sheet.path(points, ink, 1.8, dash)
        for hour in (0, 12) if step < 5 else (0, 6, 12, 18):
            at = left + step * hour
            sheet.text(at, area.bottom + 1.2 * area.letters, f"{hour:02d}:00", inks.muted, size=area.letters)
        sheet.text(left, area.bottom + 2.35 * area.letters, line.kind, inks.ink, size=area.letters)
    _key(sheet, [(names[0], inks.expected, DASHES), (names[1], inks.metered, "")], area, inks)
    return sheet.svg()


def setting_by_month(
    months: Sequence[MonthLevel], agreed: float | None, inks: Inks, spoken: str, *, width: float, unit: str
) -> str:
    """A setting as seen in each month with its interval; what was agreed as a dotted line."""
    sheet, area = _begun(inks, spoken, unit, width)
    up = scale_over([v for m in months for v in (m.value, m.low, m.high)] + [agreed], area.bottom, area.top)
    _rules(sheet, up, area, inks)
    step = (area.right - area.left) / max(len(months), 1)
    spots = []
    for n, month in enumerate(months):
        x = area.left + step * (n + 0.5)
        if month.value is not None:
            spots.append((x, up(month.value)))
        if month.low is not None and month.high is not None:
            sheet.line(x, up(month.low), x, up(month.high), inks.metered, 1.4)
    sheet.dots(spots, 2.8, inks.metered)
    if agreed is not None:
        sheet.line(area.left, up(agreed), area.right, up(agreed), inks.ink, 2.0, "1.5 4")
    dates = [f"{month.month}-01" for month in months]
    _months(sheet, dates, lambda place: area.left + step * (place + 0.3), area, inks)
    _key(sheet, [("agreed", inks.ink, "1.5 4")] if agreed is not None else [], area, inks)
    return sheet.svg()


@dataclass(frozen=True, slots=True)
class _Area:
    left: float
    right: float
    top: float
    bottom: float
    letters: float  # size of the labels

    @property
    def tight(self) -> bool:
        return self.right < TIGHT


def _begun(inks: Inks, spoken: str, unit: str, width: float) -> tuple[Sheet, _Area]:
    tight = width < TIGHT
    height, letters, left = (76.0, 9.0, 26.0) if tight else (150.0, 10.5, 38.0)
    sheet = Sheet(width, height, spoken)
    sheet.text(0, letters, unit, inks.muted, size=letters)
    return sheet, _Area(left, width - 4, 17.0, height - (1.5 if tight else 2.6) * letters, letters)


def _rules(sheet: Sheet, up: Scale, area: _Area, inks: Inks) -> None:
    for value in up.ticks(3 if area.tight else 4):
        sheet.line(area.left, up(value), area.right, up(value), inks.muted if value == 0 else inks.rule, 0.8)
        sheet.text(
            area.left - 5, up(value) + 4, tick_words(value), inks.muted, anchor="end", size=area.letters
        )


def _months(
    sheet: Sheet, dates: Sequence[str], across: Callable[[float], float], area: _Area, inks: Inks
) -> None:
    last = -99.0
    for n, day in enumerate(dates):
        place = across(n)
        if day.endswith("-01") and place - last > 40 and place < area.right - 14:
            month = int(day[5:7])
            sheet.text(
                place,
                area.bottom + 1.2 * area.letters,
                MONTH_LETTERS[month - 1],
                inks.muted,
                size=area.letters,
            )
            if (last < 0 or month == 1) and not area.tight:
                sheet.text(place, area.bottom + 2.35 * area.letters, day[:4], inks.muted, size=area.letters)
            last = place


def _key(sheet: Sheet, names: Sequence[tuple[str, str, str]], area: _Area, inks: Inks) -> None:
    """What the lines are, from the right end of the first line."""
    place = area.right
    if area.tight:
        return  # no room beside the unit; the upright mark tells before from since
    for words, ink, dash in reversed(names):
        place -= room(words, area.letters) + 2
        sheet.text(place, 10, words, inks.ink, size=area.letters)
        place -= 20
        sheet.line(place, 6.5, place + 16, 6.5, ink, 2.0, dash)
        place -= 8
