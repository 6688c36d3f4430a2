"""The words that headings and status cells use, in the languages meter exports come in.

Common practice, no source: collected from the headings of network operators' and loggers' files.
All are compared case-folded and without accents.
"""

import re
import unicodedata

TIME = re.compile(
    r"time|date|datum|fecha|data\b|stamp|horodat|zeit|tijd|hora\b|heure|ora\b|tid\b|when|moment|^ts$|^dt$|"
    r"interval|period|utc|gmt|dag\b|day\b|^jour\b|^dia\b|epoch|unix"
)
START = re.compile(
    r"\b(start|begin|beginning|from|van|von|debut|desde|inicio|de\b|inizio|fra|ab|since|hb)\b|start|begin"
)
END = re.compile(
    r"\b(end|ending|to|tot|bis|fin|hasta|fine|til|until|he|stop|ended|finish)\b|end(ing)?[_ ]?(time|date|"
    r"dt|at)|"
    r"(hour|period|interval|time|date|dt)[_ ]?end|ende\b"
)
CHANNEL = re.compile(
    r"regist|channel|circuit|kanal|canal|point|type|direction|flow|stream|obis|\bzone\b|phase|meter|zahler|"
    r"compteur|contador|"
    r"device|name|tag|sensor|serial|mprn|nmi|\bean\b|cups|prm|grandeur|suffix|series|logger|panel|breaker|"
    r"\bid\b|ident"
)
UNIT = re.compile(r"^unit|^uom|eenheid|einheit|^unite|unidad|unita|enhet|measure unit|units?$")
QUALITY = re.compile(
    r"qual|status|flag|estimat|valid|nature|estado|etat|stato|real/|actual|\btype of read|reading type|"
    r"read type|"
    r"method|kode|\bcode\b|substitut|provisional|ersatz|plausib|omschrijving|remark|comment|note|"
    r"vraisemblance"
)
VALUE = re.compile(
    r"value|valeur|wert|valor|valore|volume|reading|read\b|verbrauch|consum|conso|usage|energ|power|demand|"
    r"load|kwh|afname|"
    r"menge|quantity|leistung|puissance|potencia|amount|import|delivered|use\b"
)
REGISTER = re.compile(
    r"regist|index|cumul|counter|zahlerstand|meterstand|stand\b|totali[sz]|accumul|meter ?reading|odometer|"
    r"running|"
    r"lifetime|since|total|lectura|releve|lettura|_reg\b|\bsum\b|net ?energy"
)
CUMULATIVE = re.compile(r"cumul|kumul|acumul|\brunning|odometer|lifetime")
IDENTIFIER = re.compile(
    r"^(no|nr|#|row|record|rec|index|seq|sequence|n|num|number|line|lp|id)\.?$|serial|mprn|nmi|cups|prm|"
    r"\bean\b|meter ?(no|id|num)|account|"
    r"postcode|zip|latitude|longitude|day_?of|week|month|^year|holiday|load_type|^nsm$|multipl|^unit|price|"
    r"cost|tariff|co2|"
    r"power_?factor|\bpf\b|cos|temperature|humidity"
)
ESTIMATED_HEAD = re.compile(r"estimat|estimad|geschat|geschatz|substitut|stimat|is est|est flag")
YES = re.compile(r"^(y|yes|true|1|e|x|ja|oui|si|j)$")
ESTIMATED = re.compile(
    r"^(e|est|estim.*|geschat.*|ersatzwert|ersatz.*|s|sub|subst.*|stima.*|stimat.*|f\d\d|e\d\d|s\d\d|"
    r"calcul.*|berekend|"
    r"gerechnet|interpol.*|prov.*|forecast|filled|edited|modelled)$"
)
ACTUAL = re.compile(
    r"^(a|act|actual.*|r|real.*|reel.*|m|meas.*|uitgelezen|gemeten|gemessen|wahrer wert|true value|ok|good|"
    r"valid.*|normal|measured|v|n|"
    r"false|0|b|brut|read|gelesen|w|wahr|effettiva|medido|)$"
)
NO_READING = re.compile(
    r"geen verbruik|no read|missing|manquant|invalid|bad|fault|error|fail|null|offline|no data|kein|gap|"
    r"absent|rejected|"
    r"not available|n/?a$|suspect|outage|defaut|ungultig|ongeldig|x$"
)
NO_VALUE_WORDS = re.compile(
    r"^(null|nil|none|nan|n/?a|na|#n/?a|#value!|#div/0!|#ref!|#num!|#name\?|-+|\.+|\?+|missing|no data|"
    r"data loss|no reading|no value|not available|bad|fault|error|err|offline|"
    r"comm? ?loss|---+|invalid|void|empty|x)$"
)
EXPORT = re.compile(
    r"export|inject|inyect|product|einspeis|generat|returned|received from|outflow|teruglever|solar|"
    r"feed.?in|reverse"
)
IMPORT = re.compile(
    r"import|afname|bezug|consum|deliver|soutir|prelev|entrada|use\b|usage|conso|inflow|forward"
)
STATE_HEAD = re.compile(
    r"\bstate\b|\bstatus\b|on ?/ ?off|\bon off\b|lights? on\b|\brelay\b|\bcontact(or)?\b|"
    r"zustand|etat\b|estado\b|\bswitch\b|\blamp on\b|^on$"
)
ON_TIME = re.compile(r"\bon\b|run ?time|duty|\blit\b|einschalt|\bactive\b|allum|encend")
CONTACT = re.compile(r"relay|contact|breaker|circuit|switch")
LIGHT = re.compile(r"light|ltg|beleucht|eclair|ilumin|lumin|verlicht|illumin|lamp|belysn|\bleds?\b|fixture")
WHOLE = re.compile(r"^(main|mains|total|site|building|whole)|total$|grand")
FOOTER = re.compile(
    r"^\W*(grand|sub)?\s*(total|sum|summe|somme|totaal|suma|mean|average|avg|max|min|maximum|minimum|"
    r"end of|eof|\*+|-+$|"
    r"count|generated|report|printed|page|copyright|note|exported|disclaimer|median|std)",
)
_SWITCHED = r"(?:(?:lights?|lighting|lamps?|luminaires?|fixtures?|licht|relay|output|switched|power|is) )*"
ON = re.compile(
    rf"^{_SWITCHED}(on|an|ein|aan|true|yes|occupied|occ|motion|detected|present|1|1\.0|open|active|marche|encendido|"
    r"start)$"
)
OFF = re.compile(
    rf"^{_SWITCHED}(off|aus|uit|false|no|unoccupied|unocc|vacant|clear|none|no motion|absent|0|0\.0|closed|"
    r"inactive|arret|apagado|end|stop)$"
)


def plain(text: str) -> str:
    """`text` case-folded, without accents, underscores and outer quotes, blanks single."""
    flat = text.strip().strip("\"'=\ufeff").casefold()
    if not flat.isascii():
        apart = unicodedata.normalize("NFKD", flat)
        flat = "".join(mark for mark in apart if not unicodedata.combining(mark))
    return re.sub(r"[\s_]+", " ", flat).strip()
