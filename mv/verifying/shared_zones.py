"""Zones that several meters feed: how their load is split, no file says."""

from collections import Counter

from mv.base.study_records import Study


def zones_of_several_meters(study: Study) -> frozenset[str]:
    """Ids of the zones that more than one meter feeds."""
    fed = Counter(
        name
        for meter in study.meter
        for name in {*(zone.id for zone in study.zones_of(meter.id)), *meter.zones}
    )
    return frozenset(name for name, meters in fed.items() if meters > 1)
