"""One spelling of a text: scalar and column agree; form, case and accents change nothing."""

from __future__ import annotations

import unicodedata

import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.terms.text import (
    _TRANSLATION,
    fold_text,
    fold_texts,
    normalise_label,
    normalise_texts,
)

LATIN = st.text(
    st.characters(min_codepoint=32, max_codepoint=0x24F, exclude_categories=("Cc",)), max_size=40
)


@pytest.mark.parametrize(
    ("text", "normal"),
    [
        ("Arts & Crafts", "arts and crafts"),
        ("Child’s  Château—chair", "childs chateau chair"),
        ("A/F", "a f"),
        ("un-restored", "un restored"),
        ("Möbel, Straße", "mobel strasse"),
        ("Œuvre &amp; co", "oeuvre and co"),
        ("&amp;amp; more", "and more"),
        ("18ct gold™ ring", "18ct gold ring"),
        ("£45 box", "45 box"),
        ("½ size", "1 2 size"),
        ("", ""),
        (" -- ", ""),
    ],
)
def test_normalise_label(text: str, normal: str) -> None:
    assert normalise_label(text) == normal


def test_money_is_not_taken_for_a_number_alone() -> None:
    # "£1850" must not reach the reader of dates as a bare 1850
    assert fold_text("£1850") == "$1850"


@given(LATIN)
def test_idempotent_and_blind_to_form_and_case(text: str) -> None:
    normal = normalise_label(text)
    assert normalise_label(normal) == normal
    assert normalise_label(unicodedata.normalize("NFD", text)) == normal
    assert normalise_label(unicodedata.normalize("NFC", text)) == normal
    assert normalise_label(f"  {text}\t") == normal


@given(st.text("abcdefghijklmnopqrstuvwxyzéüç -,&'", max_size=30))
def test_case_changes_nothing(text: str) -> None:
    assert normalise_label(text.upper()) == normalise_label(text)


@settings(deadline=None, max_examples=60)
@given(st.lists(LATIN | st.none(), max_size=8))
def test_columns_read_like_single_texts(texts: list[str | None]) -> None:
    column = pa.array(texts, pa.string())
    assert normalise_texts(column).to_pylist() == [
        None if text is None else normalise_label(text) for text in texts
    ]
    assert fold_texts(column).to_pylist() == [
        None if text is None else fold_text(text) for text in texts
    ]


def test_a_slice_reads_like_its_own_texts() -> None:
    # pyarrow 26 lower-cases wrong bytes of an array cast from a slice; see text.one_array
    texts = [f"Belle Époque lamp {i}" if i % 3 else f"Oak TABLE {i}" for i in range(3000)]
    column = pa.array(texts, pa.string()).slice(1500, 700)
    assert fold_texts(column).to_pylist() == [fold_text(text) for text in texts[1500:2200]]
    chunked = pa.chunked_array([pa.array(texts[:5]), pa.array(texts[5:9])])
    assert normalise_texts(chunked).to_pylist() == [normalise_label(t) for t in texts[:9]]


@given(
    LATIN.filter(lambda text: "&" not in text) | st.text("aé\u0301ßǽΣςﬁ①İ\u0323ẛ한Ꭰ", max_size=8)
)
def test_letters_fold_by_the_unicode_standard(text: str) -> None:
    """Unicode Standard Annex 15 (NFKD) and default case folding (chapter 3.13), on the whole text."""
    whole = unicodedata.normalize("NFKD", text.translate(_TRANSLATION)).casefold()
    whole = unicodedata.normalize("NFKD", whole).translate(_TRANSLATION)
    letters = [one for one in whole if one.isalnum() and not unicodedata.combining(one)]
    assert [one for one in fold_text(text) if one.isalnum()] == letters
