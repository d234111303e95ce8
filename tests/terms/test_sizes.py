"""Sizes in titles and descriptions: each form by itself, false alarms, and any size in any form.

Forms and what must not be read as a size are common practice of the trade, no source. Factors are
held against NIST Special Publication 811 (2008), Appendix B.8.
"""

from __future__ import annotations

import csv
import unicodedata
from pathlib import Path
from typing import Any

import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.terms.size_words import sizes_in_words, with_unit_of
from pipeline.terms.sizes import NAMES, SIZES_SCHEMA, read_sizes

HERE = Path(__file__).parent


def read(text: str | None) -> dict[str, float]:
    row: dict[str, Any] = read_sizes(pa.array([text], pa.string())).to_pylist()[0]
    return {name: value for name, value in row.items() if value is not None}


@pytest.mark.parametrize(
    ("text", "name", "factor"),
    [
        # NIST SP 811, B.8: inch 2.54 cm, foot 30.48 cm, ounce (avoirdupois) 28.349 52 g, troy ounce
        # 31.103 48 g, pennyweight 1.555 174 g, pound 453.5924 g, carat, metric 0.2 g
        ("1 inch wide", "largest_cm", 2.54),
        ("7 feet long", "largest_cm", 7 * 30.48),
        ("3 lb", "weight_g", 3 * 453.5924),
        ("1 lb 4 oz", "weight_g", 453.5924 + 4 * 28.34952),
        ("silver, 1 oz", "weight_g", 31.10348),
        ("22 oz troy", "weight_g", 22 * 31.10348),
        ("1.2 troy oz", "weight_g", 1.2 * 31.10348),
        ("7 dwt", "weight_g", 7 * 1.555174),
        ("22oz 5dwt", "weight_g", 22 * 31.10348 + 5 * 1.555174),
        ("1.5kg", "weight_g", 1500.0),
        ("diamond, 0.75ct", "carats", 0.75),
    ],
)
def test_units(text: str, name: str, factor: float) -> None:
    assert read(text)[name] == pytest.approx(factor, rel=2e-6)


@pytest.mark.parametrize(
    ("text", "largest"),
    [
        ('vase 12"', 30.48), ("vase, 12 in.", 30.48), ("12-inch globe", 30.48), ("globe 12in", 30.48),
        ('12 1/2" tray', 31.75), ("12-1/2 in. wide", 31.75), ("12½ inches", 31.75),
        ("7/8 in. wide", 2.2225), ("5ft 6in", 167.64), ("5' 6\"", 167.64), ("5'6 rug", 167.64),
        ("5 ft. 6 ins.", 167.64), ("a 6ft bench", 182.88), ("30 x 40 cm", 40.0), ("30x40cm", 40.0),
        ("30 × 40 cm", 40.0), ("30cm x 40cm x 20 cm", 40.0), ("30cmx40cm", 40.0), ("10 by 8 inches", 25.4),
        ("6'4\" x 4'2\"", 193.04), ("1.2m", 120.0), ("1,20 m", 120.0), ("2 x 3 m", 300.0),
        ("120mm", 12.0), ("1200 x 1850 mm", 185.0), ("1,200 mm", 120.0), ("30,5 cm", 30.5),
        ("approx. 30 cm", 30.0), ("c.30cm", 30.0), ("(30cm)", 30.0), ("Size: 12 in", 30.48),
        ("Watch 36mm", 3.6), ("12 Zoll", 30.48), ("2 x 30 cm", 30.0), ("set of 6 12\" plates", 30.48),
        ("olio su tela cm 50x70", 70.0), ("vaso, h cm 30", 30.0), ("1m 20cm", 120.0),
        # one size told twice is one size
        ("Oil on panel, 8 1/4 x 11 3/4 in. (21 x 29.8 cm)", 29.8), ("height 12 1/4in (31cm)", 31.115),
        ("76 x 51 cm (30 x 20 in)", 76.0), ('12" (30cm)', 30.0), ("10in (25.4cm) plate", 25.4),
        ("130 x 85 cm, 4 ft 3 in x 2 ft 9 in", 130.0), ("plate 10\" 26cm", 26.0),
        # the whole beside its parts
        ("Watercolour, image 20 x 30 cm, frame 40 x 50 cm", 30.0),
        ("Oil on canvas, framed, 40 x 50 cm", 50.0), ("oil, 40 x 50 cm in a gilt frame", 50.0),
        ("knife, 4in blade, 9in overall", 22.86), ("40 x 50 cm, in a 5 cm wide frame", 50.0), ("etching, 40 x 50 cm framed", 50.0),
        ("longcase clock 218 cm high, dial 30 cm", 218.0),
        ("table 75 cm high, extending to 240 cm", 75.0), ("chair 90 cm high, 45 cm to seat", 90.0),
        ("lamp, shade 40 cm, overall height 65 cm", 65.0), ("vase 20 cm with 2 cm chip to rim", 20.0),
        ("vase, cranberry glass 20cm", 20.0), ("jug and cover 30 cm", 30.0),
    ],
)  # fmt: skip
def test_largest_side(text: str, largest: float) -> None:
    assert read(text)["largest_cm"] == pytest.approx(largest)


@pytest.mark.parametrize(
    ("text", "sides"),
    [
        ("H 30 cm W 20 D 15", {"height": 30, "width": 20, "depth": 15}),
        ("H30 W20 D15cm", {"height": 30, "width": 20, "depth": 15}),
        ("30cm H x 20cm W", {"height": 30, "width": 20}),
        ("30cmH x 20cmW", {"height": 30, "width": 20}),
        ("30 (h) x 20 (w) cm", {"height": 30, "width": 20}),
        ("85 x 120 x 60 cm (HxWxD)", {"height": 85, "width": 120, "depth": 60}),
        ("H/B/T: 85 x 120 x 60 cm", {"height": 85, "width": 120, "depth": 60}),
        ("height 30cm", {"height": 30}),
        ("height: 30cm; width: 20cm", {"height": 30, "width": 20}),
        ("height of 30cm", {"height": 30}),
        ("30 cm tall", {"height": 30}),
        ("30 cm high and 20 cm wide", {"height": 30, "width": 20}),
        ("30 in high by 20 inches wide", {"height": 76.2, "width": 50.8}),
        ("height 30 cm (12 in), width 20 cm (8 in)", {"height": 30, "width": 20}),
        ("12 in. (30 cm) high", {"height": 30}),
        ("3'6\" wide 2' high", {"width": 106.68, "height": 60.96}),
        ("5ft 6in long", {"length": 167.64}),
        ("dia. 20cm", {"diameter": 20}),
        ("20 cm in diameter", {"diameter": 20}),
        ("Ø 20 cm", {"diameter": 20}),
        ("Höhe 30 cm", {"height": 30}),
        ("Höhe ca. 30 cm, Durchmesser 20 cm", {"height": 30, "diameter": 20}),
        ("75 cm hoch, 50 cm breit, 40 cm tief", {"height": 75, "width": 50, "depth": 40}),
        ("H. 30 cm", {"height": 30}),
        ("haut. 30 cm, larg. 20 cm", {"height": 30, "width": 20}),
        ("hauteur 30 cm, profondeur 12 cm", {"height": 30, "depth": 12}),
        ("altezza 30 cm, larghezza 20 cm, profondità 10 cm",
         {"height": 30, "width": 20, "depth": 10}),
        ("H. 85 cm - L. 110 cm - P. 52 cm", {"height": 85, "length": 110, "depth": 52}),
        ("altura 30 cm, anchura 20 cm", {"height": 30, "width": 20}),
        ("hoogte 30 cm, breedte 20 cm, diepte 10 cm", {"height": 30, "width": 20, "depth": 10}),
        ("D 30 cm", {}),  # depth or diameter
        ("30 x 40 cm", {}),
    ],
)  # fmt: skip
def test_axes(text: str, sides: dict[str, float]) -> None:
    found = read(text)
    largest = found.pop("largest_cm")
    assert found == pytest.approx({f"{axis}_cm": cm for axis, cm in sides.items()})
    assert largest == pytest.approx(max(sides.values())) if sides else largest in (30.0, 40.0)


@pytest.mark.parametrize(
    "text",
    [
        "30 x 40", "20X16", "No. 12 in box", "set of 6 in case", "Meccano set no 5 in tin",
        "3 in 1 game", "12 in painted tin", "on 4 feet", "1 foot missing", "45 rpm", "8 day clock",
        "3/4 size violin", "24% lead crystal", "12 place settings", "1:43 model", "1/12 scale house",
        "4mm scale locomotive", '5" gauge locomotive', "£30 in cash", "30cl flask", "50mm f2 lens",
        "35mm camera", "35mm", "9mm pistol", "12g shotgun cartridge", "circa 1860 in oak", "1930's lamp",
        '"The Fox, 12"', "9ct gold ring", "18ct gold diamond ring", "15 carat brooch", "50 ct needles",
        "12 M", "12 sq ft", "30 cm2", "vase 10-12 cm", "10 to 12 inches", "two jugs, 10 cm and 20 cm",
        "10 inch high and 12 inch high", "oil sketch (frame 40 x 50 cm)", '12" dial', "tankard, 12 oz",
        "6 inches to the mile", "kitchen scales, 10 lb", "set of brass weights, 7 lb", "1 in thick",
        "painting in a 2 inch gilt frame", "necklace of 8mm pearls", "shoes with 3 inch heels",
        "chip of 3 mm to the rim", "missing 2 cm of trim", "bicycle, 26 inch wheels", "3 inch refractor",
        "H. 20/25 cm", "20/25 cm", "10/12 cm", "5/6 in", "guitar, 25.5 inch scale", "Times, 4 in 1",
        "dining table, 120cm x 290cm extended", "1/200 in", "0.1 mm", "30 m carpet", "121/2 in", "1,234 cm", None, "",
    ],
)  # fmt: skip
def test_what_states_no_size(text: str | None) -> None:
    assert read(text) == {}


def test_carats_of_a_stone() -> None:
    assert read("2ct diamond ring") == {"carats": 2.0}
    assert read("9ct gold and diamond ring, 1.5 tcw") == {"carats": 1.5}
    assert read("0.75ct diamond, 1.20ct sapphire") == {}
    assert read("0.75ct diamond, 1.20ct sapphire, 1.95ct total") == {"carats": 1.95}


def test_a_column_keeps_its_rows() -> None:
    texts = pa.chunked_array([["vase 30 cm", None], [], ["vase", "vase 30 cm"]], pa.string())
    table = read_sizes(texts)
    assert table.schema == SIZES_SCHEMA
    assert table["largest_cm"].to_pylist() == [30.0, None, None, 30.0]
    assert read_sizes(pa.array([], pa.string())).num_rows == 0
    assert read_sizes(texts.slice(3))["largest_cm"].to_pylist() == [30.0]


def test_sizes_in_words() -> None:
    told = [("height_cm", 76.2), ("width_cm", 120.0), ("largest_cm", 120.0), ("weight_g", 1250.0)]
    assert sizes_in_words(told) == ["76.2 cm high", "120 cm wide", "1.25 kg"]
    assert sizes_in_words([("largest_cm", 30.48), ("carats", 0.75), ("wheels", 3.0)]) == [
        "largest side 30.5 cm", "0.75 carats",
    ]  # fmt: skip
    assert sizes_in_words(None) == []


@pytest.mark.parametrize(
    ("header", "size", "told"),
    [
        ("Size (in)", "12 x 14", "12 x 14 in"), ("size in cm", "30,5", "30,5 cm"),
        ("Size in inches", "12 1/2", "12 1/2 in"), ("size in cm", "12 in", "12 in"),
        ("Size", "12 x 14", "12 x 14"), ("cm / inches", "12", "12"), ("size cm", None, None),
    ],
)  # fmt: skip
def test_the_header_of_a_column_gives_its_unit(
    header: str, size: str | None, told: str | None
) -> None:
    assert with_unit_of(header, [size]) == [told]


# What the labelled titles (part tune) state, as a person reads them.
STATED = {
    "A Georgian mahogany longcase clock with painted dial, eight-day movement, 218cm high": 218.0,
    "solid oak farmhouse kitchen table 6ft seats 8": 182.88,
    "pewter charger, 18 inch, touchmark rubbed": 45.72,
    "terrestrial table globe on mahogany stand, 12 inch": 30.48,
    "ships wheel, teak and brass, 3ft": 91.44,
    "Tile, Victorian, encaustic, 6 inch": 15.24,
    "Terrestrial globe, 12 inch, on mahogany stand, c1850, cracks to gores": 30.48,
    "A Persian rug, the red field with medallion, 6'4\" x 4'2\", worn": 193.04,
    "Imari Charger Japanese c1900 12in": 30.48,
    "Flow Blue Platter 16 Inch Crazed & Stained": 40.64,
    "6 inch brass carriage lamp": 15.24,
    "Oil on canvas 30 x 40 cm": 40.0,
    "A Persian rug 6 ft x 4 ft": 182.88,
    "Postcard 5 x 3 inches": 12.7,
    "4 inch nail box": 10.16,
    'Stained Glass Style Lamp Shade Only 16"': 40.64,
}
LISTS = ("labelled_titles", "labelled_trade", "labelled_fresh", "quantity_titles")


def test_labelled_titles_state_these_sizes_and_no_others() -> None:
    titles: list[str] = []
    for name in LISTS:
        with (HERE / f"{name}.csv").open(encoding="utf-8") as file:
            titles += [r["title"] for r in csv.DictReader(file) if r.get("part") != "held"]
    assert len(titles) > 700
    read_ones = read_sizes(pa.array(titles))["largest_cm"].to_pylist()
    found = {t: cm for t, cm in zip(titles, read_ones, strict=True) if cm is not None}
    assert found == pytest.approx(STATED)


# ---------------------------------------------------------------------------------------------
# Any size in any form

whole = st.integers(2, 380)
tenths = st.integers(20, 3800).map(lambda n: n / 10)
AXIS_WORDS = {
    "height": ("height {}", "H {}", "H. {}", "{} high", "{} tall", "{} H", "Höhe {}", "hauteur {}"),
    "width": ("width {}", "W {}", "{} wide", "{} W", "{} breit", "larg. {}"),
    "length": ("length {}", "{} long", "{} lang"),
    "diameter": ("diameter {}", "dia. {}", "{} diameter", "{} dia.", "Ø {}", "diam {}"),
}
CM = ("{:g}cm", "{:g} cm", "{:g} cm.", "{:g} centimetres", "{:g}cms")
INCHES = ('{:g}"', "{:g} in.", "{:g}in", "{:g} inches", "{:g}-inch", "{:g}″", "{:g} ins")
LEADS = ("", "Oak table, ", "A fine Victorian vase, circa 1860, ", "BRASS LAMP ", "Bowl (")


@given(st.one_of(whole, tenths), st.sampled_from(CM), st.sampled_from(LEADS))
def test_any_length_in_centimetres(cm: float, form: str, lead: str) -> None:
    assert read(lead + form.format(cm))["largest_cm"] == pytest.approx(cm)


@given(st.integers(2, 380), st.sampled_from(INCHES), st.sampled_from(LEADS))
def test_any_length_in_inches(inches: int, form: str, lead: str) -> None:
    assert read(lead + form.format(inches))["largest_cm"] == pytest.approx(inches * 2.54)


@given(
    st.integers(1, 99),
    st.sampled_from([("½", "1/2", 0.5), ("¼", "1/4", 0.25), ("⅜", "3/8", 0.375)]),
    st.sampled_from(["{n}{sign}\"", "{n} {sign} in.", "{n} {plain} inches", "{n}-{plain}\" high"]),
)  # fmt: skip
def test_any_mixed_number(n: int, part: tuple[str, str, float], form: str) -> None:
    sign, plain, value = part
    text = form.format(n=n, sign=sign, plain=plain)
    assert read(text)["largest_cm"] == pytest.approx((n + value) * 2.54)


@given(
    st.sampled_from(sorted(AXIS_WORDS)), st.integers(0, 9), whole, st.sampled_from(CM[:3]),
    st.sampled_from(LEADS[:3]),
)  # fmt: skip
def test_any_axis(axis: str, which: int, cm: int, form: str, lead: str) -> None:
    words = AXIS_WORDS[axis]
    found = read(lead + words[which % len(words)].format(form.format(cm)))
    assert found == pytest.approx({"largest_cm": cm, f"{axis}_cm": cm})


@given(
    whole, whole, st.sampled_from([" x ", "x", " X ", " × ", " by "]),
    st.sampled_from(["{a}{x}{b} cm", "{a}cm{x}{b}cm", "{a} cm{x}{b} cm"]),
)  # fmt: skip
def test_any_product(a: int, b: int, times: str, form: str) -> None:
    text = form.format(a=a, b=b, x=times)
    assert read(text)["largest_cm"] == pytest.approx(max(a, b))


@given(st.integers(1, 12), st.integers(1, 11), st.sampled_from(
    ["{f}' {i}\"", "{f}'{i}\"", "{f}ft {i}in", "{f} ft. {i} in.", "{f}ft. {i}ins", "{f} feet {i} inches"]
))  # fmt: skip
def test_any_feet_and_inches(feet: int, inches: int, form: str) -> None:
    text = form.format(f=feet, i=inches)
    assert read(text)["largest_cm"] == pytest.approx(feet * 30.48 + inches * 2.54)


@given(st.integers(10, 200), st.integers(10, 200))
def test_the_same_size_in_two_units_is_one_size(a: int, b: int) -> None:
    told = f"{a} x {b} cm ({a / 2.54:.0f} x {b / 2.54:.0f} in)"
    assert read(told) == pytest.approx({"largest_cm": max(a, b)})


@settings(max_examples=200)
@given(
    st.sampled_from(sorted(AXIS_WORDS)), st.integers(0, 9), tenths,
    st.sampled_from([*CM[:2], *INCHES[:4]]), st.sampled_from(LEADS),
    st.sampled_from([str.upper, str.lower, str.title,
                     lambda t: unicodedata.normalize("NFC", t),
                     lambda t: unicodedata.normalize("NFD", t),
                     lambda t: t.replace(" ", "  "), lambda t: t.replace(" ", "\u00a0"),
                     lambda t: t.replace('"', "”"), lambda t: t.replace('"', "″")]),
)  # fmt: skip
def test_case_spacing_and_unicode_form_change_nothing(
    axis: str, which: int, size: float, form: str, lead: str, change: Any
) -> None:
    words = AXIS_WORDS[axis]
    text = lead + words[which % len(words)].format(form.format(size))
    assert read(change(text)) == read(text)
    assert read(text)


@settings(max_examples=300)
@given(
    st.lists(
        st.sampled_from(
            ["12", "3/4", "in", "cm", "x", '"', "'", "h", "w", "ø", "-", "(", ")", ",", "1860",
             "oz", "ct", "gold", "frame", "½", "to", "by", "/", "30,5", "£", "\x1f", "\x1e", "no."]
        ),
        max_size=12,
    ),
    st.sampled_from(["", " "]),
)  # fmt: skip
def test_any_text_is_read_within_the_limits(parts: list[str], gap: str) -> None:
    for name, value in read(gap.join(parts)).items():
        assert name in NAMES
        most = 1000 if name.endswith("cm") else 2_000_000
        assert 0 < value <= most
