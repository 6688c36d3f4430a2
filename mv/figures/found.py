"""What a finding of drift is shown with: which pictures, on which meters, between which days."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Literal

from mv.base.setting_words import setting_words
from mv.base.verification import Verification
from mv.figures.drift_words import GAP
from mv.figures.palette import Scheme
from mv.figures.result_parts import rows
from mv.figures.settings_history import months_of, setting_history
from mv.figures.worded import FigureWithWords, not_drawn

Picture = Literal["days", "hours", "setting"]
Spans = tuple[tuple[date, date], ...]
MOST_SHARED_DAYS = 7  # apart up to which two findings of a meter begin together; common practice, no source


@dataclass(frozen=True)
class Found:
    """An entry of `drift` as its pictures need it; `meters` are those that feed its zones."""

    key: str
    kind: str
    where: str
    meters: tuple[str, ...]
    since: date | None
    until: date | None
    spells: Spans
    settings: tuple[str, ...]
    zones: tuple[str, ...]


def found(verification: Verification, key: str) -> Found:
    """The finding whose `id` is `key`. Raises KeyError where there is none."""
    for row in rows(verification.result, "drift"):
        if row.get("id") == key:
            return _as_found(verification, row)
    raise KeyError(key)


def pictures_of(verification: Verification, key: str) -> tuple[Picture, ...]:
    """The pictures that show a finding, the plainest first."""
    item = found(verification, key)
    if item.kind in (GAP, "slope"):
        return ("days",)
    if item.kind == "recurring":
        return ("days", "hours") if item.spells else ("days",)
    named = shown_setting(verification, item)
    if item.since is None:
        return ("setting",) if named else ("days",)
    in_numbers = named is not None and not setting_words(named[1]).yes_no
    return ("days", "hours", "setting") if in_numbers else ("days", "hours")


def shown_setting(verification: Verification, item: Found) -> tuple[str, str] | None:
    """Zone and name of the first of its settings that the months show at least twice."""
    for zone in item.zones:
        for setting in item.settings:
            if months_of(verification, zone, setting)["estimate"].notna().sum() > 1:
                return zone, setting
    return None


def finding_setting(verification: Verification, key: str, *, scheme: Scheme = "light") -> FigureWithWords:
    """The months of the setting that a finding is of, beside what was agreed."""
    item = found(verification, key)
    named = shown_setting(verification, item)
    if named is None:
        return not_drawn(f"{item.where}: settings", "No two months show the setting.")
    return setting_history(verification, *named, scheme=scheme)


def other_changes(verification: Verification, item: Found) -> list[date]:
    """The days on which other findings on the same meters begin or end."""
    days: set[date] = set()
    for row in rows(verification.result, "drift"):
        other = _as_found(verification, row)
        if other.key != item.key and other.kind == "step" and set(other.meters) & set(item.meters):
            days |= {day for day in (other.since, day_after(other.until)) if day is not None}
    own = [day for day in (item.since, day_after(item.until)) if day is not None]
    return sorted(day for day in days if all(abs((day - mine).days) > MOST_SHARED_DAYS for mine in own))


def day_after(day: date | None) -> date | None:
    """The first day after a last one."""
    return None if day is None else day + timedelta(days=1)


def _as_found(verification: Verification, row: Mapping[str, Any]) -> Found:
    zones = tuple(str(zone) for zone in row.get("zones") or ())
    return Found(
        key=str(row.get("id") or ""),
        kind=str(row.get("kind") or "step"),
        where=str(row.get("where") or ""),
        meters=_meters(verification, str(row.get("where")), zones),
        since=_day(row.get("since")),
        until=_day(row.get("until")),
        spells=tuple((_date(first), _date(last)) for first, last in row.get("spells") or ()),
        settings=tuple(str(name) for name in row.get("settings") or ()),
        zones=zones,
    )


def _meters(verification: Verification, where: str, zones: tuple[str, ...]) -> tuple[str, ...]:
    """Those that feed the finding's zones, in the study's order; the one it names where it has none."""
    study = verification.study
    fed = {meter.id: {zone.id for zone in study.zones_of(meter.id)} for meter in study.meter}
    feeding = tuple(meter for meter, own in fed.items() if own & set(zones or (where,)))
    return feeding or tuple(meter for meter in fed if meter == where)


def _day(text: object) -> date | None:
    return _date(text) if text else None


def _date(text: object) -> date:
    return date.fromisoformat(str(text)[:10])
