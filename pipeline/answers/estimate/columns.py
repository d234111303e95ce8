"""The columns of an estimate, declared once: `pipeline.estimate` gives a table of them."""

from __future__ import annotations

import pyarrow as pa

from pipeline.table_def import COUNT, DAY, REAL, TEXT, TEXTS, Column, TableDef

COMPARABLE = pa.struct(
    [
        pa.field("sale_id", pa.string()),
        pa.field("sold_on", pa.date32()),
        pa.field("market", pa.string()),
        pa.field("title_text", pa.string()),
        pa.field("sold_amount", pa.float64()),
        pa.field(
            "adjustments",
            pa.list_(
                pa.struct(
                    [
                        pa.field("what", pa.string()),
                        pa.field("of_the_sale", pa.string()),
                        pa.field("of_the_piece", pa.string()),
                        pa.field("log_effect", pa.float64()),
                    ]
                )
            ),
        ),
        pa.field("adjusted_amount", pa.float64()),
        pa.field("weight", pa.float64()),
    ]
)
LINE = pa.struct([pa.field("what", pa.string()), pa.field("log_effect", pa.float64())])

ESTIMATES = TableDef(
    "estimates",
    "One row a described piece: what was understood, what it may bring, and the evidence.",
    (
        Column("description", TEXT, "The piece as it was described."),
        Column("category_id", TEXT, "What it was read as; null where that is not clear."),
        Column("category", TEXT, "The category's preferred label."),
        Column("family_id", TEXT, "Family of the category."),
        Column("attribution", TEXT, "Class of attribution.", null=False),
        Column("condition", TEXT, "Grade, or unknown.", null=False),
        Column("material_id", TEXT, "Material of the whole."),
        Column("period_id", TEXT, "Period or style."),
        Column("made_from_year", pa.int32(), "Earliest year of making."),
        Column("made_to_year", pa.int32(), "Latest year of making."),
        Column("set_size", TEXT, "single, pair, or size class of a set.", null=False),
        Column("faults", TEXTS, "Faults and alterations.", null=False),
        Column("understood", TEXT, "What was understood, in words.", null=False),
        Column("not_understood", TEXTS, "Words of the description that told nothing.", null=False),
        Column("market", TEXT, "Market of the sales that it is held against."),
        Column("currency", TEXT, "Currency of all amounts.", "ISO 4217 code", null=False),
        Column("basis", TEXT, "What a price is: buyer or seller.", null=False),
        Column("low_amount", REAL, "One in ten such pieces brings less.", "currency"),
        Column("value_amount", REAL, "Half of such pieces bring less.", "currency"),
        Column("high_amount", REAL, "One in ten such pieces brings more.", "currency"),
        Column("evidence", TEXT, "Class of the evidence: strong, fair, thin, family or none.",
               null=False),
        Column("n_sales", COUNT, "Sales of the category and attribution class.", "sales",
               null=False),
        Column("newest_sold_on", DAY, "Newest of these sales."),
        Column("own_share", REAL, "How much of the level is these sales' own; the rest leans on "
               "like kinds.", "share"),
        Column("why", TEXT, "Why there is a figure, or none.", null=False),
        Column("cautions", TEXTS, "Ids of the cautions it raises.", null=False),
        Column("sum", pa.list_(LINE), "The effects whose product is value_amount."),
        Column("comparables", pa.list_(COMPARABLE), "The sales that were read, heaviest first."),
        Column("as_of", DAY, "Day that prices are brought to."),
        Column("refresh_id", TEXT, "The refresh whose sales these are.", null=False),
        Column("method_version", TEXT, "Version of the method.", null=False),
    ),
)  # fmt: skip
