"""The papers that go with a random site: fixture inventory, prediction, programme and prices."""

from collections.abc import Sequence

import numpy as np

from mv.base.opening_hours import Hours
from mv.simulate.arrays import stream
from mv.simulate.design import SiteDesign, ZoneDesign
from mv.simulate.study_text import StudyExtras

INVENTORY_COLUMNS = (
    "space",
    "zone",
    "quantity",
    "watts_before",
    "watts_after",
    "hours_per_year",
    "control_saving_fraction",
    "standby_watts",
    "coincidence_factor",
)
Row = Sequence[object]
DARK_HOURS = 4300.0  # a year of nights; common practice, no source
WEEKS = 52.14


def drawn_extras(design: SiteDesign, seed: int) -> StudyExtras:
    """Prediction by inventory, a summer peak window of the site's hemisphere, and plain prices."""
    rng = stream(seed, "papers")
    months = [6, 7, 8] if design.latitude >= 0 else [12, 1, 2]
    cost = round(sum(zone.fixtures for zone in design.zones) * float(rng.uniform(150, 400)), -2)
    return StudyExtras(
        title=f"{design.name}: lighting retrofit with controls",
        predicted={"inventory": "inventory.csv"},
        peak={"months": months, "hours": [14, 18], "weekdays_only": True},
        tariff={"energy_per_kwh": round(float(rng.uniform(0.08, 0.32)), 3), "source": "invented"},
        incentive={"per_kwh": 0.1, "cap_fraction_of_cost": 0.5, "project_cost": cost, "source": "invented"},
        notes=("An INVENTED site, made by mv.simulate: no real place, people, products or measurements.",),
    )


def drawn_inventory(design: SiteDesign, seed: int) -> list[Row]:
    """One row a zone (and one for its egress lighting), with an estimator's usual errors."""
    rng = stream(seed, "inventory")
    rows: list[Row] = []
    for zone in design.zones:
        rows.append(_row(zone, design, rng))
        if zone.egress_kw_before > 0:
            before, after = round(zone.egress_kw_before * 500, 1), round(zone.egress_kw_after * 500, 1)
            rows.append((f"{zone.id} egress", zone.id, 2, before, after, 8760, 0.0, 0.0, 1.0))
    return rows


def _row(zone: ZoneDesign, design: SiteDesign, rng: np.random.Generator) -> Row:
    hopeful = float(rng.uniform(0.9, 1.25))
    if zone.old.control == "always":
        hours = 8760.0
    else:
        hours = DARK_HOURS if zone.outdoor else min(_open_hours(zone, design) * hopeful, 8760.0)
    saving = rng.uniform(0.0, 0.3) if zone.outdoor else rng.uniform(0.25, 0.6)
    return (
        f"{zone.kind} {zone.id}",
        zone.id,
        zone.fixtures,
        zone.watts_before,
        zone.watts_after,
        round(hours),
        round(float(saving), 2),
        zone.commissioned.standby_watts,
        0.0 if zone.outdoor else round(float(rng.uniform(0.6, 1.0)), 2),
    )


def _open_hours(zone: ZoneDesign, design: SiteDesign) -> float:
    week = Hours.model_validate(dict(zone.hours or design.hours)).week
    return WEEKS * sum(end - begin for windows in week for begin, end in windows)
