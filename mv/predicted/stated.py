"""The prediction of a study: the two stated numbers, the inventory, or both side by side."""

from dataclasses import replace

from mv.base.estimate import CannotSay
from mv.base.ledger import Remark
from mv.base.study_records import Predicted
from mv.predicted.prediction import predict
from mv.predicted.records import Inventory, Prediction

STATED_AGREES_WITHIN = 0.01
"""Fraction by which a stated number may differ from the inventory's; rounding. No source."""


def stated_prediction(stated: Predicted, inventory: Inventory | None) -> Prediction:
    """The promise to compare with: a stated number goes before the inventory's sum.

    The stated number is what was promised to the customer and the programme; where the inventory
    does not add up to it, a remark says so and the inventory's parts stand beside it.
    """
    if inventory is None:
        return _two_numbers(stated)
    counted = predict(inventory)
    remarks = [*counted.remarks]
    annual, peak, source = counted.annual_kwh, counted.peak_kw, counted.source
    if stated.annual_kwh is not None:
        remarks += _disagreement("annual_kwh", stated.annual_kwh, annual, "kWh", inventory.file)
        annual, source = stated.annual_kwh, f"stated in the study; parts from {counted.source}"
    if stated.peak_kw is not None:
        remarks += _disagreement("peak_kw", stated.peak_kw, peak, "kW", inventory.file)
        peak = stated.peak_kw
    unsaid = counted.cannot_say if peak is None else ()
    return replace(
        counted,
        annual_kwh=annual,
        peak_kw=peak,
        source=source,
        remarks=tuple(remarks),
        cannot_say=unsaid,
    )


def _two_numbers(stated: Predicted) -> Prediction:
    unsaid = [
        CannotSay(what, f"the study states no {key} under [predicted] and no inventory")
        for what, key, value in (
            ("predicted annual kWh", "annual_kwh", stated.annual_kwh),
            ("predicted peak kW", "peak_kw", stated.peak_kw),
        )
        if value is None
    ]
    return Prediction(stated.annual_kwh, stated.peak_kw, "stated in the study", cannot_say=tuple(unsaid))


def _disagreement(key: str, stated: float, counted: float | None, unit: str, file: str) -> list[Remark]:
    if counted is None or abs(stated - counted) <= STATED_AGREES_WITHIN * abs(stated):
        return []
    what = (
        f"[predicted] {key} states {stated:,.6g} {unit} but the inventory adds up to "
        f"{counted:,.6g} {unit}; the stated number is used"
    )
    remedy = "Bring the two into line, or leave the stated number out."
    return [Remark("prediction-differs", what, file=file, remedy=remedy)]
