"""Peak kW, load drops at the programme's calls, and usage groups, as tables."""

from collections.abc import Mapping
from typing import Any

from dash import html

from dashboards.blocks.notes import facts
from dashboards.blocks.tables import table
from mv.figures import estimate, number, part, per_cent, rows, share_with_interval, with_interval

Record = Mapping[str, Any]


def peak_part(result: Record) -> html.Section | None:
    """The reduction over the programme's window, how much of the lights was on then, meter by meter."""
    account = part(result, "peak")
    total = estimate(result, "savings", "peak_kw")
    if not isinstance(account, Mapping) or not (total or account.get("by_meter")):
        return None
    promised = part(result, "predicted", "peak_kw")
    pairs = [
        ("Window", account.get("rule")),
        ("Mean reduction", with_interval(total, "kW")),
        ("Promised", f"{number(promised, step=0.1)} kW" if promised is not None else None),
        ("Share of connected load on, before", _share(estimate(account, "coincidence", "before"))),
        ("Share of connected load on, after", _share(estimate(account, "coincidence", "after"))),
    ]
    return html.Section([html.H2("Peak reduction"), facts(pairs), _peak_by_meter(account)])


FINEST_KW = 0.01  # as in the report; finer is noise (common practice, no source)


def _peak_by_meter(account: Record) -> html.Div | None:
    by_meter = account.get("by_meter")
    if not isinstance(by_meter, Mapping) or not by_meter:
        return None
    body = [
        [
            str(name),
            with_interval(estimate(row, "reduction_kw"), "kW", confidence=False, least=FINEST_KW),
            _share(estimate(row, "coincidence_before")) or "",
            _share(estimate(row, "coincidence_after")) or "",
            str(row.get("baseline_days") or ""),
            str(row.get("reporting_days") or ""),
            str(row.get("accuracy_source") or ""),
        ]
        for name, row in by_meter.items()
        if isinstance(row, Mapping)
    ]
    heads = ["meter", "reduction", "share on before", "share on after", "days before", "days after"]
    heads.append("accuracy of the meter")
    caption = "Peak reduction of each meter; the share of its connected load that was on in the window"
    return table(heads, body, caption=caption, numeric=[4, 5], stacked=True)


def load_drops(result: Record) -> html.Section | None:
    """What the load fell by at each call, against the baseline that the programme's rule gives."""
    drops = rows(result, "demand_response")
    if not drops:
        return None
    body = [
        [
            f"{row.get('first')} to {row.get('last')}".replace("T", " "),
            with_interval(estimate(row, "drop_kw"), "kW"),
            with_interval(estimate(row, "drop_kwh"), "kWh"),
            _power(row.get("baseline_kw")),
            _power(row.get("metered_kw")),
            str(len(row.get("baseline_days") or [])),
            f"{row.get('rule') or ''}. {row.get('why') or ''}.".replace("..", "."),
        ]
        for row in drops
    ]
    heads = ["call", "mean drop", "energy", "baseline", "metered", "baseline days", "rule, and what is told"]
    grid = table(heads, body, caption="Calls by local clock", numeric=[5], stacked=True)
    return html.Section([html.H2("Load drops at the programme's calls"), grid])


def usage_groups(result: Record) -> html.Section | None:
    """What the loggers of each group stand for, and how precise the sample is."""
    groups = rows(result, "savings", "population")
    if not groups:
        return None
    body = [
        [
            str(row.get("id")),
            f"{row.get('loggers_used')} of {len(row.get('meters') or [])}",
            f"{_power(row.get('logged_kw'))} of {_power(row.get('connected_kw'))}",
            str(row.get("places") or ""),
            with_interval(estimate(row, "avoided_kwh"), "kWh"),
            "" if row.get("sampling_precision") is None else per_cent(float(row["sampling_precision"])),
            str(row.get("how") or ""),
        ]
        for row in groups
    ]
    heads = ["group", "loggers used", "load logged", "places", "avoided", "precision reached", "how"]
    grid = table(heads, body, caption="Loggers and the places they stand for", numeric=[3, 5], stacked=True)
    return html.Section([html.H2("Usage groups"), grid])


def promise_part(result: Record) -> html.Section | None:
    """What the promise consists of, and what was found on the inventory it follows from."""
    parts, findings = rows(result, "predicted", "parts"), rows(result, "predicted", "findings")
    if not parts and not findings:
        return None
    body = [[str(row.get("part")), number(float(row["kwh"])), str(row.get("why") or "")] for row in parts]
    shown = table(["part", "kWh a year", "how"], body, caption="Parts of the promise", numeric=[1])
    return html.Section(
        [
            html.H2("The promise"),
            html.P(f"From: {part(result, 'predicted', 'source')}") if parts else None,
            shown if parts else None,
            _inventory_findings(findings),
        ]
    )


def _inventory_findings(findings: list[Record]) -> html.Div | None:
    if not findings:
        return None
    body = [
        [
            str(row.get("code") or "").replace("-", " "),
            str(row.get("what") or ""),
            _place(row),
            str(row.get("remedy") or ""),
        ]
        for row in findings
    ]
    heads = ["finding", "what was seen", "where", "remedy"]
    return table(heads, body, caption="Found on the inventory", stacked=True)


def _place(row: Record) -> str:
    numbers = row.get("lines") or []
    told = ", ".join(map(str, numbers)) if isinstance(numbers, list) else str(numbers)
    return ", ".join(text for text in (str(row.get("file") or ""), f"line {told}" if told else "") if text)


def _share(found: Record | None) -> str | None:
    return share_with_interval(found) if found else None


def _power(value: Any) -> str:
    return "" if value is None else f"{number(float(value), step=0.1)} kW"
