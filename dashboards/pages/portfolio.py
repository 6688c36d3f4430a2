"""A portfolio's page: what all studies prove together, by whom and how, what to look at first."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any
from urllib.parse import parse_qs, urlencode

import pandas as pd
from dash import dcc, html

from dashboards.blocks.aria import aria
from dashboards.blocks.cards import chooser
from dashboards.blocks.notes import facts
from dashboards.blocks.tables import ROWS_SHOWN, long_table, table
from dashboards.mounted import prefix_of
from mv.base.errors import TallyluxError
from mv.figures import money, number, share_with_interval, with_interval
from mv.programme.store import StoredPortfolio

Json = Mapping[str, Any]
TABLE, WORDS = "studies-table", "studies-words"
FINDINGS_SHOWN, BROKEN_SHOWN = 24, 50
LONGEST_WHY = 160  # letters
WIDER = 1.05  # times; less than this is no news, no source

SORTS: dict[str, tuple[str, str, bool]] = {  # words, column, ascending
    "path": ("as found", "", True),
    "worst": ("dearest finding", "worst_cost_per_month", False),
    "saved": ("most saved", "avoided_kwh", False),
    "rate": ("lowest realisation", "realisation_rate", True),
    "title": ("title", "title", True),
}
HEADS = (
    "Study",
    "State",
    "Programme",
    "Contractor",
    "Avoided, kWh",
    "Realised",
    "Moved",
    "Dearest finding",
)
FIRST_NUMBER = 4  # place among the heads
STATES = ("accepted", "not accepted", "broken")


@dataclass(frozen=True)
class View:
    """How the studies are listed; it stands in the address."""

    sort: str = "path"
    status: str = ""

    @classmethod
    def read(cls, search: str | None) -> "View":
        """From an address's query; what is unknown is ignored."""
        found = {key: values[0] for key, values in parse_qs((search or "").lstrip("?")).items()}
        sort, status = found.get("sort", ""), found.get("status", "")
        return cls(sort if sort in SORTS else "path", status if status in STATES else "")

    def address(self, **changes: str) -> str:
        """The page's address with some of it changed."""
        return f"/?{urlencode(asdict(replace(self, **changes)))}"


def page(stored: StoredPortfolio, view: View) -> list[Any]:
    """Together, in groups, the worst findings, what is broken, every study."""
    summary = stored.summary
    return [
        html.H1(_headline(summary["studies"])),
        None if stored.of_one_run else _mixed(),
        _together(summary),
        *_remarks(summary),
        *(_groups(summary, key) for key in ("programme", "contractor", "strategy")),
        *_findings(summary),
        *_broken(summary["broken"]),
        *_every_study(stored, view),
        _files(),
    ]


def unreadable(error: TallyluxError) -> list[Any]:
    """In place of the page where the folder cannot be read."""
    return [html.H1("No portfolio to show"), html.P(str(error), className="cannot")]


def _headline(studies: Json) -> str:
    parts = [f"{studies['accepted']:,} of {studies['found']:,} studies stand as they are"]
    parts += [f"{studies['not_accepted']:,} need a look"] if studies["not_accepted"] else []
    parts += [f"{studies['broken']:,} could not be verified"] if studies["broken"] else []
    return ", ".join(parts)


def _mixed() -> html.P:
    told = "A run was interrupted while it wrote: the list of studies is newer than the totals. Run it again."
    return html.P(told, className="cannot")


def _together(summary: Json) -> html.Section:
    total = summary["total"]
    pool = total["avoided_kwh"]
    pairs = [
        ("Avoided in the reporting periods", _bare(pool, "kWh")),
        ("Saving in a typical year", _bare(total["normalised_annual_kwh"], "kWh")),
        ("Peak reduction, own windows", _bare(total["peak_kw"], "kW")),
        ("Share of the promise", _rate(total)),
        ("Meters", number(summary["studies"]["meters"])),
    ]
    return html.Section(
        [html.H2("All together"), facts(pairs), *(html.P(line, className="muted") for line in _sure(pool))],
        className="card",
    )


def _sure(pool: Json | None) -> list[str]:
    """How the interval came about, in two sentences."""
    if pool is None:
        return ["No study can say what it avoided."]
    wide, narrow = (pool["high"] - pool["low"]) / 2, pool["half_width_if_independent"]
    lines = [f"In brackets: the {100 * pool['confidence']:g} % interval over {pool['studies']:,} studies."]
    if pool["studies"] > 1 and narrow > 0 and wide / narrow >= WIDER:
        lines.append(
            f"Studies err together (correlation {pool['correlation_between_studies']:.2f} in the same weeks, "
            f"and meters of one accuracy class), so it is {wide / narrow:.1f} times as wide as if each erred "
            "by itself."
        )
    return lines


def _remarks(summary: Json) -> list[Any]:
    if not summary["remarks"]:
        return []
    return [html.Ul([html.Li(text) for text in summary["remarks"]], className="muted")]


def _groups(summary: Json, key: str) -> Any:
    entries = summary[f"by_{key}"]
    if not entries:
        return None
    body = [
        [
            entry["name"],
            number(entry["studies"]),
            _bare(entry["avoided_kwh"], ""),
            _bare(entry["normalised_annual_kwh"], ""),
            number(entry["predicted_annual_kwh"]) if entry["predicted_annual_kwh"] else "",
            _rate(entry),
        ]
        for entry in entries
    ]
    heads = [key.capitalize(), "Studies", "Avoided, kWh", "A typical year, kWh", "Predicted, kWh", "Realised"]
    notes = {
        "strategy": "A study counts in each of its strategies, so the rows overlap.",
        "programme": "As the studies state it under [claim].",
        "contractor": "As the studies state it under [claim.contractor].",
    }
    grid = table(heads, body, caption=notes[key], numeric=(1, 2, 3, 4, 5), stacked=True)
    return html.Section([html.H2(f"By {key}"), grid])


def _findings(summary: Json) -> list[Any]:
    found = summary["findings"]
    if not found:
        return [html.H2("Worst findings first"), html.P("No study found a change after hand-over.")]
    shown = html.Ol([html.Li(_finding(row)) for row in found[:FINDINGS_SHOWN]], className="findings")
    count, rank = summary["findings_in_all"], summary["findings_ranked_by"]
    more = f"{min(len(found), FINDINGS_SHOWN):,} of {count:,}, by {rank}."
    return [html.H2("Worst findings first"), html.P(more, className="muted"), shown]


def _finding(row: Json) -> list[Any]:
    sign = html.Span("▲ ", className="sign", **aria(hidden="true"))
    cost, energy = row["cost_per_month"], row["kwh_per_month"]
    prices = [] if cost is None else [f"{money(cost, row['currency'] or '')} a month"]
    prices += [] if energy is None else [with_interval(energy, "kWh a month", confidence=False)]
    told = [
        html.H3([sign, f"{row['where']}: {row['what']}"]),
        html.P(html.A(row["title"], href=f"{prefix_of(row['study'])}settings")),
    ]
    shown = [html.P(", ".join(prices) or "Its energy cannot be told.")]
    shown += [html.P(["Check first: ", row["check_first"]])] if row["check_first"] else []
    return [html.Div(told, className="told"), html.Div(shown)]


def _broken(broken: Sequence[Json]) -> list[Any]:
    if not broken:
        return []
    items = [
        pair
        for row in broken[:BROKEN_SHOWN]
        for pair in (html.Dt(row["path"]), html.Dd(row["message"], className="cannot"))
    ]
    more = len(broken) - BROKEN_SHOWN
    rest = [html.P(f"And {more:,} more in summary.json.")] if more > 0 else []
    return [html.H2("Could not be verified"), html.Dl(items, className="reasons"), *rest]


def _every_study(stored: StoredPortfolio, view: View) -> list[Any]:
    counts = stored.studies["status"].value_counts()
    orders = [(words, view.address(sort=key), view.sort == key) for key, (words, _, _) in SORTS.items()]
    states = [("all", view.address(status=""), view.status == "")]
    states += [
        (f"{state} ({counts[state]:,})", view.address(status=state), view.status == state)
        for state in STATES
        if state in counts
    ]
    words = html.Label(
        [
            "Only those whose title, site, programme or contractor has ",
            dcc.Input(id=WORDS, type="text", value="", debounce=0.3),
        ],
        className="narrowing",
    )
    return [
        html.H2("Every study", id="every-study"),
        chooser("Order", orders),
        chooser("Show", states),
        words,
        html.Div(studies_table(stored, view, ""), id=TABLE),
    ]


def studies_table(stored: StoredPortfolio, view: View, words: str) -> Any:
    """The studies that the view and the words leave, in the view's order, without columns of nothing."""
    rows = chosen(stored.studies, view, words)
    if rows.empty:
        return html.P("No study is so.", className="muted")
    body = [_study_row(row) for row in rows.head(ROWS_SHOWN).to_dict("records")]
    kept = [place for place in range(len(HEADS)) if place < 2 or any(row[place] for row in body)]
    cut = f"; the first {ROWS_SHOWN:,} are shown" if len(rows) > ROWS_SHOWN else ""
    caption = f"{len(rows):,} of {len(stored.studies):,} studies{cut}"
    return long_table(
        [HEADS[place] for place in kept],
        [[row[place] for place in kept] for row in body],
        caption=caption,
        numeric=[after for after, place in enumerate(kept) if place >= FIRST_NUMBER],
        stacked=True,
    )


def chosen(studies: pd.DataFrame, view: View, words: str) -> pd.DataFrame:
    """Pure: the rows of a state that carry the words, in order; empty cells come last."""
    rows = studies if not view.status else studies[studies["status"] == view.status]
    if words.strip():
        names = ["title", "site", "programme", "contractor", "path"]
        text = rows[names].fillna("").agg("\n".join, axis=1).str.lower()
        rows = rows[text.str.contains(words.strip().lower(), regex=False)]
    _, column, ascending = SORTS[view.sort]
    return (
        rows.sort_values(column, ascending=ascending, kind="stable", na_position="last") if column else rows
    )


def _study_row(row: Json) -> list[Any]:
    broken = row["status"] == "broken"
    name = row["path"] if broken else (row["title"], prefix_of(row["study"]))
    cost = row["worst_cost_per_month"]
    return [
        name,
        _state(row),
        _text(row["programme"]),
        _text(row["contractor"]),
        _cell(row, "avoided_kwh", ""),
        ""
        if broken or pd.isna(row["realisation_rate"])
        else share_with_interval(_three(row, "realisation_rate")),
        "" if pd.isna(row["settings_moved"]) else number(row["settings_moved"]),
        "" if pd.isna(cost) else money(cost, row["currency"] or ""),
    ]


def _state(row: Json) -> str:
    """Why a broken study is broken stands above the table."""
    if row["status"] != "not accepted":
        return str(row["status"])
    why = str(row["message"])
    return f"not accepted: {why if len(why) <= LONGEST_WHY else why[: LONGEST_WHY - 1] + '…'}"


def _cell(row: Json, name: str, unit: str) -> str:
    return "" if pd.isna(row[name]) else with_interval(_three(row, name), unit, confidence=False)


def _three(row: Json, name: str) -> dict[str, float]:
    return {"estimate": row[name], "low": row[f"{name}_low"], "high": row[f"{name}_high"]}


def _text(value: Any) -> str:
    return value if isinstance(value, str) else ""


def _bare(found: Json | None, unit: str) -> str:
    return with_interval(found, unit, confidence=False)


def _rate(entry: Json) -> str:
    rate = entry["realisation_rate"]
    return "cannot tell" if rate is None else share_with_interval(rate)


def _files() -> html.Section:
    names = {
        "portfolio.parquet": "one row a study",
        "meters.parquet": "one row a meter",
        "summary.json": "this page's numbers",
    }
    links = [html.Li([html.A(name, href=f"/download/{name}"), f": {what}"]) for name, what in names.items()]
    return html.Section([html.H2("Files"), html.Ul(links)])
