"""Month names and the letters of time zones, as stamps write them."""

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
