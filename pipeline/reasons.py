"""The closed lists of reasons, with a sentence each for the people who read them."""

from __future__ import annotations

SET_ASIDE: dict[str, str] = {
    # ingest: the line never became a row
    "too_few_cells": "The line has fewer cells than the header.",
    "too_many_cells": "The line has more cells than the header.",
    "stray_quote": "A quotation mark opens on this line and would swallow the rows after it.",
    "repeated_header": "The header again.",
    "total_line": "A line of totals.",
    "blank_line": "An empty line.",
    "undecodable": "Bytes on this line are no text in the encoding of the file.",
    # typing: the row is no sale that can be used
    "no_price": "There is no price.",
    "unreadable_price": "The price is no amount of money.",
    "price_is_range": "The price is a range, as of an estimate.",
    "price_not_stated": "The price is withheld, as with 'price on application'.",
    "ambiguous_price": "The price can be read in two ways, and the source names no decimal mark.",
    "price_not_positive": "The price is zero or negative.",
    "price_out_of_bounds": "The price lies outside the hard bounds of the settings.",
    "two_currencies": "The price names two currencies.",
    "unknown_currency": "There is no currency, or none that ISO 4217 knows.",
    "premium_too_high": "The buyer's premium is over 100 %.",
    "no_rate": "There is no exchange rate for the currency at that date.",
    "no_date": "There is no date of sale.",
    "unreadable_date": "The date of sale exists in no calendar, or cannot be read.",
    "future_sale": "The date of sale lies in the future.",
    "quantity_out_of_bounds": "The number of pieces is zero or beyond belief.",
}

FLAGS: dict[str, str] = {
    # in the order in which they are told: the first is the most telling
    "left_out_by_person": "A person decided to leave it out.",
    "not_sold": "It was offered and not sold.",
    "not_a_sale_price": "The price is asked or estimated, or nobody knows what it means.",
    "no_category": "Nobody knows yet what kind of thing it is.",
    "category_in_review": "The category waits for a decision.",
    "part_only": "Only a part, an empty box or the like is sold.",
    "bulk_lot": "A lot of things not alike, or of nobody knows how many.",
    "beyond_window": "The sale is older than the window of evidence.",
    "price_out_of_line_low": "The price is far below its group.",
    "price_out_of_line_high": "The price is far above its group.",
}

LINKS: dict[str, str] = {
    "same_listing": "The same listing, exported again.",
    "corrected_listing": "The same listing, exported again with other values: the newer counts.",
    "same_row": "The same cells without a listing number.",
    "same_event": "One sale told twice, by one source or by two.",
    "relisted": "The same piece, offered again after it had not sold.",
    "resale": "The same piece, sold again later.",
}
