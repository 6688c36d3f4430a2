"""Part H: the verified numbers with their intervals, the bridges, and what lasted."""

from collections.abc import Mapping
from typing import Any

from mv.base import wording
from mv.base.document import Block, Drawing, Heading, Prose, Section, grid
from mv.base.result_parts import estimate, part, rows, why_not
from mv.claim.adjustments import acceptance
from mv.claim.cells import NONE, day, energy, fixed, interval, kwh, share
from mv.claim.energy_account import accounts
from mv.claim.identity import SETTING_NAMES
from mv.claim.material import Material

FINEST = {"hold_minutes": 0.1, "standby_watts": 0.01}  # finer is noise on paper; common practice, no source
BRIDGES = {
    "predicted_to_verified": "From the predicted to the verified yearly saving",
    "baseline_to_reporting": "From the old lighting to the new: where the saving comes from",
}


def results(material: Material) -> Section:
    """H: totals, by meter, by month, peak, published intervals, bridges, persistence."""
    blocks: list[Block] = [_totals(material), *material.drawn("promise"), _by_meter(material)]
    blocks += [_kinds(material), *material.drawn("months"), _monthly(material), *material.drawn("running")]
    blocks += _peak(material)
    blocks += [_published(material), acceptance(material)]
    for name, title in BRIDGES.items():
        blocks += _bridge(material, name, title)
    blocks += [Heading("Drift and persistence"), _settings(material), _drift(material)]
    return Section("Results", tuple(blocks), letter="H")


def confidence_words(material: Material) -> str:
    """ "90 %"."""
    return wording.per_cent(float(part(material.result, "study", "study", "confidence") or 0.9))


def _totals(material: Material) -> Block:
    result, predicted = material.result, part(material.result, "predicted") or {}
    rate = estimate(result, "realisation_rate")
    listed = [
        ("saving in a typical year, kWh", *kwh(estimate(result, "savings", "normalised_annual_kwh"))),
        ("avoided in the reporting period, kWh", *kwh(estimate(result, "savings", "avoided_kwh"))),
        ("mean reduction in the peak window, kW", *interval(estimate(result, "savings", "peak_kw"))),
        ("predicted a year, kWh (stipulated)", energy(predicted.get("annual_kwh")), NONE, NONE),
        ("predicted in the peak window, kW (stipulated)", fixed(predicted.get("peak_kw"), 1), NONE, NONE),
        ("realisation rate, %", *interval(rate, scale=100.0)),
    ]
    return grid(
        f"Verified and predicted, intervals with {confidence_words(material)} confidence",
        [("quantity", "left", 3), ("best estimate", "right", 1), ("low", "right", 1), ("high", "right", 1)],
        listed,
        note="Typical year: both models at the same 365 days. Avoided: the baseline model at the reporting "
        "period's conditions less the metered energy. Heating and cooling effects are in neither.",
    )


def _by_meter(material: Material) -> Block:
    listed = [
        (name, *kwh(estimate(row, "avoided_kwh")), *kwh(estimate(row, "normalised_annual_kwh")))
        for name, row in material.by_meter.items()
    ]
    result = material.result
    total = (
        *kwh(estimate(result, "savings", "avoided_kwh")),
        *kwh(estimate(result, "savings", "normalised_annual_kwh")),
    )
    return grid(
        "By meter, kWh",
        [
            ("meter", "left", 1),
            ("avoided", "right", 1),
            ("low", "right", 1),
            ("high", "right", 1),
            ("typical year", "right", 1),
            ("low", "right", 1),
            ("high", "right", 1),
        ],
        [*listed, ("all", *total)],
        total_rows=1,
        note="Intervals of the meters join through the correlation of their residuals; ends do not add up.",
    )


def _kinds(material: Material) -> Block:
    """Measured, modelled and adjusted in columns of their own."""
    listed, sums = [], [0.0] * 5
    for item in accounts(material):
        values = [
            item.metered,
            item.stand_in,
            item.adjusted,
            item.expected,
            item.expected - item.metered - item.stand_in - item.adjusted,
        ]
        sums = [total + value for total, value in zip(sums, values, strict=True)]
        listed.append((item.meter, f"{item.days}", *(energy(value) for value in values)))
    listed.append(("all", "", *(energy(value) for value in sums)))
    return grid(
        "What kind of number each is: reporting period, counted days, kWh",
        [
            ("meter", "left", 1),
            ("days", "right", 0.6),
            ("metered (measured)", "right", 1.1),
            ("stand-in (modelled)", "right", 1.1),
            ("events (adjusted)", "right", 1.1),
            ("expected (modelled)", "right", 1.1),
            ("avoided (difference)", "right", 1.1),
        ],
        listed,
        total_rows=1,
    )


def _monthly(material: Material) -> Block:
    months = rows(material.result, "savings", "monthly")
    listed: list[tuple[str, ...]] = []
    for row in months:
        shown = kwh(estimate(row, "avoided_kwh"))
        listed.append(
            (
                str(row["month"]),
                energy(row.get("expected_kwh")),
                energy(row.get("actual_kwh")),
                *shown,
                str(row.get("modelled_days") or NONE),
            )
        )
    sums = [sum(float(row.get(key) or 0.0) for row in months) for key in ("expected_kwh", "actual_kwh")]
    whole = kwh(estimate(material.result, "savings", "avoided_kwh"))
    listed.append(("period", *(energy(value) for value in sums), *whole, ""))
    return grid(
        "Month by month, kWh",
        [
            ("month", "left", 1),
            ("expected", "right", 1),
            ("used", "right", 1),
            ("avoided", "right", 1),
            ("low", "right", 1),
            ("high", "right", 1),
            ("modelled meter days", "right", 1),
        ],
        listed,
        total_rows=1,
        note="Used: metered, with the stand-in and adjusted energy of the table above where there is any.",
    )


def _peak(material: Material) -> list[Block]:
    peak = material.study.peak
    if peak is None:
        return [Heading("Peak window"), Prose("The study names no peak window.", "cannot")]
    windows = " and ".join(f"{_clock(first)} to {_clock(last)}" for first, last in peak.windows)
    names = [wording.day_words(f"2000-{month:02d}-01").split()[1] for month in peak.months]
    days = "weekdays" if peak.weekdays_only else "every day"
    holidays = ", holidays left out" if peak.holidays_excluded else ""
    words = f"{windows}, {days}{holidays}, {wording.listed(names)}; rule: {peak.rule}."
    source = f" Source: {peak.source}." if peak.source else " The study names no source for this definition."
    return [Heading("Peak window"), Prose(f"The programme's window as stated: {words}{source}")]


def _clock(hour: float) -> str:
    return f"{int(hour):02d}:{round(hour % 1 * 60):02d}"


def _published(material: Material) -> Block:
    """A row a meter, a column a method; the sources stand once, below."""
    sources: dict[str, str] = {}
    for row in material.by_meter.values():
        sources |= {str(e["method"]): str(e["source"]) for e in rows(row, "published_intervals")}
    listed = []
    for name, row in material.by_meter.items():
        ours = estimate(row, "avoided_kwh")
        theirs = {str(e["method"]): e.get("half_width_kwh") for e in rows(row, "published_intervals")}
        widths = [wording.half_width(ours) if ours else None, *(theirs.get(method) for method in sources)]
        listed.append((name, *(energy(width) for width in widths)))
    told = "; ".join(f"{method}: {source}" for method, source in sources.items())
    return grid(
        f"Published formulas beside ours: half-width of the avoided kWh, {confidence_words(material)}",
        [
            ("meter", "left", 0.8),
            ("this report", "right", 0.9),
            *((method, "right", 1.1) for method in sources),
        ],
        listed,
        note=f"Shown for the reviewer; none of them replaces ours, which is averaged over how long residuals "
        f"persist. {told}.",
    )


def _bridge(material: Material, name: str, title: str) -> list[Block]:
    steps = rows(material.result, "bridge", name)
    if not steps:
        return [
            Heading(title),
            Prose(why_not(material.result, "bridge") or "The result holds no such steps.", "cannot"),
        ]
    drawn: tuple[Drawing, ...] = material.drawn(f"steps:{name}")
    listed = [
        (str(step["step"]), *kwh(estimate(step, "kwh")), _first_of(str(step.get("why") or NONE)))
        for step in steps
    ]
    total = sum(float(found["estimate"]) for step in steps if (found := estimate(step, "kwh")) is not None)
    listed.append(("sum of the steps", energy(total), NONE, NONE, ""))
    table = grid(
        f"{title}, kWh",
        [
            ("step", "left", 1.7),
            ("kWh", "right", 0.9),
            ("low", "right", 0.9),
            ("high", "right", 0.9),
            ("how it was found", "left", 3),
        ],
        listed,
        total_rows=1,
    )
    return [Heading(title), *drawn, table]


def _first_of(why: str, limit: int = 150) -> str:
    """A reason that lists every meter is cut on paper; result.json has it whole."""
    return why if len(why) <= limit else f"{why[:limit].rsplit(' ', 1)[0]} … (all in result.json)"


def _settings(material: Material) -> Block:
    listed = [
        (
            str(row["zone"]),
            SETTING_NAMES.get(str(row["setting"]), str(row["setting"])),
            setting_value(row, "commissioned"),
            setting_value(row, "observed"),
            str(row["verdict"]),
            day(row.get("since")),
        )
        for row in rows(material.result, "settings")
    ]
    if not listed:
        return Prose("The study names no agreed settings.", "cannot")
    return grid(
        "Settings: agreed, and as the meters show them last",
        [
            ("zone", "left", 1.3),
            ("setting", "left", 1.5),
            ("agreed", "right", 0.8),
            ("seen", "right", 1.6),
            ("verdict", "left", 1),
            ("changed on", "left", 1.4),
        ],
        listed,
    )


def setting_value(row: Mapping[str, Any], key: str) -> str:
    """A setting's agreed or observed value with its unit and interval."""
    name, found = str(row["setting"]), row.get(key)
    if found is None:
        return "cannot tell" if key == "observed" else NONE
    values = found if isinstance(found, Mapping) else {"estimate": found}
    value = values["estimate"]
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name in ("high_trim", "low_level"):
        return wording.share_with_interval(values) if "low" in values else share(value, 0)
    unit = "min" if name == "hold_minutes" else "W" if name == "standby_watts" else ""
    if wording.half_width(values) is None:
        return wording.in_unit(f"{float(value):g}", unit)
    low, high = float(values["low"]), float(values["high"])
    step = max(wording.step_of((high - low) / 2), FINEST.get(name, 0.0))
    shown = [wording.number(v, step=step) for v in (float(value), low, high)]
    return f"{wording.in_unit(shown[0], unit)} ({shown[1]} to {shown[2]})"


def _drift(material: Material) -> Block:
    found = rows(material.result, "drift")
    if not found:
        return Prose("Nothing changed after hand-over that the data show.")
    listed = []
    for row in found:
        cost = row.get("cost_per_month")
        monthly = estimate(row, "kwh_per_month")
        shown = "cannot tell" if monthly is None else wording.with_interval(monthly, "", confidence=False)
        listed.append(
            (
                str(row["where"]),
                str(row["what"]),
                day(row.get("since")),
                shown,
                NONE if cost is None else wording.number(cost),
            )
        )
    return grid(
        "What changed after hand-over",
        [
            ("where", "left", 1),
            ("what", "left", 3.4),
            ("since", "left", 1.2),
            ("kWh a month", "right", 1.5),
            (f"{material.currency} a month", "right", 0.9),
        ],
        listed,
        note="Positive: more is used than before. Less use may be failed lamps, which are no saving.",
    )
