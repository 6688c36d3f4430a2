"""What each key of study.toml means, with its unit and an example; `study_reference` prints it.

By table, as the keys stand in the study's records: a test holds that none is missing and that each
example is one that the records take.
"""

from mv.study_file.claim_keys import CLAIM_KEYS

Keys = dict[str, tuple[str, str]]

_TIME_KEYS: Keys = {
    "time_column": ('"timestamp"', "name of the column of times, where it is not plain"),
    "value_column": ('"kWh"', "name of the column of values, where it is not plain"),
    "clock": ('"site"', "what the times are in: site, UTC, a fixed offset such as -06:00, or an IANA zone"),
    "stamp": ('"start"', "whether a time names the start or the end of its interval"),
    "date_order": ('"day first"', "how dates such as 03/04/2024 are meant: day, month or year first"),
}
_PRICE_PERIOD: Keys = {
    "name": ('"winter peak"', "a name of your own"),
    "months": ("[12, 1, 2]", "months of the year; every one where not given"),
    "hours": ("[16, 21]", "local clock, first included, last not; [22, 6] runs past midnight"),
    "weekdays_only": ("true", "true leaves out weekends and holidays"),
}
_SOURCE: Keys = {
    "source": ('"tariff sheet, 1 March 2024"', "where these figures stand; the report prints it")
}

KEYS: dict[str, Keys] = {
    "": {
        "format": ("1", "the form of this file; always 1"),
    },
    "study": {
        "title": ('"Depot lighting, first year"', "heads every page"),
        "confidence": ("0.90", "two-sided, of every interval; 0.5 to 0.999"),
    },
    "site": {
        "name": ('"North depot"', "the site"),
        "latitude": ("44.52", "degrees, north positive; the sun is worked out from it"),
        "longitude": ("-89.57", "degrees, east positive"),
        "timezone": ('"America/Chicago"', "IANA time zone of the site's wall clock"),
    },
    "periods": {
        "baseline": (
            '["2023-01-01", "2023-12-31"]',
            "first and last local date before, both included",
        ),
        "reporting": (
            '["2024-03-01", "2025-02-28"]',
            "the time after; what lies between is the installation",
        ),
    },
    "meter": {
        "id": ('"LP-1"', "a name of your own, used once"),
        "files": ('["meters/LP-1*.csv"]', "relative to study.toml; globs, .gz and .zip too"),
        "measures": ('"lighting"', "lighting, or whole building (needs [weather] to be of use)"),
        "quantity": ('"energy"', "energy, power, register, current, on-off or pulses"),
        "unit": ('"kWh"', "unit of the values"),
        "decimal_mark": ('","', "point or comma, where numbers such as 1,234 leave it open"),
        "channel": ('"2"', "which register or circuit of a file that holds several"),
        "interval_minutes": ("15", "minutes between readings, where the file leaves it open"),
        "multiplier": ("80.0", "what the values are multiplied by, such as a transformer ratio"),
        "volts": ("120.0", "of current: volts between the conductors of one phase circuit"),
        "power_factor": ("0.95", "of current: above 0, at most 1"),
        "phases": ("1", "of current: 1 or 3"),
        "kwh_per_pulse": ("0.01", "of pulses: kWh each"),
        "accuracy": (
            "0.005",
            "fraction of reading, two-sided at the study's confidence, in every interval; else 0.01",
        ),
        "accuracy_source": ('"class 0.5 S certificate"', "where the accuracy stands"),
        "model": (
            '"daily"',
            "resolution of the model: hourly, daily, weekly, monthly or bills; else told from the data",
        ),
        "zones": ('["workshop"]', "ids of the zones that the meter feeds"),
        **_TIME_KEYS,
    },
    "meter.query": {
        "database": ('"METERING_DATABASE"', "the environment variable that holds the database's address"),
        "sql": ('"SELECT time, kwh FROM readings"', "one SELECT that gives the time and the value"),
    },
    "occupancy": {
        "files": ('["occupancy.csv"]', "fractions, counts or motion changes, at any interval"),
        "measures": ('"count"', "fraction, count or motion"),
        "holidays": ('["2024-07-04"]', "dates treated as closed"),
        "hours": (
            '{ mon-fri = "06:30-22:00", sat = "07:00-13:00" }',
            "opening hours; days left out are closed",
        ),
        **_TIME_KEYS,
    },
    "weather": {
        "files": (
            '["weather.csv"]',
            "outdoor dry-bulb temperature; needed for whole buildings and hottest days",
        ),
        "unit": ('"C"', "C, F or K"),
        **_TIME_KEYS,
    },
    "predicted": {
        "annual_kwh": ("182000", "promised saving, kWh a year; goes before the inventory's sum"),
        "peak_kw": ("41.0", "promised reduction in the peak window, kW"),
        "inventory": ('"inventory.csv"', "one row a space; its columns are at the end of this page"),
    },
    "zone": {
        "id": ('"workshop"', "a name of your own, used once"),
        "meter": ('"LP-1"', "the meter that feeds it; or name the zone under the meter"),
        "fixtures": ("64", "how many are installed"),
        "watts_before": ("175.0", "input watts of one fixture before"),
        "watts_after": ("72.0", "input watts of one fixture after, fully on"),
        "place": ('"indoor"', "indoor or outdoor; else told from the meter where unmistakable"),
        "motion": ('["motion-workshop.csv"]', "log of motion: time, 1 where it starts and 0 where it ends"),
        "motion_clock": ('"UTC"', "what the log's times are in, as a meter's clock"),
        "hours": ('{ mon-sun = "00:00-24:00" }', "opening hours of this zone; else the site's"),
    },
    "zone.commissioned": {
        "high_trim": ("0.80", "agreed full-on level, fraction of connected load"),
        "low_level": ("0.20", "agreed level when vacant in opening hours, fraction; 0 is off"),
        "hold_minutes": ("10", "agreed delay after the last motion, minutes"),
        "daylight_dimming": ("true", "whether daylight dims the lamps"),
        "scheduled_off": ("true", "whether lamps are off outside opening hours when vacant"),
        "standby_watts": ("0.3", "W of one fixture with its lamps off"),
    },
    "population": {
        "id": ('"corridors"', "a usage group: places of the same use and control"),
        "meters": ('["L-1", "L-2", "L-3"]', "the loggers drawn at random in it"),
        "places": ("24", "how many places the group has, logged ones included"),
        "connected_kw": ("38.4", "connected load of the whole group before, kW"),
        "logged_kw": (
            "[1.6, 1.5, 1.7]",
            "that of each logger's place, in the order of meters; else from its zones",
        ),
    },
    "peak": {
        "months": ("[6, 7, 8]", "months of the window, 1 to 12"),
        "hours": ("[14, 18]", "local clock, first included, last not"),
        "also_hours": ("[[7, 9]]", "further windows of the same days"),
        "hour_labels": (
            '"starting"',
            "how the programme names hours; ending makes [15, 18] mean 14:00 to 18:00",
        ),
        "weekdays_only": ("true", "Monday to Friday"),
        "holidays_excluded": ("true", "leave out holidays"),
        "holidays": ('["2024-06-19"]', "the programme's own; else those under [occupancy]"),
        "rule": ('"every day"', "every day (mean over all), hottest days (needs [weather]), single hour"),
        "days": ("3", "of hottest days: how many"),
        "consecutive": ("true", "of hottest days: in a row, as one heat wave"),
        "at": ("[2024-07-16T17:00:00]", "of single hour: the local hours themselves, by their start"),
        **_SOURCE,
    },
    "tariff": {
        "currency": ('"USD"', "of every amount"),
        "energy_per_kwh": (
            "0.14",
            "marginal price, what one kWh less takes off the bill; or a list of periods",
        ),
        "blended_per_kwh": ("0.19", "the whole bill over its kWh; shown beside, never counted"),
        "demand_per_kw_month": ("9.5", "price of the month's highest kW; or a list by months"),
        "demand_ratchet_fraction": (
            "0.8",
            "share of earlier highest kW below which the billed one does not fall",
        ),
        "demand_ratchet_months": ("11", "how many months back the ratchet looks"),
        "demand_interval_minutes": ("15", "minutes over which the highest kW is a mean"),
        "demand_coincidence": (
            "0.7",
            "share of the lighting's own reduction that falls at the building's billing peak",
        ),
        **_SOURCE,
    },
    "tariff.energy_per_kwh": {
        **_PRICE_PERIOD,
        "per_kwh": ("0.21", "price; the first period that matches an hour counts"),
    },
    "tariff.demand_per_kw_month": {
        "per_kw_month": ("14.0", "price of a kW"),
        "months": ("[6, 7, 8, 9]", "months in which it holds"),
    },
    "incentive": {
        "per_kwh": ("0.12", "paid for each verified kWh a year"),
        "per_kw": ("150", "paid for each verified kW in the peak window"),
        "tier": ('"networked"', "which of the tiers applies: yours to state"),
        "tiers": ('[{ name = "networked", per_kwh = 0.20 }]', "rates by what the control system can do"),
        "cap_fraction_of_cost": ("0.5", "most that is paid, as a fraction of project_cost"),
        "cap_amount": ("40000", "most that is paid, as an amount"),
        "project_cost": ("96000", "cost of the project; the payback is worked out from it"),
        **_SOURCE,
    },
    "incentive.tiers": {
        "name": ('"room"', "a name of your own, such as basic, room, networked"),
        "per_kwh": ("0.20", "goes before the rate under [incentive]"),
        "per_kw": ("180", "goes before the rate under [incentive]"),
        **_SOURCE,
    },
    "guarantee": {
        "annual_kwh": ("170000", "guaranteed saving, kWh a year"),
        "annual_amount": ("21000", "or as money a year, set against the bill saving"),
        "price_per_kwh": ("0.11", "agreed price of a missing kWh; else the marginal one"),
        **_SOURCE,
    },
    "carbon": {
        "kg_per_kwh": ("0.37", "kg CO2e of a kWh from the grid, an annual factor; or a list of periods"),
        **_SOURCE,
    },
    "carbon.kg_per_kwh": {
        **_PRICE_PERIOD,
        "kg_per_kwh": ("0.45", "factor; the first period that matches an hour counts"),
    },
    "demand_response": {
        "events": ("[{ first = 2024-07-16T15:00:00, last = 2024-07-16T18:00:00 }]", "the calls"),
        "days_back": ("10", "eligible weekdays before a call that the baseline looks at"),
        "days_kept": ("5", "of these, the highest that its mean is taken of"),
        "adjustment_hours": ("2", "hours before the call by whose load the baseline is moved; 0: not moved"),
        "adjustment_gap_hours": ("1", "hours between these and the call"),
        "adjustment_cap": ("0.2", "largest move, fraction"),
        **_SOURCE,
    },
    "demand_response.events": {
        "first": ("2024-07-16T15:00:00", "begin, local clock"),
        "last": ("2024-07-16T18:00:00", "end, local clock, not included"),
    },
    "event": {
        "first": ('"2024-09-02"', "first local date"),
        "last": ('"2024-09-13"', "last local date, included"),
        "treatment": ('"set aside"', "set aside (both sides), model (sized and taken out), note only"),
        "reason": ('"roof works, workshop closed"', "what happened, and the evidence for it"),
        "meters": ('["LP-1"]', "the meters concerned; else all"),
    },
    **CLAIM_KEYS,
}

ABOUT = {
    "": "The file begins with its format.",
    "study": "The study as a whole.",
    "site": "Where it is.",
    "periods": "Before and after.",
    "meter": "One a meter. What is left out is inferred where the file is plain, refused where it is not.",
    "meter.query": "In place of files: the readings stand in a database.",
    "occupancy": "When people are there.",
    "weather": "Outdoor temperature.",
    "predicted": "What was promised: the two numbers, the inventory, or both.",
    "zone": "One a zone: lamps of one use and one control.",
    "zone.commissioned": "What was agreed at hand-over; only what is stated is judged.",
    "population": "One a usage group whose loggers stand for places not logged.",
    "peak": "The programme's own definition of its peak window.",
    "tariff": "Prices, all yours.",
    "tariff.energy_per_kwh": "One a period of a time-of-use price, in place of the single number.",
    "tariff.demand_per_kw_month": "One a season of the demand price, in place of the single number.",
    "incentive": "What the programme pays.",
    "incentive.tiers": "One a tier.",
    "guarantee": "What a contractor promised to make good.",
    "carbon": "Emissions spared.",
    "carbon.kg_per_kwh": "One a period, in place of the annual factor.",
    "demand_response": "Calls, and the programme's baseline rule; defaults are common practice, no source.",
    "demand_response.events": "One a call.",
    "event": "One a non-routine event.",
    "claim": "What a programme asks of a claim beyond the measured numbers; nothing here enters one.",
    "claim.owner": "A party: likewise [claim.contractor] and [claim.analyst].",
    "claim.instrument": "One an instrument.",
    "claim.controls": "One a zone: how it is meant to run.",
    "claim.attachment": "One a file that goes with the claim.",
}
