"""Part H: the verified numbers with their intervals, the bridges, and what lasted."""

from collections.abc import Mapping
from typing import Any

from mv.base import wording
from mv.base.document import Block, Drawing, Heading, Prose, Section, grid
from mv.base.result_parts import estimate, part, rows, why_not
from mv.claim.adjustments import acceptance
from mv.claim.cells import NONE, energy, fixed, interval, kwh
from mv.claim.energy_account import accounts, monthly_accounts
from mv.claim.material import Material
from mv.claim.peak_part import load_drops, peak_window
from mv.claim.persistence import persistence
from mv.claim.samples import samples

BRIDGES = {
    "predicted_to_verified": "From the predicted to the verified yearly saving",
    "baseline_to_reporting": "From the old lighting to the new: where the saving comes from",
}


def results(material: Material) -> Section:
    """H: totals, by meter, by month, peak, published intervals, bridges, persistence."""
    blocks: list[Block] = [_totals(material), *material.drawn("promise"), _by_meter(material)]
    blocks += [_kinds(material), *material.drawn("months"), _monthly(material), *material.drawn("running")]
    blocks += [*samples(material), *peak_window(material), *load_drops(material)]
    blocks += [Heading("Uncertainty, and acceptance"), _published(material), acceptance(material)]
    for name, title in BRIDGES.items():
        blocks += _bridge(material, name, title)
    blocks += persistence(material)
    return Section("Results", tuple(blocks), letter="H")


def confidence_words(material: Material) -> str:
    """ "90 %"."""
    return wording.per_cent(float(part(material.result, "study", "study", "confidence") or 0.9))


def heat_words(material: Material) -> str:
    """Whether the numbers hold what cooler lamps do to heating and cooling."""
    measured = {meter["measures"] for meter in rows(material.result, "study", "meter")}
    if measured == {"lighting"}:
        return "Heating and cooling effects of cooler lamps are not counted."
    if "lighting" in measured:
        return (
            "Heating and cooling effects of cooler lamps are counted where a whole building is metered only."
        )
    return "Heating and cooling effects of cooler lamps are counted: the whole building is metered."


def _totals(material: Material) -> Block:
    result, predicted = material.result, part(material.result, "predicted") or {}
    rate, peak = estimate(result, "realisation_rate"), estimate(result, "savings", "peak_kw")
    listed = [
        ("saving in a typical year, kWh", *kwh(estimate(result, "savings", "normalised_annual_kwh"))),
        ("avoided in the reporting period, kWh", *kwh(estimate(result, "savings", "avoided_kwh"))),
        ("mean reduction in the peak window, kW", *interval(peak)),
        ("predicted a year, kWh (stipulated)", energy(predicted.get("annual_kwh")), NONE, NONE),
        ("predicted in the peak window, kW (stipulated)", fixed(predicted.get("peak_kw"), 1), NONE, NONE),
        ("realisation rate of the year's kWh, %", *interval(rate, scale=100.0)),
        ("realisation rate of the peak window's kW, %", *_peak_rate(peak, predicted.get("peak_kw"))),
    ]
    return grid(
        f"Verified and predicted, intervals with {confidence_words(material)} confidence",
        [("quantity", "left", 3), ("best estimate", "right", 1), ("low", "right", 1), ("high", "right", 1)],
        listed,
        note="Typical year: both models at the same 365 days. Avoided: the baseline model at the reporting "
        f"period's conditions less the metered energy. {heat_words(material)}",
    )


def _peak_rate(peak: Mapping[str, Any] | None, promised: object) -> tuple[str, str, str]:
    """Verified over predicted kW; the prediction counts as exact."""
    if not isinstance(promised, int | float) or promised <= 0:
        return NONE, NONE, NONE
    return interval(peak, scale=100.0 / float(promised))


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
    """Each month's energy by kind; the last row is the period."""
    listed: list[tuple[str, ...]] = []
    sums = [0.0] * 4
    for item in monthly_accounts(material):
        kinds = (item.expected, item.metered, item.stand_in, item.adjusted)
        sums = [total + value for total, value in zip(sums, kinds, strict=True)]
        listed.append((item.month, *(energy(value) for value in kinds), *kwh(item.avoided)))
    whole = kwh(estimate(material.result, "savings", "avoided_kwh"))
    listed.append(("period", *(energy(value) for value in sums), *whole))
    carried = "and what loggers stand for, " if rows(material.result, "savings", "population") else ""
    return grid(
        "Month by month, kWh",
        [
            ("month", "left", 0.9),
            ("expected (modelled)", "right", 1.1),
            ("metered (measured)", "right", 1.1),
            ("stand-in (modelled)", "right", 1.1),
            ("events (adjusted)", "right", 1.1),
            ("avoided", "right", 0.9),
            ("low", "right", 0.9),
            ("high", "right", 0.9),
        ],
        listed,
        total_rows=1,
        note=f"Avoided: expected less metered, stand-in and adjusted energy. Adjusted: events {carried}"
        "as listed in part G.",
    )


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
    listed: list[tuple[str, ...]] = [
        (str(step["step"]), *kwh(estimate(step, "kwh")), _first_of(str(step.get("why") or NONE)))
        for step in steps
    ]
    total = sum(float(found["estimate"]) for step in steps if (found := estimate(step, "kwh")) is not None)
    listed += _bridge_totals(material, name, total)
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
        total_rows=len(listed) - len(steps),
    )
    return [Heading(title), *drawn, table]


def _bridge_totals(material: Material, name: str, total: float) -> list[tuple[str, ...]]:
    """The sum of the steps, and the totals between which it leads."""
    summed = ("sum of the steps", energy(total), NONE, NONE, "")
    if name == "baseline_to_reporting":
        avoided = kwh(estimate(material.result, "savings", "avoided_kwh"))
        return [summed, ("avoided in the reporting period", *avoided, "the steps add up to it")]
    annual = kwh(estimate(material.result, "savings", "normalised_annual_kwh"))
    promised = energy(part(material.result, "predicted", "annual_kwh"))
    return [
        ("predicted (stipulated)", promised, NONE, NONE, "the inventory, or the number in the study"),
        summed,
        ("verified, typical year", *annual, "the predicted and the steps add up to it"),
    ]


def _first_of(why: str, limit: int = 150) -> str:
    """A reason that lists every meter is cut on paper; result.json has it whole."""
    return why if len(why) <= limit else f"{why[:limit].rsplit(' ', 1)[0]} … (all in result.json)"
