"""At what resolution a meter's energy was modelled, and why."""

from mv.base.estimate import CannotSay
from mv.regression import HOURLY_SUM, Alternative, FittedModel, label
from mv.verifying.meter_savings import MeterSavings


def resolution_of(item: MeterSavings, period: str) -> tuple[str, str] | None:
    """("daily", why) of a period's model; None where there is none."""
    model = item.baseline_model if period == "baseline" else item.reporting_model
    if isinstance(model, CannotSay):
        return None
    fixed = item.meter.model
    if model.step_days > 1:
        why = "the study fixes it" if fixed else "most of the period was read so: days cannot be told apart"
        return (fixed or "bills"), why
    hourly = any(column.startswith(HOURLY_SUM) for column in model.columns)
    name = "hourly" if hourly else "daily"
    return name, "the study fixes it" if fixed == name else _compared(item, model, hourly)


def _compared(item: MeterSavings, model: FittedModel, hourly: bool) -> str:
    """What the hourly model, summed to days, erred on days left out, beside the daily forms."""
    if item.no_hourly is not None:
        return f"no hourly model was tried: {item.no_hourly}"
    tried = {flag: _best(model, hourly=flag) for flag in (True, False)}
    if tried[True] is None or tried[False] is None:
        return "by default: less than most of a year of whole hours does not judge an hourly model"
    by_hour, by_day = (tried[flag].cross_validated_cv_rmse for flag in (True, False))  # type: ignore[union-attr]
    told = (
        f"on days left out, the hourly model summed to days errs {by_hour:.2%} of the mean, the best daily "
        f"form {by_day:.2%}"
    )
    return f"{told}: {'more than chance, so the hours are used' if hourly else 'the simpler one is kept'}"


def _best(model: FittedModel, *, hourly: bool) -> Alternative | None:
    words = label(HOURLY_SUM)
    rows = [tried for tried in model.alternatives if (words in tried.form) == hourly]
    return min(rows, key=lambda tried: tried.cross_validated_cv_rmse, default=None)
