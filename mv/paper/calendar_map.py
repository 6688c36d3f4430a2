"""A month as a calendar: each day its kWh as a shade and a number, its 24 hours as a strip below."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from mv.paper.svg import Inks, Sheet

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
HEAD, GAP = 20.0, 3.0
NARROW_BOX = 60.0  # narrower ones have date and kWh on one line


@dataclass(frozen=True, slots=True)
class CalendarDay:
    """One local day. `energy_kwh` None: not metered. `hours_kw`: 24 mean powers, None where not read.

    `closed`: outside the opening days. `mark`: a word shown beside the date, such as "set aside".
    """

    day: date
    energy_kwh: float | None
    hours_kw: tuple[float | None, ...]
    closed: bool
    mark: str = ""


def calendar_map(days: Sequence[CalendarDay], inks: Inks, spoken: str, *, width: float) -> str:
    """A column a weekday, a row a week; darker is more. Under each day its hours, midnight to midnight."""
    weeks = _week_of(days[-1].day, days[0].day) + 1 if days else 1
    box = (width - GAP * 6) / 7
    tall = 46.0 if box >= NARROW_BOX else 29.0
    sheet = Sheet(width, HEAD + weeks * (tall + GAP) + 26, spoken)
    for place, name in enumerate(DAYS):
        sheet.text(place * (box + GAP) + box / 2, 13, name, inks.muted, anchor="middle", size=11)
    most = max((day.energy_kwh or 0.0 for day in days), default=0.0) or 1.0
    peak = max((kw or 0.0 for day in days for kw in day.hours_kw), default=0.0) or 1.0
    for day in days:
        left = day.day.weekday() * (box + GAP)
        top = HEAD + _week_of(day.day, days[0].day) * (tall + GAP)
        _day(sheet, day, inks, (left, top, box, tall), most, peak)
    _legend(sheet, inks, most, peak, sheet.height - 12, width)
    return sheet.svg()


def _week_of(day: date, first: date) -> int:
    return (day.day - 1 + first.replace(day=1).weekday()) // 7


def _day(
    sheet: Sheet, day: CalendarDay, inks: Inks, frame: tuple[float, float, float, float],
    most: float, peak: float,
) -> None:  # fmt: skip
    left, top, box, tall = frame
    narrow = box < NARROW_BOX
    if day.energy_kwh is None:
        sheet.rect(left, top, box, tall - 12, inks.sheet, f' stroke="{inks.faint}" stroke-dasharray="3 2"')
        shade, words = 0, "not read" if not narrow else "–"
    else:
        shade = _level(day.energy_kwh, most, len(inks.ramp) - 2)
        sheet.rect(left, top, box, tall - 12, inks.ramp[shade])
        words = f"{day.energy_kwh:,.0f}"
    ink = inks.sheet if shade >= len(inks.ramp) - 3 else inks.ink
    if narrow:
        sheet.text(left + 3, top + 12, str(day.day.day), ink, size=9)
        sheet.text(left + box - 3, top + 12.5, words, ink, anchor="end", size=11.5, bold=True)
    else:
        mark = day.mark or ("closed" if day.closed else "")
        sheet.text(left + 4, top + 12, str(day.day.day), ink, size=10.5)
        if mark:
            sheet.text(left + box - 4, top + 12, mark, ink, anchor="end", size=9.5)
        sheet.text(left + box / 2, top + tall - 18, words, ink, anchor="middle", size=13.5, bold=True)
    _strip(sheet, day, inks, left, top + tall - 11, box, peak)


def _strip(
    sheet: Sheet, day: CalendarDay, inks: Inks, left: float, top: float, box: float, peak: float
) -> None:
    """The day's hours as a strip; neighbours of one shade are drawn as one."""
    hours, part = list(day.hours_kw), box / 24
    sheet.rect(left, top, box, 8, inks.sheet, f' stroke="{inks.rule}" stroke-width="0.5"')
    begin = 0
    levels = [None if kw is None else _level(kw, peak, len(inks.ramp) - 1) for kw in hours]
    for hour in range(1, len(levels) + 1):
        if hour == len(levels) or levels[hour] != levels[begin]:
            level = levels[begin]
            if level is not None:
                sheet.rect(left + begin * part, top, (hour - begin) * part, 8, inks.ramp[level])
            begin = hour


def _level(value: float, most: float, steps: int) -> int:
    return max(0, min(steps, round(value / most * steps)))


def _legend(sheet: Sheet, inks: Inks, most: float, peak: float, middle: float, width: float) -> None:
    sheet.text(0, middle + 4, "less", inks.muted, size=11)
    place = 28.0
    for colour in inks.ramp[:-1]:
        sheet.rect(place, middle - 6, 16, 12, colour, f' stroke="{inks.rule}" stroke-width="0.5"')
        place += 17
    sheet.text(place + 6, middle + 4, f"more: up to {most:,.0f} kWh a day", inks.muted, size=11)
    if width > 500:
        words = f"strip: the day's hours, up to {peak:,.3g} kW"
        sheet.text(width, middle + 4, words, inks.muted, anchor="end", size=11)
