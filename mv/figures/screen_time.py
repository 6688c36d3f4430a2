"""From the inner clock (UTC) to the screen's clock, in one place.

A drawn time axis must run forwards and evenly. The wall clock does neither where the clocks change,
and tz-aware stamps are slow to draw. So a window is drawn on the wall clock of its first instant,
carried on unbroken; what the site's clock showed is given beside each point, and where the clocks
change within the window is told in words.
"""

import pandas as pd

from mv.figures.wording import day_words


def drawing_times(index: pd.DatetimeIndex, timezone: str) -> pd.DatetimeIndex:
    """Naive, evenly running stamps: the wall clock at the first stamp, carried on unbroken."""
    if not len(index):
        return pd.DatetimeIndex([])
    there = index[0].tz_convert(timezone).tz_localize(None)
    offset = there - index[0].tz_convert("UTC").tz_localize(None)
    return index.tz_convert("UTC").tz_localize(None) + offset


def wall_clock(index: pd.DatetimeIndex, timezone: str) -> list[str]:
    """What the site's clock showed, with its zone's abbreviation where the hour is ambiguous."""
    local = index.tz_convert(timezone)
    naive = local.tz_localize(None)
    twice = naive.duplicated(keep=False) | _repeated_hours(local)
    texts = local.strftime("%a %d %b %Y %H:%M")
    return [
        f"{text} {stamp.tzname()}" if ambiguous else text
        for text, stamp, ambiguous in zip(texts, local, twice, strict=True)
    ]


def _repeated_hours(local: pd.DatetimeIndex) -> pd.Series:
    """True for stamps whose wall-clock time occurs twice on that day."""
    naive = local.tz_localize(None)
    earlier = naive.tz_localize(local.tz, ambiguous=True, nonexistent="shift_forward")
    later = naive.tz_localize(local.tz, ambiguous=False, nonexistent="shift_forward")
    return pd.Series(earlier != later).to_numpy()  # type: ignore[return-value]


def clock_changes(start: pd.Timestamp, end: pd.Timestamp, timezone: str) -> list[str]:
    """Sentences on each clock change in a UTC window of at most 40 days; none for longer windows."""
    if end - start > pd.Timedelta(days=40):
        return []
    hours = pd.date_range(start, end, freq="h").tz_convert(timezone)
    offsets = pd.Series([stamp.utcoffset() for stamp in hours])
    moved = offsets.diff().fillna(pd.Timedelta(0))
    return [
        f"The clocks went {'back' if step < pd.Timedelta(0) else 'forward'} on "
        f"{day_words(hours[place].date())}; the axis runs on without the jump."
        for place, step in moved.items()
        if step != pd.Timedelta(0) and isinstance(place, int)
    ]


def from_screen(text: str, timezone: str) -> pd.Timestamp:
    """The UTC instant of a naive wall-clock text that came back from the screen."""
    naive = pd.Timestamp(text)
    if naive.tzinfo is not None:
        return naive.tz_convert("UTC")
    return naive.tz_localize(timezone, ambiguous=True, nonexistent="shift_forward").tz_convert("UTC")


def interval_words(minutes: float) -> str:
    """ "15 minutes", "1 minute", "an hour"."""
    if minutes == 60:
        return "an hour"
    return f"{minutes:g} minute{'' if minutes == 1 else 's'}"
