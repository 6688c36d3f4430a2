"""A finding day by day, as numbers: how far each day lay from what it would have been without change."""

from dataclasses import dataclass
from datetime import date, timedelta

import pandas as pd

from mv.base.verification import Verification
from mv.figures import wording
from mv.figures.drift_words import GAP
from mv.figures.found import Found, day_after, found, other_changes

MEAN_DAYS = 7  # a whole week, so that weekdays cancel
FEWEST_OF_WEEK = 4  # its days that must be metered; common practice, no source
SEASON_DAYS = 28  # at either end of a steady change; whole weeks, common practice, no source
AROUND_DAYS = 28  # shown on either side of a stretch without readings; common practice, no source


@dataclass(frozen=True)
class Level:
    """The mean of some days, kWh a day; `now` for that of the change itself."""

    first: date
    last: date
    kwh_a_day: float
    now: bool


@dataclass(frozen=True)
class FoundDays:
    """What is drawn: `days` by naive midnight with metered_kwh, expected_kwh and shown_kwh.

    `against_expected`: shown is metered less expected; else it is what was metered. `others`: days on
    which something else changed on the same meters.
    """

    item: Found
    days: pd.DataFrame
    against_expected: bool
    levels: tuple[Level, ...]
    others: tuple[date, ...]

    @property
    def changes(self) -> list[date]:
        """The days on which the level changed: where it began, and the first after it was over."""
        if self.item.kind != "step":
            return []
        return [day for day in (self.item.since, day_after(self.item.until)) if day is not None]

    @property
    def title(self) -> str:
        """The picture's heading."""
        if self.against_expected:
            return f"{self.item.where}: each day against what was usual"
        return f"{self.item.where}: energy of each day"

    @property
    def unit(self) -> str:
        """What stands beside its values."""
        return "kWh a day over usual" if self.against_expected else "kWh a day"

    @property
    def caption(self) -> str:
        """What to see in it."""
        return " ".join([*_read(self), *_changed(self)])


def days_found(verification: Verification, key: str) -> FoundDays | None:
    """The days that show a finding; None where none was metered. Raises KeyError for no such finding."""
    item = found(verification, key)
    usual = _against_expected(verification, key)
    days = _metered(verification, item) if usual is None or item.kind == GAP else usual
    if days is None or not days["shown_kwh"].notna().any():
        return None
    others = () if item.kind == GAP else tuple(other_changes(verification, item))
    against = usual is not None and item.kind != GAP
    return FoundDays(item, days, against, _levels(item, days, others), others)


def weekly_mean(shown: FoundDays) -> pd.Series:
    """The mean over the week about each day."""
    return shown.days["shown_kwh"].rolling(MEAN_DAYS, center=True, min_periods=FEWEST_OF_WEEK).mean()


def _against_expected(verification: Verification, key: str) -> pd.DataFrame | None:
    rows = verification.drift_days[verification.drift_days["finding"] == key]
    if rows.empty:
        return None
    days = rows.set_index("day")[["actual_kwh", "expected_kwh"]].astype(float)
    days.columns = pd.Index(["metered_kwh", "expected_kwh"])
    days = days.reindex(pd.date_range(days.index.min(), days.index.max(), freq="D", name="day"))
    return days.assign(shown_kwh=days["metered_kwh"] - days["expected_kwh"])


def _metered(verification: Verification, item: Found) -> pd.DataFrame | None:
    """What the finding's meters read together; a day on which one was not read stays empty."""
    daily = verification.daily
    own = daily[daily["meter"].isin(item.meters) & (daily["period"] == "reporting")]
    if own.empty:
        return None
    grouped = own.groupby("day")["actual_kwh"]
    total = grouped.sum(min_count=1).where(grouped.count() == len(item.meters))
    if item.kind == GAP and item.since is not None:
        around = timedelta(days=AROUND_DAYS)
        total = total[total.index >= pd.Timestamp(item.since - around)]
        total = total[total.index <= pd.Timestamp(item.until + around)] if item.until else total
    return pd.DataFrame({"metered_kwh": total, "expected_kwh": float("nan"), "shown_kwh": total})


def _levels(item: Found, days: pd.DataFrame, others: tuple[date, ...]) -> tuple[Level, ...]:
    """Means of the days before a change, while it lasts and after it, up to the next change of anything."""
    first, last = days.index.min().date(), days.index.max().date()
    if item.kind == "slope":
        season = timedelta(days=SEASON_DAYS - 1)
        spans = [(first, first + season, False), (last - season, last, True)]
    elif item.kind == "step" and item.since is not None:
        begun = item.since
        before = max([day for day in others if day < begun], default=first)
        over = day_after(item.until) or last + timedelta(days=1)
        after = min([over, *(day for day in others if day > begun)])
        spans = [(before, begun - timedelta(days=1), False), (begun, after - timedelta(days=1), True)]
    else:
        spans = []
    means = [(a, b, days.loc[str(a) : str(b), "shown_kwh"].mean(), now) for a, b, now in spans if a <= b]
    return tuple(Level(a, b, float(mean), now) for a, b, mean, now in means if pd.notna(mean))


def _read(shown: FoundDays) -> list[str]:
    """What the marks are."""
    meters = wording.listed(list(shown.item.meters))
    where = f" (meter {meters})" if len(shown.item.meters) == 1 else f" (meters {meters})" if meters else ""
    if shown.against_expected:
        return [
            f"Each dot is a day{where}: how much more or less was metered than such a day, with its daylight "
            "and its use, takes without any change."
        ]
    if shown.item.kind == GAP:
        return [f"Each dot is a day that was metered{where}."]
    return [
        f"Each dot is a day that was metered{where}; there are too few for an expectation of their own, "
        "so season and use are not taken out."
    ]


def _changed(shown: FoundDays) -> list[str]:
    item, levels = shown.item, {level.now: level for level in shown.levels}
    if item.kind == GAP:
        until = f"to {wording.day_words(item.until)}" if item.until else "on"
        return [f"The shaded days, from {wording.day_words(item.since)} {until}, have no usable reading."]
    if item.kind == "recurring":
        days = sum((last - first).days + 1 for first, last in item.spells)
        return [f"Triangles: the {wording.counted(len(item.spells), 'spell')}, {days} days in all."]
    if len(levels) < 2:
        return []
    was, now = _kwh(levels[False], shown), _kwh(levels[True], shown)
    if item.kind == "slope":
        return [f"The first four weeks lay at {was}, the last four at {now}, on average."]
    ended = f" until {wording.day_words(item.until)}" if item.until else ""
    told = [f"Before {wording.day_words(item.since)} the mean lay at {was}, from then on{ended} at {now}."]
    others = [wording.day_words(day) for day in shown.others]
    return told + ([f"Thin line: another change, {wording.listed(others)}."] if others else [])


def _kwh(level: Level, shown: FoundDays) -> str:
    step = 0.1 if max(abs(one.kwh_a_day) for one in shown.levels) < 20 else 1.0
    text = wording.number(level.kwh_a_day, step=step)
    plus = "+" if shown.against_expected and level.kwh_a_day > 0 and float(text.replace(",", "")) else ""
    return wording.in_unit(f"{plus}{text}", "kWh a day")


def in_spells(shown: FoundDays) -> pd.Series:
    """Which of the days lie in one of a recurring fault's spells."""
    inside = pd.Series(False, index=shown.days.index)
    for first, last in shown.item.spells:
        inside[str(first) : str(last)] = True
    return inside
