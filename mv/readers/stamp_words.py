"""Month names, days of the week and the letters of time zones, as stamps write them."""

_MONTHS = {
    1: "jan january janvier janv januar januari enero ene gennaio gen janeiro jaenner",
    2: "feb february fevrier fev fevr februar februari febrero febbraio fevereiro",
    3: "mar march mars marz maerz mrt maart marzo marco mrz",
    4: "apr april avril avr abril abr aprile",
    5: "may mai mei mayo maggio mag maj maio",
    6: "jun june juin juni junio giugno giu junho",
    7: "jul july juillet juil juli julio luglio lug julho",
    8: "aug august aout augustus agosto ago agustus",
    9: "sep september sept septembre septiembre settembre set setembro",
    10: "oct october octobre oktober okt octubre ottobre ott outubro out",
    11: "nov november novembre noviembre novembro",
    12: "dec december decembre dezember dez dic diciembre dicembre desember des dezembro",
}


MONTHS = {word: number for number, words in _MONTHS.items() for word in words.split()}


ZONES = {"z": 0, "utc": 0, "gmt": 0, "ut": 0, "wet": 0}


ABBREVIATIONS = {  # hours east; only those whose meaning is not shared by two regions' civil time
    "est": -5, "edt": -4, "cdt": -5, "mst": -7, "mdt": -6, "pst": -8, "pdt": -7, "akst": -9, "akdt": -8,
    "hst": -10, "cet": 1, "mez": 1, "cest": 2, "mesz": 2, "eet": 2, "eest": 3, "bst": 1, "west": 1,
    "aest": 10, "aedt": 11, "acst": 9.5, "acdt": 10.5, "awst": 8, "nzst": 12, "nzdt": 13,
    "jst": 9, "kst": 9, "sgt": 8,
    "hkt": 8,
}  # fmt: skip


SHARED = ("cst", "ist", "ast", "sst", "gst", "bt")  # read by the site's own zone, if that uses them
_SHARED_BASE = -2_000_000  # offsets below this stand for a shared abbreviation, not for seconds


def shared_offset(word: str) -> int:
    """The number that stands for a shared abbreviation until the site's zone says what it means."""
    return _SHARED_BASE - SHARED.index(word)


def shared_word(offset: int) -> str | None:
    """The shared abbreviation that an offset stands for; None where it is seconds."""
    place = _SHARED_BASE - offset
    return SHARED[place] if 0 <= place < len(SHARED) else None


_WEEKDAYS = """
mon tue wed thu fri sat sun tues weds wednes thur thurs
monday tuesday wednesday thursday friday saturday sunday
mo di mi do fr sa so montag dienstag mittwoch donnerstag freitag samstag sonnabend sonntag
lun mar mer jeu ven sam dim lundi mardi mercredi jeudi vendredi samedi dimanche
lunes martes miercoles jueves viernes sabado domingo mie jue vie sab dom lu ma me ju ve sa lu
lunedi martedi mercoledi giovedi venerdi gio
segunda terca quarta quinta sexta seg ter qua qui sex
maandag dinsdag woensdag donderdag vrijdag zaterdag zondag din woe don vri zat zon wo vr za zo
mandag tirsdag onsdag torsdag fredag lordag sondag tir ons tor fre lor son
mandag tisdag lordag sondag tis
pon wt sr czw pt sob nd poniedzialek wtorek sroda czwartek piatek sobota niedziela
"""
WEEKDAYS = frozenset(_WEEKDAYS.split())
