"""The summary: every total recomputed by formula beside the number that result.json holds."""

from dataclasses import dataclass
from typing import Any

from mv.base.result_parts import estimate, part, rows
from mv.claim.daily_sheets import BY_METER, MONTHLY, SUM_AVOIDED, SUM_EXPECTED, SUM_METERED, SUM_STAND_IN
from mv.claim.material import Material
from mv.claim.sheet_writer import Sheet, address, span

SUMMARY, ANNUAL, BRIDGES_SHEET = "Summary", "Typical year", "Bridges"
HEAD_ROW, FIRST = 3, 4
NAME, UNIT, FORMULA, STATED, APART, AGREES = range(6)
LARGEST_DIFFERENCE = 0.001  # kWh or money: sums in another order differ by less


@dataclass(frozen=True, slots=True)
class Check:
    """One total: its formula and the number in result.json."""

    name: str
    unit: str
    formula: str
    stated: float


def write_summary(sheet: Sheet, checks: list[Check], given: list[tuple[str, str, float]]) -> None:
    """Recomputed totals first, then numbers that a spreadsheet cannot recompute, said to be so."""
    titles = ["quantity", "unit", ">recomputed here", ">in result.json", ">difference", "agrees"]
    sheet.head(HEAD_ROW, titles, [72, 9, 18, 16, 13, 9])
    for place, check in enumerate(checks):
        row = FIRST + place
        sheet.text(row, NAME, check.name)
        sheet.text(row, UNIT, check.unit)
        look = _look(sheet, check.unit)
        sheet.formula(row, FORMULA, check.formula, check.stated, look)
        sheet.number(row, STATED, check.stated, look)
        recomputed, stated = (address(row, column, fixed=False) for column in (FORMULA, STATED))
        sheet.formula(row, APART, f"={recomputed}-{stated}", 0.0, sheet.looks.fine)
        apart = address(row, APART, fixed=False)
        sheet.formula(
            row, AGREES, f'=IF(ABS({apart})<={LARGEST_DIFFERENCE},"yes","NO")', "yes", sheet.looks.agrees
        )
    row = FIRST + len(checks)
    sheet.text(row, NAME, "All recomputed totals agree", sheet.looks.total)
    flags = f"{address(FIRST, AGREES)}:{address(max(row - 1, FIRST), AGREES)}"
    sheet.formula(
        row, AGREES, f'=IF(COUNTIF({flags},"yes")={len(checks)},"yes","NO")', "yes", sheet.looks.agrees
    )
    _given(sheet, row + 2, given)


def _given(sheet: Sheet, row: int, given: list[tuple[str, str, float]]) -> None:
    sheet.text(row, NAME, "From the models; a spreadsheet does not recompute these", sheet.looks.head)
    for place, (name, unit, value) in enumerate(given, row + 1):
        sheet.text(place, NAME, name)
        sheet.text(place, UNIT, unit)
        sheet.number(place, STATED, value, _look(sheet, unit))


def _look(sheet: Sheet, unit: str) -> Any:
    """How numbers of the unit are shown; the cells hold every digit."""
    looks = {
        "kWh": sheet.looks.whole,
        "share": sheet.looks.share,
        "kW": sheet.looks.exact,
        "years": sheet.looks.exact,
    }
    return looks.get(unit, sheet.looks.whole)


def energy_checks(material: Material, meter_total: int, month_total: int) -> list[Check]:
    """The period's totals by meter and by month, against the result."""
    savings = part(material.result, "savings") or {}
    checks = []
    avoided = estimate(savings, "avoided_kwh")
    meters = list(material.by_meter.values())
    if avoided is not None and all(estimate(row, "avoided_kwh") for row in meters):
        stated = float(avoided["estimate"])
        month_cell = address(month_total, SUM_AVOIDED, sheet=MONTHLY)
        checks += [
            Check(
                "avoided in the reporting period, by meter", "kWh", _by_meter(material, meter_total), stated
            ),
            Check("avoided in the reporting period, by month", "kWh", f"={month_cell}", stated),
        ]
        expected = sum(float(row["expected_kwh"]) for row in meters)
        checks.append(
            Check(
                "expected with the old lighting",
                "kWh",
                f"={address(meter_total, SUM_EXPECTED, sheet=BY_METER)}",
                expected,
            )
        )
        used = sum(float(row["actual_kwh"]) for row in meters)
        parts = [
            address(meter_total, c, sheet=BY_METER) for c in (SUM_METERED, SUM_STAND_IN, SUM_AVOIDED - 2)
        ]
        checks.append(Check("used: metered, stand-in and adjusted", "kWh", "=" + "+".join(parts), used))
    for place, entry in enumerate(rows(savings, "monthly")):
        found = estimate(entry, "avoided_kwh")
        if found is not None:
            cell = address(FIRST + place, SUM_AVOIDED, sheet=MONTHLY)
            checks.append(Check(f"avoided in {entry['month']}", "kWh", f"={cell}", float(found["estimate"])))
    return checks


def stands_for(material: Material) -> dict[str, float]:
    """Of loggers that stand for a usage group, the group's connected load over that of its loggers."""
    groups = rows(part(material.result, "savings") or {}, "population")
    times = {group["id"]: float(group["connected_kw"]) / float(group["logged_kw"]) for group in groups}
    return {meter: times[group["id"]] for group in groups for meter in group["meters"]}


def _by_meter(material: Material, meter_total: int) -> str:
    """The sheet's total; where loggers stand for a usage group, each row times what it stands for."""
    times = stands_for(material)
    if not times:
        return f"={address(meter_total, SUM_AVOIDED, sheet=BY_METER)}"
    cells = [address(FIRST + place, SUM_AVOIDED, sheet=BY_METER) for place in range(len(material.by_meter))]
    return _weighted(cells, list(material.by_meter), times)


def _weighted(cells: list[str], meters: list[str], times: dict[str, float]) -> str:
    terms = (f"{cell}*{times.get(meter, 1.0)!r}" for cell, meter in zip(cells, meters, strict=True))
    return "=" + "+".join(terms)


def write_annual(sheet: Sheet, material: Material) -> list[Check]:
    """The typical year by meter (from the models), its sum, the realisation rate, and how widths join."""
    sheet.head(
        HEAD_ROW,
        ["meter", ">typical year, kWh", ">low, kWh", ">high, kWh", ">half-width, kWh"],
        [30, 16, 14, 14, 16],
    )
    known = [
        (name, found)
        for name, row in material.by_meter.items()
        if (found := estimate(row, "normalised_annual_kwh")) is not None
    ]
    for place, (name, found) in enumerate(known):
        row = FIRST + place
        sheet.text(row, 0, name)
        for column, end in enumerate(("estimate", "low", "high"), 1):
            sheet.number(row, column, found.get(end))
        ends = address(row, 3, fixed=False), address(row, 2, fixed=False)
        width = (float(found["high"]) - float(found["low"])) / 2 if found.get("low") is not None else 0.0
        sheet.formula(row, 4, f"=({ends[0]}-{ends[1]})/2", width)
    annual = estimate(material.result, "savings", "normalised_annual_kwh")
    if annual is None or not known:
        return []
    total = FIRST + len(known)
    sheet.text(total, 0, "all", sheet.looks.total)
    times, names = stands_for(material), [name for name, _ in known]
    cells = [address(row, 1) for row in range(FIRST, total)]
    formula = _weighted(cells, names, times) if times else f"=SUM({span(FIRST, total - 1, 1)})"
    sheet.formula(total, 1, formula, float(annual["estimate"]), sheet.looks.total_exact)
    if not times:
        widths = [(float(f["high"]) - float(f["low"])) / 2 for _, f in known if f.get("low") is not None]
        _widths(sheet, total, annual, widths)
    return _annual_checks(sheet, material, total, annual)


def _widths(sheet: Sheet, total: int, annual: object, widths: list[float]) -> None:
    """The site's half-width between the two extremes: meters that err apart, and all alike."""
    assert isinstance(annual, dict)
    if annual.get("low") is None or not widths:
        return
    column = span(FIRST, total - 1, 4)
    lines: list[tuple[str, str, float]] = [
        (
            "half-width if the meters erred apart",
            f"=SQRT(SUMSQ({column}))",
            sum(w * w for w in widths) ** 0.5,
        ),
        ("half-width if all erred alike", f"=SUM({column})", sum(widths)),
    ]
    for place, (name, formula, value) in enumerate(lines, total + 2):
        sheet.text(place, 0, name)
        sheet.formula(place, 4, formula, value)
    sheet.text(total + 4, 0, "half-width in result.json (residuals' correlation)")
    sheet.number(total + 4, 4, (float(annual["high"]) - float(annual["low"])) / 2)


def _annual_checks(sheet: Sheet, material: Material, total: int, annual: object) -> list[Check]:
    assert isinstance(annual, dict)
    cell = address(total, 1, sheet=ANNUAL)
    checks = [Check("saving in a typical year", "kWh", f"={cell}", float(annual["estimate"]))]
    promised, rate = (
        part(material.result, "predicted", "annual_kwh"),
        estimate(material.result, "realisation_rate"),
    )
    if promised and rate is not None:
        sheet.text(total + 6, 0, "predicted a year (stipulated)")
        sheet.number(total + 6, 1, float(promised))
        sheet.text(total + 7, 0, "realisation rate")
        formula = f"={address(total, 1)}/{address(total + 6, 1)}"
        sheet.formula(total + 7, 1, formula, float(rate["estimate"]), sheet.looks.share)
        there = address(total + 7, 1, sheet=ANNUAL)
        checks.append(Check("realisation rate", "share", f"={there}", float(rate["estimate"])))
    return checks


def write_bridges(sheet: Sheet, material: Material, names: dict[str, str]) -> list[Check]:
    """Both bridges with their sums; the steps add up to the totals."""
    sheet.head(
        HEAD_ROW, ["step", ">kWh", ">low, kWh", ">high, kWh", "how it was found"], [34, 15, 15, 15, 90]
    )
    row, checks = FIRST, []
    for name, title in names.items():
        steps = rows(material.result, "bridge", name)
        if not steps:
            continue
        sheet.text(row, 0, title, sheet.looks.head)
        first = row + 1
        for row, step in enumerate(steps, first):
            found = estimate(step, "kwh") or {}
            sheet.text(row, 0, step["step"])
            for column, end in enumerate(("estimate", "low", "high"), 1):
                sheet.number(row, column, found.get(end))
            sheet.text(row, 4, step.get("why"))
        told = [float(f["estimate"]) for step in steps if (f := estimate(step, "kwh")) is not None]
        sheet.text(row + 1, 0, "sum of the steps", sheet.looks.total)
        sheet.formula(row + 1, 1, f"=SUM({span(first, row, 1)})", sum(told), sheet.looks.total_exact)
        stated = _bridged(material, name)
        if stated is not None:
            cell = address(row + 1, 1, sheet=BRIDGES_SHEET)
            checks.append(Check(f"{title}: sum of the steps", "kWh", f"={cell}", stated))
        row += 3
    return checks


def _bridged(material: Material, name: str) -> float | None:
    """What the steps must add up to."""
    avoided = estimate(material.result, "savings", "avoided_kwh")
    annual = estimate(material.result, "savings", "normalised_annual_kwh")
    promised = part(material.result, "predicted", "annual_kwh")
    if name == "baseline_to_reporting":
        return None if avoided is None else float(avoided["estimate"])
    return None if annual is None or promised is None else float(annual["estimate"]) - float(promised)
