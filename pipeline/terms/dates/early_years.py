"""Years of three digits in running text, told with the era that they leave out.

"600-900" is a price, a size or a count as often as years, so the text has to vouch for it: with an
ancient culture or dynasty whose years they are ("Maya, 600-900"), with a word for the date ("dated
524", "c. 870" where nothing follows that could be counted), or as a century of its own ("Bowl,
900s"). And names of periods that are peoples elsewhere: the Edo of Benin.
"""

from __future__ import annotations

import re
from functools import lru_cache

from pipeline.terms.dates.lexer import PLACE_HOLDER
from pipeline.terms.dates.named import NamedPeriod, load_cultures, load_named

_EARLY = 1000  # years of three digits end before it
_LAST = 1600
_TOLERANCE = 100  # years by which books differ about a culture
_LEAST_ALONE = 300  # lower numbers are counts and sizes too often
_ROUND = 50  # "c. 450" counts stamps

_THREE_FIGURES = re.compile(r"(?<!\d)[1-9]\d\d?(?:s|(?!\d))")
_OPENS = r"(?:^|(?<=[,;:(\[] )|(?<=[,;:(\[.]))"
_CLOSES = r"(?= ?(?:$|[,;)\]]|\.(?!\d)))"
_CIRCA = r"(?:c|ca|circa)[. ]{1,2}"
_RANGE = re.compile(
    rf"{_OPENS}(?P<circa>{_CIRCA})?(?P<first>[1-9]\d\d?) ?- ?(?P<last>[1-9]\d{{2,3}}){_CLOSES}"
)
_CIRCA_ALONE = re.compile(rf"{_OPENS}(?P<circa>{_CIRCA})(?P<year>[3-9]\d\d){_CLOSES}")
_CIRCA_ANYWHERE = re.compile(rf"(?<![\w.£$€/-])(?P<circa>{_CIRCA})(?P<year>[1-9]\d\d){_CLOSES}")
_DATED = re.compile(
    rf"\b(?P<dated>dated|datiert|datierte|datato|datata|datee?) (?P<year>[3-9]\d\d){_CLOSES}"
)
_PART_OF = r"(?:(?:early|mid|middle|late)[ -])?"
_HUNDREDS = re.compile(
    rf"{_OPENS}(?:c\.? )?{_PART_OF}[5-9]00s(?: ?- ?{_PART_OF}(?:[6-9]00|1[0-3]00)s)?"
    r"(?= ?(?:$|[,;)\]]|\.(?!\d)|(?:c\.?e|a\.?d)\b))"
)
_HUNDRED = re.compile(r"([5-9]|1[0-3])00s")
# an estimate and what is counted are no years, whatever stands beside them
_COUNTED = re.compile(
    r"\b(?:est|estimate|estimated|lot|lots|price|eur|usd|gbp|chf|stamps|coins|beads|cards|pieces|pcs"
    r"|pages|items|copies|sheets|words|stitches)\b|[£$€]"
)
_CULTURE_WORDS = frozenset({"culture", "civilization", "civilisation"})
_PEOPLES = re.compile(
    r"\bedo(?= (?:peoples?|artists?|culture|kingdom|court|chief|style of benin)\b)"
)
_OF_BENIN = re.compile(r"\b(?:benin|nigeria|nigerian|oba)\b")
_EDO = re.compile(r"\bedo\b")
# words of titles that must be kept for these, wherever they stand
WORDS = frozenset(
    {"benin", "nigeria", "nigerian", "oba", "culture", "civilization", "civilisation"}
)
BEHIND_A_PEOPLE = frozenset({"peoples", "people", "artist", "artists", "kingdom", "chief", "court"})


def with_eras(folded: str) -> str:
    """A folded title with the era at years of three digits for which the text vouches."""
    if "edo" in folded:
        folded = without_peoples(folded)
    if _THREE_FIGURES.search(folded) is None:
        return folded
    if "00s" in folded:
        folded = _HUNDREDS.sub(_centuries, folded)
    if _COUNTED.search(folded) is None:
        if "-" in folded:
            folded = _RANGE.sub(_of_a_culture, folded)
        if "dat" in folded:
            folded = _DATED.sub(r"\g<dated> \g<year> ad", folded)
        if "c" in folded:
            folded = _CIRCA_ANYWHERE.sub(_circa_of_a_culture, folded)
            folded = _CIRCA_ALONE.sub(_circa_alone, folded)
    return folded


def without_peoples(folded: str) -> str:
    """ "Edo peoples", "Edo" beside Benin: no period of Japan."""
    folded = _PEOPLES.sub(PLACE_HOLDER, folded)
    return _EDO.sub(PLACE_HOLDER, folded) if _OF_BENIN.search(folded) else folded


@lru_cache(maxsize=1)
def ancient_names() -> dict[str, list[tuple[tuple[str, ...], NamedPeriod]]]:
    """Names of cultures, dynasties and periods that began in the first thousand years or before,
    by their first word."""
    found: dict[str, list[tuple[tuple[str, ...], NamedPeriod]]] = {}
    for table in (load_cultures(), load_named()):
        for first, phrases in table.items():
            for words, period in phrases:
                if period.earliest is not None and period.earliest < _EARLY:
                    found.setdefault(first, []).append((words, period))
    return found


def _vouched(folded: str, first: int, last: int) -> bool:
    """Whether the text names a culture of those years, or some culture without a known name."""
    words = tuple(re.findall(r"[^\W\d_]+", folded))
    if not _CULTURE_WORDS.isdisjoint(words):
        return True
    for at, word in enumerate(words):
        for phrase, period in ancient_names().get(word, ()):
            if words[at : at + len(phrase)] != phrase:
                continue
            ends = period.latest if period.latest is not None else _LAST
            begins = period.earliest if period.earliest is not None else -_LAST
            if first <= ends + _TOLERANCE and last >= begins - _TOLERANCE:
                return True
    return False


def _of_a_culture(match: re.Match[str]) -> str:
    first, last = int(match["first"]), int(match["last"])
    if not first < last <= _LAST or not _vouched(match.string, first, last):
        return match[0]
    return f"{match['circa'] or ''}ad {first} - {last} ad"


def _circa_of_a_culture(match: re.Match[str]) -> str:
    year = int(match["year"])
    return f"{match[0]} ad" if _vouched(match.string, year, year) else match[0]


def _circa_alone(match: re.Match[str]) -> str:
    return match[0] if int(match["year"]) % _ROUND == 0 else f"{match[0]} ad"


def _centuries(match: re.Match[str]) -> str:
    return _HUNDRED.sub(lambda one: f"{int(one[1]) + 1}th century", match[0])
