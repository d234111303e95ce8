"""The one way a piece of text is made comparable with a label."""

from __future__ import annotations

import unicodedata

# Apostrophes vanish ("child's" and "childs" are one word); everything else that is neither a
# letter nor a digit parts words; "&" is a word.
_APOSTROPHES = "'‘’ʼ`´′"
_LETTERS_WITHOUT_DECOMPOSITION = {
    "ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i", "ħ": "h",
}  # fmt: skip
_COMBINING_FIRST, _COMBINING_LAST = "\u0300", "\u036f"

_ASCII_TABLE = {
    code: (
        chr(code)
        if chr(code).isalnum()
        else "" if chr(code) in _APOSTROPHES else " and " if chr(code) == "&" else " "
    )
    for code in range(128)
}


def normalise_label(text: str) -> str:
    """Lower-case words parted by one space: what a label and a text are compared by.

    NFKC, case folded, Latin accents stripped, apostrophes dropped, '&' read as "and", every other
    mark read as a space. Idempotent; the empty string where `text` holds no letter or digit.
    """
    if text.isascii():
        return " ".join(text.lower().translate(_ASCII_TABLE).split())
    folded = unicodedata.normalize("NFKC", text).casefold()
    decomposed = unicodedata.normalize("NFKD", folded).casefold()
    kept: list[str] = []
    for char in unicodedata.normalize("NFKD", decomposed):
        if _COMBINING_FIRST <= char <= _COMBINING_LAST or char in _APOSTROPHES:
            continue
        if char == "&":
            kept.append(" and ")
        elif char.isalnum():
            kept.append(_LETTERS_WITHOUT_DECOMPOSITION.get(char, char))
        elif unicodedata.category(char)[0] == "M":
            kept.append(char)  # vowel signs and the like belong to their letter
        else:
            kept.append(" ")
    return unicodedata.normalize("NFC", " ".join("".join(kept).split()))
