"""A setting month by month against what was agreed at hand-over."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from mv.base.setting_words import SettingWords, setting_words
from mv.base.verification import Verification
from mv.figures import wording
from mv.figures.canvas import canvas, error_bars, mark_day
from mv.figures.palette import DASHES, Scheme, palette
from mv.figures.result_parts import rows
from mv.figures.worded import FigureWithWords, not_drawn


def setting_value(setting: str, value: Any, unit: str | None = None) -> str:
    """One value as the screen shows it: "80 %", "10 minutes", "yes"."""
    if value is None or (isinstance(value, float) and pd.isna(value)):
        return "not agreed"
    words = setting_words(setting, unit)
    if isinstance(value, bool) or words.yes_no:
        return "yes" if value and str(value).lower() not in ("false", "0", "0.0") else "no"
    return wording.in_unit(f"{float(value) * words.factor:.3g}", words.brief or words.unit)


def setting_history(
    verification: Verification, zone: str, setting: str, *, scheme: Scheme = "light"
) -> FigureWithWords:
    """Months across, the setting as seen with its interval, the agreed value as a dotted line."""
    found = _finding(verification, zone, setting)
    words = setting_words(setting, found.get("unit"))
    title = f"{zone}: {words.name}"
    months = months_of(verification, zone, setting)
    if months["estimate"].notna().sum() == 0:
        return not_drawn(title, str(found.get("why") or "No month shows this setting."))
    figure = _figure(months, found, words, scheme)
    table = months[["month", "estimate", "low", "high"]].copy()
    if not words.yes_no:
        columns = ["estimate", "low", "high"]
        table[columns] = (table[columns].astype(float) * words.factor).round(3)
    table = table.rename(columns={"estimate": f"seen{', ' + words.unit if words.unit else ''}"})
    return FigureWithWords(title, _caption(found, setting), table, figure)


def months_of(verification: Verification, zone: str, setting: str) -> pd.DataFrame:
    """The months of one setting, numbers as floats (a yes is 1, a no is 0)."""
    frame = verification.settings_by_month
    mine = frame[(frame["zone"] == zone) & (frame["setting"] == setting)].sort_values("month")
    columns = {name: mine[name].map(_as_float) for name in ("estimate", "low", "high")}
    return mine[["month"]].assign(**columns).reset_index(drop=True)


def _as_float(value: Any) -> float:
    texts = {"true": 1.0, "false": 0.0, "": float("nan"), "nan": float("nan"), "none": float("nan")}
    text = str(value).strip().lower()
    return texts[text] if text in texts else float(text)


def _finding(verification: Verification, zone: str, setting: str) -> Mapping[str, Any]:
    known = (*rows(verification.result, "settings"), *rows(verification.result, "settings_observed"))
    for row in known:
        if row.get("zone") == zone and row.get("setting") == setting:
            return row
    return {}


def _figure(months: pd.DataFrame, found: Mapping[str, Any], words: SettingWords, scheme: Scheme) -> Any:
    import plotly.graph_objects as go

    colours = palette(scheme)
    figure = canvas(scheme, height=230, margin={"l": 54, "r": 12, "t": 30, "b": 40})
    stamps = pd.to_datetime(months["month"])
    shown = months[["estimate", "low", "high"]] * words.factor
    estimates = [
        {name: None if pd.isna(value) else value for name, value in row.items()}
        for row in shown.to_dict("records")
    ]
    figure.add_trace(
        go.Scatter(
            x=stamps,
            y=shown["estimate"].round(3),
            name="seen",
            mode="markers+lines",
            line={"color": colours.metered, "width": 1.4},
            marker={"size": 7},
            error_y=None if words.yes_no else error_bars(estimates, colour=colours.metered),
            hovertemplate="%{x|%B %Y}: %{y:.3~g}<extra></extra>",
        )
    )
    _agreed_line(figure, found, words, colours.ink, list(stamps))
    _since_line(figure, found, colours.attention)
    figure.update_xaxes(tickformat="%b\n%Y")
    figure.update_yaxes(title=words.unit, rangemode="tozero")
    if words.yes_no:
        figure.update_yaxes(tickvals=[0, 1], ticktext=["no", "yes"], range=[-0.2, 1.2])
    return figure


def _agreed_line(
    figure: Any, found: Mapping[str, Any], words: SettingWords, colour: str, stamps: list[Any]
) -> None:
    import plotly.graph_objects as go

    agreed = found.get("commissioned")
    if agreed is None:
        return
    level = float(agreed) * (1.0 if words.yes_no else words.factor)
    figure.add_trace(
        go.Scatter(
            x=[stamps[0], stamps[-1]],
            y=[level, level],
            name="agreed",
            mode="lines",
            line={"color": colour, "width": 2, "dash": DASHES["promised"]},
            hoverinfo="skip",
        )
    )


def _since_line(figure: Any, found: Mapping[str, Any], colour: str) -> None:
    if not found.get("since"):
        return
    mark_day(figure, pd.Timestamp(str(found["since"])).date(), colour)


def _caption(found: Mapping[str, Any], setting: str) -> str:
    verdict = str(found.get("verdict") or "cannot tell")
    agreed = setting_value(setting, found.get("commissioned"), found.get("unit"))
    since = f", since {found['since']}" if found.get("since") else ""
    why = str(found.get("why") or "").strip()
    why = f"{why[:1].upper()}{why[1:]}"
    if "verdict" not in found:
        return f"Seen now: {seen_value(found)}; nothing was agreed. {why}.".strip()
    return f"{verdict.capitalize()}{since}. Agreed: {agreed}; seen now: {seen_value(found)}. {why}".strip()


def seen_value(found: Mapping[str, Any]) -> str:
    """The latest state with its interval: "99 % of connected load (97 to 101)"."""
    observed = found.get("observed")
    if not isinstance(observed, Mapping) or observed.get("estimate") is None:
        return "cannot tell"
    setting, unit = str(found.get("setting")), found.get("unit")
    text = setting_value(setting, observed["estimate"], unit)
    if observed.get("low") is None or isinstance(observed["estimate"], bool):
        return text
    factor = setting_words(setting, unit).factor
    low, high = (observed[end] * factor for end in ("low", "high"))
    step = wording.step_of((high - low) / 2)
    centre = observed["estimate"] * factor
    words = setting_words(setting, unit)
    text = wording.in_unit(wording.number(centre, step=step), words.brief or words.unit)
    return f"{text} ({wording.number(low, step=step)} to {wording.number(high, step=step)})"
