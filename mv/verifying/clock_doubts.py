"""A clock or time zone that the readings contradict: the caution that leads, and what it leaves untold."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from mv.base.estimate import CannotSay
from mv.base.ledger import Remark
from mv.base.setting_records import SettingFinding, ZoneSettings
from mv.base.wording import listed
from mv.verifying.meter_savings import MeterSavings

DOUBTS = (
    "longitude-contradicts-zone",
    "clock-shifted",
    "clock-against-hours",
    "clock-against-meters",
    "clock-ignores-summer-time",
    "clock-set",
    "clock-drifts",
)
BY_HOURS = ("scheduled_off",)  # whatever is seen: it is seen at other hours than those agreed
MOVED_BY_HOURS = ("low_level", "daylight_dimming")  # "moved" may be the opening hours or the sun misplaced


def clock_cautions(meters: Sequence[MeterSavings]) -> list[str]:
    """One sentence a doubt, over the meters that share it, each with its remedy."""
    told: dict[tuple[str, str], list[str]] = {}
    for item in meters:
        for remark in _doubts(item.series.ledger.remarks):
            told.setdefault((remark.what, remark.remedy or ""), []).append(item.meter.id)
    return [
        f"The clock is in doubt for {listed(list(dict.fromkeys(who)))}: {what}. {remedy} Until then settings "
        "that go by the clock are not proven, and what depends on the hour (peak window, price periods, "
        "opening hours, daylight) may be wrong."
        for (what, remedy), who in told.items()
    ]


def told_in_doubt(settings: ZoneSettings, remarks: Iterable[Remark]) -> ZoneSettings:
    """The settings with those left untold that hang on a clock which was wrong throughout."""
    doubt = next((remark for remark in _doubts(remarks) if remark.lasting), None)
    if doubt is None:
        return settings
    return replace(settings, findings=tuple(_in_doubt(found, doubt) for found in settings.findings))


def _doubts(remarks: Iterable[Remark]) -> list[Remark]:
    return [remark for remark in remarks if remark.code in DOUBTS]


def _in_doubt(found: SettingFinding, doubt: Remark) -> SettingFinding:
    hangs = found.setting in BY_HOURS or (found.setting in MOVED_BY_HOURS and found.verdict == "moved")
    if not hangs or found.verdict == "cannot tell":
        return found
    why = f"{found.why}; but the clock is in doubt: {doubt.what}"
    return SettingFinding(
        found.zone,
        found.setting,
        found.commissioned,
        CannotSay(f"{found.setting} of {found.zone}", why),
        "cannot tell",
        None,
        why,
    )
