"""Words that mean another thing in the company they keep: people, places, names of types.

The readings are those of a careful cataloguer: common practice, no source. Years of the Hijra by
the tabular calendar are tested in test_dates_reckonings.py.
"""

from __future__ import annotations

from typing import Any

import pyarrow as pa
import pytest

from pipeline.terms.dates import find_dates
from pipeline.terms.lexicon import lexicon_for
from pipeline.terms.reader import read_terms
from pipeline.terms.text import fold_text, fold_texts
from pipeline.terms.titles import read_titles


def title(text: str) -> dict[str, Any]:
    return read_titles(pa.array([text])).to_pylist()[0]


@pytest.mark.parametrize(
    ("text", "kind", "material"),
    [
        ("An Arthur Dresser oak chair", "chair", "oak"),
        ("Edwin Wood pottery jug, c. 1785", "jug", "ceramic"),
        ("Gustav Buffet, harbour, lithograph", "lithograph", "lithograph"),
        ("Felix Bell bracket clock in ebony case", "bracket-clock", "ebony"),
        # the given name is part of another name, or the word says what it is
        ("Queen Anne stone urn", "garden-urn", "stone"),
        ("Louis XVI buffet in oak", "sideboard", "oak"),
        ("Robert's oak dresser with rack", "welsh-dresser", "oak"),
    ],
)
def test_surnames_are_no_things(text: str, kind: str, material: str) -> None:
    read = title(text)
    assert (read["category_id"], read["material_id"]) == (kind, material)


@pytest.mark.parametrize(
    ("text", "period"),
    [
        ("A Roman bronze figure of Mars, 1st century AD", "antiquity-roman"),
        ("Roman giltwood console table, circa 1770", None),
        ("An Ottoman silver ewer, 19th century", "ottoman"),
        ("Victorian ottoman covered in velvet, 1870", "victorian"),
        ("Viking silver ring, 10th century", "viking-age"),
        ("Greek pottery cup, 5th century BC", "antiquity-greek"),
        ("Greek key pattern vase, 1920", None),
        ("A Transitional kingwood commode, circa 1765", "transition"),
        ("Chinese carved bamboo brush pot, late Qing", "chinese-qing"),
        ("Oak tool chest, Geo. Beckwith, Sheffield", None),
        ("Geo. III oak tool chest", "george-iii"),
        ("Benin bronze plaque, Edo peoples", None),
        ("An old cut diamond ring", None),
        ("Jug, stoneware, post-medieval", None),
    ],
)
def test_names_of_cultures_are_borne_out_by_the_years(text: str, period: str | None) -> None:
    assert title(text)["period_id"] == period


@pytest.mark.parametrize(
    ("text", "absent"),
    [
        ("Pottery horse, TL tested", "working"),
        ("Linen smock worn by a carter", "wear"),
        ("Silver pair-cased verge watch, 1790", "boxed"),
        ("Chair by Harlow Associates, oak", "married"),
        ("Chair in original ticking", "working"),
        ("Watercolour of a lane with scratching out", "scratches"),
        ("Figure of a wrestler, second reduction, bronze", "cut-down"),
        ("Drawing of a dog, felt tip pen on paper", "written-on"),
        ("Armchair of bent beech", "dents"),
        ("Goblet with a tear in the stem, c. 1710", "torn"),
        ("Gold torc, twisted", "warped"),
        ("Linen napkins, monogrammed", "later-engraved"),
        ("Hand blown glass bowl", "warped"),
    ],
)
def test_phrases_that_hold_the_word_of_a_fault(text: str, absent: str) -> None:
    assert absent not in title(text)["faults"]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("Oak coffer, worn", "wear"),
        ("Brass carriage clock, running, ticking", "working"),
        ("Silver spoon, bent", "dents"),
        ("Silk shawl, small tear", "torn"),
        ("Silver salver, monogrammed", "later-engraved"),
        ("Oak panel, warped", "warped"),
    ],
)
def test_the_faults_themselves_are_found(text: str, fault: str) -> None:
    assert fault in title(text)["faults"]


@pytest.mark.parametrize(
    ("text", "material"),
    [
        ("Betel nut cutter, brass, South India", "brass"),
        ("Akan gold weight, brass", "brass"),
        ("Cane handle, porcelain", "porcelain"),
        ("Wax jack, silver, 1780", "silver"),
        ("Gramophone with a papier mache horn", None),
        ("Longcase clock in oak case, enamel dial signed", "oak"),
        ("Pavement tile, inlaid", None),
        ("Chintz toast rack", None),
        ("White metal bowl, repousse with scrolls", "metal"),
        ("Gilt wall mirror, plaster losses", "gilded"),
        ("Tin bronze dagger blade", "bronze"),
        ("Bagpipes, ivory and silver mounted", None),
        # and still a stuff where it is one
        ("Horn beaker, silver rim", "horn"),
        ("Oak and brass bound bucket", "oak"),
        ("Box inlaid with bone", None),
    ],
)
def test_words_that_are_no_stuff_of_the_piece(text: str, material: str | None) -> None:
    assert title(text)["material_id"] == material


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Gilt copper figure of Amitayus", "buddha"),
        ("Carved wood figure of a seated Guanyin", "bodhisattva"),
        ("Walnut figure of a bishop saint", "religious-figure"),
        ("Krishna and Radha in a grove, gouache", "gouache"),
        ("Pottery figure of a hound", "pottery-figure"),
    ],
)
def test_whom_a_figure_shows(text: str, kind: str) -> None:
    assert title(text)["category_id"] == kind


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Two forms in echelon, bronze, edition of seven", "sculpture"),
        ("Perseus arming, bronze, third reduction, foundry stamp", "sculpture"),
        ("Lozenge terminal, bronze, pitted", None),
    ],
)
def test_a_cast_is_told_by_the_words_of_the_foundry(text: str, kind: str | None) -> None:
    assert title(text)["category_id"] == kind


def test_who_drew_what_was_engraved_makes_no_copy() -> None:
    assert title("Stipple engraving of a market, after Harlow")["attribution"] == "unknown"
    assert title("Portrait of a man, oil on canvas, after Harlow")["attribution"] == "reproduction"


@pytest.mark.parametrize(
    ("text", "years"),
    [
        ("Cylinder seal, haematite, 1800 BC", (-1800, -1800)),
        ("Alabaster headrest, 2649-2150 BC", (-2649, -2150)),
        ("Ivory box, dated AH 357/AD 968", (968, 968)),
        ("Brass ewer, A.H. 629/A.D. 1232", (1232, 1232)),
        ("Mahogany armchair, c. 1760, and later", (1755, None)),
        ("Photograph of a mill, printed later, 1970s", (1970, 1979)),
        ("Pine table, drawer at one end 7ft", (None, None)),
        ("Painted stool, faux rosewood, Regency", (1800, 1830)),
        ("Mahogany linen press, geo 3", (1760, 1820)),
    ],
)
def test_years_of_titles(text: str, years: tuple[int | None, int | None]) -> None:
    read = title(text)
    assert (read["made_earliest"], read["made_latest"]) == years


def test_a_copy_is_still_no_date() -> None:
    assert find_dates("cup, in imitation of the 17th century").earliest is None
    assert find_dates("chair, reproduction, 1760").certainty != "stated"


@pytest.mark.parametrize(
    ("text", "folded"),
    [
        ("Knife (<i>kozuka</i>)", "knife (kozuka)"),
        ("Oak&lt;br/&gt;chest", "oak | chest"),
        ("A <B>silver</B> cup", "a silver cup"),
        ("height < 30 cm, width > 10", "height < 30 cm, width > 10"),
        ("<script>x</script>", "<script>x</script>"),
    ],
)
def test_tags_of_html_go(text: str, folded: str) -> None:
    assert fold_text(text) == folded == fold_text(fold_text(text))
    assert fold_texts(pa.array([text])).to_pylist() == [folded]


@pytest.mark.parametrize("name", ["chambers", "whistler", "clement", "barque", "nevers", "herat"])
def test_a_name_or_a_word_is_no_misspelling(name: str) -> None:
    lexicon = lexicon_for()
    number, score = lexicon.look_up([name])
    assert number[0] == 0 or (score[0] == 100 and name in lexicon.words)


@pytest.mark.parametrize(
    ("text", "material"),
    [
        ("Wood, ebony, bone, paint", "wood"),
        ("Metal, brass, wood", "metal"),
        ("Silver, silver-gilt", "silver"),
        ("Copper-gold alloy (shakudo)", "shakudo"),
        ("Carved oak wood", "oak"),
    ],
)
def test_the_first_of_a_list_of_stuffs(text: str, material: str) -> None:
    read = read_terms(pa.array([text]), "material").to_pylist()[0]
    assert (read["concept_id"], read["status"]) == (material, "accepted")


@pytest.mark.parametrize(
    ("text", "period", "years"),
    [
        ("Queen Anne maple high chest, Rhode Island, c. 1750", "american-queen-anne", (1745, 1755)),
        ("Queen Anne walnut side chair, Philadelphia", "american-queen-anne", (None, None)),
        ("Queen Anne walnut side chair", "queen-anne", (1702, 1714)),
        ("Colonial silver cup, Peru, 17th century", "spanish-colonial", (1600, 1699)),
        # what the text says of a period's years beats the table
        ("Lacquer box, Edo period (1603-1868)", "edo", (1603, 1868)),
    ],
)
def test_styles_over_the_ocean(
    text: str, period: str, years: tuple[int | None, int | None]
) -> None:
    read = title(text)
    assert read["period_id"] == period
    assert (read["made_earliest"], read["made_latest"]) == years


@pytest.mark.parametrize(
    ("text", "years"),
    [
        # "fine" is Italian for end only before a century as Italians write it
        ("A fine George III mahogany stick barometer", (1760, 1820)),
        ("Fine 18th century delft charger", (1700, 1799)),
        ("Cassettone, fine XVIII secolo", (1775, 1799)),
        # what is engraved does not take the year of the hallmark
        ("A Victorian silver vesta case, engraved with ivy, Chester 1898", (1898, 1898)),
        ("Georgian 1795 silver teaspoon, worn marks", (1795, 1795)),
        ("An early 18th century sampler, dated 1729", (1729, 1729)),
        ("Silver sugar nips, scissor type c. 1760", (1755, 1765)),
        ("Portrait of John Harlow (1750-1820), oil on canvas", (None, None)),
    ],
)
def test_what_a_year_is_said_of(text: str, years: tuple[int | None, int | None]) -> None:
    read = title(text)
    assert (read["made_earliest"], read["made_latest"]) == years


@pytest.mark.parametrize(
    ("text", "material"),
    [
        ("Rosewood case; steel comb", "rosewood"),
        ("Enamel on copper, mirror, gilt metal", "enamel"),
        ("Albumen silver print on card mount", "albumen-print"),
    ],
)
def test_the_body_comes_first_in_a_museums_list(text: str, material: str) -> None:
    read = read_terms(pa.array([text]), "material").to_pylist()[0]
    assert (read["concept_id"], read["status"]) == (material, "accepted")


@pytest.mark.parametrize(
    ("text", "material"),
    [
        ("Amethyst carnival glass bowl", "carnival-glass"),
        ("Sapphire glass bowl", "glass"),
        ("Amethyst and gold ring", "gold"),
        ("Keris, ivory hilt", None),
        ("Sword with leather scabbard", None),
        ("Boulle work brass and tortoiseshell bonheur du jour", "boulle"),
        ("Katana by a smith of Bizen", None),
        ("French ivory figure of a saint, Dieppe", "ivory"),
        ("French ivory dresser set", "faux-ivory"),
        ("Coal scuttle brass helmet", "brass"),
        ("Lamp glass shade", None),
    ],
)
def test_stuffs_of_parts_and_colours(text: str, material: str | None) -> None:
    assert title(text)["material_id"] == material


@pytest.mark.parametrize(
    ("text", "status"),
    [
        ("Queen Anne table lighter, silver plate", "review"),
        ("Ladies Tudor wristwatch, steel", "review"),
        ("Stuart telephone, bakelite", "review"),
        ("Victorian camera, mahogany and brass", "accepted"),
        ("Queen Anne table, walnut", "accepted"),
        ("Victorian photograph in a case", "accepted"),
    ],
)
def test_no_period_ended_before_there_was_such_a_thing(text: str, status: str) -> None:
    read = title(text)
    assert read["period_status"] == status
    assert (read["made_earliest"] is None) == (status == "review")


@pytest.mark.parametrize(
    ("text", "year"),
    [
        ("Figurine HN 1843", None),
        ("Figurine HN 1843, made 1938", 1938),
        ("Lithograph, pl. 1850", None),
        ("Lithograph, plate 3, 1850", 1850),
    ],
)
def test_a_number_of_a_model_is_no_year(text: str, year: int | None) -> None:
    read = title(text)
    assert (read["made_earliest"], read["made_latest"]) == (year, year)
