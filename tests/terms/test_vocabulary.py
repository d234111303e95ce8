"""The loader proves a vocabulary, and says clearly what does not hold.

S13 and S14 are integrity conditions of the SKOS Reference (W3C Recommendation, 18 August 2009).
"""

from __future__ import annotations

import csv
import errno
import io
import pickle
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.errors import VocabularyError
from pipeline.terms.text import normalise_label
from pipeline.terms.vocabulary import Vocabulary
from pipeline.terms.vocabulary_file import (
    COMMON_COLUMNS,
    KINDS,
    SEPARATOR,
    Concept,
    label_forms,
)

COMMON = ",".join(COMMON_COLUMNS)
GOOD = {
    "categories.csv": f"{COMMON},caution_ids\n"
    "furniture,furniture,,,,,\n"
    "chest,chest of drawers,chest-of-drawers|drawers,chest draws,furniture,A case of drawers.,\n"
    "tallboy,tallboy,highboy,,chest,,\n"
    "lighting,lighting,,,,,wiring\n",
    "materials.csv": f"{COMMON},aspect,caution_ids,field_only\n"
    "wood,wood,,,,,material,,\n"
    "mahogany,mahogany,,mahog.|mahogony,wood,,material,,\n"
    "cuban-mahogany,Cuban mahogany,,,mahogany,,material,,\n",
    "periods.csv": f"{COMMON},earliest,latest,region,range_source\n"
    "georgian,Georgian,,,,,1714,1830,GB,regnal years\n"
    "han,Han dynasty,,,,,-206,220,CN,from memory\n",
    "conditions.csv": f"{COMMON},rank\ngood,good,,,,,4\nused,used,,,,,\n",
    "faults.csv": f"{COMMON},kind,direction,families\nchips,chipped,,,,,fault,lowers,furniture\n",
    "attributions.csv": f"{COMMON},rank,class\nby,by,,,,,1,period\n",
    "markers.csv": f"{COMMON},kind\npair,pair,,,,,pair\n",
    "cautions.csv": f"{COMMON}\nwiring,old wiring,,,,Ask a licensed person.\n",
    "makers.csv": f"{COMMON}\n",
    "ambiguities.csv": "label,kind,rule,prefer,reason\n",
}


@pytest.fixture
def package(tmp_path: Path) -> Path:
    folder = tmp_path / "package"
    folder.mkdir()
    for name, text in GOOD.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


@pytest.fixture
def extra(tmp_path: Path) -> Path:
    folder = tmp_path / "decisions" / "vocabulary"
    folder.mkdir(parents=True)
    return folder


def test_a_sound_vocabulary_loads(package: Path) -> None:
    vocabulary = Vocabulary.load(package_dir=package)
    assert vocabulary.kinds == tuple(KINDS)
    assert vocabulary.warnings == ()
    chest = vocabulary.concept("category", "chest")
    assert chest.pref_label == "chest of drawers"
    assert chest.alt_labels == ("chest-of-drawers", "drawers")
    assert chest.hidden_labels == ("chest draws",)
    assert chest.broader == "furniture"
    assert chest.scope_note == "A case of drawers."
    assert chest.extra == {"caution_ids": ""}
    assert vocabulary.concept("category", "lighting").many("caution_ids") == ("wiring",)
    han = vocabulary.concept("period", "han")
    assert (han.earliest_year, han.latest_year) == (-206, 220)
    assert vocabulary.concept("condition", "used").rank is None


# --- the tree ------------------------------------------------------------------------------


def test_ancestors_family_and_descendants(package: Path) -> None:
    vocabulary = Vocabulary.load(package_dir=package)
    assert vocabulary.ancestors("category", "tallboy") == ("chest", "furniture")
    assert vocabulary.ancestors("category", "furniture") == ()
    assert vocabulary.family("tallboy") == "furniture"
    assert vocabulary.family("furniture") == "furniture"
    assert vocabulary.descendants("category", "furniture") == ("chest", "tallboy")
    assert vocabulary.descendants("category", "tallboy") == ()
    assert vocabulary.root("material", "cuban-mahogany") == "wood"


def test_an_unknown_concept_names_the_nearest(package: Path) -> None:
    vocabulary = Vocabulary.load(package_dir=package)
    with pytest.raises(VocabularyError, match="mahogany") as caught:
        vocabulary.concept("material", "mahogony-")
    assert "There is no material 'mahogony-'" in caught.value.what
    with pytest.raises(VocabularyError, match="Use one of: category, material"):
        vocabulary.concepts("colour")
    with pytest.raises(VocabularyError, match="holds no maker yet"):
        vocabulary.concept("maker", "someone")


def test_cautions_come_from_either_side_and_from_above(package: Path) -> None:
    (package / "cautions.csv").write_text(
        f"{COMMON},category_ids,material_ids\n"
        "wiring,old wiring,,,,Ask a licensed person.,,\n"
        "tip-over,tip-over,,,,Fix it to the wall.,chest,\n"
        "listed,listed wood,,,,Ask.,,mahogany\n"
    )
    vocabulary = Vocabulary.load(package_dir=package)
    assert vocabulary.cautions_of("category", "lighting") == ("wiring",)
    assert vocabulary.cautions_of("category", "tallboy") == ("tip-over",)
    assert vocabulary.cautions_of("category", "furniture") == ()
    assert vocabulary.cautions_of("material", "cuban-mahogany") == ("listed",)
    _replace(package, "cautions.csv", ",mahogany", ",mahogony")
    with pytest.raises(VocabularyError, match="material 'mahogony' of listed") as caught:
        Vocabulary.load(package_dir=package)
    assert str(caught.value.where).endswith("cautions.csv, line 4, column material_ids")


# --- labels --------------------------------------------------------------------------------


def test_labels_by_their_normalised_form(package: Path) -> None:
    labels = Vocabulary.load(package_dir=package).labels("category")
    (entry,) = labels["chest of drawers"]
    # "chest-of-drawers" normalises to the same words: the better type stays
    assert entry == ("chest", "chest of drawers", "pref")
    assert labels["chest draws"][0].label_type == "hidden"
    assert set(labels) == {normalise_label(name) for name in labels}


def test_nearest_labels_are_one_a_concept(package: Path) -> None:
    near = Vocabulary.load(package_dir=package).nearest_labels("material", "mahoganny", 2)
    assert [one.concept_id for one in near] == ["mahogany", "cuban-mahogany"]
    assert near[0].score > near[1].score


def test_field_only_labels(package: Path) -> None:
    _replace(
        package, "materials.csv", "wood,,material,,\ncuban", "wood,,material,,mahog.|Hog\ncuban"
    )
    vocabulary = Vocabulary.load(package_dir=package)
    assert vocabulary.field_only_labels("material") == frozenset({"mahog", "hog"})
    # one that is written nowhere else is a hidden label
    assert vocabulary.concept("material", "mahogany").hidden_labels == ("mahog.", "mahogony", "Hog")
    assert vocabulary.field_only_labels("category") == frozenset()


# --- tables and fingerprint ----------------------------------------------------------------


def test_tables(package: Path) -> None:
    concepts, labels = Vocabulary.load(package_dir=package).to_tables()
    rows = {(row["kind"], row["concept_id"]): row for row in concepts.to_pylist()}
    assert rows["category", "tallboy"] == {
        "kind": "category",
        "concept_id": "tallboy",
        "pref_label": "tallboy",
        "broader_id": "chest",
        "family_id": "furniture",
        "scope_note": None,
        "earliest_year": None,
        "latest_year": None,
        "rank": None,
        "class": None,
        "direction": None,
    }
    assert rows["period", "han"]["earliest_year"] == -206
    assert rows["attribution", "by"]["class"] == "period"
    assert rows["attribution", "by"]["rank"] == 1
    assert rows["fault", "chips"]["direction"] == "lowers"
    assert labels.column_names == ["kind", "concept_id", "label", "label_type", "is_ambiguous"]
    # every label as it was written, also two that normalise to the same words
    written = [row["label"] for row in labels.to_pylist() if row["concept_id"] == "chest"]
    assert written == ["chest of drawers", "chest-of-drawers", "drawers", "chest draws"]
    assert not any(labels["is_ambiguous"].to_pylist())


def test_the_fingerprint_is_of_the_content_not_of_the_order(package: Path) -> None:
    before = Vocabulary.load(package_dir=package).fingerprint
    assert len(before) == 64
    lines = GOOD["periods.csv"].splitlines()
    (package / "periods.csv").write_text("\n".join([lines[0], lines[2], lines[1]]))
    assert Vocabulary.load(package_dir=package).fingerprint == before
    _replace(package, "periods.csv", "1830", "1837")
    assert Vocabulary.load(package_dir=package).fingerprint != before


def test_a_changed_file_is_read_again_and_an_unchanged_one_is_not(package: Path) -> None:
    first = Vocabulary.load(package_dir=package)
    assert Vocabulary.load(package_dir=package) is first
    _replace(package, "materials.csv", "Cuban mahogany", "Spanish mahogany")
    again = Vocabulary.load(package_dir=package)
    assert again.concept("material", "cuban-mahogany").pref_label == "Spanish mahogany"


def test_a_vocabulary_crosses_processes(package: Path) -> None:
    vocabulary = Vocabulary.load(package_dir=package)
    copy = pickle.loads(pickle.dumps(vocabulary))
    assert copy.fingerprint == vocabulary.fingerprint
    assert hash(copy.concept("category", "chest")) == hash(vocabulary.concept("category", "chest"))


# --- a workspace ---------------------------------------------------------------------------


def test_a_workspace_adds_and_overrides_by_id(package: Path, extra: Path) -> None:
    (extra / "makers.csv").write_text(f"{COMMON}\nold-forge,Old Forge of Nowhere,,,,\n")
    (extra / "materials.csv").write_text(
        f"{COMMON},aspect,caution_ids\n"
        "mahogany,mahogany,acajou,,wood,,material,\n"
        "teak,teak,,,wood,,material,\n"
    )
    vocabulary = Vocabulary.load(extra, package_dir=package)
    assert vocabulary.concept("maker", "old-forge").pref_label == "Old Forge of Nowhere"
    assert vocabulary.concept("material", "teak").broader == "wood"
    # the row replaces the package's whole: its misspellings are gone with it
    assert vocabulary.concept("material", "mahogany").alt_labels == ("acajou",)
    assert vocabulary.concept("material", "mahogany").hidden_labels == ()
    assert "teak" not in {
        one.id for one in Vocabulary.load(package_dir=package).concepts("material")
    }


def test_a_folder_that_does_not_exist_adds_nothing(package: Path, tmp_path: Path) -> None:
    with_none = Vocabulary.load(tmp_path / "nowhere", package_dir=package)
    assert with_none.fingerprint == Vocabulary.load(package_dir=package).fingerprint


def test_a_workspace_file_of_no_kind_is_named(package: Path, extra: Path) -> None:
    (extra / "colours.csv").write_text("id\n")
    with pytest.raises(VocabularyError, match=r"colours\.csv") as caught:
        Vocabulary.load(extra, package_dir=package)
    assert "categories.csv" in str(caught.value)


def test_a_label_a_workspace_shares_is_a_warning(package: Path, extra: Path) -> None:
    (extra / "materials.csv").write_text(
        f"{COMMON},aspect,caution_ids\nsapele,sapele,mahogony,,wood,,material,\n"
    )
    vocabulary = Vocabulary.load(extra, package_dir=package)
    (warning,) = vocabulary.warnings
    assert "'mahogony' is shared by mahogany, sapele" in warning
    assert "materials.csv, line 2, column altLabels" in warning
    _, labels = vocabulary.to_tables()
    shared = {row["concept_id"] for row in labels.to_pylist() if row["is_ambiguous"]}
    assert shared == {"mahogany", "sapele"}
    (extra / "ambiguities.csv").write_text(
        "label,kind,rule,prefer,reason\nmahogony,material,prefer,mahogany,It is a misspelling.\n"
    )
    settled = Vocabulary.load(extra, package_dir=package)
    assert settled.warnings == ()
    rule = settled.ambiguity("material", "MAHOGONY")
    assert rule is not None
    assert rule.prefer == "mahogany"


def test_a_rule_may_look_beside_the_label(package: Path) -> None:
    (package / "ambiguities.csv").write_text(
        "label,kind,rule,prefer,reason,choices\n"
        "drawers,category,by_currency,,It depends.,GBP=chest|USD=tallboy\n"
    )
    rule = Vocabulary.load(package_dir=package).ambiguity("category", "Drawers")
    assert rule is not None
    assert rule.choices == (("GBP", "chest"), ("USD", "tallboy"))


# --- broken files, each with its own clear message -----------------------------------------

# (name, file, what to put for what, the place, words of the message)
BROKEN = [
    ("missing column", "periods.csv", (",range_source\n", "\n"),
     "line 1, column range_source", "The column range_source is missing"),
    ("column twice", "materials.csv", (",field_only", ",aspect"),
     "line 1, column aspect", "is there twice"),
    ("unnamed column", "markers.csv", (",kind\n", ",kind,\n"),
     "line 1, column 8", "has no name"),
    ("duplicate id", "materials.csv", ("cuban-mahogany,", "wood,"),
     "line 4, column id", "The id wood is there twice, first in line 2"),
    ("bad slug", "materials.csv", ("cuban-mahogany,", "Cuban Mahogany,"),
     "line 4, column id", "'Cuban Mahogany' is no concept id"),
    ("no id", "materials.csv", ("cuban-mahogany,", ","),
     "line 4, column id", "has no id"),
    ("unknown broader", "materials.csv", (",mahogany,,material", ",mahogony,,material"),
     "line 4, column broader", "The broader concept 'mahogony' of cuban-mahogany does not exist"),
    ("cycle", "categories.csv", ("furniture,furniture,,,,,", "furniture,furniture,,,tallboy,,"),
     "column broader", "is broader than itself: furniture > tallboy > chest > furniture"),
    ("broader than itself", "materials.csv", ("wood,wood,,,,", "wood,wood,,,wood,"),
     "line 2, column broader", "The concept wood is broader than itself: wood > wood"),
    ("S13: alternative is preferred", "categories.csv", ("highboy", "Tallboy"),
     "line 4, column altLabels", "SKOS S13"),
    ("S13: hidden is alternative", "categories.csv", ("chest draws", "Drawers"),
     "line 3, column hiddenLabels", "in altLabels and in hiddenLabels"),
    ("a label twice in one cell", "materials.csv", ("mahog.|mahogony", "mahog.|MAHOG."),
     "line 3, column hiddenLabels", "in hiddenLabels twice"),
    ("S14: two preferred labels", "categories.csv",
     ("tallboy,tallboy", "tallboy,tallboy|high chest"),
     "line 4, column prefLabel", "SKOS S14"),
    ("S14: no preferred label", "categories.csv", ("tallboy,tallboy", "tallboy,"),
     "line 4, column prefLabel", "has no preferred label"),
    ("S14: preferred label of two concepts", "categories.csv",
     ("tallboy,tallboy", "tallboy,Lighting"),
     "line 5, column prefLabel", "is that of tallboy and of lighting"),
    ("label of marks only", "materials.csv", ("mahog.|", "?!|"),
     "line 3, column hiddenLabels", "holds no letter or digit"),
    ("bad year", "periods.csv", ("1714", "c1714"),
     "line 2, column earliest", "'c1714' is no year"),
    ("year out of all bounds", "periods.csv", ("1830", "18300"),
     "line 2, column latest", "'18300' is no year"),
    ("years the wrong way round", "periods.csv", ("-206,220", "220,-206"),
     "line 3, column earliest", "starts in 220, after its end in -206"),
    ("years of no source", "periods.csv", ("regnal years", ""),
     "line 2, column range_source", "name no source"),
    ("bad rank", "conditions.csv", (",4\n", ",0\n"),
     "line 2, column rank", "'0' is no rank"),
    ("closed column", "attributions.csv", ("1,period", "1,genuine"),
     "line 2, column class", "'genuine' is not a value of class"),
    ("closed column left empty", "materials.csv", ("wood,wood,,,,,material", "wood,wood,,,,,"),
     "line 2, column aspect", "aspect is empty"),
    ("unknown caution", "categories.csv", (",wiring", ",wirring"),
     "line 5, column caution_ids", "The caution 'wirring' of lighting does not exist"),
    ("unknown family", "faults.csv", ("lowers,furniture", "lowers,furnitures"),
     "line 2, column families", "The category 'furnitures' of chips does not exist"),
    ("shared label without a rule", "categories.csv", ("highboy", "chest-draws"),
     "line 4, column altLabels", "shared by chest, tallboy and has no rule"),
    ("too many cells", "markers.csv", ("pair,pair,,,,,pair", "pair,pair,,,,,pair,two of a kind"),
     "line 2", "has 8 cells and the header has 7"),
    ("too few cells", "markers.csv", ("pair,pair,,,,,pair", "pair,pair,,,,"),
     "line 2", "has 6 cells and the header has 7"),
    ("quote left open", "categories.csv", ("A case of drawers.", '"A case of drawers.'),
     "line 3", "not readable as CSV"),
    ("empty file", "makers.csv", (f"{COMMON}\n", "\n"),
     "line 1", "has no header"),
    ("rule for no kind", "ambiguities.csv",
     ("reason\n", "reason\ndrawers,furniture,prefer,chest,So.\n"),
     "line 2, column kind", "'furniture' is no kind of term"),
    ("rule that prefers nothing known", "ambiguities.csv",
     ("reason\n", "reason\ndrawers,category,prefer,cheest,So.\n"),
     "line 2, column prefer", "'cheest' of the label 'drawers' does not exist"),
    ("rule without a reason", "ambiguities.csv",
     ("reason\n", "reason\ndrawers,category,prefer,chest,\n"),
     "line 2, column reason", "has no reason"),
    ("two rules for a label", "ambiguities.csv",
     ("reason\n", "reason\ndrawers,category,prefer,chest,So.\nDrawers,category,review,,So.\n"),
     "line 3, column label", "has two rules, the first in line 2"),
    ("rule that is none", "ambiguities.csv",
     ("reason\n", "reason\ndrawers,category,guess,chest,So.\n"),
     "line 2, column rule", "'guess' is no rule for a shared label"),
    ("rule that prefers nothing", "ambiguities.csv",
     ("reason\n", "reason\ndrawers,category,prefer,,So.\n"),
     "line 2, column prefer", "names nothing in prefer"),
    ("rule that prefers another's label", "ambiguities.csv",
     ("reason\n", "reason\ndrawers,category,prefer,tallboy,So.\n"),
     "line 2, column prefer", "is no label of tallboy"),
    ("choice of no concept", "ambiguities.csv",
     ("reason\n", "reason,choices\ndrawers,category,by_currency,,So.,GBP=cheest\n"),
     "line 2, column choices", "is no choice between concepts"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("file", "change", "place", "message"),
    [case[1:] for case in BROKEN],
    ids=[case[0] for case in BROKEN],
)
def test_a_broken_file_says_what_where_and_what_to_do(
    package: Path, file: str, change: tuple[str, str], place: str, message: str
) -> None:
    _replace(package, file, *change)
    with pytest.raises(VocabularyError) as caught:
        Vocabulary.load(package_dir=package)
    assert message in caught.value.what
    assert caught.value.where is not None
    assert file in caught.value.where
    assert caught.value.where.endswith(place)
    assert caught.value.todo


def test_every_broken_file_has_a_message_of_its_own(package: Path) -> None:
    messages = [case[4] for case in BROKEN]
    assert len(messages) == len(set(messages)) >= 8


def test_a_file_in_another_encoding_names_line_and_column(package: Path) -> None:
    text = GOOD["materials.csv"].replace("Cuban mahogany", "Régence mahogany")
    (package / "materials.csv").write_bytes(text.encode("cp1252"))
    with pytest.raises(VocabularyError, match="not UTF-8: byte 0xE9") as caught:
        Vocabulary.load(package_dir=package)
    assert str(caught.value.where).endswith("materials.csv, line 4, column prefLabel")
    (package / "materials.csv").write_bytes(GOOD["materials.csv"].encode("utf-16-le"))
    with pytest.raises(VocabularyError, match="UTF-16"):
        Vocabulary.load(package_dir=package)


def test_a_byte_order_mark_and_either_line_end_are_taken(package: Path) -> None:
    before = Vocabulary.load(package_dir=package).fingerprint
    text = GOOD["materials.csv"].replace("\n", "\r\n")
    (package / "materials.csv").write_bytes(b"\xef\xbb\xbf" + text.encode("utf-8"))
    assert Vocabulary.load(package_dir=package).fingerprint == before


def test_a_package_without_one_of_its_files_does_not_load(package: Path) -> None:
    (package / "faults.csv").unlink()
    with pytest.raises(VocabularyError, match=r"faults\.csv"):
        Vocabulary.load(package_dir=package)


def test_a_file_that_cannot_be_opened(package: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    read_bytes = Path.read_bytes

    def refuse(path: Path) -> bytes:
        if path.name == "faults.csv":
            raise PermissionError(errno.EACCES, "Permission denied")
        return read_bytes(path)

    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(VocabularyError, match="cannot be opened: Permission denied"):
        Vocabulary.load(package_dir=package)


def test_loading_imports_no_heavy_library() -> None:
    code = (
        "import sys; from pipeline.terms.vocabulary import Vocabulary; Vocabulary.load();"
        "sys.exit(', '.join({'pandas', 'rapidfuzz', 'rdflib'} & set(sys.modules)) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


# --- properties ----------------------------------------------------------------------------

words = st.text(
    st.characters(codec="utf-8", exclude_characters=SEPARATOR, exclude_categories=("Cs", "Cc")),
    min_size=1,
    max_size=12,
).filter(lambda text: bool(normalise_label(text)) and text == text.strip())


@given(
    labels=st.lists(
        words, min_size=1, max_size=6, unique_by=lambda t: " ".join(t.casefold().split())
    )
)
def test_any_label_is_found_again_by_its_normalised_form(
    labels: list[str], tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("package")
    for name, text in GOOD.items():
        (folder / name).write_text(text, encoding="utf-8")
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(
        ["one", labels[0], SEPARATOR.join(labels[1:]), "", "", ""]
    )
    (folder / "makers.csv").write_text(f"{COMMON}\n{out.getvalue()}", encoding="utf-8")
    vocabulary = Vocabulary.load(package_dir=folder)
    concept = vocabulary.concept("maker", "one")
    assert [concept.pref_label, *concept.alt_labels] == labels
    for label in labels:
        assert vocabulary.labels("maker")[normalise_label(label)][0].concept_id == "one"


@given(labels=st.lists(words, min_size=1))
def test_all_labels_at_once_are_normalised_as_one_by_one(labels: list[str]) -> None:
    concept = Concept("maker", "one", labels[0], tuple(labels[1:]), (), None, "", {})
    assert label_forms([concept]) == {label: normalise_label(label) for label in labels}


@given(order=st.permutations(range(3)))
def test_a_circle_is_found_from_wherever_it_is_entered(
    order: list[int], tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("package")
    for name, text in GOOD.items():
        (folder / name).write_text(text, encoding="utf-8")
    rows = [f"m{i},m{i},,,m{(i + 1) % 3},\n" for i in range(3)]
    (folder / "makers.csv").write_text(f"{COMMON}\n" + "".join(rows[i] for i in order))
    with pytest.raises(VocabularyError, match="broader than itself"):
        Vocabulary.load(package_dir=folder)


def _replace(folder: Path, file: str, old: str, new: str) -> None:
    path = folder / file
    text = path.read_text(encoding="utf-8")
    assert old in text, f"the test's own edit does not fit: {old}"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
