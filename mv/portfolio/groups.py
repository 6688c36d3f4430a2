"""Totals and realisation over studies: all of them, by programme, by contractor, by strategy."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from mv.base.estimate import Estimate
from mv.portfolio.pooling import Pool, Share, pooled
from mv.portfolio.records import StudyRecord

NOT_STATED = "not stated"


@dataclass(frozen=True)
class Totals:
    """What some studies prove together; a pool is None where no study can say.

    `realisation_rate` is verified over predicted annual energy, both summed over the studies that have
    both (`with_rate` of them); the predictions count as exact. `of_predicted_kwh` is their sum.
    """

    name: str
    studies: int
    avoided: Pool | None
    annual: Pool | None
    peak: Pool | None
    with_rate: int
    of_predicted_kwh: float | None
    realisation_rate: Estimate | None


def totals(name: str, records: Sequence[StudyRecord]) -> Totals:
    """The totals over some studies."""
    with_rate = [r for r in records if r.annual_kwh is not None and r.predicted_annual_kwh]
    predicted = sum(r.predicted_annual_kwh or 0.0 for r in with_rate)
    proven = _annual(with_rate)
    rate = proven.total.scaled(1.0 / predicted) if proven is not None and predicted > 0 else None
    return Totals(
        name=name,
        studies=len(records),
        avoided=_avoided(records),
        annual=_annual(records),
        peak=_peak(records),
        with_rate=len(with_rate),
        of_predicted_kwh=predicted if with_rate else None,
        realisation_rate=rate,
    )


def by_programme(records: Sequence[StudyRecord]) -> list[Totals]:
    """One entry a programme, by name; studies that state none come last."""
    return _grouped(records, lambda record: (record.programme or NOT_STATED,))


def by_contractor(records: Sequence[StudyRecord]) -> list[Totals]:
    """One entry a contractor, by name; studies that state none come last."""
    return _grouped(records, lambda record: (record.contractor or NOT_STATED,))


def by_strategy(records: Sequence[StudyRecord]) -> list[Totals]:
    """One entry a control strategy, by name; a study counts in each of its own, so entries overlap."""
    return _grouped(records, lambda record: record.strategies)


def _grouped(
    records: Sequence[StudyRecord], names_of: Callable[[StudyRecord], tuple[str, ...]]
) -> list[Totals]:
    groups: dict[str, list[StudyRecord]] = {}
    for record in records:
        for name in dict.fromkeys(names_of(record)):
            groups.setdefault(name, []).append(record)
    order = sorted(groups, key=lambda name: (name == NOT_STATED, name))
    return [totals(name, groups[name]) for name in order]


def _avoided(records: Sequence[StudyRecord]) -> Pool | None:
    shares = [
        Share(r.avoided_kwh, r.residuals_kwh, {c.name: c.avoided_kwh for c in r.metering})
        for r in records
        if r.avoided_kwh is not None
    ]
    return pooled(shares) if shares else None


def _annual(records: Sequence[StudyRecord]) -> Pool | None:
    shares = [
        Share(r.annual_kwh, r.residuals_kwh, {c.name: c.annual_kwh for c in r.metering})
        for r in records
        if r.annual_kwh is not None
    ]
    return pooled(shares) if shares else None


def _peak(records: Sequence[StudyRecord]) -> Pool | None:
    """Each study's own peak window; the metering part is not told apart there and counts as own."""
    shares = [Share(r.peak_kw, r.residuals_kwh, {}) for r in records if r.peak_kw is not None]
    return pooled(shares) if shares else None
