"""What titles state besides thing and material: period, condition, attribution, faults, markers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import MAIN, SUBJECT, Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.picks import KindReading, distinct_pairs, first_in_group
from pipeline.terms.tokens import CLAUSE, SLASH, TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]
FloatArray = npt.NDArray[np.float32]

# most cautious first: a copy is never pooled with what it copies
CLASS_ORDER = ("reproduction", "style", "unknown", "period")
_NO_GRADES = frozenset(
    {("worn",), ("nib",), ("oss",), ("u",)}
)  # in a title a fault, in a field of conditions a grade
# may stand between a grade and the word "condition"
_OF_CONDITION = frozenset(
    ["clean", "used", "vintage", "antique", "original", "overall", "general", "cosmetic", "solid",
     "country", "house", "honest", "structural", "is", "was", "generally", "overall", "a", "in",
     "very", "quite", "pretty", "otherwise", "untouched", "working", "sound", "tidy", "usable"]
)  # fmt: skip
_LOOKS = frozenset(["looks", "look", "looking", "appears", "seems", "possibly", "maybe"])
_TO = frozenset(["to", "on", "at"])
_OTHERWISE = frozenset(["otherwise", "ow"])
_NEEDS = frozenset(["needs", "need", "needing", "requires", "requiring"])
_STATES = frozenset(["condition", "cond"])
_AGE_REACH = 2  # words before an age word at the start of a title
_ARTICLES = frozenset({"the", "a", "an"})
_THE = frozenset({"the"})
_EITHER = frozenset({"or", "to"})
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


@dataclass(frozen=True)
class Statements:
    """Findings of one kind that hold, in order of place."""

    title: IntArray
    concept: IntArray
    start: IntArray
    end: IntArray
    score: FloatArray
    phrase: IntArray


def statements(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context, kind: str
) -> Statements:
    """Findings of a kind that are not denied."""
    if kind not in lexicon.concept_of:
        none = np.zeros(0, dtype=np.int32)
        return Statements(none, none, none, none, np.zeros(0, dtype=np.float32), none)
    concept = lexicon.concept_of[kind][found.phrase]
    rows = np.flatnonzero((concept >= 0) & (~found.within | (kind == "period")))
    rows = rows[~context.denied[found.start[rows]]]
    # "sugar shaker" ends with the thing and not with the name of a period
    named = (lexicon.concept_of["category"][found.phrase] >= 0) & ~found.within
    named &= found.end - found.start > 1
    closes = np.zeros(len(stream) + 1, dtype=bool)
    closes[found.end[named]] = True
    rows = rows[~(found.within[rows] & closes[found.end[rows]])]
    return _take(lexicon, stream, found, kind, rows)


def read_periods(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    borne_out: BoolArray,
) -> tuple[KindReading, BoolArray]:
    """The period of each title, and whether it names a style only.

    Args:
        borne_out: words at which a name that is a common word too is the name of a period.
    """
    n = stream.n_titles
    said = statements(lexicon, stream, found, context, "period")
    said = _with_ages_of_stuff(lexicon, stream, found, context, said)
    is_style = np.zeros(n, dtype=bool)
    if not len(said.title):
        return KindReading.nothing(n), is_style
    style = context.next_has(said.end, "period_style")
    style |= context.previous_has(said.start, "style_before", "imitate_before")
    one_back = np.maximum(said.start - 1, 0)
    article = lexicon.words_in(_ARTICLES)[stream.word[one_back]]
    after_article = context.linked[said.start] & article
    style |= after_article & context.previous_has(one_back, "style_before")
    detail = context.next_has(said.end, "period_part")
    pictured = context.zone[said.start] == SUBJECT
    age = _without_years(lexicon)[said.concept]
    detail |= age & (style | ~_age_of_the_whole(lexicon, stream, context, said))
    # "looks old", "old repaint"
    linked = context.linked[said.start]
    detail |= age & linked & lexicon.words_in(_LOOKS)[stream.word[one_back]]
    # names that are common words ("Mission", "Pop") need a word that says what they are
    weak = lexicon.weak("period")[said.phrase] & ~age
    # ... or to stand alone in their clause: "oil lamp, terracotta, Roman, 2nd century"
    alone = _alone_in_clause(stream, said) & ~stream.starts()[said.start]
    detail |= weak & ~context.next_has(said.end, "period_style") & ~alone & ~borne_out[said.start]
    # "Geo. Buck" is a man's name
    short = lexicon.phrases_where("geo", lambda words: words == ("geo",))[said.phrase]
    detail |= short & context.next_is_unknown(said.end)
    # a reign says more than the trade that a piece was made for
    traded = lexicon.below("period", "chinese-export")[said.concept]
    rank = detail * 8 + age * 4 + pictured * 2 + (style | traded) * 1
    pick = first_in_group(said.title, rank, said.start)
    keep = ~detail[pick]
    pick = pick[keep]
    best = np.full(n, -1, dtype=np.int32)
    best[said.title[pick]] = pick
    above = lexicon.above("period")
    rows = np.flatnonzero(~detail & (best[said.title] >= 0))
    narrower = above[said.concept[rows], said.concept[best[said.title[rows]]]]
    for row in rows[narrower]:
        held = best[said.title[row]]
        if rank[row] == rank[held] and above[said.concept[row], said.concept[held]]:
            best[said.title[row]] = row
    reading = _fill(n, said, best)
    chosen = best[best >= 0]
    unsure = context.hedged[said.start[chosen]] | context.hedged[said.end[chosen] - 1]
    unsure |= context.next_has(said.end[chosen], "period_mark")
    reading.doubtful[said.title[chosen[unsure]]] = True
    is_style[said.title[chosen]] = style[chosen]
    # "Victorian/Edwardian" and "Victorian or Edwardian" name no one period
    rows = np.flatnonzero(~detail & (best[said.title] >= 0))
    other = rows[rows > best[said.title[rows]]]
    near = said.start[other] - said.end[best[said.title[other]]]
    word_between = lexicon.words_in(_EITHER)[stream.word[np.maximum(said.start[other] - 1, 0)]]
    slash = ((stream.before[said.start[other]] & SLASH) > 0) | (
        stream.before[said.start[other]] == 1
    )
    unlike = (
        ~above[said.concept[other], said.concept[best[said.title[other]]]]
        & ~above[said.concept[best[said.title[other]]], said.concept[other]]
    )
    unlike &= said.concept[other] != said.concept[best[said.title[other]]]
    clash = unlike & (((near == 0) & slash) | ((near == 1) & word_between))
    titles = said.title[other[clash]]
    reading.doubtful[titles] = True
    reading.margin[titles] = 0
    pictured_only = said.title[chosen[pictured[chosen]]]
    reading.doubtful[pictured_only] = True
    return reading, is_style


_OLD_NAMES = frozenset(["sheffield", "cut", "mine", "european"])


def _with_ages_of_stuff(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context, said: Statements
) -> Statements:
    """ "Old pine chest": the name of the wood holds the word for the age."""

    def make() -> IntArray:
        table = np.full(len(lexicon.phrases), -1, dtype=np.int32)
        material = lexicon.concept_of["material"]
        ages = _without_years(lexicon)
        for phrase in np.flatnonzero(material >= 0).tolist():
            words = lexicon.phrases[phrase]
            # "old Sheffield plate", "old-cut diamond": the name of a stuff, whatever its age
            aged = len(words) > 1 and words[1] not in _OLD_NAMES
            age = lexicon.phrase_numbers.get(words[:1], -1) if aged else -1
            concept = lexicon.concept_of["period"][age] if age >= 0 else -1
            if concept >= 0 and ages[concept]:
                table[phrase] = concept
        return table

    concept = lexicon.memo(("ages of stuff",), make)[found.phrase]
    rows = np.flatnonzero((concept >= 0) & ~found.within)
    rows = rows[~context.denied[found.start[rows]]]
    if not len(rows):
        return said
    start = np.concatenate([said.start, found.start[rows]])
    order = np.argsort(start, kind="stable")
    one_word = (found.start[rows] + 1).astype(np.int32)
    return Statements(
        title=np.concatenate([said.title, stream.title[found.start[rows]]])[order],
        concept=np.concatenate([said.concept, concept[rows]])[order],
        start=start[order],
        end=np.concatenate([said.end, one_word])[order],
        score=np.concatenate([said.score, found.score[rows]])[order],
        phrase=np.concatenate([said.phrase, found.phrase[rows]])[order],
    )


def _without_years(lexicon: Lexicon) -> BoolArray:
    """Words for age alone, such as antique and vintage: they name no period."""
    return np.array(
        [
            concept.earliest_year is None and concept.latest_year is None
            for concept in lexicon.vocabulary.concepts("period")
        ]
        or [False],
        dtype=bool,
    )


_SELLERS_WORDS = frozenset({"antique", "vintage", "retro"})
_LED_TO = frozenset(["in", "of", "on", "with", "and", "an", "a", "its", "later", "like"])
_WORDS_OF_A_RUN = 6  # of a clause that is long enough to be a run of keywords


def _age_of_the_whole(
    lexicon: Lexicon, stream: TokenStream, context: Context, said: Statements
) -> BoolArray:
    """An age word speaks of the piece at the title's start or at the end of a clause.

    In a run of keywords it may stand anywhere, but before a part: "bowl grape pattern vintage no
    chips".
    """
    n = len(stream)
    first = stream.first[:-1][said.title]
    clauses = stream.clause[said.start] - stream.clause[np.minimum(first, n - 1)]
    clause_first = np.searchsorted(stream.clause, stream.clause[said.start])
    near_start = (said.start - clause_first <= _AGE_REACH) & (clauses <= 1)
    # "lot of 12 vintage brooches"
    one_back = np.maximum(said.start - 1, 0)
    near_start |= (stream.is_number[one_back]) & (said.start - clause_first <= 2 * _AGE_REACH)
    ends = stream.closes_clause(said.end)
    part_next = context.next_has(said.end, "part")
    length = np.bincount(stream.clause)[stream.clause[said.start]]
    run = lexicon.words_in(_SELLERS_WORDS)[stream.word[said.start]] & (length > _WORDS_OF_A_RUN)
    run &= ~lexicon.words_in(_LED_TO)[stream.word[one_back]]
    run &= ~context.next_has(said.end + 1, "part", "fitted", "body")
    return (near_start | ends | run) & ~part_next & (context.zone[said.start] == MAIN)


def read_conditions(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    category: IntArray,
    *,
    bare_grades: bool = False,
) -> KindReading:
    """The condition grade of each title.

    "A good chest" praises the chest; "good condition" grades it. A bare grade word counts only
    beside a word of condition or alone in its clause. Of two grades the lower holds.

    Args:
        category: number of each title's category, -1 where none was found.
    """
    n = stream.n_titles
    said = statements(lexicon, stream, found, context, "condition")
    if not len(said.title):
        return KindReading.nothing(n)
    words = said.end - said.start
    roles = lexicon.roles[said.phrase]
    bare = has_role(roles, "grade_word")
    alone = _alone_in_clause(stream, said)
    beside = context.next_has(said.end, "title_grade") | context.previous_has(
        said.start, "title_grade"
    )
    beside |= _near_condition(lexicon, stream, context, said)
    holds = ~bare | beside | alone | bare_grades | _ends_title(stream, context, said)
    holds &= ~((words == 1) & _one_letter(lexicon, said.phrase))
    holds &= (context.zone[said.start] != SUBJECT) | ~bare
    worn = lexicon.phrases_where("no grade", lambda words: words in _NO_GRADES)
    holds &= ~worn[said.phrase] | bare_grades
    # "some wear to the plating" tells of the plating
    goes_on = lexicon.words_in(_TO)[stream.word[np.minimum(said.end, len(stream) - 1)]]
    goes_on &= (said.end < len(stream)) & context.linked[np.minimum(said.end, len(stream) - 1)]
    holds &= ~(goes_on & lexicon.phrases_where("wear", lambda w: w[-1] == "wear")[said.phrase])
    holds &= ~_of_a_part(stream, found, context, said, lexicon, category)
    rows = np.flatnonzero(holds)
    if not len(rows):
        return KindReading.nothing(n)
    grade = _ranks(lexicon, "condition")[said.concept[rows]]
    pick = rows[first_in_group(said.title[rows], -grade, said.start[rows])]
    best = np.full(n, -1, dtype=np.int32)
    best[said.title[pick]] = pick
    reading = _fill(n, subset(said, rows), _positions(best, rows))
    reading.doubtful[said.title[pick[_of_the_rest(lexicon, stream, context, said, pick)]]] = True
    return reading


def _of_the_rest(
    lexicon: Lexicon,
    stream: TokenStream,
    context: Context,
    said: Statements,
    pick: npt.NDArray[np.intp],
) -> BoolArray:
    """Grades that leave something out: "otherwise perfect", "striking needs attention"."""
    start = said.start[pick]
    before = np.maximum(start - 1, 0)
    linked = context.linked[start]
    best = _ranks(lexicon, "condition")[said.concept[pick]] == 1
    otherwise = linked & lexicon.words_in(_OTHERWISE)[stream.word[before]]
    needs = lexicon.words_in(_NEEDS)[stream.word[start]]
    # the piece itself is named right before, or is left out
    of_something = linked & ~context.known[before] & ~stream.is_number[before]
    of_something |= linked & has_role(context.ends[before], "part")
    return (best & otherwise) | (needs & of_something)


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
        pick = first_in_group(said.title, rank, _ranks(lexicon, "attribution")[said.concept])
        best = np.full(n, -1, dtype=np.int32)
        best[said.title[pick]] = pick
        reading = _fill(n, said, best)
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
    ages = _without_years(lexicon)[np.maximum(period.concept, 0)]
    by_period = ~has & (((period.concept >= 0) & ~ages) | dated)
    _assume(reading, by_period, ids, "of-the-period")
    class_number[by_period] = classes.index("period")
    reading.doubtful |= (period.concept >= 0) & period.doubtful & by_period
    reading.doubtful |= context.hedged_title & (class_number == classes.index("period"))
    return reading, classes, class_number


def _aged(lexicon: Lexicon, period: KindReading) -> BoolArray:
    """Titles whose period is a word for age alone, such as antique."""
    return _without_years(lexicon)[np.maximum(period.concept, 0)]


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


_LOT = frozenset(["lot"])
_NUMBER_OF = frozenset(["no", "nr", "number"])


def read_list(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context, kind: str
) -> Statements:
    """Every distinct concept of a kind that a title states, such as markers."""
    said = statements(lexicon, stream, found, context, kind)
    if kind == "marker" and len(said.title):
        # "Lot 14 - an oak coffer" is the number in a catalogue
        after = np.minimum(said.end, len(stream) - 1)
        inside = (said.end < len(stream)) & ~stream.starts()[after]
        number = inside & (
            context.is_number[after] | lexicon.words_in(_NUMBER_OF)[stream.word[after]]
        )
        opens = stream.starts()[said.start] & lexicon.words_in(_LOT)[stream.word[said.start]]
        said = subset(said, np.flatnonzero(~(number & opens & (said.end - said.start == 1))))
    return subset(said, distinct_pairs(said.title, said.concept))


def _near_condition(
    lexicon: Lexicon, stream: TokenStream, context: Context, said: Statements
) -> BoolArray:
    """ "Good clean vintage condition", "condition is generally good": a word or two between."""
    n = len(stream)
    near = np.zeros(len(said.title), dtype=bool)
    small = lexicon.words_in(_OF_CONDITION)
    state = lexicon.words_in(_STATES)
    for at, step in ((said.end, 1), (said.start - 1, -1)):
        alive = np.ones(len(said.title), dtype=bool)
        place = at.copy()
        for _ in range(3):
            broken = place if step > 0 else place + 1
            inside = (place >= 0) & (place < n) & (broken > 0) & (broken < n)
            alive &= inside & context.linked[np.where(inside, broken, 0)]
            word = stream.word[np.where(alive, place, 0)]
            near |= alive & state[word]
            alive &= small[word]
            place = place + step
    return near


def _of_a_part(
    stream: TokenStream,
    found: Found,
    context: Context,
    said: Statements,
    lexicon: Lexicon,
    category: IntArray,
) -> BoolArray:
    """ "(mirror A/F)", "leather top worn": the grade is of what stands right before it."""
    before = np.maximum(said.start - 1, 0)
    linked = context.linked[said.start]
    thing_end = np.zeros(len(stream) + 1, dtype=bool)
    concept = lexicon.concept_of["category"][found.phrase]
    other = (concept >= 0) & (concept != category[stream.title[found.start]])
    thing_end[found.end[other]] = True
    part = has_role(context.ends[before], "part")
    first = stream.first[:-1][said.title]
    later = stream.clause[said.start] != stream.clause[first]
    bare = has_role(lexicon.roles[said.phrase], "grade_word")
    return linked & ((part & bare) | (thing_end[said.start] & later))


def _ends_title(stream: TokenStream, context: Context, said: Statements) -> BoolArray:
    """The last word of a title, after a word that is known ("... dents fair")."""
    last = said.end == stream.first[1:][said.title]
    before = np.maximum(said.start - 1, 0)
    plain = context.known[before] & ~has_role(
        context.ends[before], "subject", "with", "purpose", "body", "part"
    )
    return last & context.linked[said.start] & plain


def _alone_in_clause(stream: TokenStream, said: Statements) -> BoolArray:
    starts = stream.starts()[said.start] | ((stream.before[said.start] & CLAUSE) > 0)
    ends = stream.closes_clause(said.end)
    # a title that is nothing but the grade says too little of a piece to trust it
    return starts & ends & ~stream.starts()[said.start]


def _one_letter(lexicon: Lexicon, phrase: IntArray) -> BoolArray:
    return lexicon.phrases_where(
        "one letter", lambda words: len(words) == 1 and len(words[0]) == 1
    )[phrase]


def _ranks(lexicon: Lexicon, kind: str) -> IntArray:
    return lexicon.memo(
        ("rank", kind),
        lambda: np.array(
            [concept.rank or 0 for concept in lexicon.vocabulary.concepts(kind)] or [0],
            dtype=np.int32,
        ),
    )


def _take(
    lexicon: Lexicon, stream: TokenStream, found: Found, kind: str, rows: npt.NDArray[np.intp]
) -> Statements:
    phrase = found.phrase[rows]
    return Statements(
        title=stream.title[found.start[rows]] if len(rows) else np.zeros(0, dtype=np.int32),
        concept=lexicon.concept_of[kind][phrase],
        start=found.start[rows],
        end=found.end[rows],
        score=np.minimum(found.score[rows], lexicon.score_of[kind][phrase]),
        phrase=phrase,
    )


def subset(said: Statements, rows: npt.NDArray[np.intp]) -> Statements:
    """The statements of the chosen rows."""
    return Statements(
        said.title[rows],
        said.concept[rows],
        said.start[rows],
        said.end[rows],
        said.score[rows],
        said.phrase[rows],
    )


def _positions(best: IntArray, rows: npt.NDArray[np.intp]) -> IntArray:
    """Indices into `rows` for indices into what `rows` was taken from."""
    slot = np.searchsorted(rows, np.maximum(best, 0))
    return np.where(best >= 0, slot, -1).astype(np.int32)


def _fill(n_titles: int, said: Statements, best: IntArray) -> KindReading:
    reading = KindReading.nothing(n_titles)
    has = best >= 0
    chosen = best[has]
    reading.concept[has] = said.concept[chosen]
    reading.score[has] = said.score[chosen]
    reading.margin[has] = said.score[chosen]
    others = np.flatnonzero(said.concept != reading.concept[said.title])
    others = others[distinct_pairs(said.title[others], said.concept[others])]
    reading.also_title, reading.also_concept = said.title[others], said.concept[others]
    return reading


__all__ = [
    "CLASS_ORDER",
    "MAIN",
    "Statements",
    "read_attributions",
    "read_conditions",
    "read_list",
    "read_periods",
    "statements",
    "subset",
]
