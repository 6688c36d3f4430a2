"""From the levels a setting went through to: kept, moved since when, or cannot tell."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.setting_records import SettingFinding
from mv.controls.steps import Level
from mv.controls.tolerances import Tolerance

EPOCH = date(1970, 1, 1)
FEWEST_DAYS = 3  # days that show a setting, for it to be told; common practice, no source
SPELL_DAYS = 7  # days with readings for a spell that is over to be told; common practice, no source
NEVER_DAYS = 7  # days that show a setting, for it to be told as never seen as agreed; no source
STALE_DAYS = 45  # last seen so long before the period's end, a setting is not known now; no source


@dataclass(frozen=True, slots=True)
class Scale:
    """How a numeric setting is spoken of and what its interval must add to chance.

    `systematic` is a half-width in the setting's unit that more days do not narrow; `further_down`
    what the lower end lies further off than the upper.
    """

    name: str
    unit: str
    digits: int
    systematic: float
    confidence: float
    further_down: float = 0.0


def day_date(day: int) -> date:
    """The local date of a day number."""
    return EPOCH + timedelta(days=int(day))


def quantile_factor(confidence: float, days: int) -> float:
    """Two-sided Student factor for a mean of so many days."""
    from scipy.special import stdtrit

    return float(stdtrit(max(days - 1, 1), 0.5 + confidence / 2))


def level_estimate(level: Level, scale: Scale) -> Estimate:
    """The level with its interval: chance between days, and what all days share."""
    chance = 1.2533 * level.standard_error * quantile_factor(scale.confidence, min(level.days, 60))
    half = float(np.hypot(chance, scale.systematic))
    low, high = level.value - half - scale.further_down, level.value + half
    low = min(max(low, 0.0), level.value)  # no setting is below nothing
    return Estimate(level.value, low, high, scale.confidence, level.standard_error)


def numeric_finding(
    zone: str,
    setting: str,
    *,
    agreed: float | None,
    levels: list[Level],
    tolerance: Tolerance,
    scale: Scale,
    last_day: int,
) -> SettingFinding:
    """Compares a numeric setting's levels with what was agreed."""
    if not levels:
        return cannot_tell(zone, setting, agreed, f"{scale.name} could not be read from any day")
    last = levels[-1]
    if last.days < FEWEST_DAYS:
        return cannot_tell(zone, setting, agreed, f"{scale.name} is seen on {last.days} days only")
    observed = level_estimate(last, scale)
    if last_day - last.last_day > STALE_DAYS:
        why = (
            f"{scale.name} was last seen on {day_date(last.last_day)}, as {_text(last.value, scale)}; "
            "what it is now does not show"
        )
        return cannot_tell(zone, setting, agreed, why)
    apart = [_apart(level, levels[0], agreed, tolerance) for level in levels]
    if agreed is None:
        moved = len(levels) > 1
        since = day_date(last.first_day) if moved else None
        why = _story(levels, scale)
        earlier = level_estimate(levels[-2], scale) if moved else None
        return SettingFinding(
            zone, setting, None, observed, "moved" if moved else "kept", since, why, None, earlier
        )
    if not apart[-1]:
        why = _kept_story(levels, apart, agreed, scale)
        return SettingFinding(zone, setting, agreed, observed, "kept", None, why)
    assert observed.low is not None and observed.high is not None
    if observed.low <= agreed <= observed.high:
        why = (
            f"{_text(last.value, scale)} is read where {_text(agreed, scale)} was agreed, but the "
            "reading is too loose to tell the two apart"
        )
        return SettingFinding(zone, setting, agreed, observed, "cannot tell", None, why)
    first = _first_of_run(apart, [level.value > agreed for level in levels]) or _moved_further(
        levels, agreed, tolerance
    )
    since = day_date(levels[first].first_day) if first else None
    earlier = level_estimate(levels[first - 1], scale) if first else None
    why = _moved_story(levels, first, agreed, scale)
    if since is None and sum(level.days for level in levels) < NEVER_DAYS:
        return cannot_tell(zone, setting, agreed, f"{why}; but it is seen on {last.days} days only")
    return SettingFinding(zone, setting, agreed, observed, "moved", since, why, None, earlier)


def past_spells(
    finding: SettingFinding, levels: list[Level], tolerance: Tolerance, scale: Scale
) -> list[SettingFinding]:
    """Spells in which a setting that is now as agreed was not."""
    agreed = finding.commissioned
    if finding.verdict != "kept" or agreed is None or len(levels) < 3:
        return []
    apart = [_apart(level, levels[0], float(agreed), tolerance) for level in levels]
    spells = []
    for at in range(1, len(levels) - 1):
        if apart[at] and not apart[at - 1] and levels[at].days >= SPELL_DAYS:
            end = at
            while apart[end + 1]:
                end += 1
            since, until = day_date(levels[at].first_day), day_date(levels[end].last_day)
            spell = level_estimate(levels[at], scale)
            assert spell.low is not None and spell.high is not None
            off = max(spell.low - float(agreed), float(agreed) - spell.high)
            if off < tolerance.step:
                continue
            why = (
                f"{scale.name} was {_text(levels[at].value, scale)} from {since} to {until} and came back; "
                f"{_text(float(agreed), scale)} was agreed"
            )
            spells.append(
                SettingFinding(
                    finding.zone,
                    finding.setting,
                    None,
                    spell,
                    "moved",
                    since,
                    why,
                    earlier=level_estimate(levels[at - 1], scale),
                    until=until,
                )
            )
    return spells


def cannot_tell(zone: str, setting: str, agreed: float | bool | None, why: str) -> SettingFinding:
    """The verdict where the data do not support one."""
    answer: Answer = CannotSay(f"{setting} of {zone}", why)
    return SettingFinding(zone, setting, agreed, answer, "cannot tell", None, why)


def _apart(level: Level, first: Level, agreed: float | None, tolerance: Tolerance) -> bool:
    """True where a level is not as agreed, allowing for a scale that was off from the start."""
    if agreed is None:
        return False
    if abs(first.value - agreed) <= tolerance.apart:
        near = min(abs(level.value - agreed), abs(level.value - first.value))
        return near >= tolerance.step
    return abs(level.value - agreed) > tolerance.apart


def _first_of_run(apart: list[bool], above: list[bool]) -> int:
    """Index of the first of the last unbroken run of departures to one side of what was agreed."""
    at = len(apart) - 1
    while at > 0 and apart[at - 1] and above[at - 1] == above[-1]:
        at -= 1
    return at


def _moved_further(levels: list[Level], agreed: float, tolerance: Tolerance) -> int:
    """Index of the last step that took a setting, never as agreed, clearly further off; else 0."""
    off = [abs(level.value - agreed) for level in levels]
    for at in range(len(levels) - 1, 0, -1):
        if off[at] - off[at - 1] >= 2 * tolerance.step:
            return at
    return 0


def _text(value: float, scale: Scale) -> str:
    shown = 100 * value if scale.unit == "%" else value
    return f"{shown:.{scale.digits}f} {scale.unit}"


def _story(levels: list[Level], scale: Scale) -> str:
    parts = [f"{_text(level.value, scale)} from {day_date(level.first_day)}" for level in levels]
    return f"{scale.name}: " + ", then ".join(parts)


def _kept_story(levels: list[Level], apart: list[bool], agreed: float, scale: Scale) -> str:
    text = f"{scale.name} is read as {_text(levels[-1].value, scale)}; {_text(agreed, scale)} was agreed"
    away = [
        f"{_text(level.value, scale)} from {day_date(level.first_day)} to {day_date(level.last_day)}"
        for level, out in zip(levels, apart, strict=True)
        if out
    ]
    return text + (f". It had been {' and '.join(away)}, and came back" if away else "")


def _moved_story(levels: list[Level], first: int, agreed: float, scale: Scale) -> str:
    now = _text(levels[-1].value, scale)
    if first == 0:
        return f"{scale.name} is {now} where {_text(agreed, scale)} was agreed, and was never seen as agreed"
    before = levels[first - 1]
    return (
        f"{scale.name} went from {_text(before.value, scale)} to {_text(levels[first].value, scale)}"
        f" on {day_date(levels[first].first_day)}; {_text(agreed, scale)} was agreed"
        + (f", and it is {now} now" if len(levels) - 1 > first else "")
    )
