"""Does the site's longitude go with its time zone? A lost minus sign puts the sun on the wrong side."""

from datetime import datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from mv.base.ledger import Remark
from mv.base.study_records import Site

# Standard time stands within about 3 h of the sun everywhere people keep it (western China is the
# greatest, from memory); beyond this the longitude and the zone cannot both be right.
FARTHEST_HOURS = 3.5
DEGREES_AN_HOUR = 15.0


def hours_from_sun(site: Site) -> float:
    """The zone's standard time less the longitude's mean solar time, hours, -12 to 12."""
    standard = _standard_hours(site.timezone)
    return float((standard - site.longitude / DEGREES_AN_HOUR + 12.0) % 24.0 - 12.0)


@lru_cache(maxsize=64)
def _standard_hours(timezone: str) -> float:
    """The smaller of the zone's offsets of winter and summer, hours east."""
    zone = ZoneInfo(timezone)
    offsets = (datetime(2024, month, 15, tzinfo=zone).utcoffset() for month in (1, 7))
    return min(offset.total_seconds() for offset in offsets if offset is not None) / 3600.0


def longitude_remark(site: Site) -> Remark | None:
    """A remark where longitude and zone contradict one another."""
    hours = hours_from_sun(site)
    if abs(hours) <= FARTHEST_HOURS or (site.longitude == 0.0 and site.latitude == 0.0):
        return None
    mirrored = abs(hours_from_sun(site.model_copy(update={"longitude": -site.longitude})))
    sign = f"; longitude = {-site.longitude:g} would fit" if mirrored <= FARTHEST_HOURS else ""
    return Remark(
        "longitude-contradicts-zone",
        f"at longitude {site.longitude:g} the sun stands {abs(hours):.1f} hours from the clock of "
        f"{site.timezone}{sign}; sunrise and sunset, and with them daylight, are then wrong",
        remedy="Correct longitude in [site] (degrees, east positive, west negative) or timezone.",
        lasting=True,
    )
