"""Where stated papers, periods and inventory contradict each other: what a reviewer would find first.

Each rule answers a common cause of refused or reduced claims (common practice, no source).
"""

from collections.abc import Iterator
from datetime import date

from mv.base import wording
from mv.claim.material import Material

LARGEST_WATTS_APART = 0.01  # share; less is rounding of a mean over spaces (common practice, no source)


def contradictions(material: Material) -> tuple[str, ...]:
    """Sentences, each naming both sides; empty where nothing contradicts."""
    rules = (_installation, _plan, _commissioning, _instruments, _inventory, _names, _deadline)
    return tuple(sentence for rule in rules for sentence in rule(material))


def _before(first: date | None, second: date | None) -> bool:
    return first is not None and second is not None and first < second


def _installation(material: Material) -> Iterator[str]:
    claim, periods = material.claim, material.study.periods
    assert periods is not None
    begun, ended = claim.install_first, claim.install_last
    if begun is not None and not _before(periods.baseline.last, begun):
        yield (
            f"Installation began on {_day(begun)}, while the baseline runs to {_day(periods.baseline.last)}: "
            "the baseline would hold new lighting."
        )
    if ended is not None and not _before(ended, periods.reporting.first):
        yield (
            f"Installation ended on {_day(ended)}, but the reporting period begins on "
            f"{_day(periods.reporting.first)}: it would hold old lighting."
        )
    if _before(ended, begun):
        yield f"Installation ends ({_day(ended)}) before it begins ({_day(begun)})."


def _plan(material: Material) -> Iterator[str]:
    claim = material.claim
    if _before(claim.install_first, claim.plan_agreed):
        yield (
            f"The plan was agreed on {_day(claim.plan_agreed)}, after installation began on "
            f"{_day(claim.install_first)}; programmes want it agreed before."
        )
    if _before(claim.install_first, claim.pre_inspection):
        yield (
            f"The pre-inspection of {_day(claim.pre_inspection)} came after installation began on "
            f"{_day(claim.install_first)}: it could not see the old lighting."
        )


def _commissioning(material: Material) -> Iterator[str]:
    claim, periods = material.claim, material.study.periods
    assert periods is not None
    if _before(periods.reporting.first, claim.commissioned):
        yield (
            f"Commissioned on {_day(claim.commissioned)}, after the reporting period began on "
            f"{_day(periods.reporting.first)}: settings may not have been final."
        )
    for entry in claim.controls:
        if _before(entry.tested, claim.install_first):
            yield f"{entry.zone}: tested on {_day(entry.tested)}, before installation began."


def _instruments(material: Material) -> Iterator[str]:
    periods = material.study.periods
    assert periods is not None
    for tool in material.claim.instrument:
        if _before(periods.baseline.first, tool.installed):
            yield (
                f"{tool.meter}: its instrument was installed on {_day(tool.installed)}, after the baseline "
                f"began on {_day(periods.baseline.first)}."
            )
        if _before(tool.removed, periods.reporting.last):
            yield (
                f"{tool.meter}: its instrument was removed on {_day(tool.removed)}, before the reporting "
                f"period ended on {_day(periods.reporting.last)}."
            )


def _inventory(material: Material) -> Iterator[str]:
    for zone in material.study.zone:
        spaces = [item for item in material.spaces if item.zone == zone.id]
        count = sum(item.quantity for item in spaces)
        if not spaces:
            continue
        if zone.fixtures is not None and count != zone.fixtures:
            yield f"{zone.id}: {count:g} fixtures in the inventory, {zone.fixtures:g} in the study."
        for stage, stated in (("before", zone.watts_before), ("after", zone.watts_after)):
            watts = [item.watts_before if stage == "before" else item.watts_after for item in spaces]
            total = sum(w * item.quantity for w, item in zip(watts, spaces, strict=True))
            mean = total / count if count else 0.0
            if stated and abs(mean - stated) > LARGEST_WATTS_APART * stated:
                told = f"{mean:.4g} W a fixture {stage} in the inventory, {stated:g} W in the study"
                yield f"{zone.id}: {told}."


def _names(material: Material) -> Iterator[str]:
    zones = {zone.id for zone in material.study.zone}
    meters = {meter.id for meter in material.study.meter}
    for entry in material.claim.controls:
        if entry.zone not in zones:
            yield f"[[claim.controls]] names the zone '{entry.zone}', which the study does not have."
    for tool in material.claim.instrument:
        if tool.meter not in meters:
            yield f"[[claim.instrument]] names the meter '{tool.meter}', which the study does not have."


def _deadline(material: Material) -> Iterator[str]:
    made = date.fromisoformat(str(material.result.get("made_at"))[:10])
    if _before(material.claim.due, made):
        yield f"The papers were due on {_day(material.claim.due)}; this package was made on {_day(made)}."


def _day(value: date | None) -> str:
    return wording.day_words(value)
