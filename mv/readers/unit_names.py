"""Units as files write them: what they measure, and the factor to the unit used inside."""

import re
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Unit:
    """`measures` is energy, power, current, pulses, state, temperature... ; `inside` our unit."""

    name: str
    measures: str
    inside: str
    factor: float = 1.0


def _table() -> dict[str, Unit]:
    rows: list[tuple[str, str, str, float, tuple[str, ...]]] = [
        ("kWh", "energy", "kWh", 1.0, ("kwh", "kwhr", "kwhrs", "kwhs", "kilowatthour", "kilowatthours")),
        ("Wh", "energy", "kWh", 1e-3, ("wh", "whr", "whrs", "watthour", "watthours")),
        ("MWh", "energy", "kWh", 1e3, ("mwh", "mwhr", "megawatthour", "megawatthours")),
        ("MJ", "energy", "kWh", 1 / 3.6, ("mj", "megajoule", "megajoules")),
        ("GJ", "energy", "kWh", 1e3 / 3.6, ("gj", "gigajoule", "gigajoules")),
        ("kJ", "energy", "kWh", 1 / 3600.0, ("kj", "kilojoule", "kilojoules")),
        ("J", "energy", "kWh", 1 / 3.6e6, ("j", "joule", "joules")),
        ("kW", "power", "kW", 1.0, ("kw", "kilowatt", "kilowatts")),
        ("W", "power", "kW", 1e-3, ("w", "watt", "watts")),
        ("MW", "power", "kW", 1e3, ("mw", "megawatt", "megawatts")),
        ("A", "current", "A", 1.0, ("a", "amp", "amps", "ampere", "amperes", "arms", "aac")),
        ("mA", "current", "A", 1e-3, ("ma", "milliamp", "milliamps")),
        ("pulses", "pulses", "pulses", 1.0, ("pulse", "pulses", "impulse", "impulses", "imp")),
        ("kVArh", "reactive energy", "kVArh", 1.0, ("kvarh", "varh", "mvarh", "kvarhr", "kvarhs")),
        ("kVAh", "apparent energy", "kVAh", 1.0, ("kvah", "vah", "mvah")),
        ("kVAr", "reactive power", "kVAr", 1.0, ("kvar", "var", "vars", "kvars")),
        ("kVA", "apparent power", "kVA", 1.0, ("kva", "va", "mva")),
        ("V", "voltage", "V", 1.0, ("v", "volt", "volts", "vac", "kv")),
        ("Hz", "frequency", "Hz", 1.0, ("hz",)),
        ("lux", "light level", "lux", 1.0, ("lux", "lx", "klux", "klx", "footcandle", "footcandles", "fc")),
        ("C", "temperature", "C", 1.0, ("c", "degc", "celsius", "centigrade", "deg_c")),
        ("F", "temperature", "F", 1.0, ("f", "degf", "fahrenheit", "deg_f")),
        ("K", "temperature", "K", 1.0, ("k", "kelvin", "degk")),
        ("%", "share", "%", 0.01, ("%", "pct", "percent")),
        ("gas or water", "other", "", 1.0, ("m3", "m³", "ccf", "therm", "therms", "gal", "l")),
    ]
    return {word: Unit(n, m, i, f) for n, m, i, f, words in rows for word in words}


UNITS = _table()
_BRACKETS = re.compile(r"[\[(<{]([^\])>}]*)[\])>}]")
_SPLIT = re.compile(r"[\s_\-.,:;|]+")
_PER_INTERVAL = re.compile(
    r"\s*(?:/|per|pro|par|por)\s*(?:\d+\s*)?(?:m|min|mins|minute|minutes|h|hr|hour|stunde|heure|hora|int|"
    r"interval|"
    r"quarter|period|half[- ]hour|hh|qh|slot|day|tag|jour|dia)\.?$"
)
_SPELLED = re.compile(r"\b(kilo|mega)?watt[\s\-]*hours?\b", re.IGNORECASE)
_POWER_PER_HOUR = re.compile(
    r"^\s*([km]?w)\s*(?:/|\bper\b|\bpro\b)\s*(?:h|hr|hour|stunde)\s*$", re.IGNORECASE
)
_NUMBERED = re.compile(r"\b(kwh|kw|wh)(\d|tot|total|avg|sum|mean|imp|exp|net)\b", re.IGNORECASE)  # kW1, kWtot
_LETTER_NEEDS = {
    "w": r"pow|watt|load|demand|leistung|puissance|potencia|potenza|vermogen|effekt|^p[_ .]|^w$",
    "a": r"curr|amp|strom|courant|corriente|corrente|stroom|^i[_ .]|^a$",
    "v": r"volt|spann|tension|^u[_ .]|^v$",
    "c": r"temp|bulb|^t[_ .]|drybulb|t_out|^c$",
    "f": r"temp|bulb|^t[_ .]|^f$",
    "k": r"temp|bulb|^k$",
    "l": r"$^",
    "%": r"",
}


def unit_of(text: str) -> Unit | None:
    """The unit a bare token states ("kWh", "Wh per 10 min", "°C"); None where it is none."""
    word = text.strip().strip("\"'").replace("µ", "u").replace("·", "").replace("°", "")
    if word == "mW" or word == "mWh":  # milli, not mega
        measures, inside = ("power", "kW") if word == "mW" else ("energy", "kWh")
        return Unit(word, measures, inside, 1e-6)
    if _POWER_PER_HOUR.match(word):  # a slip for kW or for kWh: which, no one can tell
        return Unit(word.strip(), "power by time", "")
    word = _PER_INTERVAL.sub("", word.casefold()).strip()
    word = re.sub(r"(?<=[a-z])[\s\-*]+(?=h(?:r|rs|ours?)?$)", "", word)
    word = word.replace("kilowatt ", "kilowatt").replace("watt ", "watt").replace("kilowatt-", "kilowatt")
    return UNITS.get(word) or UNITS.get(word.replace(" ", ""))


def unit_in(header: str) -> Unit | None:
    """The unit a column's heading carries ("energy_kWh", "power (W)"); None where it carries none.

    A single letter counts in brackets, or where another word of the heading speaks for it, so that
    "Phase A" is not read as amperes.
    """
    header = _SPELLED.sub(lambda match: f"{match.group(1) or ''}watthour", header)
    for inner in _BRACKETS.findall(header):
        unit = unit_of(inner)
        if unit:
            return unit
        if "/" in inner and not _PER_INTERVAL.search(inner.casefold()):
            return None  # W/m2, kg/kWh: a ratio, not an amount
        unit = _last_unit(inner)
        if unit:
            return unit
    plain = _BRACKETS.sub(" ", header).strip()
    whole = unit_of(plain)
    if whole and (len(plain) > 1 or plain in ("W", "A", "V")):
        return whole
    return _last_unit(plain)


def _last_unit(plain: str) -> Unit | None:
    """The last word of a heading that is a unit."""
    found = None
    for token in [part for part in _SPLIT.split(_camel_apart(plain)) if part]:
        unit = unit_of(token)
        if unit and (len(token) > 1 or _letter_fits(token, plain)):
            found = unit
    return found


def _letter_fits(token: str, heading: str) -> bool:
    need = _LETTER_NEEDS.get(token.casefold())
    return need is not None and re.search(need, heading.casefold()) is not None


def _camel_apart(text: str) -> str:
    text = _NUMBERED.sub(r"\1 \2", text)
    return re.sub(r"(?<=[a-z])(?=[kM]W)|(?<=[a-jl-z])(?=Wh?$)", " ", text)
