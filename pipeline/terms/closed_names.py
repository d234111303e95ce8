"""Names said in other words: `box for snuff` is a snuff box, `clock set on a base` no clock set."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.aliases import canonical
from pipeline.terms.context import Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found
from pipeline.terms.tokens import CLAUSE, TokenStream
from pipeline.terms.turned import Things
from pipeline.terms.wordforms import plural_forms, singular_forms

_SET = frozenset({"set"})
_WORDS_BEFORE_SET = 3  # "tall case clock set in ..."
_BEHIND_SET = frozenset(["on", "in", "into", "within", "upon", "to", "beneath", "against"])


_KEEPS_SETS = frozenset(
    ["case", "box", "etui", "canteen", "roll", "pouch", "chest", "wallet", "casket"]
)
_WORDS_TO_A_CASE = 4  # "in its original leather case"
_PARTS_LOST = frozenset(["lid", "lids", "cover", "stopper", "handle"])
_LOST = frozenset(["missing", "lacking", "absent", "lost", "gone", "wanting"])


def give_up_set(lexicon: Lexicon, stream: TokenStream, things: Things) -> None:
    """ "Mantel clock set on a marble base" is no clock set: the word is a verb there."""
    last = len(stream) - 1
    rows = np.flatnonzero((things.size > 1) & (things.end <= last))
    at = things.end[rows]
    verb = lexicon.words_in(_SET)[stream.word[at - 1]] & ~stream.starts()[at]
    verb &= lexicon.words_in(_BEHIND_SET)[stream.word[at]] & (stream.before[at] & CLAUSE == 0)
    # "carving set in fitted box"
    kept = lexicon.words_in(_KEEPS_SETS)[stream.word]
    for step in range(1, _WORDS_TO_A_CASE + 1):
        ahead = np.minimum(at + step, last)
        verb &= ~(kept[ahead] & (stream.clause[ahead] == stream.clause[at]))
    _without_last_word(lexicon, stream, things, rows[verb])


def give_up_missing_part(lexicon: Lexicon, stream: TokenStream, things: Things) -> None:
    """ "Coffee pot lid missing" is a coffee pot: a lid that is missing is not for sale."""
    last = len(stream) - 1
    rows = np.flatnonzero((things.size > 1) & (things.end <= last))
    at = things.end[rows]
    part = lexicon.words_in(_PARTS_LOST)[stream.word[at - 1]] & ~stream.starts()[at]
    lost = lexicon.words_in(_LOST)[stream.word[at]] & (stream.before[at] & CLAUSE == 0)
    _without_last_word(lexicon, stream, things, rows[part & lost])


def _without_last_word(
    lexicon: Lexicon, stream: TokenStream, things: Things, rows: npt.NDArray[np.intp]
) -> None:
    """Put the longest name that closes before the last word of a finding in its place."""
    for row in rows:
        last_word = int(things.end[row]) - 1
        earliest = max(int(things.start[row]) - _WORDS_BEFORE_SET, 0)
        for first in range(earliest, last_word):
            if stream.clause[first] != stream.clause[last_word]:
                continue
            words = " ".join(stream.spellings[i] for i in stream.spelling[first:last_word])
            name = lexicon.phrase_numbers.get(canonical(words, lexicon.aliases))
            if name is None or lexicon.concept_of["category"][name] < 0:
                continue
            things.start[row], things.end[row] = first, last_word
            things.concept[row] = lexicon.concept_of["category"][name]
            things.size[row] = last_word - first
            things.phrase[row] = name
            break


# what serves to hold, make or catch what is named behind "for"
_SERVING = (
    "box case mould mold holder rack press iron trap mill reel stand jar pot tongs scissors shears "
    "knife machine cutter hook ladle spoon dish bottle basket bag chest cabinet tray cup bowl "
    "grater peeler board pan needle clamp winder brush pouch casket"
)
_SERVES = frozenset(form for word in _SERVING.split() for form in (word, *plural_forms(word)))
_FOR = frozenset({"for"})
_LEAD_ON = frozenset(
    ["a", "an", "the", "holding", "storing", "keeping", "carrying", "making", "serving", "catching",
     "cutting", "cracking", "pressing", "moulding", "toasting", "drying", "winding", "cleaning"]
)  # fmt: skip
_PACKING = frozenset(["original", "empty", "spare", "only", "outer", "associated", "replacement"])
_WORDS_BEHIND_FOR = 2


def turn_for(lexicon: Lexicon, stream: TokenStream, context: Context, things: Things) -> None:
    """ "Box for snuff", "mould for candles": the closed name is said with "for"."""
    n = len(stream)
    if n < 3:
        return
    inner = ~stream.starts()
    leads = lexicon.words_in(_FOR)[stream.word] & context.linked & inner
    serves = lexicon.words_in(_SERVES)[stream.word]
    packing = lexicon.words_in(_PACKING)[stream.word]
    at = (np.flatnonzero(leads[1:] & serves[:-1]) + 1).tolist()
    skips = lexicon.words_in(_LEAD_ON)[stream.word]
    found: list[tuple[int, int, int, int]] = []
    for place in at:
        head = place - 1
        if head > 0 and inner[head] and packing[head - 1]:
            continue
        begin = place + 1
        while begin < n and context.linked[begin] and inner[begin] and skips[begin]:
            begin += 1
        words = []
        for step in range(_WORDS_BEHIND_FOR):
            cell = begin + step
            if cell >= n or not context.linked[cell] or not inner[cell]:
                break
            words.append(stream.spellings[stream.spelling[cell]])
        head_word = stream.spellings[stream.spelling[head]]
        for length in range(len(words), 0, -1):
            if not stream.closes_clause(np.array([begin + length]))[0]:
                continue
            name = _closed_name(lexicon, words[:length], head_word)
            if name >= 0:
                found.append((head, begin + length, name, length + 1))
                break
    things.put(lexicon, found)


def _closed_name(lexicon: Lexicon, words: list[str], head: str) -> int:
    """The phrase "snuff box" for the words of "box for snuff", -1 where there is none."""
    for last in (words[-1], *singular_forms(words[-1])):
        closed = canonical(" ".join((*words[:-1], last, head)), lexicon.aliases)
        name = lexicon.phrase_numbers.get(closed, -1)
        if name >= 0 and lexicon.concept_of["category"][name] >= 0:
            return int(name)
    return -1


_SUITE = ("settee", "and", "two", "chairs")
_SOFAS = frozenset(["sofa", "settee", "couch", "seater", "chesterfield"])
_CHAIRS = frozenset(["chairs", "chair", "armchairs", "armchair"])
_PLUS = frozenset(["and", "plus"])
_OF_A_SUITE = frozenset(["matching", "easy", "arm", "tub", "wing", "club"])
_WORDS_TO_CHAIRS = 3  # "two matching armchairs"


def name_suites(lexicon: Lexicon, stream: TokenStream, things: Things) -> None:
    """ "Sofa + 2 chairs", "two seater plus armchair": seats that are sold together."""
    name = lexicon.phrase_numbers.get(_SUITE, -1)
    if name < 0 or lexicon.concept_of["category"][name] < 0 or len(stream) < len(_SUITE):
        return
    words, n = lexicon.words_in, len(stream)
    chairs = words(_CHAIRS)[stream.word]
    passing = words(_OF_A_SUITE)[stream.word] | stream.is_number
    passing |= lexicon.words_alone("count")[stream.word]
    joins = words(_PLUS)[stream.word[1:]] & words(_SOFAS)[stream.word[:-1]]
    joins &= stream.clause[1:] == stream.clause[:-1]
    found: list[tuple[int, int, int, int]] = []
    for place in (np.flatnonzero(joins) + 1).tolist():
        at = place + 1
        while at < n and at - place < _WORDS_TO_CHAIRS and passing[at]:
            at += 1
        if at < n and chairs[at] and stream.clause[at] == stream.clause[place]:
            found.append((place - 1, at + 1, name, len(_SUITE)))
    things.put(lexicon, found)


_BOX_FOR = ("box", "for")


def plain_box_for(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context, things: Things
) -> None:
    """ "Box for sweetmeats, silver": what is kept in it has no name, and it opens the title.

    Before a thing that is known ("box for toy car") it is an empty box, as a sign of faults.
    """
    marker = lexicon.phrase_numbers.get(_BOX_FOR, -1)
    name = lexicon.phrase_numbers.get(("box",), -1)
    if marker < 0 or name < 0:
        return
    rows = np.flatnonzero((found.phrase == marker) & stream.starts()[found.start])
    if not len(rows):
        return
    place, past = found.start[rows], found.end[rows]
    last = len(stream) - 1
    named = np.zeros(stream.n_titles, dtype=bool)
    named[stream.title[things.start]] = True
    at = np.minimum(past, last)
    strange = (past <= last) & ~context.known[at] & ~context.is_number[at]
    strange &= stream.title[at] == stream.title[place]
    free = strange & ~named[stream.title[place]]
    things.put(lexicon, [(int(one), int(one) + 1, name, 1) for one in place[free]])
