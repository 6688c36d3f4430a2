"""A study folder with one planted fault each: named, dated, priced and with what to check first."""

from datetime import date
from pathlib import Path

import pytest

from mv.base.verification import Verification
from mv.drift.causes import CAUSES
from mv.simulate import SettingChange, random_changes, random_site, simulate_site, write_study
from mv.verify import verify_study

CASES = [
    ("office", 40001, 15, "trim removed", "trim removed"),
    ("classroom", 41001, 15, "delay lengthened", "delay lengthened"),
    ("hall", 44032, 60, "schedule lost in a power cut", "schedule lost"),
    ("workshop", 51153, 60, "controller clock shifted", "clock shifted"),
    ("outdoor", 51001, 60, "photocell stuck on", "photocell stuck"),
]
INDOOR = ("office", "classroom", "stores", "corridor", "hall", "workshop")


def verified(
    kind: str, seed: int, minutes: int, cause: str, folder: Path
) -> tuple[SettingChange, float, Verification]:
    """The planted change, its kWh a month, and what a user is told."""
    kinds = ("outdoor",) if kind == "outdoor" else INDOOR
    design = random_site(seed, zones=1, kinds=kinds, baseline_months=3, reporting_months=9)
    (change,) = random_changes(design, seed, kinds=(cause,), first_after_days=75)
    site, without = (simulate_site(d, seed) for d in (design.with_changes(change), design))
    span = slice(site.clock.minute_at(change.day, 0), site.reporting.stop)
    used, would = (sum(zone.actual_kw[span].sum() / 60.0 for zone in s.zones) for s in (site, without))
    write_study(site, folder, interval_minutes=minutes)
    months = (span.stop - span.start) / (1440 * 30.4375)
    return change, (used - would) / months, verify_study(folder)


@pytest.mark.parametrize(("kind", "seed", "minutes", "planted", "code"), CASES)
def test_a_planted_fault_is_told_with_its_day_its_cause_and_its_price(
    kind, seed, minutes, planted, code, tmp_path
):
    change, true_kwh, verification = verified(kind, seed, minutes, planted, tmp_path)
    (finding,) = [row for row in verification.result["drift"] if row["kind"] != "gap"]
    assert abs((date.fromisoformat(finding["since"]) - change.day).days) <= 5
    assert CAUSES[code].text in finding["likely_causes"][:2]
    assert finding["kwh_per_month"]["estimate"] == pytest.approx(true_kwh, rel=0.35)
    assert CAUSES[code].check[0] in finding["check_first"]
    assert verification.result["cautions"]
