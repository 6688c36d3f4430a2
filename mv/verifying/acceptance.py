"""Whether the verification stands as it is: what was asked can be said, and the stated limits hold.

The limits that decide are those for savings. A model's other published limits are shown beside its
values for the reviewer: most of them were written for whole buildings, and a steady lighting load fails
R2 although its mean is known to a per cent.
"""

from typing import Any

from mv.base.estimate import CannotSay, Estimate
from mv.verifying.findings import Findings
from mv.verifying.meter_savings import MeterSavings

Json = dict[str, Any]

# Half-width of the savings at 68 % confidence over the savings: Guideline 14's performance path, as
# quoted on a practitioners' forum; the guideline itself was not opened.
UNCERTAINTY_LIMIT, AT_CONFIDENCE = 0.50, 0.68
# CV(RMSE) of a whole-building baseline, 12 to 60 months of reporting data: Guideline 14, from memory.
WHOLE_BUILDING_CV_RMSE = 0.25


def acceptance_of(findings: Findings) -> Json:
    """`met`, the sentences that say `why` not, and every deciding test; exit code 1 where not met."""
    tests = [_uncertainty(findings), *(_cv_rmse(item) for item in findings.meters)]
    told = [test for test in tests if test is not None]
    why = [f"{answer.what}: {answer.why}" for answer in _unsaid(findings)]
    why += [
        f"{test['name']} is {test['value']:.2f}, the limit {test['limit']:.2f} ({test['source']})"
        for test in told
        if not test["passed"]
    ]
    return {"met": not why, "why": why, "tests": told}


def _unsaid(findings: Findings) -> list[CannotSay]:
    """What the study asks for and the data do not support."""
    asked = [findings.avoided, findings.annual]
    asked += [findings.peak] if findings.study.peak is not None else []
    asked += [findings.realisation] if findings.prediction.annual_kwh else []
    return [answer for answer in asked if isinstance(answer, CannotSay)]


def _uncertainty(findings: Findings) -> Json | None:
    from scipy.special import ndtri

    avoided = findings.avoided
    if not isinstance(avoided, Estimate) or avoided.standard_error is None or avoided.estimate == 0:
        return None
    half_width = float(ndtri(0.5 + AT_CONFIDENCE / 2)) * avoided.standard_error
    value = half_width / abs(float(avoided.estimate))
    return {
        "name": "uncertainty of the avoided energy at 68 % confidence, over the avoided energy",
        "limit": UNCERTAINTY_LIMIT,
        "value": value,
        "passed": value < UNCERTAINTY_LIMIT,
        "source": "ASHRAE Guideline 14, performance path (second hand)",
    }


def _cv_rmse(item: MeterSavings) -> Json | None:
    model = item.baseline_model
    if item.meter.measures != "whole building" or isinstance(model, CannotSay) or model.cv_rmse is None:
        return None
    return {
        "name": f"{item.meter.id}: CV(RMSE) of the baseline model",
        "limit": WHOLE_BUILDING_CV_RMSE,
        "value": model.cv_rmse,
        "passed": model.cv_rmse <= WHOLE_BUILDING_CV_RMSE,
        "source": "ASHRAE Guideline 14, whole-building prescriptive path (from memory)",
    }
