"""What the setup page asks beyond the savings: the claim's papers, calls for load drop, samples, queries."""

from dashboards.setup.call_lines import HINT as CALL_HINT
from dashboards.setup.setup_fields import NEW, Field
from mv.study_file.toml_text import Place

DAY = "such as 2024-02-15"
PARTIES = {"owner": "Owner", "contractor": "Contractor", "analyst": "Analyst"}
_CLAIM: Place = ("claim",)
_CALLS: Place = ("demand_response",)
CLAIM = (
    Field(_CLAIM, "programme", "Programme"),
    Field(_CLAIM, "application", "Number of the application"),
    Field(_CLAIM, "strategies", "Control strategies", "texts", "as the programme names them; commas between"),
    Field(_CLAIM, "utility_account", "Account of the utility"),
    Field(_CLAIM, "utility_meter", "Meter of the utility"),
    Field(_CLAIM, "site_address", "Address of the site"),
    *(
        field
        for key, who in PARTIES.items()
        for field in (
            Field(("claim", key), "name", who),
            Field(("claim", key), "contact", f"{who}: how to reach them"),
        )
    ),
    Field(_CLAIM, "due", "Last day for the papers", hint=DAY),
    Field(_CLAIM, "plan_agreed", "Measurement plan agreed on", hint=f"before installation, {DAY}"),
    Field(_CLAIM, "pre_inspection", "Old lighting inspected on", hint=DAY),
    Field(_CLAIM, "install_first", "First day of installation", hint=DAY),
    Field(_CLAIM, "install_last", "Last day of installation", hint=DAY),
    Field(_CLAIM, "commissioned", "Controls commissioned on", hint=DAY),
    Field(_CLAIM, "option", "Measurement option of the plan", offered=("A", "B", "C", "D")),
    Field(_CLAIM, "sampling", "What is metered, and why", "words", "frame and selection, or why all is"),
    Field(_CLAIM, "existing_equipment", "How the old lighting was evidenced", "words"),
    Field(_CLAIM, "rounding", "Rounding that the programme asks for"),
)
DEMAND_RESPONSE = (
    Field(_CALLS, "events", "Calls", "calls", CALL_HINT),
    Field(_CALLS, "days_back", "Eligible days that the baseline looks at", "number", "10 unless stated"),
    Field(_CALLS, "days_kept", "Of these, the highest that count", "number", "5 unless stated"),
    Field(_CALLS, "adjustment_hours", "Hours before a call that move it", "number", "0: it is not moved"),
    Field(_CALLS, "adjustment_gap_hours", "Hours between these and the call", "number"),
    Field(_CALLS, "adjustment_cap", "Largest move", "number", "0 to 1; 0.2 unless stated"),
    Field(_CALLS, "source", "Where the programme's rule is written"),
)


def query_fields(number: int | str) -> tuple[Field, ...]:
    """A meter whose readings stand in a database."""
    at: Place = ("meter", number, "query")
    variable = "name of the environment variable that holds its address; never the address itself"
    return (
        Field(at, "database", "Database", hint=variable),
        Field(at, "sql", "Query", "words", "one SELECT of the time and the value; in place of files"),
    )


def population_fields(number: int | str) -> tuple[Field, ...]:
    """Loggers that stand for places which were not logged."""
    at: Place = ("population", number)
    name = (Field(at, "id", "Name of the group"),) if number == NEW else ()
    return (
        *name,
        Field(at, "meters", "Its loggers", "texts", "names of meters; commas between"),
        Field(at, "places", "Places in the group", "number", "logged and not logged"),
        Field(at, "connected_kw", "Connected load of the group before, kW", "number", "all its places"),
        Field(at, "logged_kw", "Connected load of each logged place, kW", "amounts", "in the loggers' order"),
    )
