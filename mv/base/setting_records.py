"""What is said of a zone's control settings: shared by the stage that infers them and by drift."""

from dataclasses import dataclass, field
from datetime import date
from typing import Literal

import pandas as pd

from mv.base.estimate import Answer

Verdict = Literal["kept", "moved", "cannot tell"]

MONTHLY_COLUMNS = ("month", "setting", "estimate", "low", "high", "why")


@dataclass(frozen=True, slots=True)
class SettingFinding:
    """One setting of one zone: what was agreed, what the meter shows now, and since when.

    `setting` is the key under [zone.commissioned], or the name of a further sign for which nothing
    is agreed (`commissioned` is then None). `observed` is the latest state. `since` is the local
    date of the change; None where nothing changed, or where the setting was never seen as agreed.
    `effect_kwh_per_month` is the energy of the departure from what was agreed, positive = more used.
    """

    zone: str
    setting: str
    commissioned: float | bool | None
    observed: Answer
    verdict: Verdict
    since: date | None
    why: str
    effect_kwh_per_month: Answer | None = None
    earlier: Answer | None = None  # the state before `since`
    until: date | None = None  # last day of a spell that is over; None for a present state
    spells: tuple[tuple[date, date], ...] = ()  # first and last day of each, of what comes and goes


@dataclass(frozen=True, slots=True)
class SettingObserved:
    """What the latest month that shows a setting says of it, whether or not anything was agreed.

    `month` is "YYYY-MM", None where no month shows it; `why` says which month spoke, or why none did.
    """

    zone: str
    setting: str
    unit: str
    month: str | None
    observed: Answer
    why: str


@dataclass(frozen=True)
class ZoneSettings:
    """A zone's settings: one finding for each that was agreed, further signs, and the months.

    `signs` are things seen on the meter that nobody agreed on (after-hours use, lamps burning by
    day, failed lamps, an always-on floor): commissioned None, verdict "moved" where one changed.
    `monthly` is long: month ("YYYY-MM"), setting, estimate, low, high, why (where it has none).
    `observed`: clock hours, after-hours use, overrides and the like, as the latest month shows them.
    `motion_lag_minutes`: how late the meter's clock runs behind the motion log's, where seen.
    """

    zone: str
    findings: tuple[SettingFinding, ...]
    monthly: pd.DataFrame
    signs: tuple[SettingFinding, ...] = ()
    motion_lag_minutes: float | None = None
    remarks: tuple[str, ...] = field(default=())
    observed: tuple[SettingObserved, ...] = ()
