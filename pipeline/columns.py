"""Every column of every published table, declared once.

The Arrow schema, the DDL, the comments in the database, the contract that `validate` checks and
the data dictionary in DEVELOPERS.md are all made from the declarations below. A column's suffix
says what it is: `_id` key, `_text` as found, `_on` date, `_year` year, `_amount` money in the
currency beside it, `_share` 0 to 1, `n_` a count.
"""

from __future__ import annotations

from collections.abc import Iterable

import pyarrow as pa

from pipeline import reasons
from pipeline.table_def import (
    BYTES,
    CELLS,
    COUNT,
    COUNTS,
    DAY,
    MOMENT,
    MONEY,
    NUMBERS,
    REAL,
    REALS,
    SHORT_REALS,
    SMALL,
    TEXT,
    TEXTS,
    YES_NO,
    Column,
    Rule,
    TableDef,
    sql_text,
    sql_type,
)

MEANINGS: dict[str, str] = {
    "listing_id": "the source's own number of the listing or lot; the same in every export",
    "title": "the headline of the listing",
    "description": "the longer text",
    "category": "what kind of thing it is, in the source's words",
    "material": "what it is made of",
    "period": "period, style or date of making",
    "condition": "state or grade",
    "attribution": "how sure the authorship is: by, attributed to, style of ...",
    "maker": "who made it",
    "size": "size, weight or carats in words, such as 30 x 40 cm",
    "sold": "date of sale",
    "listed": "date it was first offered",
    "price": "the price, as `price_type` says",
    "currency": "currency of the price",
    "price_type": "what the price of this row means, where rows differ",
    "status": "sold, unsold, withdrawn",
    "shipping": "shipping charged on top of the price",
    "premium": "buyer's premium as an amount",
    "tax": "tax as an amount",
    "quantity": "number of pieces in the lot",
    "place": "where it was sold",
    "url": "address of the listing",
}
MEASURE = "measure:"  # "measure:height_cm" maps a numeric column that the model may use

MARKETS = ("auction", "online", "dealer", "private", "charity")
CONDITIONS = (
    "as_new", "excellent", "very_good", "good", "fair", "poor", "for_parts", "used", "unknown",
)  # fmt: skip
ATTRIBUTIONS = ("period", "style", "reproduction", "unknown")
LOT_KINDS = ("single", "pair", "set", "bulk")
PRICE_TYPES = (
    "hammer", "with_premium", "fixed", "asking", "estimate", "net_to_seller", "unknown",
)  # fmt: skip
BASES = ("buyer", "seller")
METHODS = ("exact", "label", "phrase", "fuzzy", "decision", "none")
STATUSES = ("accepted", "review", "ignored", "none")

LANDED = pa.schema(
    [
        pa.field("file_id", TEXT),
        pa.field("line_number", COUNT),
        *[pa.field(f"{name}_text", TEXT) for name in MEANINGS],
        pa.field("measures", NUMBERS),
        pa.field("other_cells", CELLS),
    ]
)
"""What `ingest` gives for one file: every cell as text, a row a record."""


def _closed(values: Iterable[str]) -> frozenset[str]:
    return frozenset(values)


SALES = TableDef(
    "sales",
    "One row a sale (or offer) that was read whole; what is_comparable feeds the bands.",
    (
        Column("sale_id", TEXT, "Key: source and listing number, or source and a digest of the "
               "row where the source numbers nothing (with #2, #3 ... where an export has the "
               "same row again).", null=False),
        Column("source_id", TEXT, "Folder of the source under data/raw.", null=False),
        Column("listing_id", TEXT, "The source's own number of the listing."),
        Column("market", TEXT, "Kind of market.", null=False, allowed=_closed(MARKETS)),
        Column("file_id", TEXT, "Export it came from (refresh_files).", null=False),
        Column("line_number", COUNT, "Line of that file on which the row begins.", null=False,
               minimum=1),
        Column("sold_on", DAY, "Date of sale.", null=False),
        Column("title_text", TEXT, "Headline as found."),
        Column("category_id", TEXT, "Category.", concept="category"),
        Column("family_id", TEXT, "Family: the root above the category.", concept="category"),
        Column("category_method", TEXT, "How the category was read.", allowed=_closed(METHODS)),
        Column("category_score", REAL, "How like the text was to the label; of a title no more "
               "than the chance in 100 that it is read right.", "0 to 100",
               minimum=0, maximum=100),
        Column("material_id", TEXT, "Main material.", concept="material"),
        Column("period_id", TEXT, "Period or style named.", concept="period"),
        Column("made_from_year", SMALL, "Earliest year of making that the text allows.", "year"),
        Column("made_to_year", SMALL, "Latest year of making that the text allows.", "year"),
        Column("is_antique", YES_NO, "Over 100 years old at the sale by its latest year; null "
               "where no date is stated."),
        Column("condition", TEXT, "Condition grade; unknown where none is stated.", null=False,
               allowed=_closed(CONDITIONS)),
        Column("attribution", TEXT, "Class of attribution: of its period, later in the style, "
               "reproduction, unknown.", null=False, allowed=_closed(ATTRIBUTIONS)),
        Column("attribution_id", TEXT, "Rung of the attribution ladder.", concept="attribution"),
        Column("maker_id", TEXT, "Maker, from the user's own vocabulary.", concept="maker"),
        Column("faults", TEXTS, "Faults, alterations and merits that the text states."),
        Column("cautions", TEXTS, "Cautions that apply (concepts of kind caution)."),
        Column("lot_kind", TEXT, "Single piece, pair, set sold as a set, or bulk lot.",
               null=False, allowed=_closed(LOT_KINDS)),
        Column("n_pieces", SMALL, "Pieces in the lot; null where a bulk lot does not say.",
               "pieces", minimum=1),
        Column("set_size", TEXT, "Size class of the lot for its bands: single, pair, "
               "set of 3-4 ...", null=False),
        Column("price_text", TEXT, "Price as found."),
        Column("price_amount", MONEY, "Price as read.", "currency beside it", minimum=0),
        Column("currency", TEXT, "ISO 4217 code of price_amount."),
        Column("price_type", TEXT, "What the price means.", null=False,
               allowed=_closed(PRICE_TYPES)),
        Column("shipping_amount", MONEY, "Shipping charged apart.", "currency", minimum=0),
        Column("rate", REAL, "Units of the basis currency for one of `currency`."),
        Column("rate_on", DAY, "Business day of that rate, the sale's or the last before it."),
        Column("lot_amount", MONEY, "Price of the whole lot on the workspace's basis, in its own "
               "currency.", "currency", minimum=0),
        Column("basis_amount", MONEY, "Price of the whole lot on the workspace's basis.",
               "basis currency", minimum=0),
        Column("piece_amount", MONEY, "basis_amount for one piece, where the pieces are counted.",
               "basis currency", minimum=0),
        Column("compared_amount", MONEY, "The price that bands compare: of the single piece, of "
               "the pair, of the whole set.", "basis currency", minimum=0),
        Column("real_amount", MONEY, "compared_amount in money of the base month by the price "
               "index, both named in refreshes.settings; null where the index has a gap.",
               "basis currency", minimum=0),
        Column("real_reason", TEXT, "Why real_amount is missing, or nominal where the sale is "
               "earlier than the index; null where neither is so.", allowed=_closed(reasons.REAL)),
        Column("notes", TEXTS, "What is to be known of the price or the size and keeps it from "
               "nothing.", null=False),
        Column("resale_of_sale_id", TEXT, "The earlier sale of the same piece."),
        Column("z_score", REAL, "Modified z-score of the log price in its group."),
        Column("group_id", TEXT, "Group it was held against (group_statistics)."),
        Column("flags", TEXTS, "Reasons that keep it from the bands, most telling first.",
               null=False),
        Column("person_flag", TEXT, "A person's decision: keep or leave_out; it outranks flags.",
               allowed=_closed(("keep", "leave_out"))),
        Column("is_comparable", YES_NO, "Feeds the bands.", null=False),
        Column("measures", NUMBERS, "Numbers from mapped columns or read from the text."),
        *(
            Column(f"{name}_text", TEXT, f"As found: {meaning}.")
            for name, meaning in MEANINGS.items()
            if name not in ("title", "price", "listing_id")
        ),
        Column("other_cells", CELLS, "The cells that nobody mapped, as found, by header."),
    ),
    key=("sale_id",),
    sort=("category_id", "attribution", "condition", "sold_on", "sale_id"),
    rules=(
        Rule("comparable_has_price",
             "NOT is_comparable OR coalesce(compared_amount, 0) > 0",
             ("is_comparable", "compared_amount"), "A comparable sale has a price above zero."),
        Rule("comparable_has_category", "NOT is_comparable OR category_id <> ''",
             ("is_comparable",), "A comparable sale has a category."),
        Rule("made_in_order", "made_from_year <= made_to_year",
             ("made_from_year", "made_to_year"), "The earliest year is not after the latest."),
        Rule("flagged_is_out", "NOT is_comparable OR person_flag = 'keep' OR len(flags) = 0",
             ("is_comparable",), "A flagged sale feeds no band unless a person says so."),
        Rule("notes_are_known",
             "list_has_all([" + ", ".join(sql_text(n) for n in reasons.NOTES) + "], notes)",
             ("notes",), "Notes are of the closed list."),
        Rule("rate_not_after_sale", "rate_on <= sold_on", ("rate_on", "sold_on"),
             "A rate is of the day of sale or earlier."),
    ),
)  # fmt: skip

SET_ASIDE = TableDef(
    "set_aside",
    "One row a line or record that is no sale, with the reason and its cells as they came.",
    (
        Column("file_id", TEXT, "Export it came from.", null=False),
        Column("line_number", COUNT, "Line on which it begins.", null=False, minimum=1),
        Column("n_lines", COUNT, "Physical lines it takes.", "lines", null=False, minimum=1),
        Column("source_id", TEXT, "Folder of the source.", null=False),
        Column("stage", TEXT, "Stage that set it aside.", null=False,
               allowed=_closed(("ingest", "normalise", "price"))),
        Column("reason", TEXT, "Why.", null=False, allowed=_closed(reasons.SET_ASIDE)),
        Column("column_name", TEXT, "Column at fault."),
        Column("cells", TEXTS, "The cells as they came.", null=False),
    ),
    key=("file_id", "line_number", "reason"),
    sort=("source_id", "file_id", "line_number"),
)  # fmt: skip

DUPLICATES = TableDef(
    "duplicates",
    "One row a link between two rows that tell of one sale or of one piece.",
    (
        Column("sale_id", TEXT, "The sale that stays.", null=False),
        Column("other_sale_id", TEXT, "Key of the other row.", null=False),
        Column("file_id", TEXT, "Export of the other row.", null=False),
        Column("line_number", COUNT, "Line of the other row.", null=False, minimum=1),
        Column("reason", TEXT, "What the link says.", null=False,
               allowed=_closed(reasons.LINKS)),
        Column("is_dropped", YES_NO, "The other row is no sale of its own.", null=False),
        Column("score", REAL, "How sure.", "chance in 100", null=False, minimum=0, maximum=100),
        Column("differs", TEXTS, "Columns in which a later export corrects an earlier one."),
        Column("cells", CELLS, "The mapped cells of the row that was dropped, by meaning."),
    ),
    key=("file_id", "line_number", "sale_id", "reason"),
    sort=("sale_id", "file_id", "line_number", "reason"),
)  # fmt: skip

CORRECTIONS = TableDef(
    "corrections",
    "One row a cell that a person mended (data/decisions/corrections.csv) before it was read.",
    (
        Column("sale_id", TEXT, "Sale.", null=False),
        Column("column_name", TEXT, "Meaning of the column.", null=False,
               allowed=_closed(MEANINGS)),
        Column("expected_text", TEXT, "Text of the export; null for an empty cell."),
        Column("new_text", TEXT, "Text that stands in its place; null for an empty cell."),
        Column("who", TEXT, "Who decided.", null=False),
        Column("decided_on", DAY, "When.", null=False),
        Column("why", TEXT, "Why.", null=False),
        Column("file_id", TEXT, "Export of the row.", null=False),
        Column("line_number", COUNT, "Line of the row.", null=False, minimum=1),
    ),
    key=("sale_id", "column_name"),
    sort=("sale_id", "column_name"),
)  # fmt: skip

LINK_REVIEW = TableDef(
    "link_review",
    "One row a pair of sales that may be one sale or one piece and waits for a person "
    "(data/decisions/links.csv), likeliest first.",
    (
        Column("sale_id", TEXT, "The later sale.", null=False),
        Column("other_sale_id", TEXT, "The earlier sale or offer.", null=False),
        Column("proposed", TEXT, "What the link would say.", null=False,
               allowed=_closed(("same_event", "relisted", "resale"))),
        Column("score", REAL, "How sure.", "chance in 100", null=False, minimum=0, maximum=100),
        Column("title_text", TEXT, "Headline of the later sale."),
        Column("other_title_text", TEXT, "Headline of the earlier one."),
        Column("evidence", NUMBERS, "What speaks for it and against it, by name; the score is the "
               "chance that belongs to their sum.", "bits", null=False),
    ),
    key=("sale_id", "other_sale_id"),
    sort=("score", "sale_id", "other_sale_id"),
)  # fmt: skip

LINK_RULES = TableDef(
    "link_rules",
    "One row a rule that chose which rows were compared, and what it left out.",
    (
        Column("rule", TEXT, "What the rows of a block share.", null=False),
        Column("n_blocks", COUNT, "Blocks of two rows or more.", "blocks", null=False, minimum=0),
        Column("n_pairs", COUNT, "Pairs within them.", "pairs", null=False, minimum=0),
        Column("n_full_blocks", COUNT, "Blocks of more rows than are compared all with all: held "
               "against one row where all words are the same, else passed over.", "blocks",
               null=False, minimum=0),
        Column("n_rows_in_full_blocks", COUNT, "Rows in those.", "rows", null=False, minimum=0),
        Column("n_pairs_skipped", COUNT, "Pairs of those that were not compared.", "pairs",
               null=False, minimum=0),
        Column("n_rows_allowed", COUNT, "Rows up to which a block is compared whole.", "rows",
               null=False, minimum=0),
        Column("n_rows_too_common", COUNT, "Rows of which the value was too common to make a "
               "block: those with the same words or price were compared within category, day and "
               "price, the others by the other rules alone.", "rows", null=False, minimum=0),
    ),
    key=("rule",),
    sort=("rule",),
)  # fmt: skip

TERM_MATCHES = TableDef(
    "term_matches",
    "One row a distinct spelling of a mapped field and what it was read as.",
    (
        Column("kind", TEXT, "Kind of term.", null=False),
        Column("text", TEXT, "Spelling as found.", null=False),
        Column("n_rows", COUNT, "Rows that carry it.", "rows", null=False, minimum=0),
        Column("concept_id", TEXT, "Concept, accepted or best candidate."),
        Column("label", TEXT, "Label that matched."),
        Column("also", TEXTS, "Other concepts found."),
        Column("score", REAL, "Likeness.", "0 to 100", minimum=0, maximum=100),
        Column("margin", REAL, "Lead over the best label of another concept.", "points"),
        Column("method", TEXT, "How.", null=False, allowed=_closed(METHODS)),
        Column("status", TEXT, "Taken, waiting for a person, ignored by decision, or nothing "
               "found.", null=False, allowed=_closed(STATUSES)),
    ),
    key=("kind", "text"),
    sort=("kind", "text"),
)  # fmt: skip

_EVIDENCE = (
    Column("first_sold_on", DAY, "First sale of the evidence.", null=False),
    Column("last_sold_on", DAY, "Last sale of the evidence.", null=False),
    Column("currency", TEXT, "ISO 4217 code of the basis currency.", null=False),
    Column("basis", TEXT, "What a price means.", null=False, allowed=_closed(BASES)),
    Column("method_version", TEXT, "Version of the method.", null=False),
)

_ORDERED = (
    Rule("quantiles_in_order", "p10 <= p25 AND p25 <= median AND median <= p75 AND p75 <= p90",
         ("p10", "p25", "median", "p75", "p90"), "Quantiles rise."),
    Rule("interval_holds_median", "median_low <= median AND median <= median_high",
         ("median_low", "median", "median_high"), "The interval holds the median."),
    Rule("dates_in_order", "first_sold_on <= last_sold_on", ("first_sold_on", "last_sold_on"),
         "The first sale is not after the last."),
    Rule("own_within_all", "n_own <= n_sales", ("n_own", "n_sales"),
         "A category's own sales are part of all."),
    Rule("small_has_no_interval", "n_sales >= 6 OR median_low IS NULL", ("n_sales",),
         "Under 6 sales no 95 % interval of the median exists."),
)  # fmt: skip

PRICE_BANDS = TableDef(
    "price_bands",
    "One row a category (its narrower ones included) x condition x attribution class x set size.",
    (
        Column("category_id", TEXT, "Category; a family where level says so.", null=False,
               concept="category"),
        Column("level", TEXT, "family (a root), branch (has narrower ones) or kind (has none).",
               null=False, allowed=_closed(("family", "branch", "kind"))),
        Column("condition", TEXT, "Condition grade, unknown, or any for all of them.", null=False,
               allowed=_closed((*CONDITIONS, "any"))),
        Column("attribution", TEXT, "Class of attribution; never pooled.", null=False,
               allowed=_closed(ATTRIBUTIONS)),
        Column("set_size", TEXT, "single, pair, or size class of the set.", null=False),
        Column("n_sales", COUNT, "Sales in the band.", "sales", null=False, minimum=1),
        Column("n_own", COUNT, "Of these, sales of the category itself and no narrower one.",
               "sales", null=False, minimum=0),
        Column("p10", REAL, "10th percentile (Hyndman and Fan type 7).", "basis currency",
               null=False, minimum=0),
        Column("p25", REAL, "25th percentile (type 7).", "basis currency", null=False, minimum=0),
        Column("median", REAL, "Median.", "basis currency", null=False, minimum=0),
        Column("p75", REAL, "75th percentile (type 7).", "basis currency", null=False, minimum=0),
        Column("p90", REAL, "90th percentile (type 7).", "basis currency", null=False, minimum=0),
        Column("p90_is_bounded", YES_NO, "The dearest sale exceeds the true P90 with 95 % "
               "confidence (Wilks: from 29 sales).", null=False),
        Column("median_low", REAL, "Lower end of the distribution-free 95 % interval of the "
               "median; null under 6 sales, where none exists.", "basis currency"),
        Column("median_high", REAL, "Upper end of that interval.", "basis currency"),
        Column("median_coverage", REAL, "Exact coverage of that interval.", "share",
               minimum=0.95, maximum=1),
        *_EVIDENCE,
    ),
    key=("category_id", "condition", "attribution", "set_size"),
    sort=("category_id", "attribution", "condition", "set_size"),
    rules=_ORDERED,
)  # fmt: skip

_SCOPE = (
    Column(
        "scope",
        TEXT,
        "Where it holds: in all, in a family, in a category.",
        null=False,
        allowed=_closed(("all", "family", "category")),
    ),
    Column("family_id", TEXT, "Family, or any.", null=False),
)
_OF_THE_METHOD = Column("method_version", TEXT, "Version of the method.", null=False)

PRICE_ADJUSTMENTS = TableDef(
    "price_adjustments",
    "One row a term at a place: what it does to a price, all else alike, by the price model; "
    "empty where the model is off or the sales are too few.",
    (
        *_SCOPE,
        Column("category_id", TEXT, "Category, or any.", null=False),
        Column("kind", TEXT, "What kind of term: condition, material_id, fault ...", null=False),
        Column("term", TEXT, "The term.", null=False),
        Column("reference", TEXT, "What a piece with the term is held against: a like piece with "
               "this term, or without it for a fault.", null=False),
        Column("effect_percent", REAL, "Effect on the price of a like piece.", "per cent",
               null=False, minimum=-100),
        Column("low_percent", REAL, "Lower end of its 95 % interval.", "per cent", null=False,
               minimum=-100),
        Column("high_percent", REAL, "Upper end of its 95 % interval.", "per cent", null=False,
               minimum=-100),
        Column("log_effect", REAL, "The effect on the natural log of the price.", null=False),
        Column("log_error", REAL, "Its standard error.", null=False, minimum=0),
        Column("n", COUNT, "Sales with the term there.", "sales", null=False, minimum=1),
        Column("n_reference", COUNT, "Sales with the reference term there; 0 for a fault.",
               "sales", null=False, minimum=0),
        _OF_THE_METHOD,
    ),
    key=("scope", "family_id", "category_id", "kind", "term"),
    sort=("scope", "family_id", "category_id", "kind", "term"),
    rules=(
        Rule("interval_holds_effect",
             "low_percent <= effect_percent AND effect_percent <= high_percent",
             ("low_percent", "effect_percent", "high_percent"), "The interval holds the effect."),
    ),
)  # fmt: skip

PRICE_WORDS = TableDef(
    "price_words",
    "One row a word or pair of words of titles: what it does to a price beyond the terms, by the "
    "price model; empty where the model is off or the sales are too few.",
    (
        *_SCOPE,
        Column("phrase", TEXT, "The word or pair, held against a title without it.", null=False),
        Column("effect_percent", REAL, "Effect on the price of a like piece, shrunk towards "
               "nothing.", "per cent", null=False, minimum=-100),
        Column("low_percent", REAL, "Lower end of its 95 % interval.", "per cent", null=False,
               minimum=-100),
        Column("high_percent", REAL, "Upper end of its 95 % interval.", "per cent", null=False,
               minimum=-100),
        Column("n", COUNT, "Sales with it there.", "sales", null=False, minimum=1),
        Column("is_clear", YES_NO, "The interval leaves out no effect at all.", null=False),
        _OF_THE_METHOD,
    ),
    key=("scope", "family_id", "phrase"),
    sort=("scope", "family_id", "phrase"),
    rules=(
        Rule("interval_holds_effect",
             "low_percent <= effect_percent AND effect_percent <= high_percent",
             ("low_percent", "effect_percent", "high_percent"), "The interval holds the effect."),
    ),
)  # fmt: skip

_LEVEL = (
    Column("price_level", REAL, "Level of prices; a price of the period divided by it is one "
           "of the last period.", "1 in the last period", null=False, minimum=0),
    Column("low", REAL, "Lower end of its 95 % interval.", null=False, minimum=0),
    Column("high", REAL, "Upper end of its 95 % interval.", null=False, minimum=0),
)  # fmt: skip
_HOLDS_LEVEL = Rule(
    "interval_holds_level", "low <= price_level AND price_level <= high",
    ("low", "price_level", "high"), "The interval holds the level.",
)  # fmt: skip

PRICE_INDEX = TableDef(
    "price_index",
    "One row a month or quarter at a place: the level of prices against the last period, by the "
    "price model; empty where the model is off or the sales are too few.",
    (
        *_SCOPE,
        Column("period", TEXT, "Month (2026-03) or quarter (2026-Q1).", null=False),
        *_LEVEL,
        Column("n", COUNT, "Sales of the period there.", "sales", null=False, minimum=0),
        _OF_THE_METHOD,
    ),
    key=("scope", "family_id", "period"),
    sort=("scope", "family_id", "period"),
    rules=(_HOLDS_LEVEL,),
)  # fmt: skip

RESALE_INDEX = TableDef(
    "resale_index",
    "One row a quarter or year at a place: the level of prices against the last period, by pieces "
    "that were sold twice in the same terms (Bailey, Muth and Nourse 1963); it leans on no model. "
    "Empty where such pieces are too few.",
    (
        Column("scope", TEXT, "Where it holds: in all, or in a family.", null=False,
               allowed=_closed(("all", "family"))),
        Column("family_id", TEXT, "Family, or any.", null=False),
        Column("period", TEXT, "Quarter (2026-Q1) or year (2026).", null=False),
        *_LEVEL,
        Column("n_pairs", COUNT, "Pieces with one of their two sales in the period.", "pieces",
               null=False, minimum=0),
        _OF_THE_METHOD,
    ),
    key=("scope", "family_id", "period"),
    sort=("scope", "family_id", "period"),
    rules=(_HOLDS_LEVEL,),
)  # fmt: skip

MARKET_COUNTS = TableDef(
    "markets",
    "One row a market: how many sales it gives to the bands.",
    (
        Column("market", TEXT, "Kind of market.", null=False, allowed=_closed(MARKETS)),
        Column("n_comparable", COUNT, "Sales that feed bands.", "sales", null=False, minimum=1),
        Column("first_sold_on", DAY, "First of them.", null=False),
        Column("last_sold_on", DAY, "Newest of them.", null=False),
    ),
    key=("market",),
    sort=("market",),
)  # fmt: skip

POOLED_BANDS = TableDef(
    "pooled_bands",
    "One row a band of price_bands that has sales of the category itself, in one condition: what "
    "an unseen piece of that category would bring on the last day of the sales, leaning on like "
    "kinds of its own attribution class as far as its own sales are few; empty where the model is "
    "off or the sales are too few.",
    (
        Column("category_id", TEXT, "Category.", null=False, concept="category"),
        Column("condition", TEXT, "Condition grade, or unknown.", null=False,
               allowed=_closed(CONDITIONS)),
        Column("attribution", TEXT, "Class of attribution.", null=False,
               allowed=_closed(ATTRIBUTIONS)),
        Column("set_size", TEXT, "single, pair, or size class of the set.", null=False),
        Column("n_own", COUNT, "Sales of the category and attribution class, in any condition.",
               "sales", null=False, minimum=0),
        Column("own_share", REAL, "How much of the level is its own sales'; the rest leans on "
               "the family.", "share", null=False, minimum=0, maximum=1),
        Column("evidence", TEXT, "Class of the evidence.", null=False,
               allowed=_closed(("strong", "fair", "thin", "family", "none"))),
        Column("p10", REAL, "10 % of such pieces bring less.", "basis currency", null=False,
               minimum=0),
        Column("p25", REAL, "25 % bring less.", "basis currency", null=False, minimum=0),
        Column("median", REAL, "Half bring less.", "basis currency", null=False, minimum=0),
        Column("p75", REAL, "75 % bring less.", "basis currency", null=False, minimum=0),
        Column("p90", REAL, "90 % bring less.", "basis currency", null=False, minimum=0),
        Column("p90_bounded", YES_NO, "Its own sales could bound a P90 by themselves (from 29).",
               null=False),
        _OF_THE_METHOD,
    ),
    key=("category_id", "condition", "attribution", "set_size"),
    sort=("category_id", "attribution", "condition", "set_size"),
    rules=_ORDERED[:1],
)  # fmt: skip

MODEL_CALIBRATION = TableDef(
    "model_calibration",
    "One row a group of the newest sales, foretold by the price model from the earlier ones: "
    "whether its ranges hold as often as they say; empty where the model is off or the sales are "
    "too few.",
    (
        Column("kind", TEXT, "What the group is: all, a family, or a class of evidence.",
               null=False, allowed=_closed(("all", "family", "evidence"))),
        Column("part", TEXT, "The family or the class of evidence; all for all.", null=False),
        Column("n", COUNT, "Sales foretold and judged.", "sales", null=False, minimum=1),
        Column("n_learned_from", COUNT, "Older sales that the ranges were learned from.", "sales",
               null=False, minimum=1),
        Column("median_ratio", REAL, "Median of estimate over price.", null=False, minimum=0),
        Column("cod", REAL, "Coefficient of dispersion of these ratios.", "per cent", null=False,
               minimum=0),
        Column("male", REAL, "Mean absolute error of the natural log of the price.", null=False,
               minimum=0),
        Column("mdape", REAL, "Median absolute error.", "per cent of the price", null=False,
               minimum=0),
        Column("coverage_50", REAL, "Prices inside the 50 % range.", "share", null=False,
               minimum=0, maximum=1),
        Column("coverage_80", REAL, "Prices inside the 80 % range.", "share", null=False,
               minimum=0, maximum=1),
        Column("coverage_90", REAL, "Prices inside the 90 % range.", "share", null=False,
               minimum=0, maximum=1),
        Column("share_below", REAL, "Prices below the estimate.", "share", null=False,
               minimum=0, maximum=1),
        Column("is_off", YES_NO, "The 80 % range or the middle is off by more than chance does.",
               null=False),
        _OF_THE_METHOD,
    ),
    key=("kind", "part"),
    sort=("kind", "part"),
)  # fmt: skip

MODEL_OUTLINE = TableDef(
    "model_outline",
    "At most one row: how the price model that estimates use is put together, for programs. Empty "
    "where the model is off or the sales are too few.",
    (
        Column("outline", TEXT, "The parts of the model as JSON, by number of their array.",
               null=False),
    ),
    key=("outline",),
)  # fmt: skip

MODEL_ARRAYS = TableDef(
    "model_arrays",
    "One row an array of numbers of the price model, for programs.",
    (
        Column("number", COUNT, "Number of the array in the outline.", null=False, minimum=0),
        Column("dtype", TEXT, "Kind of its numbers, as numpy writes it.", null=False),
        Column("shape", COUNTS, "Its lengths, outermost first.", "numbers", null=False),
        Column("data", BYTES, "Its numbers, row by row.", null=False),
    ),
    key=("number",),
    sort=("number",),
)  # fmt: skip

MODEL_POOL = TableDef(
    "model_pool",
    "One row a sale that an estimate may read as its like, for programs: what the price model "
    "keeps of it. An estimate reads only the sales of its own kind or part.",
    (
        Column("part", COUNT, "Number of the family and attribution class.", null=False, minimum=0),
        Column("kind", COUNT, "Number of the category and attribution class; -1 where the category "
               "is not known.", null=False, minimum=-1),
        Column("row", COUNT, "Place among the sales of the fit.", null=False, minimum=0),
        Column("sale_id", TEXT, "Sale.", null=False),
        Column("category", COUNT, "Number of the category in the outline; -1 for none.", null=False,
               minimum=-1),
        Column("day", REAL, "Day of the sale.", "days since 1970-01-01", null=False),
        Column("log_price", REAL, "Natural log of the price.", null=False),
        Column("residual", REAL, "Its distance from the effects, itself left out of them, in logs.",
               null=False),
        Column("plain", REAL, "The same with itself among them.", null=False),
        Column("trust", REAL, "Weight that its residual and its age leave it.", "share", null=False,
               minimum=0, maximum=1),
        Column("points", SHORT_REALS, "Where it lies among like sales.", null=False),
        Column("effects", REALS, "Its effects line by line, in logs.", null=False),
    ),
    key=("row",),
    sort=("part", "kind", "row"),
)  # fmt: skip

GROUP_STATISTICS = TableDef(
    "group_statistics",
    "One row a group that prices were held against in the screening: why a flag was set.",
    (
        Column("group_id", TEXT, "category or family, attribution, condition, set size; terms and "
               "the family.",
               null=False),
        Column("level", TEXT, "How fine the group is; terms: all terms together.", null=False,
               allowed=_closed(("condition", "category", "family", "terms"))),
        Column("n_sales", COUNT, "Sales in the group.", "sales", null=False, minimum=1),
        Column("median_log", REAL, "Median of the natural log of the price; at level terms, of "
               "that less what the terms lead one to expect.", null=False),
        Column("mad_log", REAL, "Median absolute deviation from that median.", null=False,
               minimum=0),
        Column("mean_deviation_log", REAL, "Mean absolute deviation from that median, used where "
               "mad_log is 0.", null=False, minimum=0),
        Column("threshold", REAL, "Modified z-score from which a price is out of line.",
               null=False, minimum=0),
    ),
    key=("group_id",),
    sort=("group_id",),
)  # fmt: skip

CONCEPTS = TableDef(
    "concepts",
    "The controlled vocabulary in force: one row a concept.",
    (
        Column("kind", TEXT, "Kind of concept.", null=False),
        Column("concept_id", TEXT, "Key within the kind.", null=False),
        Column("pref_label", TEXT, "Preferred label.", null=False),
        Column("broader_id", TEXT, "Concept above."),
        Column("family_id", TEXT, "Root above."),
        Column("scope_note", TEXT, "What it covers."),
        Column("earliest_year", SMALL, "Start of a period.", "year"),
        Column("latest_year", SMALL, "End of a period.", "year"),
        Column("rank", SMALL, "Order on its ladder, best or nearest first."),
        Column("class", TEXT, "Class of an attribution."),
        Column("direction", TEXT, "Whether a fault lowers or a merit raises the price."),
    ),
    key=("kind", "concept_id"),
    sort=("kind", "concept_id"),
)  # fmt: skip

LABELS = TableDef(
    "labels",
    "Every label of every concept.",
    (
        Column("kind", TEXT, "Kind of concept.", null=False),
        Column("concept_id", TEXT, "Concept.", null=False),
        Column("label", TEXT, "Label.", null=False),
        Column("label_type", TEXT, "pref, alt or hidden (SKOS).", null=False,
               allowed=_closed(("pref", "alt", "hidden"))),
        Column("is_ambiguous", YES_NO, "Another concept of the kind has it too.", null=False),
    ),
    key=("kind", "concept_id", "label"),
    sort=("kind", "concept_id", "label_type", "label"),
)  # fmt: skip

REFRESHES = TableDef(
    "refreshes",
    "One row a refresh that was published.",
    (
        Column("refresh_id", TEXT, "Digest of inputs, decisions, settings and code.", null=False),
        Column("refreshed_at", MOMENT, "When, in UTC.", null=False),
        Column("package_version", TEXT, "Version of the package.", null=False),
        Column("method_version", TEXT, "Version of the method.", null=False),
        Column("basis", TEXT, "What a price means.", null=False, allowed=_closed(BASES)),
        Column("currency", TEXT, "Basis currency.", null=False),
        Column("as_of", DAY, "Date of the newest sale.", null=True),
        Column("n_files", COUNT, "Exports.", "files", null=False, minimum=0),
        Column("n_files_read", COUNT, "Exports read anew.", "files", null=False, minimum=0),
        Column("n_files_refused", COUNT, "Exports refused.", "files", null=False, minimum=0),
        Column("n_rows", COUNT, "Rows.", "rows", null=False, minimum=0),
        Column("n_sales", COUNT, "Sales.", "sales", null=False, minimum=0),
        Column("n_comparable", COUNT, "Sales that feed bands.", "sales", null=False, minimum=0),
        Column("n_duplicates", COUNT, "Rows that are no sale of their own.", "rows", null=False,
               minimum=0),
        Column("n_set_aside", COUNT, "Lines and rows set aside.", null=False, minimum=0),
        Column("n_waiting", COUNT, "Spellings that wait for a decision.", null=False, minimum=0),
        Column("n_bands", COUNT, "Bands.", null=False, minimum=0),
        Column("settings", TEXT, "The settings in force, as JSON.", null=False),
    ),
    key=("refresh_id",),
    sort=("refreshed_at",),
    rules=(
        Rule("comparable_within_sales", "n_comparable <= n_sales", ("n_comparable", "n_sales"),
             "Comparable sales are part of the sales."),
    ),
)  # fmt: skip

REFRESH_FILES = TableDef(
    "refresh_files",
    "One row an export: the balance of its lines and rows.",
    (
        Column("file_id", TEXT, "First 16 hex digits of the SHA-256 of the file.", null=False),
        Column("source_id", TEXT, "Folder of the source.", null=False),
        Column("path", TEXT, "Path within the workspace.", null=False),
        Column("sha256", TEXT, "Digest of the file as it lies on disk.", null=False),
        Column("n_bytes", COUNT, "Size.", "bytes", null=False, minimum=0),
        Column("status", TEXT, "Read, refused, or the same bytes as another export.", null=False,
               allowed=_closed(("read", "refused", "same_as_other"))),
        Column("problem", TEXT, "Why it was refused, or what was noticed."),
        Column("encoding", TEXT, "Encoding it was read in."),
        Column("n_lines", COUNT, "Physical lines.", "lines", null=False, minimum=0),
        Column("n_header_lines", COUNT, "Preamble and header.", "lines", null=False, minimum=0),
        Column("n_lines_set_aside", COUNT, "Lines that became no row.", "lines", null=False,
               minimum=0),
        Column("n_cell_line_breaks", COUNT, "Line breaks inside cells.", "lines", null=False,
               minimum=0),
        Column("n_rows", COUNT, "Rows.", "rows", null=False, minimum=0),
        Column("n_sales", COUNT, "Rows that are sales.", "rows", null=False, minimum=0),
        Column("n_duplicates", COUNT, "Rows that are no sale of their own.", "rows", null=False,
               minimum=0),
        Column("n_rows_set_aside", COUNT, "Rows set aside.", "rows", null=False, minimum=0),
    ),
    key=("path",),
    sort=("source_id", "path"),
    rules=(
        Rule("lines_balance",
             "n_lines = n_header_lines + n_rows + n_lines_set_aside + n_cell_line_breaks",
             ("n_lines",), "Lines = header + rows + set aside + line breaks inside cells."),
        Rule("rows_balance", "n_rows = n_sales + n_duplicates + n_rows_set_aside", ("n_rows",),
             "Rows = sales + duplicates + set aside."),
    ),
)  # fmt: skip

CHECK_RESULTS = TableDef(
    "check_results",
    "One row a check of the contract that this database passed or was warned by.",
    (
        Column("table_name", TEXT, "Table.", null=False),
        Column("check_name", TEXT, "Check.", null=False),
        Column("column_name", TEXT, "Column, or columns."),
        Column("sentence", TEXT, "What must hold.", null=False),
        Column("passed", YES_NO, "It holds.", null=False),
        Column("n_rows", COUNT, "Rows checked.", "rows", null=False, minimum=0),
        Column("n_failed", COUNT, "Rows at fault.", "rows", null=False, minimum=0),
        Column("failed_keys", TEXTS, "Keys of the first rows at fault.", null=False),
    ),
    key=("table_name", "check_name", "column_name"),
    sort=("table_name", "check_name", "column_name"),
)  # fmt: skip

TABLES: tuple[TableDef, ...] = (
    SALES, SET_ASIDE, DUPLICATES, CORRECTIONS, LINK_REVIEW, LINK_RULES, TERM_MATCHES, MARKET_COUNTS,
    PRICE_BANDS, POOLED_BANDS, PRICE_ADJUSTMENTS, PRICE_WORDS, PRICE_INDEX, RESALE_INDEX,
    MODEL_CALIBRATION, MODEL_OUTLINE, MODEL_ARRAYS, MODEL_POOL,
    GROUP_STATISTICS, CONCEPTS, LABELS,
    REFRESHES, REFRESH_FILES, CHECK_RESULTS,
)  # fmt: skip


def table(name: str) -> TableDef:
    """The declaration of a published table."""
    return next(t for t in TABLES if t.name == name)


def data_dictionary() -> str:
    """Every table and column as Markdown."""
    lines: list[str] = []
    for one in TABLES:
        lines += [
            f"### {one.name}",
            "",
            one.meaning,
            "",
            "| column | type | meaning |",
            "|---|---|---|",
        ]
        for c in one.columns:
            kind = sql_type(c.type) + ("" if c.null else ", always there")
            lines.append(f"| {c.name} | {kind} | {c.comment} |")
        lines.append("")
    return "\n".join(lines)


if __name__ == "__main__":
    print(data_dictionary())  # noqa: T201
