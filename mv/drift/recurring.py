"""Faults that come and go: spells of days far from what is expected, more than once."""

import numpy as np

from mv.base.estimate import Estimate
from mv.base.spells import Spell, spells_of
from mv.drift.causes import checks, texts
from mv.drift.looks import Look
from mv.drift.normal import normal_factor
from mv.drift.records import DriftFinding

FAR = 4.0  # standard deviations that make a day odd; common practice, no source
FEWEST_DAYS = 90  # days that show whether a fault recurs; common practice, no source
FEWEST_SPELLS = 4  # spells that make a fault recurring; common practice, no source
LEAST_SHARE = 0.10  # of mean daily energy by which an odd day must stand out; no source
OUTAGE = 0.3  # of what is expected, up to which less energy is an outage's; common practice, no source
# Of the period's energy that odd days must hold to be told. Days that people make long come singly and trail
# off from the usual ones; a fault that comes and goes lasts longer, and may be told at less. No source.
WORTH, WORTH_IN_RUNS = 0.05, 0.02


def recurring_findings(look: Look, confidence: float) -> list[DriftFinding]:
    """At most one finding each way: spells of more, spells of less."""
    found = []
    plan, fit = look.plan, look.result.fit
    if len(plan.energy) < FEWEST_DAYS:
        return []
    for sign in (1.0, -1.0):
        far = sign * fit.residuals > np.maximum(FAR * fit.noise, LEAST_SHARE * float(np.mean(plan.energy)))
        spells = spells_of(far, plan.days.date.tolist())
        total = float(fit.residuals[far].sum())
        least = WORTH_IN_RUNS if _in_runs(spells) else WORTH
        if len(spells) < FEWEST_SPELLS or abs(total) < least * float(plan.energy.sum()):
            continue
        if sign < 0 and not _outages(look, far):
            continue  # people who stay away are no fault
        found.append(_finding(look, far, spells, confidence))
    return found


def _in_runs(spells: tuple[Spell, ...]) -> bool:
    """True where most spells last longer than a day: by people's doing, few of them do."""
    return sum(last > first for first, last in spells) > len(spells) / 2


def _outages(look: Look, far: np.ndarray) -> bool:
    """True where most of the odd days used next to nothing."""
    energy = look.plan.energy[far]
    return bool(np.median(energy / np.maximum(energy - look.result.fit.residuals[far], 1e-9)) <= OUTAGE)


def _finding(look: Look, far: np.ndarray, spells: tuple[Spell, ...], confidence: float) -> DriftFinding:
    item, plan, fit = look.item, look.plan, look.result.fit
    total = float(fit.residuals[far].sum())
    months = len(plan.energy) / 30.4375
    half = normal_factor(confidence) * fit.noise * float(np.sqrt(far.sum())) / months
    more = total > 0
    causes: tuple[str, ...] = (
        ("override left on", "cleaning or security", "use changed") if more else ("outage", "use changed")
    )
    if item.measures != "lighting":
        causes = ("use changed",)
    kwh = total / months
    return DriftFinding(
        where=item.where,
        what=(
            f"{len(spells)} spells, {int(far.sum())} days in all, with {'more' if more else 'less'} "
            f"energy than expected; the first on {spells[0][0]}, "
            f"the last on {spells[-1][0]}"
        ),
        since=spells[0][0],
        kwh_per_month=Estimate(kwh, kwh - half, kwh + half, confidence),
        cost_per_month=None,
        likely_causes=texts(causes),
        check_first=checks(causes),
        kind="recurring",
        evidence=look.evidence,
        spells=spells,
        zones=item.zones,
        causes=causes,
    )
