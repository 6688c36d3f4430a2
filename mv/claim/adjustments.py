"""Part G: what was adjusted, routine and non-routine, with dates, evidence, size and author."""

from mv.base import wording
from mv.base.document import Block, Prose, Section, grid
from mv.base.result_parts import estimate, rows
from mv.claim.cells import NONE, day, energy, in_words, said
from mv.claim.identity import party
from mv.claim.material import Json, Material

MOST_CANDIDATES = 12  # on paper


def adjustments(material: Material) -> Section:
    """G: the routine adjustment, events, and days on which a model stands in for the meter."""
    blocks: list[Block] = [
        Prose(
            "Routine: each day's baseline is the baseline model at that day's own conditions, month by month "
            "in the table of part H. Nothing else is adjusted but what is listed here."
        ),
        _events(material),
    ]
    sizes = [(name, row) for name, row in material.by_meter.items() if row.get("without_event_treatment_kwh")]
    if sizes:
        blocks.append(
            grid(
                "Size of the events' treatment, avoided kWh of the reporting period",
                [
                    ("meter", "left", 1),
                    ("as reported", "right", 2),
                    ("had nothing been done", "right", 2),
                    ("difference", "right", 1),
                ],
                [_size(name, row) for name, row in sizes],
            )
        )
    blocks += [*_candidates(material), _stand_in(material)]
    return Section("Adjustments", tuple(blocks), letter="G")


def _events(material: Material) -> Block:
    events = material.study.event
    if not events:
        return Prose("Non-routine: the study lists no event.")
    author = party(material.claim.analyst)
    return grid(
        "Non-routine events",
        [
            ("first day", "left", 1.1),
            ("last day", "left", 1.1),
            ("meters", "left", 1.1),
            ("treatment", "left", 1.1),
            ("reason and evidence", "left", 3),
            ("stated by", "left", 1.4),
        ],
        [
            (
                day(event.first),
                day(event.last),
                ", ".join(event.meters) or "every meter",
                event.treatment,
                event.reason,
                author,
            )
            for event in events
        ],
        note="Set aside: the days leave both sides. Model: the effect is sized by the reporting model. "
        "Note only: nothing is changed.",
    )


def _size(name: str, row: Json) -> tuple[str, ...]:
    treated, plain = estimate(row, "avoided_kwh"), estimate(row, "without_event_treatment_kwh")
    apart = None if treated is None or plain is None else treated["estimate"] - plain["estimate"]
    return name, in_words(treated, ""), in_words(plain, ""), energy(apart)


def _candidates(material: Material) -> tuple[Block, ...]:
    """Stretches that look like an event and that neither an event nor a finding explains."""
    unknown = [row for row in rows(material.result, "event_candidates") if not row.get("known")]
    found = [row for row in unknown if not row.get("finding")]
    told = wording.counted(len(unknown) - len(found), "stretch", "stretches")
    elsewhere = f"{told} of days off the model: part H tells of the change behind, under drift."
    if not found:
        return (Prose(elsewhere, "note"),) if unknown else ()
    listed = [
        (
            str(row["meter"]),
            str(row["period"]),
            f"{day(row['first'])} to {day(row['last'])}",
            in_words(estimate(row, "kwh_per_day"), ""),
            in_words(estimate(row, "kwh"), ""),
        )
        for row in found[:MOST_CANDIDATES]
    ]
    more = len(found) - MOST_CANDIDATES
    return (
        grid(
            "Stretches of days that no event and no finding explains: nothing is adjusted for them",
            [
                ("meter", "left", 1),
                ("period", "left", 1),
                ("days", "left", 2.4),
                ("kWh a day, metered less model", "right", 1.8),
                ("kWh in all", "right", 1.8),
            ],
            listed,
            note="They are in the interval. With evidence they may be stated as [[event]]."
            + (f" {more} more are in result.json." if more > 0 else "")
            + (f" Beside them {elsewhere}" if len(unknown) > len(found) else ""),
        ),
    )


def _stand_in(material: Material) -> Block:
    listed = [
        (name, f"{row['modelled_days']}", f"{row['days']}", "; ".join(row.get("notes") or []) or NONE)
        for name, row in material.by_meter.items()
        if row.get("modelled_days")
    ]
    if not listed:
        return Prose("No day of the reporting period is modelled for want of readings.")
    return grid(
        "Days on which the reporting model stands in for the meter",
        [
            ("meter", "left", 1),
            ("modelled days", "right", 1),
            ("days counted", "right", 1),
            ("note", "left", 4),
        ],
        listed,
        note="Their energy stands apart from the metered in part H; their doubt is in the interval.",
    )


def acceptance(material: Material) -> Block:
    """The acceptance tests of the whole."""
    tests = rows(material.result.get("acceptance") or {}, "tests")
    return grid(
        "Acceptance of the whole",
        [
            ("test", "left", 3.4),
            ("value", "right", 0.8),
            ("limit", "right", 0.8),
            ("met", "left", 0.6),
            ("source", "left", 2.4),
        ],
        [
            (
                str(test["name"]),
                f"{test['value']:.3g}" if test.get("value") is not None else NONE,
                f"{test['limit']:.3g}",
                NONE if test.get("passed") is None else said(bool(test["passed"])),
                str(test["source"]),
            )
            for test in tests
        ],
    )
