"""The words that stand around a price, and what each says about it.

Common practice of sale records in English, with the everyday words of shops in the neighbouring
languages; no source. A word that is on no list and stands beside a number without a currency makes
the number unreadable as a price, rather than a guess.
"""

from __future__ import annotations

import re


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


# A whole text that means: sold or offered, and the figure is not told.
NO_PRICE: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern, re.IGNORECASE), reason)
    for pattern, reason in (
        (
            r"\b(?:unsold|not sold|did not sell|no sale|bought[ -]in|passed|withdrawn|no bids?"
            r"|reserve not met|unverkauft|invendu)\b",
            "not_sold",
        ),
        (
            r"\bp\.?\s?o\.?\s?a\b|\bprices? (?:up)?on (?:application|request|enquiry|inquiry)\b"
            r"|\b(?:please )?(?:ask|enquire|inquire|call|contact)\b(?: us)?(?: for)?(?: (?:the )?"
            r"price)?\s*$|\bto be (?:advised|confirmed|agreed)\b|\bt\.?b\.?[ac]\b"
            r"|\bpreis auf anfrage\b|\bprix sur demande\b|\bauf anfrage\b|\bsur demande\b",
            "price_on_request",
        ),
        (
            r"\b(?:by )?private (?:treaty|sale)\b|\b(?:un|not )disclosed\b|\bprice withheld\b"
            r"|\bconfidential\b",
            "price_withheld",
        ),
    )
)
NOTHING = re.compile(
    r"[\s\-–—_.?*/]*|n\.?/?a\.?|nil|none|null|nan|unknown|not (?:known|available|recorded|stated)",
    re.IGNORECASE,
)
NAUGHT = re.compile(r"(?:free|gratis|kostenlos|gratuit)\W*", re.IGNORECASE)

BEST_OFFER = re.compile(r"\bbest offer (?:was )?accepted\b|\baccepted (?:a )?best offer\b", re.I)
OFFER_AMOUNT = re.compile(
    r"\b(?:best )?offer of\b(?=.*\baccepted\b)|\boffer accepted\s*(?:at|for|of|:)"
    r"|\baccepted offer\s*(?:at|for|of|:)?(?=\s*\W?\s*\d)",
    re.IGNORECASE,
)

# Labels that stand before an amount. A decisive one wins over every other amount in the text.
DECISIVE: dict[str, str | None] = {
    "sold": None, "now": None, "hammer": "hammer", "realised": None, "realized": None,
    "achieved": None, "made": None, "fetched": None, "accepted": None, "final": None,
    "winning": None, "sale": None, "reduced": None, "paid": None, "jetzt": None, "total": None,
}  # fmt: skip
SIDE: dict[str, str] = {
    "was": "struck", "rrp": "struck", "msrp": "struck", "before": "struck", "originally": "struck",
    "statt": "struck", "instead": "struck", "regular": "struck", "retail": "struck",
    "reg": "struck",
    "est": "estimate", "estimate": "estimate", "estimated": "estimate", "estimates": "estimate",
    "schätzpreis": "estimate", "estimation": "estimate",
    "save": "other", "saving": "other", "savings": "other", "discount": "other", "off": "other",
    "deposit": "other", "reserve": "other", "bid": "other", "fee": "other",
    "fees": "other", "opening": "other", "starting": "other", "start": "other",
    "postage": "shipping", "shipping": "shipping", "delivery": "shipping", "carriage": "shipping",
    "p&p": "shipping", "pp": "shipping", "post": "shipping", "freight": "shipping",
    "versand": "shipping", "insurance": "other",
    "premium": "premium", "bp": "premium", "commission": "other", "tax": "tax", "vat": "tax",
}  # fmt: skip
# A number after one of these is a reference, never money.
NUMBERING = _words("lot no nr ref sku item code qty quantity id ean page year")
# A number in front of one of these counts something.
COUNTED = _words("bid bids bidders watchers views offers items lots pieces pcs")
ASKING = _words("asking ask ono o.n.o obo rrp msrp bin offers listed list")
FROM = _words("from ab vanaf da starting")
APPROXIMATE = _words("approx approximately about circa ca around c nearly over under")
EACH = _words("each ea apiece per unit piece pr")

INCLUDED = _words("included incl inc free extra paid")

# Words that change nothing: a number beside them is still the price.
NEUTRAL = _words(
    """
    price prices our your the for at of is a an and to was now only just inc incl inkl including
    inclusive excl ex exc excluding exclusive plus vat tax gst ttc ht iva mwst ust zzgl bez dph
    versand hammer sold realised realized achieved made fetched final winning bid sale each ea
    apiece per
    piece unit item month bids bidders watchers views items lots pieces
    cena preis prix prezzo precio pris naše běžná od ab from da à partir
    postage shipping delivery carriage free post p&p pp packing o.n.o ono obo or nearest near best
    offer offers buy it listed list with without buyer's buyers premium bp paid total net gross
    approx approximately about circa ca around c over under asking est estimate estimated rrp msrp
    accepted reduced firm cash card pair set lot both all in on undefined x
    """
)
WITH_PREMIUM = re.compile(
    r"\b(?:inc(?:l|luding|\.)?|with|incl\.)\s*(?:the )?(?:buyer'?s'? )?(?:premium|bp|b\.p\.)\b",
    re.IGNORECASE,
)
WITHOUT_PREMIUM = re.compile(
    r"(?:\b(?:excl?(?:uding|\.)?|without|before|plus|net of)|\+)\s*(?:the )?(?:buyer'?s'? )?"
    r"(?:premium|bp|b\.p\.)\b",
    re.IGNORECASE,
)
JOINING = frozenset(("-", "–", "—", "~", "to", "bis", "à", "and"))
MULTIPLIERS: dict[str, int] = {
    "k": 10**3, "thousand": 10**3, "tsd": 10**3, "m": 10**6, "mn": 10**6, "mio": 10**6,
    "million": 10**6, "bn": 10**9, "billion": 10**9, "lakh": 10**5, "lakhs": 10**5, "crore": 10**7,
    "crores": 10**7,
}  # fmt: skip
HUNDREDTHS: dict[str, str] = {"p": "GBP", "pence": "GBP", "c": "", "¢": "", "cents": "", "cent": ""}
