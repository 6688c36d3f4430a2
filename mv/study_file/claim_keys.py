"""What each key of [claim] means, with an example; see `study_keys`."""

_DAY = '"2024-02-15"'

CLAIM_KEYS: dict[str, dict[str, tuple[str, str]]] = {
    "claim": {
        "programme": ('"Commercial lighting programme"', "name of the programme"),
        "application": ('"A-1043"', "number of the application"),
        "utility_account": ('"0012-334"', "account of the utility"),
        "utility_meter": ('"E-5521"', "meter of the utility"),
        "site_address": ('"1 Example Road"', "where the lamps hang"),
        "due": ('"2025-05-31"', "the programme's last day for the papers"),
        "plan_agreed": ('"2022-12-01"', "when the measurement plan was agreed, before installation"),
        "pre_inspection": ('"2022-12-05"', "when the old lighting was inspected"),
        "install_first": ('"2024-01-08"', "first day of installation"),
        "install_last": (_DAY, "last day of installation"),
        "commissioned": ('"2024-02-20"', "when the controls were commissioned"),
        "option": ('"B"', "measurement option A, B, C or D of the plan"),
        "sampling": ('"every lighting circuit is metered"', "frame and selection, or why all is measured"),
        "existing_equipment": ('"photographs and pre-inspection"', "how the old lighting was evidenced"),
        "rounding": ('"whole kWh, tenths of a kW"', "rounding that the programme asks for"),
        "strategies": (
            '["occupancy sensing", "daylight dimming"]',
            "control strategies as the programme names them; default: told from what was agreed at hand-over",
        ),
        "owner": ('{ name = "the owner", contact = "front desk" }', "who owns the site"),
        "contractor": ('{ name = "the contractor" }', "who installed"),
        "analyst": ('{ name = "the analyst" }', "who verified"),
        "instrument": ('[{ meter = "LP-1" }]', "what measured at each meter's point"),
        "controls": ('[{ zone = "workshop" }]', "how each zone is meant to run"),
        "attachment": ('[{ kind = "invoice", file = "papers/invoice.pdf" }]', "files that go with the claim"),
    },
    "claim.owner": {
        "name": ('"the owner"', "person or firm"),
        "contact": ('"front desk"', "how to reach them"),
    },
    "claim.instrument": {
        "meter": ('"LP-1"', "id of the meter"),
        "kind": ('"interval meter with current transformers"', "what it is"),
        "range": ('"100 A"', "its range"),
        "accuracy": ('"class 0.5 S"', "in words; the number that counts stands under [[meter]]"),
        "calibrated": (_DAY, "date of calibration"),
        "clock_set_by": ('"network time"', "what its clock was set by"),
        "installed": (_DAY, "when it was fitted, by licensed hands"),
        "removed": ('"2025-03-03"', "when it was taken out"),
    },
    "claim.controls": {
        "zone": ('"workshop"', "id of the zone"),
        "sequence": ('"off by schedule, low level when vacant"', "sequence of operation"),
        "control_before": ('"wall switches"', "control before"),
        "control_after": ('"networked, a sensor a fixture"', "control after"),
        "devices": ('"12 sensors, 1 controller"', "counts of devices"),
        "tested": (_DAY, "when it was tested"),
        "signed_by": ('"the commissioning agent"', "who signed"),
        "watts_source": ('"specification sheet"', "measured, specification sheet or programme table"),
    },
    "claim.attachment": {
        "kind": ('"invoice"', "what it is; the error message lists the kinds"),
        "file": ('"papers/invoice.pdf"', "relative to study.toml"),
        "note": ('"material and labour apart"', "a word on it"),
    },
}
