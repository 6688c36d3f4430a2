"""Every figure of the dashboard by its name, so that a page, its table and its download agree."""

from collections.abc import Callable

from dashboards.choice import Choice
from mv import figures
from mv.base.series import MeterSeries
from mv.base.verification import Verification
from mv.figures import FigureWithWords, Scheme

Drawing = Callable[[Verification, Choice, Scheme], FigureWithWords]


USUAL_PX = 340  # the height of most drawings
HEIGHT_PX = {
    "promise": 150,
    "months": 430,
    "sitehours": 320,
    "days": 380,
    "hours": 320,
    "coverage": 320,
    "fit": 380,
    "setting": 230,
    "finding-days": 260,
    "finding-hours": 260,
    "finding-setting": 230,
    "readings": 360,
}


def height_px(name: str, verification: Verification) -> int:
    """The height of the drawing called `name`, before it is drawn, so that nothing moves when it comes.

    A bridge's height follows its steps; the usual height is near it.
    """
    if name == "meters":
        return figures.meter_savings_px(len(verification.meters))
    return HEIGHT_PX.get(name, USUAL_PX)


def draw(name: str, verification: Verification, choice: Choice, scheme: Scheme) -> FigureWithWords:
    """The figure called `name`. Raises KeyError for a name or a meter that is not there."""
    return DRAWINGS[name](verification, choice, scheme)


def _meter(verification: Verification, choice: Choice) -> MeterSeries:
    return verification.meters[choice.meter]


def _readings(verification: Verification, choice: Choice, scheme: Scheme) -> FigureWithWords:
    zone = verification.study.site.timezone
    return figures.readings(
        _meter(verification, choice),
        verification.study,
        start=figures.from_screen(choice.start, zone) if choice.start else None,
        end=figures.from_screen(choice.end, zone) if choice.end else None,
        scheme=scheme,
    )


DRAWINGS: dict[str, Drawing] = {
    "promise": lambda v, _, s: figures.savings_against_promise(v.result, scheme=s),
    "running": lambda v, _, s: figures.running_total(v, scheme=s),
    "months": lambda v, _, s: figures.monthly_energy(v.result, scheme=s),
    "meters": lambda v, _, s: figures.meter_savings(v.result, scheme=s),
    "month": lambda v, c, s: figures.month_days(v, c.month, scheme=s),
    "sitehours": lambda v, c, s: figures.site_map(v, c.month or None, scheme=s),
    "bridge": lambda v, c, s: figures.bridge(v.result, c.bridge, scheme=s),
    "days": lambda v, c, s: figures.daily_energy(v, c.meter or None, scheme=s),
    "hours": lambda v, c, s: figures.power_map(_meter(v, c), v.study, scheme=s),
    "coverage": lambda v, c, s: figures.coverage_map(_meter(v, c), v.study, scheme=s),
    "week": lambda v, c, s: figures.typical_week(_meter(v, c), v.study, scheme=s),
    "daytypes": lambda v, c, s: figures.typical_day(_meter(v, c), v.study, scheme=s),
    "fit": lambda v, c, s: figures.model_scatter(v, c.meter, scheme=s),
    "residuals": lambda v, c, s: figures.residuals(v, c.meter, scheme=s),
    "setting": lambda v, c, s: figures.setting_history(v, c.zone, c.setting, scheme=s),
    "finding-days": lambda v, c, s: figures.finding_days(v, c.finding, scheme=s),
    "finding-hours": lambda v, c, s: figures.finding_hours(v, c.finding, scheme=s),
    "finding-setting": lambda v, c, s: figures.finding_setting(v, c.finding, scheme=s),
    "readings": _readings,
}
