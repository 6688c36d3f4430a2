"""What each zone's control settings are, month by month, and whether they were kept."""

from mv.base.setting_records import SettingFinding, SettingObserved, ZoneSettings
from mv.controls.zone_settings import SETTINGS, infer_settings

__all__ = ["SETTINGS", "SettingFinding", "SettingObserved", "ZoneSettings", "infer_settings"]
