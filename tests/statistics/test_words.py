"""Words and pairs of titles."""

from __future__ import annotations

from collections import Counter

from pipeline.statistics.words import TitleIndex, choose_words, phrases, tokens


def test_tokens_undo_entities_and_marks():
    assert tokens("~~ Wii KART &amp; Wheel ~ <b>NEW</b>") == ["wii", "kart", "wheel", "new"]
    assert tokens("L&#39;Heureux café") == ["l'heureux", "café"]


def test_bare_numbers_are_no_words_but_may_stand_in_pairs():
    assert phrases("2 wheels 12") == ["wheels", "2 wheels", "wheels 12"]
    assert phrases("a b") == ["a b"]
    assert phrases("") == []


def test_a_title_counts_once_for_each_row():
    index = TitleIndex(["oak chair", "oak chair", None, "oak table"])
    assert index.counts()["oak"] == 3
    rows, columns = index.rows_and_columns({"oak": 0, "table": 1})
    assert list(zip(rows.tolist(), columns.tolist(), strict=True)) == [
        (0, 0), (1, 0), (3, 0), (3, 1)]  # fmt: skip


def test_no_titles_at_all():
    rows, columns = TitleIndex([]).rows_and_columns({"oak": 0})
    assert rows.size == columns.size == 0


def test_words_in_every_title_and_rare_ones_are_left_out():
    counts = Counter({"oak": 10, "chair": 100, "odd": 1, "oak chair": 10, "old chair": 6, "old": 8})
    chosen = choose_words(counts, 100, least=2, most=10, most_share=0.95)
    assert chosen == ["oak", "old", "old chair"]
