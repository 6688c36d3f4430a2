"""The contractor's page for the client: promised, found on the meters, lasting. Plain words, no link."""

from mv.base import wording
from mv.base.document import Block, Caution, Document, Figure, Figures, Pair, Prose, Section, grid
from mv.base.result_parts import estimate, part, rows, why_not
from mv.claim.cells import NONE, amount, day
from mv.claim.identity import SETTING_NAMES
from mv.claim.material import Json, Material
from mv.claim.persistence import setting_value
from mv.claim.results import confidence_words, heat_words


def proof(material: Material) -> Document:
    """One page in three parts, as a client asks."""
    result = material.result
    return Document(
        title=f"What the new lighting saves: {material.study.site.name}",
        subtitle=material.study.study.title,
        opening=(Prose(_answer(material), "lead"),),
        sections=(
            Section("What was promised", _promised(material)),
            Section("What the meters show", _found(material)),
            Section("Is it lasting?", _lasting(material)),
            Section("What is not in these numbers", _limits(material)),
            Section("Please take care", (Caution("Safety", tuple(result.get("cautions") or ())),)),
        ),
        foot=f"Made with Tallylux {result.get('tallylux')} from metered data, {_made(result)}. "
        "An estimate with its interval, not a warranty.",
        one_page=True,
        larger=True,
    )


def _made(result: Json) -> str:
    return wording.day_words(str(result.get("made_at"))[:10])


def _answer(material: Material) -> str:
    annual = estimate(material.result, "savings", "normalised_annual_kwh")
    promised = part(material.result, "predicted", "annual_kwh")
    if annual is None:
        return "The meters do not yet tell how much a year is saved; the reasons are below."
    if annual["estimate"] < 0:
        more = wording.amount({**annual, "estimate": -float(annual["estimate"])}, "kWh")
        return f"The new lighting saves nothing: it uses about {more} a year more than the old would have."
    if promised is None:
        return f"The new lighting saves about {wording.amount(annual, 'kWh')} a year."
    share = wording.per_cent(annual["estimate"] / promised) if promised else "no share"
    return (
        f"The new lighting saves about {wording.amount(annual, 'kWh')} a year: {share} of what was promised."
    )


def _promised(material: Material) -> tuple[Block, ...]:
    predicted = part(material.result, "predicted") or {}
    annual, peak = predicted.get("annual_kwh"), predicted.get("peak_kw")
    if annual is None:
        return (Prose("No yearly saving was promised in the study.", "cannot"),)
    kilowatts = (
        f", and {wording.number(peak, step=0.1)} kW less in the peak window" if peak is not None else ""
    )
    lines = [
        Prose(f"{wording.number(annual)} kWh a year{kilowatts}. That was calculated beforehand, not read.")
    ]
    guarantee = part(material.result, "money", "guarantee")
    if guarantee:
        told = {"met": "It is met.", "missed": "It is not met."}.get(
            str(guarantee["verdict"]), "The interval does not tell whether it is met."
        )
        lines.append(Prose(f"A yearly amount was agreed to be made good. {told}"))
    return tuple(lines)


def _found(material: Material) -> tuple[Block, ...]:
    result = material.result
    annual, avoided = (estimate(result, "savings", key) for key in ("normalised_annual_kwh", "avoided_kwh"))
    blocks: list[Block] = []
    if annual is None:
        why = why_not(result, "typical year", "normalised", "annual") or "the result gives no reason"
        blocks.append(Prose(f"A yearly saving cannot be told: {why}.", "cannot"))
    else:
        blocks += [_figures(material, annual), *_charts(material), Prose(_sure(material, annual))]
    if avoided is not None:
        period = material.study.periods.reporting if material.study.periods else None
        span = f"from {day(period.first)} to {day(period.last)}" if period else "so far"
        ends = wording.between(avoided, "kWh", joint="and")
        count = wording.amount(avoided, "kWh")
        told = f"{count} were avoided, most likely between {ends}"
        if avoided["estimate"] < 0:
            told = (
                f"more was used than the old lighting would have: {count} avoided, most likely between {ends}"
            )
        blocks.append(Prose(f"Counted {span}, {told}."))
    return (*blocks, *(material.drawn("months") if annual is None else ()))


def _charts(material: Material) -> tuple[Block, ...]:
    """The year's saving and the months, side by side where there are both."""
    charts = material.drawn("promise", "months")
    return (Pair(*charts),) if len(charts) == 2 else charts


def _figures(material: Material, annual: Json) -> Figures:
    result = material.result
    items = [Figure("Saved a year", *amount(annual, "kWh"))]
    for name, keys, unit, least in (
        ("Off the bill a year", ("money", "bill_savings"), material.currency, 1.0),
        ("Less in the peak window", ("savings", "peak_kw"), "kW", 0.1),
        ("Simple payback", ("money", "simple_payback"), "years", 0.1),
    ):
        found = estimate(result, *keys)
        if found is not None:
            items.append(Figure(name, *amount(found, unit, least=least)))
    return Figures(tuple(items))


def _sure(material: Material, annual: Json) -> str:
    """The interval in words, against nothing and against the promise."""
    if wording.half_width(annual) is None:
        return "No interval can be given for this number."
    sure, low, high = confidence_words(material), float(annual["low"]), float(annual["high"])
    ends = wording.between(annual, "kWh", joint="and")
    text = f"How sure? We are {sure} confident that the yearly saving lies between {ends}."
    if low <= 0 <= high:
        return f"{text} That range reaches down to no saving at all: the data do not tell the two apart."
    promised = part(material.result, "predicted", "annual_kwh")
    if promised is None:
        return text
    if high < promised:
        return f"{text} All of that range lies below the promise."
    if low > promised:
        return f"{text} All of that range lies above the promise."
    return f"{text} The promise lies within that range, so the data do not tell the two apart."


def _lasting(material: Material) -> tuple[Block, ...]:
    settings, drift = rows(material.result, "settings"), rows(material.result, "drift")
    if not settings and not drift:
        return (Prose("Cannot tell: no agreed settings are in the study.", "cannot"),)
    blocks: list[Block] = []
    if settings:
        counts = {v: sum(row["verdict"] == v for row in settings) for v in ("kept", "moved", "cannot tell")}
        agreed = wording.counted(len(settings), "setting")
        are = "is" if counts["kept"] == 1 else "are"
        words = f"Of {agreed} agreed at hand-over, {counts['kept']} {are} so still"
        have = "has" if counts["moved"] == 1 else "have"
        words += f", {counts['moved']} {have} moved" if counts["moved"] else ""
        words += f" and {counts['cannot tell']} cannot be told" if counts["cannot tell"] else ""
        blocks += [Prose(f"{words}."), *_moved(settings)]
    return (*blocks, *_changes(material, drift))


def _moved(settings: list[Json]) -> tuple[Block, ...]:
    moved = [row for row in settings if row["verdict"] == "moved"]
    if not moved:
        return ()
    return (
        grid(
            "Settings that have moved",
            [
                ("zone", "left", 1.3),
                ("setting", "left", 1.5),
                ("agreed", "right", 1),
                ("now", "right", 1.6),
                ("since", "left", 1.5),
            ],
            [
                (
                    str(row["zone"]),
                    SETTING_NAMES.get(str(row["setting"]), str(row["setting"])),
                    setting_value(row, "commissioned"),
                    setting_value(row, "observed"),
                    _since(row),
                )
                for row in moved
            ],
        ),
    )


def _since(row: Json) -> str:
    shown = day(row.get("since"))
    return "never seen as agreed" if shown == NONE else shown


def _changes(material: Material, drift: list[Json]) -> tuple[Block, ...]:
    if not drift:
        return (Prose("Nothing else changed that the data show."),)
    worst = sorted(drift, key=lambda row: -((estimate(row, "kwh_per_month") or {"estimate": 0})["estimate"]))
    costly = [row for row in worst if (estimate(row, "kwh_per_month") or {"estimate": 0})["estimate"] > 0]
    if not costly:
        return (Prose("No change is seen that uses more energy; part H of the report lists what is seen."),)
    listed = []
    for row in costly[:5]:
        checks = row.get("check_first") or [NONE]
        monthly = estimate(row, "kwh_per_month")
        saved = amount(monthly, "kWh")[0] if monthly else NONE
        listed.append((f"{row['where']}: {row['what']}", saved, str(checks[0])))
    return (
        grid(
            "What uses more than it should, and what to check first",
            [("what", "left", 2.4), ("a month", "right", 0.9), ("check first", "left", 2.4)],
            listed,
        ),
    )


def _limits(material: Material) -> tuple[Block, ...]:
    result = material.result
    untold = wording.counted(len(rows(result, "cannot_say")), "thing")
    return (
        Prose(
            "The bill may show another amount: lighting is a part of the load, prices change with the hour, "
            f"and other loads change too. {heat_words(material)}"
        ),
        Prose(
            f"{untold[:1].upper()}{untold[1:]} that one may want to know cannot be told from these data; "
            "the full report lists each with its reason."
        )
        if rows(result, "cannot_say")
        else Prose("The full report lists what each number rests on."),
    )
