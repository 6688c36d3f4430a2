"""The result on one screen of a terminal, in plain words."""

import textwrap
from collections.abc import Mapping
from pathlib import Path
from typing import Any

WIDTH = 78
Json = Mapping[str, Any]


def summary_text(result: Json, path: Path) -> str:
    """The one-screen summary of a result.json; `path` is where it was written."""
    parts = [
        _headline(result),
        _savings(result),
        _settings(result["settings"]),
        _drift(result["drift"]),
        _data(result["cleaning"]),
        _cannot_say(result["cannot_say"]),
        _acceptance(result["acceptance"]),
        _wrapped("Take care: ", result["cautions"][0]) if result["cautions"] else [],
        [f"Everything: {path}"],
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def number(value: float) -> str:
    """12345.6 -> "12,346"; small values keep two significant places after the point."""
    size = abs(value)
    return f"{value:,.0f}" if size >= 100 else f"{value:,.1f}" if size >= 10 else f"{value:,.2f}"


def _interval(answer: Json | None, unit: str) -> str:
    if answer is None:
        return "cannot say"
    text = f"{number(answer['estimate'])} {unit}"
    if answer["low"] is None:
        return text
    return f"{text}  ({number(answer['low'])} to {number(answer['high'])})"


def _headline(result: Json) -> list[str]:
    study, periods = result["study"], result["study"]["periods"]
    span = [f"{periods[name]['first']} to {periods[name]['last']}" for name in ("baseline", "reporting")]
    title = f"{study['study']['title']}: {study['site']['name']}"
    return [title, "=" * min(len(title), WIDTH), f"baseline {span[0]}, reporting {span[1]}"]


def _savings(result: Json) -> list[str]:
    savings, predicted = result["savings"], result["predicted"]
    confidence = f"{100 * result['study']['study']['confidence']:g} %"
    currency = result["money"].get("currency") or ""
    rows = [
        ("Avoided energy, reporting period", _interval(savings["avoided_kwh"], "kWh")),
        ("Savings in a typical year", _interval(savings["normalised_annual_kwh"], "kWh")),
        ("Peak reduction", _interval(savings["peak_kw"], "kW")),
        ("Predicted", _plain(predicted["annual_kwh"], "kWh a year")),
        ("Realisation rate", _percent(result["realisation_rate"])),
        ("Bill savings in a typical year", _interval(result["money"].get("bill_savings"), currency)),
    ]
    lines = [f"{name:<34}{text}" for name, text in rows]
    return [*lines, f"In brackets: the {confidence} interval."]


def _plain(value: float | None, unit: str) -> str:
    return "not given" if value is None else f"{number(value)} {unit}"


def _percent(answer: Json | None) -> str:
    if answer is None:
        return "cannot say"
    low, high = (f"{100 * answer[end]:.0f}" for end in ("low", "high"))
    return f"{100 * answer['estimate']:.0f} %  ({low} to {high} %)"


def _settings(settings: list[Json]) -> list[str]:
    if not settings:
        return []
    lines = [f"{'Settings':<14}{'setting':<18}{'agreed':>8}{'seen':>9}   verdict"]
    for row in settings:
        since = f" since {row['since']}" if row["since"] else ""
        seen = "-" if row["observed"] is None else _short(row["observed"]["estimate"])
        lines.append(
            f"{row['zone'][:13]:<14}{row['setting']:<18}{_short(row['commissioned']):>8}{seen:>9}   "
            f"{row['verdict']}{since}"
        )
    return lines


def _short(value: object) -> str:
    if value is None:
        return "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{float(str(value)):.3g}"


def _drift(drift: list[Json]) -> list[str]:
    if not drift:
        return ["What changed after hand-over: nothing that the data show."]
    lines = ["What changed after hand-over:"]
    for row in drift:
        cost = row["kwh_per_month"]
        price = "" if cost is None else f", {number(cost['estimate'])} kWh a month"
        told = not row["since"] or row["since"] in row["what"]
        since = "" if told else f" (since {row['since']})"
        lines += _wrapped("- ", f"{row['where']}: {row['what']}{since}{price}")
    return lines


def _data(cleaning: list[Json]) -> list[str]:
    lines = [f"{'Meter':<14}{'rows read':>11}{'used':>11}{'set aside':>11}{'baseline':>10}{'reporting':>11}"]
    for row in cleaning:
        aside = sum(row["set_aside"].values())
        covered = [_share(row[f"coverage_{name}"]) for name in ("baseline", "reporting")]
        lines.append(
            f"{row['meter'][:13]:<14}{row['rows_read']:>11,}{row['rows_used']:>11,}{aside:>11,}"
            f"{covered[0]:>10}{covered[1]:>11}"
        )
    return lines


def _share(value: float | None) -> str:
    return "-" if value is None else f"{100 * value:.1f} %"


def _cannot_say(entries: list[Json]) -> list[str]:
    """What cannot be said, reasons told once; the whole list stands in result.json."""
    if not entries:
        return []
    by_reason: dict[str, list[str]] = {}
    for entry in entries:
        by_reason.setdefault(entry["why"], []).append(str(entry["what"]).replace("_", " "))
    lines = ["Cannot say:"]
    for why, whats in by_reason.items():
        lines += _wrapped("- ", f"{', '.join(dict.fromkeys(whats))}: {_shortened(why)}")
    return lines


def _shortened(text: str, limit: int = 240) -> str:
    return text if len(text) <= limit else text[: limit - 1] + "…"


def _acceptance(acceptance: Json) -> list[str]:
    if acceptance["met"]:
        return ["Every stated acceptance test is met."]
    return ["Not accepted as it stands:", *(x for why in acceptance["why"] for x in _wrapped("- ", why))]


def _wrapped(mark: str, text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=mark, subsequent_indent=" " * len(mark))
