"""A study whose period holds no reading at all is wrong, not merely uncertain."""

from collections.abc import Mapping

from mv.base.clock import period_bounds
from mv.base.errors import InputError, StudyError, joined
from mv.base.series import MeterSeries
from mv.base.study_records import Span, Study
from mv.study import STUDY_FILE


def require_readings_in_both_periods(study: Study, meters: Mapping[str, MeterSeries]) -> None:
    """Raise StudyError for every meter and period without a single usable reading."""
    assert study.periods is not None
    spans = {"baseline": study.periods.baseline, "reporting": study.periods.reporting}
    problems: list[InputError] = [
        _problem(study, name, span, series)
        for series in meters.values()
        for name, span in spans.items()
        if not _has_readings(study, span, series)
    ]
    if problems:
        raise joined(problems)


def _has_readings(study: Study, span: Span, series: MeterSeries) -> bool:
    start, end = period_bounds(span.first, span.last, study.site.timezone)
    index = series.energy_kwh.index
    return bool(series.energy_kwh[(index >= start) & (index < end)].notna().any())


def _problem(study: Study, name: str, span: Span, series: MeterSeries) -> StudyError:
    known = series.energy_kwh.dropna().index
    found = "no usable reading in either period"
    if len(known):
        first, last = (known[i].tz_convert(study.site.timezone).date() for i in (0, -1))
        found = f"readings of the periods run from {first} to {last}"
    return StudyError(
        f"the {name} period {span.first} to {span.last} holds no usable reading of meter "
        f"'{series.meter}': {found}",
        file=study.folder / STUDY_FILE,
        place=f"[periods], {name}",
        remedy="Correct the dates, or name the files of that period; `tallylux check` shows what was read.",
    )
