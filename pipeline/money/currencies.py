"""ISO 4217 currencies, their minor units, and the signs that stand for them in written prices.

Sources: codes and minor units from ISO 4217 (current codes, and the withdrawn ones that old sales
records still show); signs from CLDR's currency symbols, with the spellings that traders use
beside them (common practice, no source). A sign shared by several currencies lists them all: the
source's own currency decides, never a guess.
"""

from __future__ import annotations

import re
from functools import cache


def _words(text: str) -> list[str]:
    return text.split()


CODES: frozenset[str] = frozenset(
    _words(
        """
    AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BHD BIF BMD BND BOB BOV BRL BSD BTN BWP
    BYN BZD CAD CDF CHE CHF CHW CLF CLP CNY COP COU CRC CUP CUC CVE CZK DJF DKK DOP DZD EGP ERN ETB
    EUR FJD FKP GBP GEL GHS GIP GMD GNF GTQ GYD HKD HNL HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY
    KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA MKD MMK MNT MOP MRU MUR
    MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD RUB
    RWF SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD
    TZS UAH UGX USD USN UYI UYU UYW UZS VED VES VND VUV WST XAF XCD XCG XOF XPF YER ZAR ZMW ZWG
    ADP ATS BEF BGL BYR CSD CSK CYP DDM DEM EEK ESP FIM FRF GHC GRD HRD HRK IEP ITL LTL LUF LVL MGF
    MRO MTL NLG PTE ROL RUR SDD SIT SKK SLL SRG STD TMM TRL UAK VEB VEF XEU YUM ZMK ZWD ZWL
    """
    )
)

_MINOR_UNITS_NOT_TWO: dict[str, int] = {
    **dict.fromkeys(
        _words("BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"), 0
    ),
    **dict.fromkeys(_words("BHD IQD JOD KWD LYD OMR TND"), 3),
    **dict.fromkeys(_words("CLF UYW"), 4),
    # Withdrawn currencies that were paid in whole units at the end (CLDR).
    **dict.fromkeys(_words("ADP BYR ESP ITL LUF MGF TRL"), 0),
}

_DOLLARS = (
    "USD AUD CAD NZD HKD SGD MXN TWD BBD BMD BND BSD BZD CLP COP ARS CUP FJD GYD JMD KYD LRD NAD "
    "SBD SRD TTD UYU XCD"
)
_POUNDS = "GBP IEP FKP GIP SHP SSP EGP LBP SYP CYP MTL ITL"
_KRONA = "SEK NOK DKK ISK EEK CZK SKK"
_RUPEES = "INR PKR LKR NPR MUR SCR IDR"
_FRANCS = "CHF FRF BEF LUF"

# A sign means the first-named currency only where nothing else can be meant by it; where several
# currencies are named, the reader needs the source's currency. See `SETTLED_SIGNS` for "£".
SIGNS: dict[str, str] = {
    "$": _DOLLARS, "£": _POUNDS, "₤": "GBP ITL TRL", "€": "EUR", "¥": "JPY CNY", "₹": "INR",
    "₽": "RUB", "₺": "TRY", "₴": "UAH", "₪": "ILS", "₫": "VND", "₩": "KRW KPW", "฿": "THB",
    "₦": "NGN", "₱": "PHP", "₲": "PYG", "₡": "CRC SVC", "₵": "GHS", "₭": "LAK", "₮": "MNT",
    "₸": "KZT", "₼": "AZN", "₾": "GEL", "₧": "ESP", "₣": _FRANCS, "₶": "FRF", "₨": _RUPEES,
    "֏": "AMD", "؋": "AFN", "৳": "BDT", "៛": "KHR", "﷼": "IRR SAR OMR QAR YER",
    "ƒ": "AWG ANG NLG XCG",
    "元": "CNY", "円": "JPY", "圆": "CNY", "圓": "CNY TWD", "人民币": "CNY", "원": "KRW",
    "र": "INR NPR", "रु": "INR NPR", "₿": "",
    "US$": "USD", "U$": "USD", "USD$": "USD", "$US": "USD", "$ US": "USD", "$ SU": "USD",
    "US $": "USD", "U.S.": "USD", "щ.д": "USD", "CA $": "CAD", "AU $": "AUD", "NZ $": "NZD",
    "HK $": "HKD", "C$": "CAD NIO", "CA$": "CAD", "CAD$": "CAD", "CDN$": "CAD", "Can$": "CAD",
    "$CA": "CAD", "A$": "AUD", "AU$": "AUD", "AUD$": "AUD", "$A": "AUD", "$AU": "AUD",
    "$ AU": "AUD", "NZ$": "NZD", "NZD$": "NZD", "$NZ": "NZD", "$ NZ": "NZD", "$ ZN": "NZD",
    "HK$": "HKD", "HKD$": "HKD", "$HK": "HKD", "$ HK": "HKD", "S$": "SGD", "SG$": "SGD",
    "SGD$": "SGD", "$SG": "SGD", "$ SG": "SGD", "MX$": "MXN", "Mex$": "MXN", "$MX": "MXN",
    "NT$": "TWD", "R$": "BRL", "BR$": "BRL", "J$": "JMD", "JM$": "JMD", "TT$": "TTD",
    "$TT": "TTD", "EC$": "XCD", "$EC": "XCD", "BZ$": "BZD", "$BZ": "BZD", "BM$": "BMD",
    "$BM": "BMD", "BS$": "BSD", "Bds$": "BBD", "RD$": "DOP", "FJ$": "FJD", "$FJ": "FJD",
    "SI$": "SBD", "$SB": "SBD", "T$": "TOP", "WS$": "WST", "$WS": "WST", "MOP$": "MOP",
    "CUC$": "CUC", "KA$": "CAD", "$AR": "ARS", "AR$": "ARS", "$CL": "CLP", "$CO": "COP",
    "$U": "UYU", "$UY": "UYU", "$BN": "BND", "B$": "BND", "$NA": "NAD", "N$": "NAD",
    "$SR": "SRD", "Z$": "ZWL ZWD", "L$": "LRD", "GY$": "GYD", "CI$": "KYD",
    "GB£": "GBP", "UK£": "GBP", "£GB": "GBP", "£ RU": "GBP", "IR£": "IEP", "£IE": "IEP",
    "EG£": "EGP", "E£": "EGP", "£CY": "CYP", "£MT": "MTL", "£GI": "GIP", "£FK": "FKP",
    "£LB": "LBP", "₤IT": "ITL", "CN¥": "CNY", "¥CN": "CNY", "JP¥": "JPY", "KR₩": "KRW",
    "GH₵": "GHS", "TH฿": "THB", "NA₨": "NPR",
    "zł": "PLN", "zl": "PLN", "зл": "PLN", "Kč": "CZK", "Kčs": "CSK", "Кч": "CZK", "kr": _KRONA,
    "Dkr": "DKK", "Nkr": "NOK", "Skr": "SEK", "SKr": "SEK", "Ikr": "ISK", "Ekr": "EEK",
    "Ft": "HUF", "lei": "RON MDL", "leu": "RON MDL", "лв": "BGN", "kn": "HRK", "KM": "BAM",
    "КМ": "BAM", "din": "RSD", "дин": "RSD", "dinara": "RSD", "den": "MKD", "ден": "MKD",
    "руб": "RUB RUR BYN", "рубль": "RUB", "рубля": "RUB", "рублей": "RUB", "грн": "UAH",
    "крб": "UAK", "сом": "KGS", "сўм": "UZS", "so'm": "UZS", "soʻm": "UZS", "тг": "KZT",
    "TL": "TRY TRL", "Тл": "TRY", "RM": "MYR", "Rp": "IDR", "Rs": _RUPEES, "Re": _RUPEES,
    "රු": "LKR", "ரூ": "LKR", "नेरू": "NPR", "đ": "VND", "Fr": _FRANCS, "SFr": "CHF",
    "Fr.": _FRANCS, "Frs": _FRANCS, "FF": "FRF", "BF": "BEF", "DM": "DEM", "öS": "ATS",
    "Δρχ": "GRD", "Pts": "ESP", "Esc": "PTE", "Vẽj": "PTE", "mk": "FIM", "hfl": "NLG", "ECU": "XEU",
    "Lek": "ALL", "Lekë": "ALL", "Ls": "LVL", "Lt": "LTL", "NIS": "ILS", 'ש"ח': "ILS",
    "ש״ח": "ILS", "ש'ח": "ILS", "Br": "BYN ETB", "ብር": "ETB", "Nu": "BTN", "CFA": "XOF XAF",
    "FCFA": "XAF XOF", "F CFA": "XOF XAF", "XFA": "XAF", "CFP": "XPF", "CFPF": "XPF",
    "FCFP": "XPF", "FBu": "BIF", "FB": "BEF BIF", "FC": "CDF", "FG": "GNF", "CF": "KMF",
    "RF": "RWF", "Rf": "MVR", "Fdj": "DJF", "Nfk": "ERN", "Gs": "PYG", "B/.": "PAB",
    "S/.": "PEN", "S/": "PEN", "Bs": "BOB VES VEF VED", "Bs.S": "VES", "BsF": "VEF",
    "Bs.F": "VEF", "Afl": "AWG", "NAf": "ANG", "Cg": "XCG", "Cf": "XCG", "ZiG": "ZWG",
    "KSh": "KES", "Ksh": "KES",
    "KShs": "KES", "TSh": "TZS", "USh": "UGX", "Kz": "AOA", "MTn": "MZN", "MT": "MZN",
    "MK": "MWK", "ZK": "ZMW ZMK", "LD": "LRD LYD", "LS": "SYP", "UM": "MRU MRO", "VT": "VUV",
    "Db": "STN STD", "DT": "TND", "DA": "DZD", "KD": "KWD", "BD": "BHD BMD", "JD": "JOD",
    "SR": "SAR SCR", "QR": "QAR", "Dh": "AED MAD", "Dhs": "AED MAD", "Le": "SLE SLL", "Ar": "MGA",
    "UP": "UYW", "ТМТ": "TMT", "ЛСЛ": "LSL", "ރ": "MVR", "සිෆ්එ": "XOF", "ЅM": "TJS", "ՃՄ": "AMD",
    "د.إ": "AED", "درهم": "AED MAD", "ريال": "SAR QAR OMR YER", "ریال": "IRR", "تومان": "IRR",
    "جنيه": "EGP SDG", "ج.م": "EGP", "ج.س": "SDG", "د.أ": "JOD", "د.ب": "BHD", "د.ت": "TND",
    "د.ج": "DZD", "د.س": "SDD", "د.ع": "IQD", "د.ك": "KWD", "د.ل": "LYD", "د.م": "MAD",
    "ر.س": "SAR", "ر.ع": "OMR", "ر.ق": "QAR", "ر.ي": "YER", "ر.إ": "IRR", "ل.س": "SYP",
    "ل.ل": "LBP", "أ.م": "MRU", "دينار": "KWD BHD JOD IQD LYD TND DZD", "فرانک CFA": "XOF",
    "euro": "EUR", "euros": "EUR", "pound": "GBP", "pounds": "GBP", "quid": "GBP", "stg": "GBP",
    "sterling": "GBP", "dollar": _DOLLARS, "dollars": _DOLLARS, "yen": "JPY", "yuan": "CNY",
    "rmb": "CNY", "franc": _FRANCS, "francs": _FRANCS, "franken": "CHF", "rupees": _RUPEES,
    "kroner": "DKK NOK", "kronor": "SEK", "kronur": "ISK", "zloty": "PLN", "zlotys": "PLN",
    "forint": "HUF", "rand": "ZAR", "shekel": "ILS", "shekels": "ILS", "lira": "TRY ITL TRL",
    "lire": "ITL", "ruble": "RUB", "rubles": "RUB", "roubles": "RUB", "CND": "CAD", "GBp": "GBP",
    "LEI": "RON MDL", "Lei": "RON MDL",
}  # fmt: skip

# One letter alone is too little: these count only where the source's own currency is among them.
WEAK_SIGNS: dict[str, str] = {
    "R": "ZAR", "K": "MMK PGK ZMW", "Q": "GTQ", "P": "BWP PHP", "L": "HNL MDL ITL", "F": "FRF LUF",
    "E": "SZL", "D": "GMD", "G": "HTG", "M": "LSL", "S": "SOS", "ر": "PKR",
}  # fmt: skip
_ROUBLES = "RUB RUR BYN"
_CYRILLIC_R = {"Р": _ROUBLES, "р": _ROUBLES}

# Shared on paper, settled by usage: a bare "£" is sterling unless the source's own currency is
# another pound (common practice, no source). A bare "$" or "kr" is never settled this way.
SETTLED_SIGNS: dict[str, str] = {
    "£": "GBP", "C$": "CAD",
    "₤": "GBP", "руб": "RUB", "Р": "RUB", "р": "RUB", "TL": "TRY", "lei": "RON",
    "leu": "RON", "₩": "KRW", "₡": "CRC", "र": "INR", "रु": "INR", "Fr": "CHF", "Fr.": "CHF",
}  # fmt: skip

# Codes that are also plain words; in small letters they are read as the word.
_WORDS_TOO = frozenset(
    _words("all try top cup pen mad gel bob ron sos lak mop cad ang ars crc mur")
)


def minor_units(currency: str) -> int:
    """Decimal places a currency is paid in, by ISO 4217 (2 where ISO 4217 does not differ)."""
    return _MINOR_UNITS_NOT_TWO.get(currency, 2)


@cache
def _folded_signs() -> dict[str, str]:
    # A whole word means the same in any case ("ZŁ", "Lei"); shorter signs keep theirs, because
    # "KM" is a mark and "km" a distance.
    return {
        sign.casefold(): sign
        for sign in SIGNS
        if len(sign) > 3 or sign in {"kr", "zł", "lei", "TL"}
    }


@cache
def _all_signs() -> dict[str, frozenset[str]]:
    signs = {**SIGNS, **_CYRILLIC_R}
    return {sign: frozenset(codes.split()) for sign, codes in signs.items() if codes}


def candidates(written: str, default_currency: str | None = None) -> frozenset[str]:
    """The ISO 4217 codes that `written` may stand for; empty where it stands for none.

    Args:
        written: a code or sign as found, e.g. "EUR", "US$", "kr".
        default_currency: the source's currency, which admits the one-letter signs.
    """
    if written in CODES:
        return frozenset((written,))
    signs = _all_signs()
    if written in signs:
        return signs[written]
    if written in WEAK_SIGNS:
        weak = frozenset(WEAK_SIGNS[written].split())
        return weak if default_currency in weak else frozenset()
    lowered = written.casefold()
    if lowered in _folded_signs():
        return signs.get(_folded_signs()[lowered], frozenset())
    if len(written) == 3 and written.upper() in CODES and lowered not in _WORDS_TOO:
        return frozenset((written.upper(),))
    return frozenset()


def settle(found: frozenset[str], signs: list[str], default_currency: str | None) -> str | None:
    """The one currency meant, or None where a shared sign leaves it open.

    Args:
        found: what every sign in the text allows (their intersection).
        signs: the signs as written.
        default_currency: the source's currency; it decides among those that share a sign.
    """
    if len(found) == 1:
        return next(iter(found))
    if default_currency in found:
        return default_currency
    for sign in signs:
        settled = SETTLED_SIGNS.get(sign) or SETTLED_SIGNS.get(sign.casefold())
        if settled in found:
            return settled
    return None


@cache
def sign_pattern() -> str:
    """Regular expression source for the signs that are not plain words ("US$", "£", "S/.").

    Words ("EUR", "kr") are met as words and looked up with `candidates`. A letter on either side
    would make a sign part of a word and is excluded; a digit is not ("R$60").
    """
    special = [s for s in sorted(_all_signs(), key=len, reverse=True) if not s.isalpha()]
    lettered = [s for s in special if s[0].isalpha()]
    bare = [s for s in special if not s[0].isalpha()]
    after = {s: r"(?![^\W\d_])" if s[-1].isalpha() else "" for s in special}
    first = "|".join(re.escape(s) + after[s] for s in lettered)
    second = "|".join(re.escape(s) + after[s] for s in bare)
    return rf"(?<![^\W\d_])(?:{first})|(?:{second})"


def is_also_a_word(written: str) -> bool:
    """Whether a currency code is a plain word too ("ALL", "TOP"), so that it needs support."""
    return written.casefold() in _WORDS_TOO
