"""Words as numbers: the same words give the same numbers, and rare ones weigh more."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.linking.counts import Frequencies
from pipeline.linking.evidence import WordCounts, overlap, score_of, value_codes
from pipeline.linking.words import STOP_WORDS, Words, read_words


def codes(text: str) -> list[int]:
    return read_words(pa.array([text])).code.tolist()


def test_case_accents_and_marks_make_no_difference() -> None:
    plain = codes("theiere fleurs 45 cm")
    assert codes("Théière à FLEURS, 45cm") == plain
    assert codes("  théière--fleurs (45 cm) ") == plain
    assert len(set(plain)) == 4


def test_other_scripts_are_words_and_signs_are_not() -> None:
    assert len(codes("фарфор 瓷器 £ ’ ½ °")) == len(codes("фарфор 瓷器 1 2"))
    assert codes("straße") != codes("strabe")


def test_stop_words_say_nothing() -> None:
    assert codes(" ".join(STOP_WORDS)) == []
    assert codes("a lamp of the house") == codes("lamp house")


def test_numbers_are_told_from_words() -> None:
    words = read_words(pa.array(["lamp 45cm", None, "", "12"]))
    assert words.is_number.tolist() == [False, True, False, True]
    assert words.counts.tolist() == [3, 0, 0, 1]


@given(st.lists(st.text(max_size=30), max_size=20))
@settings(max_examples=60, deadline=None)
def test_a_text_is_read_alike_alone_and_among_others(texts: list[str]) -> None:
    together = read_words(pa.array(texts, pa.string()))
    for k, text in enumerate(texts):
        own = together.code[together.first[k] : together.first[k + 1]]
        assert own.tolist() == codes(text)


@given(
    st.lists(
        st.sampled_from(["oak", "brass", "lamp", "clock", "vase", "45", "1860", "blue"]), max_size=9
    )
)
@settings(max_examples=40, deadline=None)
def test_fingerprints_and_signatures_do_not_depend_on_order(words: list[str]) -> None:
    both = read_words(pa.array([" ".join(words), " ".join(reversed(words))]))
    assert both.fingerprints()[0] == both.fingerprints()[1]
    assert both.signatures()[0] == both.signatures()[1]
    assert (both.fingerprints()[0] == 0) == (not words)


def test_different_words_have_different_numbers() -> None:
    texts = [f"w{''.join(chr(97 + (k // 26**j) % 26) for j in range(4))}" for k in range(50_000)]
    assert len(np.unique(read_words(pa.array(texts)).code)) == 50_000


def counted(texts: list[str]) -> WordCounts:
    counts = WordCounts(Frequencies(20, 1), Frequencies(20, 1))
    group = np.zeros(len(texts), dtype=np.int64)
    for table in (counts.single, counts.paired):
        table.add_rows(group)
    counts.add(read_words(pa.array(texts)), group)
    return counts


def weighed(one: str, other: str, counts: WordCounts) -> float:
    left: Words = read_words(pa.array([one]))
    right: Words = read_words(pa.array([other]))
    return float(overlap(left, right, np.zeros(1, dtype=np.int64), counts).bits[0])


def test_rare_words_weigh_more_and_a_phrase_is_one_coincidence() -> None:
    texts = [f"oak chair bracket feet number{k}" for k in range(500)]
    texts += [f"pine table plain top number{k}" for k in range(500)]
    texts += ["oak chair crest brindle", "oak chair crest brindle", "walnut crest"] * 2
    counts = counted(texts)
    common = weighed("oak chair", "oak chair", counts)
    rare = weighed("crest brindle", "crest brindle", counts)
    assert rare > common + 3
    phrase = weighed("oak bracket feet", "oak bracket feet", counts)
    apart = weighed("bracket oak feet", "feet oak chair bracket", counts)
    assert phrase <= apart


def test_a_count_is_never_too_low() -> None:
    """In a table that is far too small, words look commoner than they are, never rarer."""
    rng = np.random.default_rng(5)
    code = rng.integers(0, 2**63, 3_000).astype(np.uint64)
    code = np.concatenate((code, code[:1_000]))
    group = rng.integers(0, 4, len(code))
    group[len(code) - 1_000 :] = group[:1_000]
    table = Frequencies(10, 4)
    table.add_rows(group)
    table.add(code, group)
    keys, true = np.unique(np.stack((code.astype(np.int64), group)), axis=1, return_counts=True)
    own = keys[1] > 0
    got = table.count(keys[0][own].astype(np.uint64), keys[1][own])
    assert (got >= true[own]).all()
    chance = table.chance(code, group)
    assert ((chance > 0) & (chance <= 1)).all()


def test_values_keep_the_order_of_their_words() -> None:
    one, other, same = value_codes(
        pa.array(["12 High Street", "street high 12", "12, high street"])
    )
    assert one == same
    assert one != other


@pytest.mark.parametrize(
    ("bits", "score"), [(0.0, 50.0), (1.0, 200 / 3), (-1.0, 100 / 3), (99.0, 100.0)]
)
def test_the_score_is_the_chance_in_a_hundred(bits: float, score: float) -> None:
    """One bit is odds of two to one."""
    assert score_of(np.array([bits]))[0] == pytest.approx(score)
