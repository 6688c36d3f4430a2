"""Sentences on safety and scope that every reader of the result must see."""

from mv.base.estimate import CannotSay, Estimate
from mv.base.meter_accuracy import USUAL_WORDS
from mv.base.wording import counted, listed
from mv.regression import FittedModel
from mv.savings import AvoidedEnergy
from mv.verifying.clock_doubts import clock_cautions
from mv.verifying.findings import Findings

ELECTRICAL = (
    "Opening panels and placing or moving current transformers is work for a licensed electrician under "
    "the local electrical code: an open-circuited current transformer and a live panel can kill."
)
EGRESS = (
    "Egress, emergency and night lighting must burn as the local code and the authority having "
    "jurisdiction require. Nothing in this result calls it waste; test and alter it only by their rules."
)
LEVELS = (
    "Before a level, trim or delay is lowered, check illuminance against the local code and the task; "
    "a lamp's dimming minimum is its maker's, not the meter's."
)
NO_INTERACTION = (
    "Heating and cooling are not in the metered lighting savings: less heat from lamps lowers cooling and "
    "raises heating. Where the programme credits it, its factor stands as a step of its own."
)
MANY_MODELLED = 0.05  # of the reporting days of a meter (common practice, no source)
NAMED_METERS = 6  # as many as a sentence carries
MOSTLY = 0.5  # of a typical year's energy in months never metered (common practice, no source)
NOT_GUARANTEED = (
    "The savings are estimated against a model of the old lighting at the reporting period's conditions, "
    "with the stated confidence; they are no guarantee for other years."
)


def cautions_of(findings: Findings) -> list[str]:
    """The sentences that apply to these findings, the most urgent first."""
    cautions = [ELECTRICAL, EGRESS, LEVELS]
    if all(item.meter.measures == "lighting" for item in findings.meters):
        cautions.append(NO_INTERACTION)
    cautions += [*_unstated_accuracy(findings), NOT_GUARANTEED]
    if isinstance(findings.avoided, Estimate) and not findings.avoided.excludes_zero:
        cautions.insert(0, "The avoided energy cannot be told from zero: its interval holds zero.")
    if isinstance(findings.avoided, CannotSay):
        cautions.insert(0, f"The avoided energy cannot be given: {findings.avoided.why}.")
    cautions[:0] = [*_stood_in(findings), *_projected(findings), *_whole_buildings(findings)]
    cautions[:0] = clock_cautions(findings.meters)
    told = [item.meter.id for item in findings.meters if item.kind_told_from_meter]
    if told:
        cautions.append(
            f"{', '.join(told)}: taken as outdoor lighting because its use follows the dark; "
            'state place = "outdoor" or "indoor" under [[zone]] to fix it.'
        )
    return cautions


def _unstated_accuracy(findings: Findings) -> list[str]:
    """Meters whose own error is taken as a usual meter's, for none is stated."""
    without = [item.meter.id for item in findings.meters if item.meter.accuracy is None]
    if not without:
        return []
    named = listed(without) if len(without) <= NAMED_METERS else counted(len(without), "meter")
    return [
        f"No accuracy is stated for {named}: the intervals of kWh and of kW take {USUAL_WORDS}. By what "
        "share a meter reads high or low, its savings are high or low. State accuracy and "
        "accuracy_source under [[meter]]."
    ]


def _whole_buildings(findings: Findings) -> list[str]:
    """What no year of a whole building's use can know, as its model says it; once for all such meters."""
    told = {
        found.what: None
        for item in findings.meters
        if isinstance(item.baseline_model, FittedModel)
        for found in item.baseline_model.findings
        if found.code == "whole building"
    }
    return list(told)


def _stood_in(findings: Findings) -> list[str]:
    """Meters whose avoided energy holds many days that nobody metered."""
    accounts = {item.meter.id: item.avoided for item in findings.meters}
    many = [
        f"{meter} {avoided.modelled_days} of {avoided.days}"
        for meter, avoided in accounts.items()
        if isinstance(avoided, AvoidedEnergy) and avoided.modelled_share > MANY_MODELLED
    ]
    if not many:
        return []
    return [
        f"The avoided energy holds days without a reading ({listed(many)}): the reporting model stands in, "
        "with the period's average. The interval holds that model's error, and for days after the last "
        "reading how far the four weeks before it lie off the average; a change since then it cannot know. "
        "Where the readings end before the period does, end the reporting period with them."
    ]


def _projected(findings: Findings) -> list[str]:
    """Meters whose typical year is mostly a projection from a few weeks or months."""
    shares = {}
    for item in findings.meters:
        found = [item.extrapolated_share[f"{period}_year"] for period in ("baseline", "reporting")]
        shares[item.meter.id] = max((share for share in found if share is not None), default=0.0)
    mostly = {meter: share for meter, share in shares.items() if share > MOSTLY}
    if not mostly:
        return []
    named = ", ".join(f"{meter} {share:.0%}" for meter, share in mostly.items())
    return [
        f"Most of the typical year was never metered ({named}): savings in a typical year and the "
        "realisation rate are a projection from the days that were. Their interval is widened for months "
        "not seen, but it cannot know another season's habits; meter further before money rests on them."
    ]
