"""One spelling of a text for comparison: what case, accents, dashes and quotes must not change.

Two levels. `fold_text` keeps punctuation (commas and hyphens tell a title's parts apart) but
brings every character to a plain form. `normalise_label` goes on to the form that labels are
compared in: words and single spaces. The array versions do the same to whole columns; plain
ASCII goes through Arrow's own kernels, the rest through the scalar function once per value.
"""

from __future__ import annotations

import html
import re
import unicodedata
from functools import cache, lru_cache

import pyarrow as pa
import pyarrow.compute as pc

# Letters that have no decomposition, and marks whose compatibility form would glue to a word.
_TRANSLATION = str.maketrans(
    {
        "æ": "ae", "Æ": "ae", "œ": "oe", "Œ": "oe", "ø": "o", "Ø": "o", "ł": "l", "Ł": "l",
        "đ": "d", "Đ": "d", "ð": "d", "Ð": "d", "þ": "th", "Þ": "th", "ı": "i", "ŋ": "n",
        "‘": "'", "’": "'", "‚": "'", "‛": "'", "ʼ": "'", "ʻ": "'", "´": "'", "`": "'", "′": "'",
        "“": '"', "”": '"', "„": '"', "″": '"', "«": '"', "»": '"',
        "‐": "-", "‑": "-", "‒": "-", "–": "-", "—": " - ", "―": " - ", "−": "-",
        "•": " | ", "·": " | ", "●": " | ", "▪": " | ", "¦": " | ", "│": " | ", "★": " | ",
        # money keeps a sign of its own, or "£1850" would read as a year
        "£": "$", "€": "$", "¥": "$", "₤": "$",
        "™": " ", "®": " ", "©": " ", "№": "no. ", "×": "x", "⁄": "/",
        "\u00ad": "", "\u200b": "", "\u200c": "", "\u200d": "", "\ufeff": "", "\u2060": "",
    }
)  # fmt: skip
_ENTITY = re.compile(r"&(?:#\d{1,6}|#[xX][0-9a-fA-F]{1,6}|[a-zA-Z]{2,8});")
_ENTITY_RE2 = r"&(?:#\d{1,6}|#[xX][0-9a-fA-F]{1,6}|[a-zA-Z]{2,8});"
# tags that exports leave in titles; "<" before anything else is a sign of its own
_INLINE = r"</?(?:i|b|em|strong|u|sup|sub|span|font|small)(?:\s[^<>]*)?/?>"
_BLOCK = r"</?(?:br|p|div|li|ul|ol|tr|td|h[1-6])(?:\s[^<>]*)?/?>"
_INLINE_TAG, _BLOCK_TAG = re.compile(_INLINE, re.I), re.compile(_BLOCK, re.I)
_MARKED_UP = f"(?i){_ENTITY_RE2}|{_INLINE}|{_BLOCK}"
_NOT_WORD = re.compile(r"[^a-z0-9\u0080-\U0010ffff]+")
_FOREIGN = re.compile(r"[^\x00-\x7f]")
# 'Rose and Crown': words in single quotes; no apostrophe stands before a word or behind a space
_QUOTED = r"(^|[ (\[,;:])'([A-Za-z][^'\"]{2,60})'($|[^A-Za-z0-9'])"
_QUOTED_TEXT = re.compile(_QUOTED)
_TYPED_DASH = re.compile(r"-{2,}")


def fold_text(text: str) -> str:
    """Lower case, no accents, plain quotes and dashes; punctuation stays.

    NFKC and case folding by the Unicode standard; accents go by decomposition (NFKD) and
    removal of the combining marks. Entities and tags of HTML go first. Idempotent.
    """
    if "&" in text and _ENTITY.search(text):
        text = _unescape(text)
    if "<" in text:
        text = _BLOCK_TAG.sub(" | ", _INLINE_TAG.sub("", text))
    if text.isascii():
        return _tidy(text.lower())
    return _tidy(_FOREIGN.sub(lambda found: _fold_character(found[0]), text).casefold())


@cache  # there are only so many characters
def _fold_character(character: str) -> str:
    """What stands for one character beyond ASCII: none of the steps looks at its neighbours."""
    folded = unicodedata.normalize("NFKD", character.translate(_TRANSLATION)).casefold()
    folded = unicodedata.normalize("NFKD", folded).translate(_TRANSLATION)
    # what is neither letter nor figure nor plain ASCII parts words (currency signs, symbols)
    return "".join(
        one if one < "\x80" or one.isalnum() else " "
        for one in folded
        if not unicodedata.combining(one)
    )


@lru_cache(maxsize=200_000)
def normalise_label(text: str) -> str:
    """The form in which two labels are the same label: `"Arts & Crafts"` -> `arts and crafts`.

    An apostrophe goes without a trace (`child's` -> `childs`); all other punctuation, the
    hyphen among it, parts words. Idempotent.
    """
    folded = fold_text(text).replace("&", " and ")
    return _NOT_WORD.sub(" ", folded).strip()


def fold_texts(texts: pa.Array | pa.ChunkedArray, *, tidy: bool = True) -> pa.Array:
    """`fold_text` on a column of strings, nulls kept. One array out.

    Without `tidy` runs of spaces and dashes stay as they are, which is twice as fast; who cuts
    the text into words afterwards does not see the difference.
    """
    array = one_array(texts)
    finish = _tidy_array if tidy else _without_apostrophes
    plain = pc.string_is_ascii(array)
    if any(pc.any(pc.match_substring(array, sign)).as_py() for sign in "&<"):
        plain = pc.and_(plain, pc.invert(pc.match_substring_regex(array, _MARKED_UP)))
    if pc.all(plain, skip_nulls=True).as_py() in (True, None):
        return finish(pc.ascii_lower(array))
    special = pc.filter(array, pc.invert(plain))
    folded = pa.array([fold_text(value) for value in special.to_pylist()], pa.large_string())
    return pc.replace_with_mask(
        finish(pc.ascii_lower(array)), pc.fill_null(pc.invert(plain), False), folded
    )


def normalise_texts(texts: pa.Array | pa.ChunkedArray) -> pa.Array:
    """`normalise_label` on a column of strings, nulls kept. One array out."""
    folded = pc.replace_substring(fold_texts(texts), "&", " and ")
    return pc.utf8_trim_whitespace(
        pc.replace_substring_regex(folded, r"[^a-z0-9\x{80}-\x{10ffff}]+", " ")
    )


def _unescape(text: str) -> str:
    """Undo HTML entities, however often an exporter escaped them."""
    for _ in range(4):
        plain = html.unescape(text)
        if plain == text:
            break
        text = plain
    # an entity that still stands is one that HTML does not know: its "&" is punctuation
    return _ENTITY.sub(lambda found: " " + found.group(0)[1:-1] + " ", text)


def _tidy(text: str) -> str:
    if "'" in text:
        text = _QUOTED_TEXT.sub(r'\1"\2"\3', text).replace("'", "")
    text = text.replace("`", "")
    if "--" in text:
        text = _TYPED_DASH.sub(" - ", text)
    return " ".join(text.split())


def _without_apostrophes(array: pa.Array) -> pa.Array:
    array = pc.replace_substring_regex(array, _QUOTED, r'\1"\2"\3')
    for mark in ("'", "`"):
        array = pc.replace_substring(array, mark, "")
    return array


def _tidy_array(array: pa.Array) -> pa.Array:
    array = _without_apostrophes(array)
    array = pc.replace_substring_regex(array, "-{2,}", " - ")
    return pc.utf8_trim_whitespace(pc.replace_substring_regex(array, r"[\s\x0b\x1c-\x1f]+", " "))


def one_array(texts: pa.Array | pa.ChunkedArray) -> pa.Array:
    """One large_string array, whatever string type or chunks came (dictionaries are decoded)."""
    if isinstance(texts, pa.ChunkedArray):
        texts = texts.combine_chunks()
        if isinstance(texts, pa.ChunkedArray):  # no chunk at all
            texts = pa.array([], texts.type)
    if pa.types.is_dictionary(texts.type):
        texts = texts.dictionary_decode()
    # A slice is copied first: pyarrow 26 lower-cases the wrong bytes of a large_string array that
    # was cast from a slice and so starts inside its buffer.
    return pa.concat_arrays([texts, texts.slice(0, 0)]).cast(pa.large_string())
