"""The closed lists of reasons, with a sentence each for the people who read them."""

from __future__ import annotations

NO_APPRAISAL = (
    "Evidence of past sales, not an appraisal for tax, insurance or a court: those need a "
    "qualified appraiser."
)
"""What is said wherever a figure is shown or handed on."""

INGEST: dict[str, str] = {
    # ingest: the line never became a row
    "too_few_cells": "The line has fewer cells than the header.",
    "too_many_cells": "The line has more cells than the header.",
    "stray_quote": "A quotation mark opens on this line and would swallow the rows after it.",
    "repeated_header": "The header again.",
    "total_line": "A line of totals.",
    "blank_line": "An empty line.",
    "undecodable": "Bytes on this line are no text in the encoding of the file.",
}
"""The line never became a row."""

DATES: dict[str, str] = {
    "no_date": "There is no date of sale.",
    "unreadable_date": "The date of sale exists in no calendar, or cannot be read.",
    "future_sale": "The date of sale lies in the future.",
}
"""The date of sale."""

AMOUNTS: dict[str, str] = {
    "price_missing": "The price is empty.",
    "price_on_request": "The text says the price is told on request.",
    "price_withheld": "The text says that the price was not made public.",
    "not_sold": "The text says that the piece was not sold.",
    "best_offer_hidden": "An offer was accepted and its amount is not told.",
    "estimate_range": "Two ends of a range are an estimate, no sale.",
    "estimate_single": "The amount is called an estimate.",
    "two_amounts": "The text holds several amounts and nothing says which one was paid.",
    "two_currencies": "The text, or the text and the currency column, name two currencies.",
    "decimal_mark_unknown": (
        "One mark before three digits may part thousands or decimals, and the source does not say."
    ),
    "old_money_or_fraction": (
        "Two numbers about a stroke may be shillings and pence, a range or an edition."
    ),
    "old_money_out_of_range": "Over 19 shillings or 11 pence stand beside the next coin.",
    "number_malformed": "The marks between the digits follow no way of writing numbers.",
    "amount_too_large": "The amount has more than fourteen digits before the decimals.",
    "no_number": "No number stands in the text.",
    "only_a_share": "Only a percentage stands in the text.",
    "date_not_price": "Only a date stands in the text.",
    "words_not_understood": (
        "A number without a currency stands beside words that are not known to mean a price."
    ),
    "not_the_price": "The amount is a saving, a bid, a fee or postage, not the price.",
    "negative_amount": "The amount is below zero, as in a refund.",
    "zero_amount": "The amount is zero.",
    "currency_unclear": "There is no currency, or its sign is shared and nothing settles it.",
    "asking_price": "The text says that this is asked, not paid.",
    "price_from": "The text says from which amount on, not what was paid.",
    "approximate_amount": "The text says about how much, not how much.",
}
"""What keeps a price text from being the amount of a sale."""

KEPT_AMOUNTS = ("asking_price", "not_sold")
"""Those of them with which the row is an offer: it is kept, and feeds no band."""

AMOUNT_NOTES: dict[str, str] = {
    "price_each": "The text says that the amount is for each piece.",
    "more_decimals_than_currency": (
        "The amount has more decimals than its currency is paid in (ISO 4217)."
    ),
}
"""What is told of an amount that is used."""

BASIS: dict[str, str] = {
    "amount_missing": "There is no amount to bring to a basis.",
    "asking_price": "An asking price is not a sale.",
    "estimate_only": "An estimate is not a sale.",
    "price_type_unknown": "Nothing says what the price means.",
    "premium_unknown": "The buyer's premium is not known, so the basis cannot be reached.",
    "fees_unknown": "The seller's fees are not known, so the basis cannot be reached.",
    "amount_too_large": AMOUNTS["amount_too_large"],
    "nothing_left": "Shipping, tax or fees leave nothing of the price.",
}
"""What keeps an amount from the workspace's basis."""

BASIS_NOTES: dict[str, str] = {
    "tax_unknown": "Nothing says whether tax lies in the price; it was left as it is.",
    "shipping_unknown": "Nothing says whether shipping lies in the price; it was left as it is.",
    "shipping_amount_missing": (
        "Shipping lies in the price and its amount is not told; the price was left as it is."
    ),
}
"""What is told of a price that reached the basis."""

RATES: dict[str, str] = {
    "rate_before_series": "The sale is earlier than the first rate of its currency.",
    "rate_too_old": "The last rate before the sale is older than the setting allows.",
    "rate_unknown_currency": "No rates of this currency are known.",
    "rate_no_date": "Without a date of sale there is no rate.",
    "rate_no_currency": "Without a currency there is no rate.",
}
"""Why there is no rate of exchange."""

PRICE_LEVEL: dict[str, str] = {
    "no_index_month": "The index has no figure for the month of sale.",
    "before_index": "The sale is earlier than the index; the nominal price was kept.",
    "after_index": "The sale is later than the last month of the index.",
    "index_no_date": "Without a date of sale there is no index.",
}
"""Why a price is not told in money of the base month."""

REAL: dict[str, str] = {
    **PRICE_LEVEL,
    "no_price_index": "The workspace has no price index.",
}
"""What stands in `real_reason`."""

QUANTITIES: dict[str, str] = {
    "quantity_zero": "The quantity is zero.",
    "quantity_too_large": "The quantity is above what one sale can hold.",
}
"""Numbers of pieces that no sale has."""

QUANTITY_NOTES: dict[str, str] = {
    "quantity_unreadable": "The quantity is no whole number of pieces.",
    "quantity_disagrees": "The quantity column and the title name different numbers.",
}
"""What is told of a number of pieces that is used."""

SET_ASIDE: dict[str, str] = {
    **INGEST,
    **DATES,
    **{name: sentence for name, sentence in AMOUNTS.items() if name not in KEPT_AMOUNTS},
    "premium_out_of_bounds": "The premium told beside the price is more than the hammer price.",
    "quantity_out_of_bounds": "The number of pieces is zero or beyond belief.",
}

PRICE_NOTES: dict[str, str] = {
    **AMOUNT_NOTES,
    **BASIS_NOTES,
    **QUANTITY_NOTES,
    "shipping_unreadable": "The shipping told beside the price cannot be read; it was left out.",
    "premium_unreadable": "The premium told beside the price cannot be read; it was left out.",
    "premium_taken_as_rate": (
        "The premium told beside the price is a bare number under 1, too small for an amount: it "
        "was taken for a rate (0.25 is 25 per cent)."
    ),
    "tax_unreadable": "The tax told beside the price cannot be read; it was left out.",
}
"""What is told of the price of a sale and keeps it from nothing."""

NOTES: dict[str, str] = {
    **PRICE_NOTES,
    "size_disagrees": "A column of sizes and the text tell two sizes; the column's was kept.",
}
"""What is told of a sale and keeps it from nothing."""

FLAGS: dict[str, str] = {
    # in the order in which they are told: the first is the most telling
    "left_out_by_person": "A person decided to leave it out.",
    "not_sold": "It was offered and not sold.",
    "not_a_sale_price": "The price is asked or estimated, or nobody knows what it means.",
    "basis_out_of_reach": "The premium or the fees that lead to the basis are not known.",
    "pieces_unknown": "The price is of each piece, and nothing says how many there are.",
    "no_rate": "There is no exchange rate for its currency at that date.",
    "price_out_of_bounds": "The price lies outside the hard bounds of the settings.",
    "no_category": "Nobody knows yet what kind of thing it is.",
    "category_in_review": "The category waits for a decision.",
    "part_only": "Only a part, an empty box or the like is sold.",
    "bulk_lot": "A lot of things not alike, or of nobody knows how many.",
    "beyond_window": "The sale is older than the window of evidence.",
    "price_out_of_line_low": "The price is far below its group.",
    "price_out_of_line_high": "The price is far above its group.",
    "price_unlike_terms_low": "The price is far below what its terms lead one to expect.",
    "price_unlike_terms_high": "The price is far above what its terms lead one to expect.",
}

LINKS: dict[str, str] = {
    "same_listing": "The same listing, exported again.",
    "corrected_listing": "The same listing, exported again with other values: the newer counts.",
    "same_row": "The same cells without a listing number.",
    "repeated_row": (
        "The same cells twice in one export, without a listing number: counted once, unless a "
        "person says in data/decisions/links.csv that the two lines are different."
    ),
    "same_event": "One sale told twice, by one source or by two.",
    "relisted": "The same piece, offered again after it had not sold.",
    "resale": "The same piece, sold again later.",
}
