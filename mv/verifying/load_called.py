"""Demand-response calls of a study: how far the metered load fell."""

from collections.abc import Sequence

from mv.base.study_records import Study
from mv.peak import LoadDrop, load_drops
from mv.verifying.meter_savings import MeterSavings
from mv.verifying.populations import expansions
from mv.verifying.site_power import site_power_kw


def called_load_drops(study: Study, meters: Sequence[MeterSavings]) -> tuple[LoadDrop, ...]:
    """Every call under [demand_response], on the power of all meters together."""
    if not study.demand_response.events:
        return ()
    power = site_power_kw([item.series for item in meters], times=expansions(study, meters))
    if power is None:
        return ()
    return load_drops(
        power,
        study.demand_response,
        timezone=study.site.timezone,
        holidays=study.occupancy.holidays,
        confidence=study.study.confidence,
    )
