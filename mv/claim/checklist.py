"""Contents and completeness: what programmes ask for, what is there, and whose task the rest is."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from mv.base.claim_records import AttachmentKind
from mv.base.document import Block, Prose, grid
from mv.base.result_parts import estimate, part, rows
from mv.claim.material import Material

Who = Literal["analyst", "contractor", "owner", "programme"]
State = Literal["there", "partly", "missing"]
PART_NAMES = {
    "A": "identity",
    "B": "scope",
    "C": "controls",
    "D": "measurement",
    "E": "data quality",
    "F": "models",
    "G": "adjustments",
    "H": "results",
    "I": "money",
    "J": "attachments",
}


@dataclass(frozen=True, slots=True)
class Item:
    """One thing asked for. `todo` says what is still to be done; empty where it is there."""

    part: str
    what: str
    state: State
    who: Who
    todo: str


def checklist(material: Material) -> tuple[Item, ...]:
    """Every item of parts A to J. Only what can be seen counts as there."""
    return tuple(item for make in _PARTS for item in make(material))


def missing(items: Sequence[Item]) -> tuple[Item, ...]:
    """Those that are not wholly there."""
    return tuple(item for item in items if item.state != "there")


def checklist_blocks(material: Material) -> tuple[Block, ...]:
    """The report's contents and completeness check."""
    items = checklist(material)
    open_items = missing(items)
    words = (
        f"Of {len(items)} things that programmes commonly ask for, {len(items) - len(open_items)} are in "
        f"this package; {len(open_items)} are not, or only in part. A programme's own list goes before it."
    )
    table = grid(
        "What is asked for, what is here, and whose task the rest is",
        [
            ("part", "left", 0.4),
            ("asked for", "left", 2.6),
            ("here", "left", 0.7),
            ("whose task", "left", 0.9),
            ("to do", "left", 3),
        ],
        [(i.part, i.what, i.state, i.who if i.todo else "", i.todo) for i in items],
    )
    return Prose(words), table


def _one(letter: str, what: str, there: object, who: Who, todo: str) -> Item:
    state: State = "there" if there else "missing"
    return Item(letter, what, state, who, "" if there else todo)


def _some(letter: str, what: str, done: int, of: int, who: Who, todo: str) -> Item:
    if of and done >= of:
        return Item(letter, what, "there", who, "")
    told = f" ({done} of {of})" if of else ""
    return Item(letter, what, "partly" if done else "missing", who, f"{todo}{told}")


def _identity(material: Material) -> list[Item]:
    claim = material.claim
    dates = (claim.pre_inspection, claim.install_first, claim.install_last, claim.commissioned)
    people = (claim.owner, claim.contractor, claim.analyst)
    return [
        _one(
            "A",
            "programme and application number",
            claim.programme and claim.application,
            "contractor",
            "State [claim] programme, application.",
        ),
        _one(
            "A",
            "utility account and meter number",
            claim.utility_account and claim.utility_meter,
            "owner",
            "State [claim] utility_account, utility_meter.",
        ),
        _one("A", "site address", claim.site_address, "owner", "State [claim] site_address."),
        _some(
            "A",
            "owner, contractor and analyst, with contacts",
            sum(bool(p and p.contact) for p in people),
            3,
            "contractor",
            "State [claim.owner], [claim.contractor], [claim.analyst]",
        ),
        _some(
            "A",
            "dates of pre-inspection, installation and commissioning",
            sum(bool(d) for d in dates),
            4,
            "contractor",
            "State [claim] pre_inspection, install_first, install_last, commissioned",
        ),
        _one("A", "periods of measurement", material.study.periods, "analyst", "State [periods]."),
        _one(
            "A",
            "plan agreed before installation",
            claim.plan_agreed,
            "programme",
            "Ask for the date; state [claim] plan_agreed.",
        ),
        _one("A", "last day for the papers", claim.due, "programme", "Ask for it; state [claim] due."),
    ]


def _scope(material: Material) -> list[Item]:
    zones = material.study.zone
    described = sum(
        z.fixtures is not None and z.watts_before is not None and z.watts_after is not None for z in zones
    )
    sources = {entry.zone for entry in material.claim.controls if entry.watts_source}
    types = {e.zone for e in material.claim.controls if e.control_before and e.control_after}
    return [
        _one(
            "B",
            "area-by-area inventory before and after",
            material.spaces,
            "contractor",
            "Add inventory.csv, one row a space.",
        ),
        _some(
            "B",
            "counts and input watts of each zone",
            described,
            len(zones),
            "contractor",
            "State fixtures, watts_before and watts_after of each zone",
        ),
        _some(
            "B",
            "where the watts come from",
            len(sources),
            len(zones),
            "contractor",
            "State watts_source for each zone under [[claim.controls]]",
        ),
        _some(
            "B",
            "control type before and after",
            len(types),
            len(zones),
            "contractor",
            "State control_before and control_after under [[claim.controls]]",
        ),
        _one(
            "B",
            "proof of the old equipment",
            material.claim.existing_equipment or _attached(material, "photograph before"),
            "contractor",
            "Describe it under existing_equipment, or attach photographs from before.",
        ),
    ]


def _controls(material: Material) -> list[Item]:
    zones = material.study.zone
    agreed = sum(any(v is not None for v in zone.commissioned.model_dump().values()) for zone in zones)
    records = material.claim.controls
    where = "under [[claim.controls]]"
    return [
        _some(
            "C",
            "settings as commissioned",
            agreed,
            len(zones),
            "contractor",
            "State them under [zone.commissioned]",
        ),
        _some(
            "C",
            "sequence of operation",
            sum(bool(r.sequence) for r in records),
            len(zones),
            "contractor",
            f"State sequence {where}",
        ),
        _some(
            "C",
            "device counts",
            sum(bool(r.devices) for r in records),
            len(zones),
            "contractor",
            f"State devices {where}",
        ),
        _some(
            "C",
            "test record, and who signed",
            sum(bool(r.tested and r.signed_by) for r in records),
            len(zones),
            "contractor",
            f"State tested and signed_by {where}",
        ),
    ]


def _measurement(material: Material) -> list[Item]:
    meters, tools = material.study.meter, material.claim.instrument
    described = sum(bool(tool.kind and tool.accuracy) for tool in tools)
    calibrated = sum(bool(tool.calibrated) for tool in tools)
    dated = sum(bool(tool.installed) for tool in tools)
    inferred = sum(bool(row.get("inferred")) for row in rows(material.result, "cleaning"))
    where = "under [[claim.instrument]]"
    return [
        _one(
            "D",
            "measurement option",
            material.claim.option,
            "analyst",
            'State option = "A" to "D" under [claim].',
        ),
        _some("D", "points, intervals, clocks", inferred, len(meters), "analyst", "Read every meter's file"),
        _some(
            "D",
            "instruments: kind and accuracy",
            described,
            len(meters),
            "analyst",
            f"State kind, accuracy {where}",
        ),
        _some("D", "calibration dates", calibrated, len(meters), "analyst", f"State calibrated {where}"),
        _some(
            "D",
            "dates of installation and removal",
            dated,
            len(meters),
            "analyst",
            f"State installed {where}",
        ),
        _one(
            "D",
            "circuit map",
            _attached(material, "circuit map"),
            "contractor",
            'Attach it, kind "circuit map".',
        ),
        _one(
            "D",
            "sampling frame and selection, or that all is measured",
            material.claim.sampling or meters,
            "analyst",
            "State sampling under [claim].",
        ),
    ]


def _quality(material: Material) -> list[Item]:
    cleaning, inputs = rows(material.result, "cleaning"), rows(material.result, "inputs")
    covered = sum(row.get("coverage_reporting") is not None for row in cleaning)
    return [
        _some(
            "E",
            "coverage, gaps and exclusions with reasons",
            covered,
            len(cleaning),
            "analyst",
            "Read every meter",
        ),
        _one("E", "raw files with fingerprints", inputs, "analyst", "Verify the study again."),
    ]


def _models(material: Material) -> list[Item]:
    meters = len(material.study.meter)
    return [
        _some(
            "F",
            f"{period} model with statistics and residuals",
            len(material.models(period)),
            meters,
            "analyst",
            "Some meters have no model; see what cannot be said",
        )
        for period in ("baseline", "reporting")
    ]


def _adjustments(material: Material) -> list[Item]:
    events = material.study.event
    return [
        _one(
            "G",
            "routine adjustments month by month",
            rows(material.result, "savings", "monthly"),
            "analyst",
            "No month has an expected energy; see what cannot be said.",
        ),
        _one(
            "G",
            "non-routine events with dates, evidence and author",
            not events or material.claim.analyst,
            "analyst",
            "Name the analyst under [claim], who answers for the events.",
        ),
    ]


def _results(material: Material) -> list[Item]:
    result = material.result
    predicted = part(result, "predicted", "annual_kwh")
    bridge = rows(result, "bridge", "predicted_to_verified")
    return [
        _one(
            "H",
            "annual kWh with its interval",
            estimate(result, "savings", "normalised_annual_kwh"),
            "analyst",
            "It cannot be told; see what cannot be said.",
        ),
        _one(
            "H",
            "peak kW by the programme's own window",
            estimate(result, "savings", "peak_kw"),
            "analyst",
            "State [peak], or see what cannot be said.",
        ),
        _one(
            "H",
            "source of the peak definition",
            material.study.peak and material.study.peak.source,
            "programme",
            "Ask for it and state source under [peak].",
        ),
        _one(
            "H",
            "realisation rate and its reasons",
            predicted is not None and bridge,
            "analyst",
            "State the predicted kWh under [predicted].",
        ),
        _one(
            "H",
            "rounding rule",
            material.claim.rounding,
            "programme",
            "Ask for the rule; state [claim] rounding. Here numbers follow their interval.",
        ),
    ]


def _money(material: Material) -> list[Item]:
    incentive = material.study.incentive
    rate = incentive.per_kwh is not None or incentive.per_kw is not None or incentive.tiers
    return [
        _one("I", "incentive basis", rate, "programme", "State the rates under [incentive]."),
        _one(
            "I",
            "source of rates and prices",
            incentive.source and material.study.tariff.source,
            "owner",
            "State source under [tariff] and [incentive].",
        ),
        _one(
            "I", "project cost", incentive.project_cost, "contractor", "State project_cost under [incentive]."
        ),
        _one(
            "I",
            "payback before and after the incentive",
            part(material.result, "money", "simple_payback"),
            "analyst",
            "Needs prices and the project's cost.",
        ),
    ]


PAPERS: tuple[tuple[AttachmentKind, str, Who], ...] = (
    ("invoice", "invoices, material and labour apart", "contractor"),
    ("specification sheet", "specification sheets", "contractor"),
    ("product list", "evidence that products are on the programme's list", "contractor"),
    ("photograph before", "photographs before", "contractor"),
    ("photograph after", "photographs after", "contractor"),
    ("disposal record", "record of removal and disposal", "contractor"),
    ("permit", "permits", "contractor"),
    ("commissioning report", "commissioning report", "contractor"),
    ("tax form", "tax form", "owner"),
    ("completion certificate", "signed completion certificate", "owner"),
)


def _papers(material: Material) -> list[Item]:
    return [
        _one("J", what, _attached(material, kind), who, f'Attach it: [[claim.attachment]] kind = "{kind}".')
        for kind, what, who in PAPERS
    ]


def _attached(material: Material, kind: AttachmentKind) -> bool:
    return any(a.kind == kind and a.file not in material.absent for a in material.claim.attachment)


_PARTS: tuple[Callable[[Material], list[Item]], ...] = (
    _identity,
    _scope,
    _controls,
    _measurement,
    _quality,
    _models,
    _adjustments,
    _results,
    _money,
    _papers,
)
