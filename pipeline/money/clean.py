"""A cell of any export to plain text: what a reader of prices needs to see, and nothing else."""

from __future__ import annotations

import html
import re
import unicodedata

_TEXT_END = re.compile(r"\s+")
_STRUCK = re.compile(
    r"~~.*?~~|<(s|del|strike)\b[^>]*>.*?</\1\s*>|(?:[^\s\u0335\u0336][\u0335\u0336])+",
    re.IGNORECASE,
)
_TAG = re.compile(r"</?[a-zA-Z][^>]*>")
_SUPERSCRIPT = re.compile(r"(?<=\d)[.,]?([⁰¹²³⁴-⁹]{2})(?![⁰¹²³⁴-⁹])")
_UPPER_DIGITS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹", "0123456789")
# NFKC would part these from their digits, or join them to others.
_SAFE = str.maketrans(
    {"½": "½", "’": "'", "‘": "'", "´": "'", "`": "'", "ʹ": "'", "٫": ".", "٬": ",", "،": ",",
     "⹁": ",",
     "·": ".",
     "−": "-", "‐": "-", "‑": "-", "﹣": "-", "－": "-", "‒": "-", "⁄": "/", "×": "x"}
)  # fmt: skip
_FRACTIONS = {"½": "\ue000", "¼": "\ue001", "¾": "\ue002"}


def clean(text: str) -> tuple[str, bool]:
    """Plain text: entities and tags resolved, digits ASCII, one kind of space, struck parts gone.

    Returns:
        The text and whether something struck through was taken out.
    """
    if text.isascii() and not any(c in text for c in "&<~"):
        return _TEXT_END.sub(" ", text).strip(), False
    if "&" in text:
        text = html.unescape(text)
    without = _STRUCK.sub(" ", text)
    struck = without != text
    if struck and not any(c.isdigit() for c in without):
        # Everything was struck: the struck figure is all there is, and it was not paid.
        return "", True
    text = _TAG.sub(" ", without)
    text = _SUPERSCRIPT.sub(lambda m: "." + m[1].translate(_UPPER_DIGITS), text)
    text = text.translate(_SAFE)
    for sign, stand_in in _FRACTIONS.items():
        text = text.replace(sign, stand_in)
    text = unicodedata.normalize("NFKC", text)
    for sign, stand_in in _FRACTIONS.items():
        text = text.replace(stand_in, sign)
    kept = []
    for char in text:
        if char.isascii():
            kept.append(char)
        elif unicodedata.category(char) == "Nd":
            kept.append(str(unicodedata.decimal(char)))
        elif unicodedata.category(char) != "Cf":
            kept.append(char)
    return _TEXT_END.sub(" ", "".join(kept)).strip(), struck
