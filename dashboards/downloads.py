"""The numbers as files: the result, the days, the settings, the readings, each figure's table."""

import pandas as pd
from flask import Flask, Response, abort, request

from dashboards.choice import Choice
from dashboards.drawn import DRAWINGS, draw
from dashboards.shelf import Shelf
from mv.base.errors import TallyluxError
from mv.base.verification import Verification
from mv.figures import wall_clock

FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")


def offer(server: Flask, shelf: Shelf) -> None:
    """Add the download addresses to the app's server."""

    @server.get("/download/<name>")
    def download(name: str) -> Response:
        verification = _opened(shelf)
        if name == "result.json":
            return _file(result_text(verification), name, "application/json")
        if name == "proof.html":
            return _file(proof_page(verification), name, "text/html")
        frame = _frame(name, verification, Choice.read(request.query_string.decode()))
        return _file(as_csv(frame), name, "text/csv")

    @server.get("/numbers/<name>.csv")
    def numbers(name: str) -> Response:
        if name not in DRAWINGS:
            abort(404)
        try:
            words = draw(name, _opened(shelf), Choice.read(request.query_string.decode()), "light")
        except (KeyError, ValueError):
            abort(404)
        return _file(as_csv(words.table), f"{name}.csv", "text/csv")


def _opened(shelf: Shelf) -> Verification:
    try:
        return shelf.verification()
    except TallyluxError as error:
        abort(404, str(error))


def result_text(verification: Verification) -> str:
    """result.json as it is stored."""
    from mv.store import result_text as stored_text

    return stored_text(verification.result)


def proof_page(verification: Verification) -> str:
    """The contractor's page for the client, as in the claim package: one file, no link, no script."""
    from mv.claim import proof
    from mv.documents.claim_package import material_of
    from mv.paper import as_html

    try:
        return as_html(proof(material_of(verification)))
    except TallyluxError as error:
        abort(404, str(error))


def _frame(name: str, verification: Verification, choice: Choice) -> pd.DataFrame:
    if name == "daily.csv":
        return verification.daily
    if name == "settings.csv":
        return verification.settings_by_month
    if name == "readings.csv" and choice.meter in verification.meters:
        return readings_frame(verification, choice.meter)
    return abort(404)


def readings_frame(verification: Verification, meter: str) -> pd.DataFrame:
    """Every interval of a meter: both clocks, the energy, whether it is estimated."""
    series = verification.meters[meter]
    index = pd.DatetimeIndex(series.energy_kwh.index)
    return pd.DataFrame(
        {
            "start_utc": index.strftime("%Y-%m-%dT%H:%MZ"),
            "clock_at_site": wall_clock(index, verification.study.site.timezone),
            "energy_kwh": series.energy_kwh.to_numpy(),
            "estimated": series.estimated.to_numpy(),
        }
    )


def as_csv(frame: pd.DataFrame) -> str:
    """CSV whose text cells a spreadsheet will not take for formulas."""
    safe = frame.rename(columns=lambda name: neutral(str(name)))
    texts = [place for place, kind in enumerate(safe.dtypes) if not pd.api.types.is_numeric_dtype(kind)]
    for place in texts:
        safe = safe.assign(**{safe.columns[place]: safe.iloc[:, place].map(neutral)})
    return safe.to_csv(index=False, lineterminator="\n")


def neutral(value: object) -> object:
    """A text that begins like a formula gets an apostrophe before it."""
    return f"'{value}" if isinstance(value, str) and value.startswith(FORMULA_SIGNS) else value


def _file(text: str, name: str, kind: str) -> Response:
    answer = Response(text, mimetype=kind)
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    answer.headers["Cache-Control"] = "no-store"
    return answer
