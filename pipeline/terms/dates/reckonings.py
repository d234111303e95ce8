"""Years told by another reckoning, and short forms with full stops, put into plain words.

The years of the Hijra are lunar: one of them lies in two of ours, or wholly in one. What a museum
numbers its objects by ("1862,0301.4") tells when it was acquired and is no date of making.
"""

from __future__ import annotations

import re

from pipeline.terms.dates.early_years import with_eras
from pipeline.terms.dates.written_forms import joined_end_and_beginning, may_be_polish_century

# the year 1 began on 16 July 622 (Julian); a year has 354.367 days (mean of the tabular calendar)
_HIJRA_BEGAN = 622.54
_HIJRA_YEAR = 354.36667 / 365.2425
_HIJRA_LAST = 1500
_FIRST_BARE_YEAR = 1500  # an earlier one is taken for a year where its era is told
_ERA_BEGAN = {"meiji": 1868, "taisho": 1912, "showa": 1926, "heisei": 1989, "reiwa": 2019}
_ERA_LASTED = {"meiji": 45, "taisho": 15, "showa": 64, "heisei": 31, "reiwa": 99}

_AH = r"a\.?h\b\.?"
_UNTIL = r"(?: ?- ?| to | and )"
_OURS = (
    r"(?: ?[/=(] ?(?:a\.?d\.? ?)?(?P<ours>\d{3,4}(?: ?[-/] ?\d{1,4})?)(?!\d)"
    r"(?: ?(?:a\.?d\b|c\.?e\b)\.?)? ?\)?)"
)
_HIJRI = re.compile(
    rf"\b(?:a\.?h\.? ?(?P<before>\d{{3,4}})(?!\d)(?:{_UNTIL}(?P<to_before>\d{{1,4}})(?!\d))?"
    rf"|(?P<after>\d{{3,4}})(?:{_UNTIL}(?P<to_after>\d{{1,4}}))? ?{_AH}){_OURS}?"
)
_HIJRI_AND_OURS = re.compile(rf"\b\d{{3,4}} ?h\b\.?{_OURS}")  # "1255 H / 1839"
_HIJRI_WORDS = re.compile(r"\b(?:(?:anno )?hegirae?|hijr[ia]|a\. h\.)(?= |$|[/(),;])")
_NTH = r"(\d{1,2})(?:st|nd|rd|th)"
_CENTURY_OF = rf"(?:(early|mid|late)[ -])?{_NTH}(?: ?[-/] ?{_NTH})?[ -](?:century|cent\.?|c\.)"
_OUR_CENTURY = rf"(?:a\.?d\.? ?)?(?:(?:early|mid|late)[ -])?(?:a\.?d\.? ?)?{_NTH}[ /-]"
_HIJRI_CENTURY = re.compile(
    rf"\b(?:{_AH} ?{_CENTURY_OF}|{_CENTURY_OF} ?{_AH})(?P<ours> ?[/=(,] ?(?={_OUR_CENTURY}))?"
)
_BOTH_YEARS = re.compile(r"(?<![\d/.,-])(\d{3,4}) ?/ ?((1[0-9]|20)\d\d)(?=$|[^\d/])")
_DYNASTY = re.compile(
    r"\b(dynast(?:y|ies)) \d{1,2}(?: ?[-/&] ?\d{1,2}| (?:and|or|to) \d{1,2})?(?=$|[ ,;:()?])"
    rf"|\b{_NTH}(?: ?[-/&] ?{_NTH})? (dynast(?:y|ies))\b"
)
_AH_WORD = re.compile(r"\bah\b")
_HIJRI_PARTS = {None: (0, 100), "early": (0, 25), "mid": (35, 65), "late": (75, 100)}
_ERA_YEAR = re.compile(
    r"\b(meiji|taisho|showa|heisei|reiwa) (?:year )?(\d{1,2})(?= ?(?:$|[(),;=/]))"
)
_MUSEUM_NUMBER = re.compile(r"\b1[789]\d\d,\d{4}\.\d+(?:-\d+)?")
_POLISH_DECADE = re.compile(r"\blat[ay]? ([1-9]0)\.?(?: ?-? ?te)? (xix|xx) w(?:\.|ieku|\b)")
_POLISH_SHORT = (
    (re.compile(r"\bk\. ?(?=[ivx]+ ?w)"), "koniec "),
    (re.compile(r"\bpocz\. ?(?=[ivx]+ ?w)"), "poczatek "),
    (re.compile(r"\b([12])\.? pol(?:\.|owa|owy) ?(?=[ivx]+ ?w)"), r"\1. polowa "),
    (re.compile(r"(?<![\w.] )\bpol(?:\.|owa) ?(?=[ivx]+ ?w)"), "mid "),
)

_ITALIAN_HUNDREDS = re.compile(r"(?<=[ l])'([3-9])00\b")  # "inizio '900", "dell'800"
_ITALIAN_END = re.compile(r"\bfine '(?=[3-9]00\b)")
_ITALIAN = re.compile(r"\b(?:del|dell|nel|nell|inizi[oi]?|fine|meta|primi|epoca|quarto)\b")
_ROMAN = {"xvi": 16, "xvii": 17, "xviii": 18, "xix": 19, "xx": 20}
# in running text only where the clause ends behind the "w." or the word is written out
_POLISH_IN_TITLES = re.compile(
    r"(?:\b(?:(?P<early>pocz|poczatek|poczatku)|(?P<late>konca|koniec)|(?P<last>przelomu?)"
    r"|(?P<half>[12])\.? ?pol(?:owa|owy)?|(?P<mid>pol(?:owa|owy)?)"
    r"|lat[ay] (?P<tens>[1-9]0)\.?(?: ?-? ?te)?)\.? ?)?"
    r"\b(?:(?P<from>xvi{1,3}|xix) ?[/-] ?)?(?P<century>xvi{1,3}|xix|xx) "
    r"(?:wieku\b|w\b\.?(?= ?(?:$|[,;()])))"
)


# "porcelaine, XVIIIe s.", "commode, XVIIIe"
_FRENCH_SHORT = re.compile(r"\b(xvi{0,3}|xix|xx)e(?: s\b\.?)?(?= ?(?:$|[,;()]))")
# "published 1662 [but c. 1680]", "1697 [i.e. 1679]": what a cataloguer corrects
_CORRECTED = re.compile(
    r"\b(?:(?:c|ca|circa)[. ]{1,2})?\d{4} ?[\[(] ?(?:but|i\.? ?e\.?|recte|actually)[ ,]{1,2}"
    r"(?:[a-z]+[ ,]{1,2})?(?=(?:(?:c|ca|circa)[. ]{1,2})?\d{4} ?(?:[\])]|$))"
)
# "London 1794 [1801]"
_SUPPLIED = re.compile(r"(?<![\d/.,-])(1[5-9]\d\d) ?\[(?=((?:c|ca)\.? ?)?(1[5-9]|20)\d\d(?:\]|$))")


def in_words_of_titles(folded: str) -> str:
    """The same for running text, where it is told from a model's number or a shop's "w.".

    A year of the Hijra counts where it is "dated" or ours stands beside it.
    """
    if "a.h" in folded or ("ah" in folded and _AH_WORD.search(folded)):
        folded = _HIJRI_CENTURY.sub(_our_century, folded)
        folded = _HIJRI.sub(_ours_in_title, folded)
    if "/" in folded:
        folded = _BOTH_YEARS.sub(_the_second, folded)
    if " early " in folded and "late " in folded:
        folded = joined_end_and_beginning(folded)
    if " w" in folded and may_be_polish_century(folded):
        folded = _POLISH_IN_TITLES.sub(_polish_century, folded)
    if "[" in folded or "(" in folded:
        folded = _CORRECTED.sub("", folded)
        folded = _SUPPLIED.sub("[", folded)
    if "e" in folded:
        folded = _FRENCH_SHORT.sub(r"\1e siecle", folded)
    return with_eras(folded)


def in_plain_words(folded: str) -> str:
    """A folded text with such years and forms told in the common reckoning."""
    if "h" in folded:
        if "hij" in folded or "heg" in folded or "a. h" in folded:
            folded = _HIJRI_WORDS.sub("ah", folded)
        if "a" in folded:
            folded = _HIJRI_CENTURY.sub(_our_century, folded)
            folded = _HIJRI.sub(_ours, folded)
        if " h" in folded:
            folded = _HIJRI_AND_OURS.sub(r"\g<ours>", folded)
    if "dynast" in folded:
        folded = _DYNASTY.sub("dynasty", folded)  # "Dynasty 26, 664-525 BC"
    if "/" in folded:
        folded = _BOTH_YEARS.sub(_the_second, folded)
    if "00" in folded and "'" in folded and _ITALIAN.search(folded):
        folded = _ITALIAN_END.sub("late '", folded)
        folded = joined_end_and_beginning(_ITALIAN_HUNDREDS.sub(_italian_century, folded))
    if "," in folded:
        folded = _MUSEUM_NUMBER.sub("no 1", folded)
    if " w" in folded:
        folded = _POLISH_DECADE.sub(_polish_decade, folded)
        for pattern, words in _POLISH_SHORT:
            folded = pattern.sub(words, folded)
    return with_eras(_ERA_YEAR.sub(_era_year, folded))


def _ours(match: re.Match[str]) -> str:
    if match["ours"]:
        year = int(re.split(r"[ /-]", match["ours"])[0])
        return f"ad {match['ours']}" if year < _FIRST_BARE_YEAR else match["ours"]
    year = int(match["before"] or match["after"])
    until = match["to_before"] or match["to_after"] or str(year)
    last = int(str(year)[: -len(until)] + until if len(until) < 3 else until)
    if not 0 < year <= last <= _HIJRA_LAST:
        return match[0]
    return _hijra_span(year, last)


def _ours_in_title(match: re.Match[str]) -> str:
    if match["ours"] or match.string[: match.start()].endswith("dated "):
        return _ours(match)
    return "no 1"


def _the_second(match: re.Match[str]) -> str:
    """ "dated 1255/1839": the same year by the Hijra and by ours."""
    year, ours = int(match[1]), int(match[2])
    begins = int(_HIJRA_BEGAN + (year - 1) * _HIJRA_YEAR)
    return match[2] if begins <= ours <= begins + 1 and year < ours else match[0]


def _italian_century(match: re.Match[str]) -> str:
    apart = "" if match.string[match.start() - 1] == " " else " "
    return f"{apart}{int(match[1]) + 11}th century"


def _polish_century(match: re.Match[str]) -> str:
    number = _ROMAN[match["century"]]
    if match["tens"]:
        return f"{number - 1}{match['tens']}s"
    if match["last"] and match["from"]:
        return f"turn of the {number}th century"
    since = f"{_ROMAN[match['from']]}th-" if match["from"] else ""
    parts = {"early": "early ", "late": "late ", "mid": "mid "}
    part = next((words for name, words in parts.items() if match[name]), "")
    if match["half"]:
        part = "first half " if match["half"] == "1" else "second half "
    return f"{part}{since}{number}th century"


def _our_century(match: re.Match[str]) -> str:
    """ "13th century AH"; where ours stands beside it, that alone is left."""
    if match["ours"]:
        return ""
    part, first, last = (match[1], match[2], match[3]) if match[2] else match.group(4, 5, 6)
    low, high = _HIJRI_PARTS[part]
    until = int(last or first)
    if not 0 < int(first) <= until <= _HIJRA_LAST // 100:
        return match[0]
    return _hijra_span(100 * (int(first) - 1) + low + 1, 100 * (until - 1) + high)


def _hijra_span(first: int, last: int) -> str:
    """The first and the last year of ours in which years of the Hijra lie."""
    begins = _HIJRA_BEGAN + (first - 1) * _HIJRA_YEAR
    ends = _HIJRA_BEGAN + last * _HIJRA_YEAR - 1 / 365
    earliest, latest = int(begins), int(ends)
    return str(earliest) if earliest == latest else f"{earliest}-{latest}"


def _era_year(match: re.Match[str]) -> str:
    era, year = match[1], int(match[2])
    if not 0 < year <= _ERA_LASTED[era]:
        return match[0]
    return str(_ERA_BEGAN[era] + year - 1)


def _polish_decade(match: re.Match[str]) -> str:
    return f"{19 if match[2] == 'xx' else 18}{match[1]}s"
