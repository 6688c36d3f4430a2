"""Data quality: the ledger of every meter, and where each row went."""

from collections.abc import Mapping
from typing import Any

from dash import dcc, html

from dashboards.blocks.cards import card, chooser
from dashboards.blocks.notes import facts, spaced
from dashboards.blocks.tables import table
from dashboards.choice import Choice
from dashboards.line_room import line_room
from mv.base.verification import Verification
from mv.figures import Scheme, counted, number, per_cent, rows

ADDRESS = "/data"


def page(verification: Verification, choice: Choice, scheme: Scheme) -> list[Any]:
    """All ledgers in one table, then one meter's in full."""
    ledgers = rows(verification.result, "cleaning")
    names = [str(row.get("meter")) for row in ledgers]
    if choice.meter not in names:
        choice = choice.but(meter=names[0] if names else "")
    chosen = next((row for row in ledgers if row.get("meter") == choice.meter), None)
    links = [(name, f"{ADDRESS}{Choice(meter=name).query()}", name == choice.meter) for name in names]
    return [
        html.H1("What was read, used and set aside"),
        _ledger_table(ledgers),
        chooser("Meter", links),
        *(_one(verification, chosen, choice, scheme) if chosen else []),
    ]


def _ledger_table(ledgers: list[Mapping[str, Any]]) -> html.Div:
    heads = [
        "meter",
        "rows read",
        "used",
        "set aside",
        "estimated",
        "kWh read",
        "kWh used",
        "baseline covered",
        "reporting covered",
    ]
    body = [
        [
            dcc.Link(str(row.get("meter")), href=f"{ADDRESS}{Choice(meter=str(row.get('meter'))).query()}"),
            _whole(row.get("rows_read")),
            _whole(row.get("rows_used")),
            _whole(sum((row.get("set_aside") or {}).values())),
            _whole(row.get("estimated_rows")),
            _whole(row.get("energy_read_kwh")),
            _whole(row.get("energy_used_kwh")),
            _share(row.get("coverage_baseline")),
            _share(row.get("coverage_reporting")),
        ]
        for row in ledgers
    ]
    caption = "Every row read is used or set aside; the last two columns are the share of each period covered"
    return table(heads, body, caption=caption, numeric=range(1, 9), stacked=True)


def _whole(value: Any) -> str:
    return "" if value is None else number(float(value))


def _share(value: Any) -> str:
    return "" if value is None else per_cent(float(value), places=1)


def _one(verification: Verification, row: Mapping[str, Any], choice: Choice, scheme: Scheme) -> list[Any]:
    meter = str(row.get("meter"))
    picture = (
        html.Div(card("coverage", verification, Choice(meter=meter), scheme, wide=True), className="cards")
        if meter in verification.meters
        else None
    )
    return [
        html.H2(f"The ledger of {meter}"),
        picture,
        html.H3("Set aside, and why"),
        set_aside_table(row),
        html.H3("Told from the file"),
        facts([(spaced(key), str(value)) for key, value in (row.get("inferred") or {}).items()])
        if row.get("inferred")
        else html.P("Nothing had to be told from the file: the study says it all."),
        html.H3("Remarks"),
        remarks_table(row),
        _files(row),
        line_room(choice),
    ]


def set_aside_table(row: Mapping[str, Any]) -> Any:
    """Reasons, counts and lines of what was not used."""
    counts = row.get("set_aside") or {}
    if not counts:
        return html.P("No row was set aside.")
    places = row.get("set_aside_lines") or {}
    body = [[reason, _whole(count), _places(places.get(reason))] for reason, count in counts.items()]
    return table(
        ["reason", "rows", "where they stand"],
        body,
        caption="Rows set aside, by reason and line",
        numeric=[1],
        stacked=True,
    )


def _places(by_file: Any) -> Any:
    if not isinstance(by_file, Mapping):
        return ""
    return html.Ul([html.Li(f"{name}, lines {lines}") for name, lines in by_file.items()], className="plain")


def remarks_table(row: Mapping[str, Any]) -> Any:
    """What stood out in a meter's files, where, and what to do."""
    remarks = [entry for entry in row.get("remarks") or [] if isinstance(entry, Mapping)]
    if not remarks:
        return html.P("None.")
    body = [
        [
            str(entry.get("code") or "").replace("-", " "),
            str(entry.get("what") or ""),
            ", ".join(_place(entry)),
            str(entry.get("remedy") or ""),
        ]
        for entry in remarks
    ]
    caption = f"{counted(len(remarks), 'remark')} on this meter's files"
    return table(["remark", "what was seen", "where", "remedy"], body, caption=caption, stacked=True)


def _place(entry: Mapping[str, Any]) -> list[str]:
    lines = str(entry.get("lines") or "")
    named = f"line{'' if lines.isdigit() else 's'} {lines}" if lines[:1].isdigit() else lines
    return [part for part in (str(entry.get("file") or ""), named) if part]


def _files(row: Mapping[str, Any]) -> Any:
    files = [entry for entry in row.get("files") or [] if isinstance(entry, Mapping)]
    if not files:
        return None
    body = [
        [
            str(entry.get("name")),
            _whole(entry.get("rows_read")),
            _whole(entry.get("rows_used")),
            ", ".join(f"{reason} {count:,}" for reason, count in (entry.get("set_aside") or {}).items()),
        ]
        for entry in files
    ]
    heads = ["file", "rows read", "used", "set aside"]
    return html.Div(
        [
            html.H3("File by file"),
            table(heads, body, caption="Each file's share", numeric=[1, 2], stacked=True),
        ]
    )
