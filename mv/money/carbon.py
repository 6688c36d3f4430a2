"""Emissions spared, by an annual factor or by month and hour."""

from mv.base.estimate import Answer
from mv.base.programme_records import Carbon
from mv.money.valued import AvoidedProfile, valued


def carbon_spared_kg(avoided_kwh: Answer, carbon: Carbon, *, profile: AvoidedProfile | None = None) -> Answer:
    """kg CO2e = avoided kWh x the grid's factor; the factor is the user's, with its source.

    With a table of months and hours the saving is weighted by when it fell.
    """
    return valued(
        avoided_kwh,
        carbon.kg_per_kwh,
        profile,
        what="carbon spared",
        missing="the study states no kg_per_kwh under [carbon]",
        rate_name="kg_per_kwh",
    )
