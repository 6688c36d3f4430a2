"""Everything that changed at the site, each event once."""

from collections.abc import Sequence
from dataclasses import replace

from mv.base.estimate import Estimate
from mv.base.setting_records import ZoneSettings
from mv.drift.event_findings import event_finding
from mv.drift.gaps import gap_findings
from mv.drift.looks import event_dates, look_at
from mv.drift.one_cause import joined, readable
from mv.drift.own_findings import own_findings, site_findings, told_alone
from mv.drift.records import DriftFinding, DriftSeries
from mv.drift.resets import with_resets
from mv.drift.setting_events import setting_events


def find_drift(
    series: Sequence[DriftSeries],
    settings: Sequence[ZoneSettings],
    *,
    confidence: float,
    price_per_kwh: float | None = None,
    site: DriftSeries | None = None,
) -> tuple[DriftFinding, ...]:
    """Steps, slopes, recurring faults and gaps, with the settings that explain them.

    A setting's change and the step of energy it makes are one finding; changes of many zones at
    one time are one reset. `site`: the meters together, for what is too small on each. Findings come
    in order of energy a month, gaps last.
    """
    events = readable(setting_events(settings))
    looks = {item.where: look_at(item, event_dates(item, events), settings) for item in series}
    looks = {name: look and told_alone(look, settings) for name, look in looks.items()}
    told = [event_finding(event, series, looks, settings, confidence, events) for event in events]
    found = [finding for finding in told if finding is not None]
    for item in series:
        look = looks[item.where]
        if look is not None:
            found += own_findings(look, settings, confidence)
        found += gap_findings(item)
    found = with_resets(joined(found), len(settings))
    if site is not None:
        found += site_findings(site, found, settings, confidence)
    priced = [_priced(finding, price_per_kwh) for finding in found]
    return tuple(sorted(priced, key=_order))


def _priced(finding: DriftFinding, price: float | None) -> DriftFinding:
    energy = finding.kwh_per_month
    if price is None or not isinstance(energy, Estimate):
        return finding
    return replace(finding, cost_per_month=float(energy.estimate) * price)


def _order(finding: DriftFinding) -> tuple[bool, float, str]:
    energy = finding.kwh_per_month
    size = abs(float(energy.estimate)) if isinstance(energy, Estimate) else 0.0
    return finding.kind == "gap", -size, finding.where
