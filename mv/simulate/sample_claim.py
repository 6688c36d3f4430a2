"""The claim of the sample study: papers, instruments and people's parts. All invented; roles, no names.

It is left incomplete on purpose, as a claim is at its first draft: the completeness check has work to show.
"""

from collections.abc import Mapping

from mv.simulate.study_text import Table

COST_OF_MATERIAL, COST_OF_LABOUR = 61_500, 34_500  # together the project's cost
_ADDRESS = "1 Larkmoor Lane, an invented place"
_INVENTED = "INVENTED PAPER of an invented site, so that the sample shows where papers go.\n\n"

PAPERS: Mapping[str, str] = {
    "papers/measurement-plan.txt": """\
Measurement plan, agreed on 2022-11-14, before the installation.
Option B: every lighting circuit of the retrofit is metered, before and after.
Baseline 2023; reporting one year from the month after commissioning.
Adjusted for opening hours, people on site and daylight; non-routine events are listed with evidence.
Wanted: 10 % at 90 % confidence, on the year's avoided energy.
""",
    "papers/circuit-map.txt": """\
Panel LP, circuit by circuit
LP-1 workshop   LP-2 aisles   LP-3 offices   LP-4 hall   LP-5 stairs and corridor   LP-6 perimeter poles
Egress luminaires on the stairs are fed by LP-5 and burn at all times.
Nothing but lighting is on these circuits.
""",
    "papers/calibration-records.txt": """\
Calibration of the six meters, 2022-11-21, at a load of 5, 50 and 100 %.
Largest error found: 0.7 % of reading (LP-3). Class 1 is kept.
""",
    "papers/commissioning-report.txt": """\
Commissioning, 2024-02-23. Settings as in study.toml under [zone.commissioned].
workshop, aisles, offices, hall, perimeter: tested and signed for by the commissioning technician.
stairs: settings entered, not yet tested; to be visited again.
Egress luminaires were left at full output everywhere.
""",
    "papers/specification-sheets.txt": """\
Input power of one fixture, W: workshop 118, aisles 92, offices 38, hall 168, stairs 24, perimeter 98.
Standby of the control gear, W: 0.3, 0.4, 0.5, 0.6, 0.4, 0.5.
""",
    "papers/invoice.txt": f"""\
Fixtures, sensors and controllers (material)   {COST_OF_MATERIAL} USD
Removal, installation, commissioning (labour)  {COST_OF_LABOUR} USD
Total                                          {COST_OF_MATERIAL + COST_OF_LABOUR} USD
""",
    "papers/removal-record.txt": """\
275 old fixtures taken down between 2024-01-08 and 2024-02-16; lamps that hold mercury went to a recycler.
""",
}
_KINDS = {
    "measurement plan": "papers/measurement-plan.txt",
    "circuit map": "papers/circuit-map.txt",
    "calibration record": "papers/calibration-records.txt",
    "commissioning report": "papers/commissioning-report.txt",
    "specification sheet": "papers/specification-sheets.txt",
    "invoice": "papers/invoice.txt",
    "disposal record": "papers/removal-record.txt",
}
_RANGES = {"LP-1": 32, "LP-2": 16, "LP-3": 12, "LP-4": 24, "LP-5": 6, "LP-6": 12}  # kW
_DEVICES = {
    "workshop": "8 motion sensors, 2 daylight sensors, 1 zone controller",
    "aisles": "12 motion sensors, 1 zone controller",
    "offices": "14 motion sensors, 6 daylight sensors, 1 zone controller",
    "hall": "6 motion sensors, 1 zone controller",
    "stairs": "9 motion sensors",
    "perimeter": "1 clock that follows the sun",
}
_SEQUENCES = {
    "workshop": "On by motion to the trimmed level, less with daylight; 20 % ten minutes after the last "
    "motion; off outside opening hours when vacant.",
    "aisles": "On by motion to the trimmed level; 10 % five minutes after the last motion; off outside "
    "opening hours when vacant.",
    "offices": "On by motion to the trimmed level, less with daylight in the window row; off ten minutes "
    "after the last motion.",
    "hall": "On by motion to the trimmed level; 30 % fifteen minutes after the last motion; off outside "
    "opening hours when vacant.",
    "stairs": "On by motion to the trimmed level; 25 % five minutes after the last motion. Egress luminaires "
    "burn at all times and are not dimmed.",
    "perimeter": "On from dusk to dawn by the sun's position; dimmed in the second part of the night.",
}
_BEFORE = {"offices": "wall switches", "stairs": "none, always on", "perimeter": "photocell"}
_UNTESTED = ("stairs",)


def sample_claim() -> Table:
    """[claim] of the sample's study.toml, its tables in the order in which they are written."""
    return {
        "programme": "Custom lighting programme (invented)",
        "application": "invented-0147",
        "utility_account": "invented-417-220",
        "utility_meter": "invented-88-2201",
        "site_address": _ADDRESS,
        "plan_agreed": "2022-11-14",
        "pre_inspection": "2022-11-29",
        "install_first": "2024-01-08",
        "install_last": "2024-02-16",
        "commissioned": "2024-02-23",
        "option": "B",
        "sampling": "Every lighting circuit of the retrofit is metered in both periods; nothing is sampled.",
        "existing_equipment": "Counted room by room at the pre-inspection, with the wattage read from each "
        "kind of ballast and tube; all of it burnt.",
        "rounding": "whole kWh and USD, tenths of a kW (invented rule)",
        "owner": {"name": "the owner's energy manager", "contact": "energy@larkmoor.example"},
        "contractor": {"name": "the lighting contractor", "contact": "projects@contractor.example"},
        "analyst": {"name": "the measurement analyst", "contact": "analyst@verifier.example"},
        "instrument": [_instrument(meter, kilowatts) for meter, kilowatts in _RANGES.items()],
        "controls": [_control(zone) for zone in _SEQUENCES],
        "attachment": [{"kind": kind, "file": file, "note": "invented"} for kind, file in _KINDS.items()],
    }


def sample_papers() -> dict[str, str]:
    """File name and text of every paper that the claim attaches."""
    return {name: f"{_INVENTED}{text}" for name, text in PAPERS.items()}


def _instrument(meter: str, kilowatts: int) -> Table:
    return {
        "meter": meter,
        "kind": "panel energy meter with split-core current transformers",
        "range": f"0 to {kilowatts} kW",
        "accuracy": "class 1 (±1 % of reading)",
        "calibrated": "2022-11-21",
        "clock_set_by": "network time",
        "installed": "2022-12-05",
    }


def _control(zone: str) -> Table:
    after = "clock that follows the sun" if zone == "perimeter" else "motion, trim, schedule"
    after += ", daylight" if zone in ("workshop", "offices") else ""
    table: dict[str, object] = {
        "zone": zone,
        "sequence": _SEQUENCES[zone],
        "control_before": _BEFORE.get(zone, "switches at the panel"),
        "control_after": after,
        "devices": _DEVICES[zone],
        "watts_source": "specification sheet",
    }
    if zone not in _UNTESTED:
        table |= {"tested": "2024-02-22", "signed_by": "the contractor's commissioning technician"}
    return table
