"""The settings in words: how each is named, in what unit it is shown, and how an inner value becomes that."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SettingWords:
    """How a setting reads on the screen; `factor` turns the inner number into the shown one."""

    name: str
    unit: str
    factor: float = 1.0
    brief: str = ""  # the unit beside a value, where the axis has room for more
    yes_no: bool = False


SETTINGS = {
    "high_trim": SettingWords("Full-on level", "% of connected load", 100.0, "%"),
    "low_level": SettingWords("Level when vacant", "% of connected load", 100.0, "%"),
    "hold_minutes": SettingWords("Hold time after the last motion", "minutes", brief="min"),
    "daylight_dimming": SettingWords("Dims with daylight", "", yes_no=True),
    "scheduled_off": SettingWords("Off outside opening hours", "", yes_no=True),
    "standby_watts": SettingWords("Standby power per fixture", "W"),
    "schedule_on_hour": SettingWords("Schedule comes on", "o'clock, local hour"),
    "schedule_off_hour": SettingWords("Schedule goes off", "o'clock, local hour"),
    "first_on_hour": SettingWords("First light of an open day", "o'clock, local hour"),
    "last_off_hour": SettingWords("Last light of an open day", "o'clock, local hour"),
    "after_hours_kwh": SettingWords("After-hours use", "kWh a month"),
    "after_hours_share": SettingWords("After-hours share", "% of the use above the floor", 100.0, "%"),
    "override_share": SettingWords("Lamps full on while vacant", "% of vacant time", 100.0, "%"),
    "off_when_vacant": SettingWords("Off, not dim, when vacant", "", yes_no=True),
    "daylight_depth": SettingWords("Fall under the sun", "% of the full-on level", 100.0, "%"),
    "daylight_deepest": SettingWords("Deepest daylight dim", "% of the full-on level", 100.0, "%"),
    "daylight_threshold_deg": SettingWords("Sun height at which dimming begins", "degrees"),
    "daylight_saturation_deg": SettingWords("Sun height above which it dims no further", "degrees"),
    "daylight_hold_off_share": SettingWords("Kept off by daylight", "% of sunny occupied time", 100.0, "%"),
    "switching_on_deg": SettingWords("Sun height at switching on", "degrees"),
    "switching_off_deg": SettingWords("Sun height at switching off", "degrees"),
    "part_night_dim": SettingWords("Dims for part of the night", "", yes_no=True),
    "part_night_level": SettingWords("Part-night level", "% of connected load", 100.0, "%"),
    "burning_by_day_share": SettingWords("Burning by day", "% of daytime", 100.0, "%"),
}


def setting_words(setting: str, unit: str | None = None) -> SettingWords:
    """How a setting reads; one not known here keeps its key, spaced, and the result's unit."""
    known = SETTINGS.get(setting)
    return known or SettingWords(setting.replace("_", " ").capitalize(), unit or "")
