"""Further signs of an indoor zone: what changed though nobody agreed on it."""

from mv.base.setting_records import SettingFinding
from mv.controls.evidence import ZoneEvidence
from mv.controls.setting_rules import RULES


def further_signs(evidence: ZoneEvidence, findings: tuple[SettingFinding, ...]) -> tuple[SettingFinding, ...]:
    """Settings that were not agreed but are seen to have changed."""
    agreed = {finding.setting for finding in findings}
    signs = [rule(evidence, None) for name, rule in RULES.items() if name not in agreed]
    return tuple(sign for sign in signs if sign.verdict == "moved")
