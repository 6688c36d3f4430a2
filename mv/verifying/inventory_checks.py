"""The inventory against the study's zones and the meters: what a reviewer would stop at."""

from collections.abc import Sequence

import pandas as pd

from mv.base.clock import period_bounds
from mv.base.study_records import Span, Study
from mv.intake import Intake
from mv.predicted import InventoryFinding, inventory_findings
from mv.verifying.meter_savings import MeterSavings

PEAK_MINUTES = 15.0
PEAK_QUANTILE = 0.999
"""Share of a period's quarter hours below the power that counts as reached: single spikes are not
the load. Common practice, no source."""


def inventory_checks(
    study: Study, intake: Intake, meters: Sequence[MeterSavings]
) -> tuple[InventoryFinding, ...]:
    """Everything in the inventory that does not fit; empty without an inventory."""
    if intake.inventory is None:
        return ()
    assert study.periods is not None
    before, after = (
        _highest_by_zone(study, meters, span) for span in (study.periods.baseline, study.periods.reporting)
    )
    return inventory_findings(
        intake.inventory,
        zones=study.zone,
        metered_peak_kw_before=before,
        metered_peak_kw_after=after,
    )


def _highest_by_zone(study: Study, meters: Sequence[MeterSavings], span: Span) -> dict[str, float]:
    """Highest sustained kW of each zone that has a lighting meter to itself."""
    start, end = period_bounds(span.first, span.last, study.site.timezone)
    found = {}
    for item in meters:
        if item.meter.measures != "lighting" or len(item.zones) != 1:
            continue
        power = item.series.power_kw.where(~item.series.estimated)
        inside = power[(power.index >= start) & (power.index < end)]
        if item.series.interval_minutes < PEAK_MINUTES:
            inside = inside.resample(pd.Timedelta(minutes=PEAK_MINUTES)).mean()
        known = inside.dropna()
        if len(known):
            found[item.zones[0].id] = float(known.quantile(PEAK_QUANTILE))
    return found
