"""Names of periods that are names of peoples, towns and things, or ages of something else."""

from __future__ import annotations

import pyarrow as pa
import pytest

from pipeline.terms.titles import read_titles


@pytest.mark.parametrize(
    ("title", "period"),
    [
        ("Armlet, ivory, Edo artist, 17th century", None),
        ("Head of an Oba; brass; Edo; 17th century", None),
        ("Netsuke, ivory, Edo period", "edo"),
        ("Inro, lacquer, Edo, 18th century", "edo"),
        ("Console table, Roman, c. 1720", None),
        ("Roman style vase, 1880", "antiquity-roman"),
        ("Oil lamp, terracotta, Roman, 2nd century", "antiquity-roman"),
        ("Semi-antique carpet", None),
        ("Antique carpet", "antique"),
        ("The Old Bridge at Ravelby, watercolour", None),
        ("25 year old whisky", None),
        ("Very old jug", "old"),
        ("Old oak chest", "old"),
        ("Brooch, bronze, Saxon", "anglo-saxon"),
        ("Vase, porcelain, Saxon, c. 1750", None),
        ("Saxon blue silk dress", None),
        ("Pot, Middle Saxon", "middle-saxon"),
        ("Pottery sherd, Saxo-Norman", "saxo-norman"),
        ("Jar, Western Jin dynasty", "chinese-western-jin"),
        ("Jar, Jin dynasty", "chinese-jin"),
    ],
)
def test_the_period_of_a_title(title: str, period: str | None) -> None:
    assert read_titles(pa.array([title])).to_pylist()[0]["period_id"] == period
