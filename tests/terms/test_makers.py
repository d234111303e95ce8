"""Makers go down the same ladder as other fields: name, label, turned words, likeness, a person.

The makers are invented. What likeness may take is common practice, no source: one letter inside
a long word is a slip of the pen, another initial or another short word is another person.
"""

import datetime as dt
from pathlib import Path

import pyarrow as pa
import pytest

from pipeline.errors import UsageError
from pipeline.terms.decisions import TermDecision, TermDecisions
from pipeline.terms.reader import candidates, read_terms
from pipeline.terms.vocabulary import Vocabulary

MAKERS = """\
id,prefLabel,altLabels,hiddenLabels,broader,scopeNote
hallowell-j,J. Hallowell,John Hallowell|Hallowell of Norwich,,,
carrow-sons,Carrow & Sons,E. Carrow and Sons,,,
verhoost-p,P. Verhoost,Verhoost workshop,,,
verhoost-k,K. Verhoost,Verhoost workshop,,,
"""


@pytest.fixture(scope="module")
def vocabulary(tmp_path_factory: pytest.TempPathFactory) -> Vocabulary:
    folder: Path = tmp_path_factory.mktemp("vocabulary")
    header = (
        (Path(__file__).parents[2] / "pipeline/vocabulary/makers.csv")
        .read_text(encoding="utf-8")
        .splitlines()[0]
    )
    columns = header.split(",")
    lines = MAKERS.splitlines()
    known = lines[0].split(",")
    rows = [dict(zip(known, line.split(","), strict=True)) for line in lines[1:]]
    text = "\n".join([header, *(",".join(row.get(c, "") for c in columns) for row in rows)])
    (folder / "makers.csv").write_text(text + "\n", encoding="utf-8")
    return Vocabulary.load(folder)


@pytest.mark.parametrize(
    ("text", "maker", "method", "status"),
    [
        ("hallowell-j", "hallowell-j", "exact", "accepted"),
        ("J Hallowell", "hallowell-j", "exact", "accepted"),
        ("JOHN HALLOWELL", "hallowell-j", "label", "accepted"),
        ("Hallowell, John", "hallowell-j", "label", "accepted"),
        ("Jhon Hallowell", "hallowell-j", "fuzzy", "review"),  # "Jhon" is short: it may be a name
        ("John Hallowel", "hallowell-j", "fuzzy", "accepted"),
        ("T. Hallowell", "hallowell-j", "fuzzy", "review"),  # another initial, another person
        ("E. Carrow & Son", "carrow-sons", "fuzzy", "review"),
        ("Verhoost workshop", "verhoost-k", "label", "review"),  # two carry the label: by id
        ("A. Nobody", None, "none", "none"),
        ("unknown", None, "none", "none"),
    ],
)
def test_rungs(
    vocabulary: Vocabulary, text: str, maker: str | None, method: str, status: str
) -> None:
    row = read_terms(pa.array([text]), "maker", vocabulary=vocabulary).to_pylist()[0]
    assert (row["concept_id"], row["method"], row["status"]) == (maker, method, status)


def test_a_refused_maker_gives_way_to_the_next_in_likeness(vocabulary: Vocabulary) -> None:
    def refuse(concept_id: str) -> TermDecision:
        day = dt.date(2026, 1, 5)
        return TermDecision("maker", "S. Verhoost", concept_id, "reject", "M. Tal", day, "no", 2)

    texts = pa.array(["S. Verhoost"])
    plain = read_terms(texts, "maker", vocabulary=vocabulary).to_pylist()[0]
    assert plain["status"] == "review"
    other = {"verhoost-p": "verhoost-k", "verhoost-k": "verhoost-p"}[plain["concept_id"]]
    decisions = TermDecisions([refuse(plain["concept_id"])])
    row = read_terms(texts, "maker", vocabulary=vocabulary, decisions=decisions).to_pylist()[0]
    assert (row["concept_id"], row["status"], row["margin"]) == (other, "review", 0.0)


def test_candidates_are_the_likest_first(vocabulary: Vocabulary) -> None:
    found = candidates("John Halowel", "maker", n=3, vocabulary=vocabulary)
    assert found[0].concept_id == "hallowell-j"
    assert [one.score for one in found] == sorted((one.score for one in found), reverse=True)


def test_makers_are_not_read_from_titles(vocabulary: Vocabulary) -> None:
    with pytest.raises(UsageError, match="No maker is read from titles"):
        read_terms(pa.array(["x"]), "maker", titles=pa.array(["chair by x"]), vocabulary=vocabulary)
