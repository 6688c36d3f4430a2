"""The one place that strings the stages together: a study in, a verification out."""

from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from mv.base.estimate import Answer, CannotSay
from mv.base.setting_records import ZoneSettings
from mv.base.study_records import Study
from mv.base.verification import DRIFT_DAYS, Verification
from mv.drift import DriftFinding
from mv.intake import Intake, read_everything
from mv.predicted import Prediction, stated_prediction
from mv.progress import Step, no_progress
from mv.result import result_of
from mv.study import load_study, require_for_verification
from mv.verifying.bridges import old_to_new, promise_to_proof
from mv.verifying.covered import require_readings_in_both_periods
from mv.verifying.daily_table import daily_table
from mv.verifying.findings import Findings
from mv.verifying.inventory_checks import inventory_checks
from mv.verifying.load_called import called_load_drops
from mv.verifying.meter_savings import meter_savings
from mv.verifying.peak_savings import peak_account
from mv.verifying.populations import period_total, populations_json
from mv.verifying.site_drivers import SiteDrivers
from mv.verifying.watch import watched
from mv.verifying.worth import money_of


def verify_study(
    study_or_folder: Path | str, *, step: Step = no_progress, fetch: bool = True
) -> Verification:
    """Verify one study: read, clean, model, compare, infer settings and look for drift.

    Without `fetch` the rows of queries are those that were fetched last.
    Raises InputError when the study or a file is wrong; what the data do not support stands in the
    result's `cannot_say`.
    """
    study = load_study(study_or_folder)
    require_for_verification(study)
    findings = find(study, step=step, fetch=fetch)
    step("Writing the result", 0.98)
    return Verification(
        study=study,
        result=result_of(findings),
        meters=dict(findings.intake.meters),
        daily=daily_table(study, findings.meters),
        settings_by_month=_by_month(findings.settings),
        drift_days=_drift_days(findings.drift),
    )


def find(study: Study, *, step: Step = no_progress, fetch: bool = True) -> Findings:
    """Run every stage on a loaded study."""
    return find_in(study, read_everything(study, step, fetch=fetch), step=step)


@pd.option_context("mode.string_storage", "python")  # the stages' strings are few and short
def find_in(study: Study, intake: Intake, *, step: Step = no_progress) -> Findings:
    """Run every stage on what was read."""
    require_readings_in_both_periods(study, intake.meters)
    meters, drivers = [], SiteDrivers(study, intake)
    for number, meter in enumerate(study.meter):
        step(f"Modelling {meter.id}", 0.4 + 0.3 * number / len(study.meter))
        meters.append(meter_savings(study, meter, intake.meters[meter.id], drivers))
    of_period = period_total(study, meters, "avoided_kwh")
    of_year = period_total(study, meters, "normalised_annual_kwh")
    avoided, annual = of_period.total, of_year.total
    step("Peak window", 0.70)
    peak = peak_account(study, meters, intake.weather)
    prediction = stated_prediction(study.predicted, intake.inventory)
    seen = watched(study, intake, meters, step)
    settings, drift = seen.settings, seen.drift
    step("From promise to proof", 0.92)
    measures = old_to_new(study, intake, avoided, meters, settings)
    return Findings(
        study=study,
        intake=intake,
        meters=tuple(meters),
        avoided=avoided,
        annual=annual,
        peak_account=peak,
        load_drops=called_load_drops(study, meters),
        prediction=prediction,
        inventory_findings=inventory_checks(study, intake, meters),
        realisation=_realisation(annual, prediction),
        settings=settings,
        drift=drift,
        unwatched=seen.unwatched,
        promise=promise_to_proof(study, prediction, annual, meters, measures),
        measures=measures,
        money=money_of(study, meters, annual, peak.reduction),
        populations=tuple(populations_json(study, of_period, of_year)),
    )


def _realisation(annual: Answer, prediction: Prediction) -> Answer:
    """Verified over predicted annual kWh; the prediction counts as exact."""
    what = "realisation_rate"
    if prediction.annual_kwh is None:
        return CannotSay(what, "the study states no predicted annual kWh")
    if prediction.annual_kwh == 0:
        return CannotSay(what, "the predicted annual kWh is 0, and nothing is a share of nothing")
    if isinstance(annual, CannotSay):
        return CannotSay(what, annual.why)
    return annual.scaled(1.0 / prediction.annual_kwh)


def _by_month(settings: Sequence[ZoneSettings]) -> pd.DataFrame:
    tables = [entry.monthly.assign(zone=entry.zone) for entry in settings]
    columns = ["zone", "month", "setting", "estimate", "low", "high", "why"]
    if not tables:
        return pd.DataFrame(columns=columns)
    return pd.concat(tables, ignore_index=True).reindex(columns=columns)


def _drift_days(drift: Sequence[DriftFinding]) -> pd.DataFrame:
    """The days that show each finding, as `Verification.drift_days` describes."""
    columns = list(DRIFT_DAYS)
    tables = [f.evidence.assign(finding=f.key)[columns] for f in drift if f.evidence is not None]
    return pd.concat(tables, ignore_index=True) if tables else pd.DataFrame(columns=columns)
