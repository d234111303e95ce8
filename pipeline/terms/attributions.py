"""On which rung of the ladder of attribution a title puts the piece."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import SUBJECT, Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.periods import without_years
from pipeline.terms.phrases import Found
from pipeline.terms.picks import KindReading, first_in_group
from pipeline.terms.statements import (
    Statements,
    fill,
    ranks,
    statements,
    subset,
)
from pipeline.terms.tokens import CLAUSE, TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

# most cautious first: a copy is never pooled with what it copies
CLASS_ORDER = ("reproduction", "style", "unknown", "period")
_ARTICLES = frozenset({"the", "a", "an"})
_THE = frozenset({"the"})
_NAME_FOLLOWS = frozenset({"by", "after", "nach", "da"})
_STAND_BEHIND = frozenset({"style", "styled", "revival", "type", "inspired", "stil"})
_STYLE_WORDS = frozenset({"style", "styled", "revival"})
_COPY_WORDS = frozenset({"copy", "copies", "modern", "imitation", "fake"})
_BEFORE_COPY = frozenset(
    ["century", "c", "later", "modern", "old", "contemporary", "museum", "exact", "period", "good"]
)
_NEVER_ALONE = frozenset(
    {
        "school", "circle", "workshop", "following", "follower", "manner", "type", "look",
        "imitation", "modern", "inspired", "neo", "homage", "att", "attr", "copies", "revival",
        "schule", "scuola di", "maniera di", "near to", "style", "styled", "studio work", "stil",
        "prob by", "shop of", "office of", "nouveau style", "kreis", "close to", "in period",
        "period piece", "with signature", "signature of", "tribute to", "associate of",
        "second period", "likely by", "by", "after", "nach", "da",
        "ascribed", "attributed", "autograph", "student of", "pupil", "school of", "stijl",
        "homage to", "contemporary of", "ecole de", "attribution", "ascription", "and studio",
        "and workshop", "with studio", "with assistants", "style piece", "pastiche of",
        "imitator", "pasticheur", "of its period", "right period", "in style", "added signature",
    }
)  # fmt: skip
# what is done by one who did not make it is told otherwise: retailed, presented, owned by
_NO_LONGER = frozenset(["formerly", "once", "previously", "wrongly", "not"])
_MAKING = frozenset(
    ["made", "painted", "designed", "engraved", "carved", "published", "printed", "signed",
     "manufactured", "produced", "potted", "decorated", "photographed", "modelled", "modeled",
     "sculpted", "etched", "lithographed", "illustrated", "enamelled", "enameled", "gilded",
     "chased", "crafted", "constructed", "executed", "attributed", "mounted", "created",
     "composed", "turned", "moulded", "molded", "stitched", "worked", "embroidered", "hallmarked",
     "marked", "red", "stamped", "hand", "dated", "circumnavigated", "titled", "inscribed",
     "framed"]
)  # fmt: skip
_NOBODY = frozenset(["unknown", "unidentified", "unrecorded", "unnamed", "anonymous"])


def read_attributions(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    period: KindReading,
    period_is_style: BoolArray,
    dated: BoolArray,
    prints: BoolArray,
    engraved: BoolArray,
    *,
    own_field: bool = False,
) -> tuple[KindReading, list[str], IntArray]:
    """The rung of the ladder and its class.

    Args:
        dated: titles that give a date of making.
        prints: titles of prints and paintings.
        engraved: titles of engravings and their like: "after" names who drew what was engraved, as
            it names the designer of a piece whose own time is told.
        own_field: the texts are a field of attributions, in which a rung's words stand for it.

    Returns:
        the reading, the names of the classes, and for each title the number of its class.
    """
    n = stream.n_titles
    classes = list(CLASS_ORDER)
    unknown = classes.index("unknown")
    class_number = np.full(n, unknown, dtype=np.int32)
    if "attribution" not in lexicon.concept_of:
        return KindReading.nothing(n), classes, class_number
    concepts = lexicon.vocabulary.concepts("attribution")
    class_of = np.array(
        [classes.index(c.extra.get("class") or "unknown") for c in concepts] or [unknown],
        dtype=np.int32,
    )
    said = statements(lexicon, stream, found, context, "attribution")
    reading = KindReading.nothing(n)
    holds = _attribution_holds(lexicon, stream, found, context, said, prints, own_field=own_field)
    if len(holds):
        after = lexicon.phrases_where("after", lambda words: words == ("after",))
        of_its_time = dated | ((period.concept >= 0) & ~period_is_style & ~_aged(lexicon, period))
        holds &= ~(after[said.phrase] & (of_its_time | engraved)[said.title])
    rows = np.flatnonzero(holds)
    if len(rows):
        said = subset(said, rows)
        rank = class_of[said.concept].copy()
        # of one class the rung nearest the maker
        pick = first_in_group(said.title, rank, ranks(lexicon, "attribution")[said.concept])
        best = np.full(n, -1, dtype=np.int32)
        best[said.title[pick]] = pick
        reading = fill(n, said, best)
        unsure = context.hedged[said.start] | context.hedged[said.end - 1]
        one_back = np.maximum(said.start - 1, 0)
        unsure |= context.linked[said.start] & lexicon.words_in(_NO_LONGER)[stream.word[one_back]]
        past = np.minimum(said.end, len(stream) - 1)
        article = lexicon.words_in(_ARTICLES)[stream.word[past]] & ~stream.starts()[past]
        bare_after = lexicon.phrases_where("after", lambda words: words == ("after",))
        unsure |= bare_after[said.phrase] & article
        unsure |= _after_the_antique(lexicon, said) & dated[said.title]
        reading.doubtful[said.title[unsure]] = True
        if own_field:
            # "circle of / follower of", "after, possibly by"
            rival = said.concept != reading.concept[said.title]
            reading.doubtful[said.title[rival]] = True
    has = reading.concept >= 0
    class_number[has] = class_of[reading.concept[has]]
    ids = lexicon.concept_ids["attribution"]
    by_style = (period.concept >= 0) & period_is_style
    weak = ~has | (class_number == classes.index("period")) | (class_number == unknown)
    _assume(reading, by_style & weak, ids, "in-the-style")
    class_number[by_style & weak] = classes.index("style")
    has = reading.concept >= 0
    ages = without_years(lexicon)[np.maximum(period.concept, 0)]
    by_period = ~has & (((period.concept >= 0) & ~ages) | dated)
    _assume(reading, by_period, ids, "of-the-period")
    class_number[by_period] = classes.index("period")
    reading.doubtful |= (period.concept >= 0) & period.doubtful & by_period
    reading.doubtful |= context.hedged_title & (class_number == classes.index("period"))
    return reading, classes, class_number


def _aged(lexicon: Lexicon, period: KindReading) -> BoolArray:
    """Titles whose period is a word for age alone, such as antique."""
    return without_years(lexicon)[np.maximum(period.concept, 0)]


def _after_the_antique(lexicon: Lexicon, said: Statements) -> BoolArray:
    """A copy of an ancient piece, of whatever date: with a year it is old in its own right."""
    return lexicon.phrases_where("the antique", lambda words: words == ("after", "the", "antique"))[
        said.phrase
    ]


def _assume(reading: KindReading, titles: BoolArray, ids: tuple[str, ...], concept_id: str) -> None:
    if concept_id in ids:
        reading.concept[titles] = ids.index(concept_id)
        reading.score[titles] = 95
        reading.margin[titles] = 95


def _attribution_holds(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    said: Statements,
    prints: BoolArray,
    *,
    own_field: bool,
) -> BoolArray:
    """Whether a rung's words are about the making of the piece.

    `by` and `after` need a name behind them (a word no vocabulary knows); `style` and its like
    need something before them that they are the style of; words such as `school` or `circle`
    mean other things in most titles.
    """
    n = len(said.title)
    if not n:
        return np.zeros(0, dtype=bool)

    def among(key: str, labels: frozenset[str]) -> BoolArray:
        return lexicon.phrases_where(key, lambda words: " ".join(words) in labels)[said.phrase]

    needs_name = among("name follows", _NAME_FOLLOWS)
    needs_before = among("stands behind", _STAND_BEHIND)
    never = among("never alone", _NEVER_ALONE)
    inside = said.end < len(stream)
    at = np.where(inside, said.end, 0)
    named = np.zeros(len(stream) + 1, dtype=bool)  # "after Chippendale": a period by its maker
    named[found.start[lexicon.concept_of["period"][found.phrase] >= 0]] = True
    name = inside & context.linked[at] & (~context.known[at] | named[at]) & ~context.is_number[at]
    name |= inside & context.linked[at] & lexicon.words_in(_THE)[stream.word[at]]
    bare_after = lexicon.phrases_where("after", lambda words: words == ("after",))[said.phrase]
    an = inside & context.linked[at] & lexicon.words_in(_ARTICLES)[stream.word[at]]
    name |= bare_after & an & prints[said.title]
    before = context.linked[said.start]
    subject = (context.zone[said.start] == SUBJECT) & ~context.previous_has(said.start, "subject")
    ends = stream.closes_clause(said.end)
    if own_field:
        # "Harlow (after)", "English School": the column says what the word is about
        never &= False
        name |= ends
    holds = np.where(needs_name, name & ~_by_another(lexicon, stream, said), ~never)
    holds = np.where(needs_before, before | own_field, holds)
    holds &= ~_of_nobody(lexicon, stream, context, said)
    copy = among("copy", _COPY_WORDS)
    one_back = np.maximum(said.start - 1, 0)
    dated = stream.is_number[one_back] | lexicon.words_in(_BEFORE_COPY)[stream.word[one_back]]
    opens = stream.starts()[said.start] | ((stream.before[said.start] & CLAUSE) > 0)
    holds = np.where(copy, ends & (opens | (before & dated)), holds)
    weak_style = needs_before & ~among("style", _STYLE_WORDS)
    holds &= ~weak_style | context.previous_has(said.start, "neutral")
    opened_here = context.opener[said.start] == said.start
    return holds & (~subject | opened_here)


def _by_another(lexicon: Lexicon, stream: TokenStream, said: Statements) -> BoolArray:
    """ "Retailed by Harlow": the name is not the maker's."""
    bare = lexicon.phrases_where("by", lambda words: words == ("by",))[said.phrase]
    out = np.zeros(len(said.title), dtype=bool)
    for row in np.flatnonzero(bare & (said.start > 0)).tolist():
        at = int(said.start[row])
        word = stream.spellings[stream.spelling[at - 1]]
        same = stream.title[at - 1] == stream.title[at]
        out[row] = same and word.endswith("ed") and word not in _MAKING
    return out


def _of_nobody(
    lexicon: Lexicon, stream: TokenStream, context: Context, said: Statements
) -> BoolArray:
    """ "Maker unknown", "by an unknown hand": nobody is named."""
    n = len(stream)
    nobody = lexicon.words_in(_NOBODY)
    out = np.zeros(len(said.title), dtype=bool)
    linked = np.ones(len(said.title), dtype=bool)
    for step in (0, 1):
        at = np.minimum(said.end + step, n - 1)
        linked &= (said.end + step < n) & context.linked[at]
        out |= linked & nobody[stream.word[at]]
    out &= lexicon.phrases_where("names a maker", lambda words: words[-1] in ("by", "maker"))[
        said.phrase
    ]
    return out
