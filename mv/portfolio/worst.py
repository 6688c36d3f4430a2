"""Findings of all studies, the dearest first."""

from collections.abc import Sequence
from dataclasses import dataclass

from mv.portfolio.records import FindingRecord, StudyRecord


@dataclass(frozen=True)
class PlacedFinding:
    """A finding and the study it was made in."""

    study: StudyRecord
    finding: FindingRecord


def worst_first(records: Sequence[StudyRecord]) -> list[PlacedFinding]:
    """By cost a month; where studies have several currencies, or none has a price, by kWh a month.

    Findings without a number come last, in the order of the studies.
    """
    placed = [PlacedFinding(record, finding) for record in records for finding in record.findings]
    by_cost = ranked_by_cost(records)
    return sorted(placed, key=lambda one: _rank(one, by_cost))


def ranked_by_cost(records: Sequence[StudyRecord]) -> bool:
    """Whether costs can be compared: one currency, and some finding has a cost."""
    priced = [r for r in records if any(f.cost_per_month is not None for f in r.findings)]
    return len({record.currency for record in priced}) == 1


def _rank(one: PlacedFinding, by_cost: bool) -> tuple[int, float]:
    cost, energy = one.finding.cost_per_month, one.finding.kwh_per_month
    if by_cost and cost is not None:
        return 0, -cost
    if energy is not None:
        return (1, -float(energy.estimate)) if by_cost else (0, -float(energy.estimate))
    return 2, 0.0
