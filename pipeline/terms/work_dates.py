"""Years of work done later, which are no years of making."""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt

from pipeline.terms import fault_words
from pipeline.terms.fault_scene import faults_below
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.statements import Statements
from pipeline.terms.tokens import TokenStream

IntArray = npt.NDArray[np.int32]

_WORDS_TO_YEAR = 3  # "restored in about 1990"
_YEAR = re.compile(r"((?:1[5-9]|20)[0-9]{2}|[2-9]0(?=s))(s?)")  # "re-covered in the 70s"
_OF_LATE = 1950  # year; work of this date or later may be told by its bare year
_DATE = re.compile(r"(1[0-9]|20)[0-9]{2}|^[0-9]0s|^[0-9]+(st|nd|rd|th|c)|century")


def dated_by_work(lexicon: Lexicon, stream: TokenStream, said: Statements) -> IntArray:
    """Titles whose only years are those of work done later: "relined in 1960", "rewired 2019"."""
    if "fault" not in lexicon.concept_of or not len(stream):
        return np.zeros(0, dtype=np.int32)
    past = said.end[faults_below(lexicon, "repair", "alteration", "serviced")[said.concept]]
    past = np.append(past, np.flatnonzero(lexicon.words_in(fault_words.WORK)[stream.word]) + 1)
    candidates: dict[int, set[int]] = {}
    leads = lexicon.words_in(fault_words.TO_A_YEAR)
    for step in range(_WORDS_TO_YEAR + 1):
        at = past + step
        at = at[at < len(stream)]
        for one in at[stream.is_number[at]].tolist():
            year = _YEAR.fullmatch(stream.spellings[stream.spelling[one]])
            if year is None or stream.clause[one] != stream.clause[one - step - 1]:
                continue
            # "REFINISHED 1920S OAK DESK" is no year of the work; "rewired 2019" is
            ends = one + 1 == len(stream) or stream.clause[one + 1] != stream.clause[one]
            of_late = ends and int(year[1]) >= _OF_LATE and not year[2]
            if of_late if step == 0 else leads[stream.word[one - step : one]].all():
                candidates.setdefault(int(stream.title[one]), set()).add(one)
    out = []
    for title, of_work in candidates.items():
        words = range(int(stream.first[title]), int(stream.first[title + 1]))
        told = {at for at in words if _DATE.search(stream.spellings[stream.spelling[at]])}
        if told <= of_work:
            out.append(title)
    return np.array(out, dtype=np.int32)
