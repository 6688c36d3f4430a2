"""What moved, in a facility manager's words."""

from collections.abc import Sequence

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding

SWITCHING = {"switching_on_deg": "on at dusk", "switching_off_deg": "off at dawn"}


def event_words(findings: Sequence[SettingFinding]) -> str:
    """The settings' own reasons; signs that only an analyst reads are put plainly."""
    plain = [words for words in (_shift(findings), _switching(findings)) if words]
    told = ("schedule_shift_hours", *SWITCHING)
    return "; ".join([*plain, *(f.why for f in findings if f.setting not in told or not plain)])


def _shift(findings: Sequence[SettingFinding]) -> str | None:
    found = next((f for f in findings if f.setting == "schedule_shift_hours"), None)
    now, before = (None, None) if found is None else (_value(found.observed), _value(found.earlier))
    if found is None or now is None or before is None or abs(now - before) < 0.1:
        return None
    way = "later" if now > before else "earlier"
    return f"the lamps' schedule has run {abs(now - before):.1f} hours {way} than before since {found.since}"


def _switching(findings: Sequence[SettingFinding]) -> str | None:
    parts = []
    for found in findings:
        now, before = _value(found.observed), _value(found.earlier)
        if found.setting in SWITCHING and now is not None and before is not None:
            lighter = "more" if now > before else "less"
            parts.append(
                f"{SWITCHING[found.setting]} in {lighter} daylight than before since {found.since} "
                f"(sun at {now:.1f} degrees, {before:.1f} before)"
            )
    return f"lamps switch {' and '.join(parts)}" if parts else None


def _value(answer: object) -> float | None:
    return float(answer.estimate) if isinstance(answer, Estimate) else None
