"""What happens in the invented market: sales, unsold lots, resales, lots, parts, slips of price."""

from __future__ import annotations

import copy
import datetime as dt
import math
import re
from dataclasses import dataclass

import numpy as np

from tests.demo import words
from tests.demo.model import (
    AUCTION,
    DEALER,
    FIRST_DAY,
    LAST_DAY,
    MARKET_EFFECT,
    N_DAYS,
    ONLINE,
    PIECE_TO_SALE_NOISE,
    SALES_SCALE,
    Kind,
    draw_pieces,
    kinds,
    trend,
)
from tests.demo.rates import rate
from tests.demo.titles import Choice, Item, _plural, condition_text, items_of, remark, title

FIRST = dt.date.fromisoformat(str(FIRST_DAY))
LAST = dt.date.fromisoformat(str(LAST_DAY))
PREMIUM = ((2000.0, 0.28), (math.inf, 0.22))

N_RESALES = 190
N_TOLD_BY_ONLINE = (48, 22)  # sales of the auction house and of the dealer that the market shows
N_TYPED_TWICE = 14
N_RELISTED = (250, 180)
N_NEVER_SOLD = (190, 150, 34)
N_ACTIVE = 60
N_POA = 24
N_WILD = 78
N_BULK = (170, 170, 34)
N_PARTS = (60, 120, 8)
WILD_FACTORS = (10.0, 10.0, 10.0, 100.0, 100.0, 0.1, 0.1, 0.01)


@dataclass
class Row:
    """One row of an export, with its truth."""

    source: int
    day: dt.date
    item: Item
    title: str
    condition: str
    event: int
    outcome: str = "sold"  # sold, unsold, withdrawn, asking, poa
    price: float | None = None  # as told, in the currency of the row
    currency: str = ""
    basis_gbp: float | None = None
    basis_usd: float | None = None
    wild: float = 1.0
    listing: str = ""
    remark: str = ""
    lot_kind: str = "single"
    n_pieces: int | None = 1
    part: str = ""
    relisting_of: Row | None = None
    resale_of: Row | None = None
    same_event_as: Row | None = None


def day_of(item: Item) -> dt.date:
    """The day of sale: the saleroom sells on Thursdays, the shop is closed on Sundays."""
    day = FIRST + dt.timedelta(days=item.day)
    if item.source == AUCTION:
        day -= dt.timedelta(days=(day.weekday() - 3) % 7)
        if day < FIRST:
            day += dt.timedelta(days=7)
    elif item.source == DEALER and day.weekday() == 6:
        day -= dt.timedelta(days=1)
    return day


def premium_on(hammer: float) -> float:
    """The buyer's premium, each share on the part of the hammer price within its step."""
    total, low = 0.0, 0.0
    for high, share in PREMIUM:
        total += max(0.0, min(hammer, high) - low) * share
        low = high
    return total


def hammer_for(price: float) -> float:
    """The hammer price whose sum with the premium is nearest to a price, in steps of bidding."""
    first, share = PREMIUM[0]
    full = first * (1 + share)
    plain = price / (1 + share) if price <= full else first + (price - full) / (1 + PREMIUM[1][1])
    return max(2.0, _stepped(plain, ((20, 1), (50, 2), (200, 5), (1000, 10), (5000, 50))))


def _stepped(value: float, steps: tuple[tuple[float, float], ...]) -> float:
    step = next((s for limit, s in steps if value < limit), steps[-1][1] * 2)
    return round(value / step) * step


def set_price(row: Row, draw: Choice) -> None:
    """Give the row the price that its source would tell, and the exact basis that follows."""
    gbp = math.exp(row.item.log_price)
    day = row.day
    if row.source == AUCTION:
        row.currency = "GBP"
        row.price = hammer_for(gbp)
        own = row.price + premium_on(row.price)
    elif row.source == ONLINE:
        row.currency = "USD"
        dollars = gbp * rate("GBP", "USD", day)
        cents = draw.one((0.99, 0.99, 0.0, 0.0, 0.95, 0.5))
        row.price = max(
            1.0, math.floor(dollars) + cents if dollars < 400 else round(dollars / 5) * 5
        )
        if draw.chance(0.3) and dollars < 400:
            row.price = max(1.0, round(dollars * 100) / 100)
        own = row.price
    else:
        row.currency = "EUR"
        euros = gbp * rate("GBP", "EUR", day)
        row.price = max(1.0, _stepped(euros, ((20, 0.5), (100, 1), (1000, 5), (4000, 10))))
        own = row.price
    row.basis_gbp = own * rate(row.currency, "GBP", day)
    row.basis_usd = own * rate(row.currency, "USD", day)


class Market:
    """All rows of the demo, made in a fixed order from one seed."""

    def __init__(self, seed: int) -> None:
        self._seed = seed
        self.rows: list[Row] = []
        self._event = 0
        self._piece = 0

    def stream(self, name: str) -> np.random.Generator:
        """A stream of draws of its own for each part, so that one part can change alone."""
        key = [self._seed, *name.encode()]
        return np.random.Generator(np.random.PCG64(np.random.SeedSequence(key)))

    def prepared(self) -> Market:
        """Let everything happen, once."""
        self._sales()
        self._resales()
        self._told_twice()
        self._relisted()
        self._never_sold()
        self._bulk()
        self._parts()
        self._slips_of_price()
        self._number()
        return self

    def _new(self, item: Item, draw: Choice) -> Row:
        self._event += 1
        row = Row(
            item.source,
            day_of(item),
            item,
            title(item, draw),
            condition_text(item, draw),
            self._event,
            remark=remark(item, draw) if item.source == DEALER else "",
            n_pieces=item.n_pieces,
        )
        row.lot_kind = {1: "single", 2: "pair"}.get(item.n_pieces, "set")
        set_price(row, draw)
        return row

    def items(
        self, kind: Kind, n: int, rng: np.random.Generator, draw: Choice, only: int | None = None
    ) -> list[Item]:
        """Pieces of a kind with their details, numbered on from the last."""
        found = items_of(draw_pieces(kind, n, rng, only), draw, self._piece + 1)
        self._piece += n
        return found

    def _sales(self) -> None:
        for kind in kinds():
            rng = self.stream(f"sales {kind.id}")
            draw = Choice(rng)
            n = round(kind.n_sales * SALES_SCALE)
            self.rows += [self._new(item, draw) for item in self.items(kind, n, rng, draw)]

    def _sold(self, source: int | None = None) -> list[Row]:
        return [r for r in self.rows if source in (None, r.source)]

    def _resales(self) -> None:
        rng = self.stream("resales")
        draw = Choice(rng)
        early = [r for r in self._sold() if r.item.day < N_DAYS - 260 and can_be_known_again(r)]
        for first in draw.some(early, N_RESALES):
            item = copy.deepcopy(first.item)
            gap = draw.whole(220, min(900, N_DAYS - 1 - item.day))
            if draw.chance(0.25) and item.source != ONLINE:
                item.source = AUCTION if item.source == DEALER else DEALER
            item.day += gap
            days = np.array([first.item.day, item.day])
            moved = np.diff(trend(item.kind.trade, days))[0]
            moved += MARKET_EFFECT[item.source] - MARKET_EFFECT[first.source]
            noise = float(rng.standard_normal()) * PIECE_TO_SALE_NOISE
            item.log_price = first.item.log_price + float(moved) + noise
            row = self._new(item, draw)
            if row.source == first.source:
                same = draw.chance(0.5)
                row.title = first.title if same else retold(first.title, row.source, draw)
            elif str(item.height) in first.title and str(item.height) not in row.title:
                row.title += f", {item.height} x {item.width} cm"
            row.resale_of = first
            self.rows.append(row)

    def _told_twice(self) -> None:
        """One event in two sources without a common number, and entries typed twice."""
        rng = self.stream("told twice")
        draw = Choice(rng)
        for source, n in ((AUCTION, N_TOLD_BY_ONLINE[0]), (DEALER, N_TOLD_BY_ONLINE[1])):
            for first in draw.some([r for r in self._sold(source) if not r.resale_of], n):
                twin = self._twin(first, draw)
                twin.price = first.price
                if source == AUCTION and first.price is not None:
                    twin.price = round(first.price + premium_on(first.price), 2)
                twin.day = first.day + dt.timedelta(days=draw.one((0, 0, 0, 1)))
                twin.day = min(twin.day, LAST)
                twin.source = ONLINE
                # the market shows what the firm wrote, cut short, or shouted
                shown = first.title if draw.chance(0.6) else title(first.item, draw)
                if len(shown) > 80 and draw.chance(0.5):
                    shown = shown[:80].rsplit(" ", 1)[0].rstrip(",")
                twin.title = shown.upper() if draw.chance(0.3) else shown
                twin.condition = draw.one(words.ONLINE_CONDITION[first.item.told_grade])
                self.rows.append(twin)
        for first in draw.some([r for r in self._sold(DEALER) if not r.resale_of], N_TYPED_TWICE):
            twin = self._twin(first, draw)
            twin.title = title(first.item, draw)
            twin.remark = draw.one(("doppelt?", "", "s. oben"))
            self.rows.append(twin)

    def _twin(self, first: Row, draw: Choice) -> Row:
        twin = copy.copy(first)
        twin.item = copy.deepcopy(first.item)
        twin.same_event_as = first
        return twin

    def _relisted(self) -> None:
        rng = self.stream("relisted")
        draw = Choice(rng)
        for source, n in ((AUCTION, N_RELISTED[0]), (ONLINE, N_RELISTED[1])):
            late = [
                r
                for r in self._sold(source)
                if r.item.day > 110 and not r.resale_of and not r.same_event_as
            ]
            for sold in draw.some(late, n):
                before = copy.copy(sold)
                before.item = copy.deepcopy(sold.item)
                self._event += 1
                before.event = self._event
                before.outcome = "unsold"
                before.basis_gbp = before.basis_usd = None
                before.price = None
                weeks = dt.timedelta(days=7 * draw.whole(3, 13))
                before.day = sold.day - weeks
                if draw.chance(0.3):
                    before.title = retold(sold.title, source, draw)
                if source == ONLINE and sold.price is not None:
                    before.price = round(sold.price * draw.one((1.1, 1.2, 1.35, 1.5)))
                sold.relisting_of = before
                self.rows.append(before)

    def _never_sold(self) -> None:
        rng = self.stream("never sold")
        draw = Choice(rng)
        all_kinds = list(kinds())
        for source, n in enumerate(N_NEVER_SOLD):
            for k, kind in enumerate(self._kinds_of(all_kinds, source, n, draw)):
                row = self.offer(kind, source, rng, draw)
                row.outcome = "withdrawn" if source == AUCTION and k % 9 == 0 else "unsold"
                if source == AUCTION:
                    row.price = None
                self.rows.append(row)
        for kind in self._kinds_of(all_kinds, ONLINE, N_ACTIVE, draw):
            row = self.offer(kind, ONLINE, rng, draw)
            row.outcome, row.day = "asking", LAST
            self.rows.append(row)
        for kind in self._kinds_of(all_kinds, DEALER, N_POA, draw):
            row = self.offer(kind, DEALER, rng, draw)
            row.outcome, row.price = "poa", None
            self.rows.append(row)

    def _kinds_of(self, found: list[Kind], source: int, n: int, draw: Choice) -> list[Kind]:
        usable = [k for k in found if k.markets[source] > 0.12]
        return [draw.one(usable) for _ in range(n)]

    def offer(self, kind: Kind, source: int, rng: np.random.Generator, draw: Choice) -> Row:
        item = self.items(kind, 1, rng, draw, source)[0]
        row = self._new(item, draw)
        row.basis_gbp = row.basis_usd = None
        if row.price is not None:
            row.price = round(row.price * draw.one((1.2, 1.4, 1.6)))
        return row

    def _bulk(self) -> None:
        rng = self.stream("bulk")
        draw = Choice(rng)
        usable = [
            k for k in kinds() if k.base < 130 and k.id not in ("painting", "video-game-console")
        ]
        for source, n in enumerate(N_BULK):
            for kind in self._kinds_of(usable, source, n, draw):
                row = self._offer_sold(kind, source, rng, draw)
                count = draw.one((None, None, 3, 5, 7, 10, 12, 15, 20, 24, 30, 50))
                row.title = bulk_title(kind, source, count, draw)
                row.lot_kind, row.n_pieces = "bulk", count
                row.item.material_told = row.item.period_told = False
                row.item.log_price += math.log(0.4) + 0.6 * math.log(count or 10)
                _forget(row)
                set_price(row, draw)
                self.rows.append(row)

    def _parts(self) -> None:
        rng = self.stream("parts")
        draw = Choice(rng)
        table = {k.id: k for k in kinds()}
        for source, n in enumerate(N_PARTS):
            for _ in range(n):
                kind_id, kind_of_part, wording = draw.one(PARTS)
                kind = table[kind_id]
                if kind.markets[source] < 0.05:
                    kind_id, kind_of_part, wording = PARTS[0]
                    kind = table[kind_id]
                row = self._offer_sold(kind, source, rng, draw)
                row.title = part_title(wording, source, draw)
                row.part, row.n_pieces, row.lot_kind = kind_of_part, 1, "single"
                row.item.material_told = row.item.period_told = False
                row.item.log_price += math.log(0.15 if kind_of_part == "empty_box" else 0.22)
                _forget(row)
                set_price(row, draw)
                self.rows.append(row)

    def _offer_sold(self, kind: Kind, source: int, rng: np.random.Generator, draw: Choice) -> Row:
        row = self.offer(kind, source, rng, draw)
        set_price(row, draw)
        return row

    def _slips_of_price(self) -> None:
        """Slipped decimals: the price that is told is wrong, the true one stays in the truth."""
        draw = Choice(self.stream("wild"))
        clean = [
            r
            for r in self.rows
            if r.outcome == "sold"
            and r.lot_kind != "bulk"
            and not r.part
            and not r.same_event_as
            and not r.resale_of
        ]
        twinned = {id(r.same_event_as) for r in self.rows if r.same_event_as}
        twinned |= {id(r.resale_of) for r in self.rows if r.resale_of}
        for row in draw.some([r for r in clean if id(r) not in twinned], N_WILD):
            row.wild = draw.one(WILD_FACTORS)
            if row.price is not None:
                row.price = max(0.01, round(row.price * row.wild, 2))

    def _number(self) -> None:
        """Lot numbers by sale, listing numbers in the order of the days; the ledger has none."""
        draw = Choice(self.stream("numbers"))
        order = draw.shuffled(self.rows)
        order.sort(key=lambda r: r.day)
        lots: dict[dt.date, int] = {}
        listing = 310_000_000
        for row in order:
            if row.source == AUCTION:
                lots[row.day] = lots.get(row.day, 0) + draw.whole(1, 4)
                row.listing = f"OS{(row.day - FIRST).days // 7 + 611}-{lots[row.day]}"
            elif row.source == ONLINE:
                listing += draw.whole(3, 9000)
                row.listing = str(listing)
        self.rows = order


def can_be_known_again(row: Row) -> bool:
    """Whether the title says enough of the piece to know it at another sale: a size or a maker
    beside two details."""
    item = row.item
    sized = row.source != ONLINE and re.search(rf"\b{item.height}\b", row.title) is not None
    named = bool(item.maker) and item.maker.lower() in row.title.lower()
    inches = row.source == ONLINE and '"' in row.title
    return len(item.features) >= 2 and (sized or named or inches)


def retold(text: str, source: int, draw: Choice) -> str:
    """A title as its seller writes it the second time: a word more or less, other letters."""
    if source == ONLINE:
        how = draw.whole(0, 3)
        if how == 0:
            return text.upper() if not text.isupper() else text.lower()
        if how == 1:
            return f"{text} {draw.one(words.FLUFF)}"
        if how == 2:
            return f"{draw.one(('RELIST', 'PRICE DROP', 'REDUCED', 'L@@K'))} {text}"
        parts = text.split(" ")
        return " ".join(parts[:-1]) if len(parts) > 6 else f"{text} *"
    parts = text.split(", ")
    how = draw.whole(0, 2)
    if how == 0 and len(parts) > 3:
        parts[-1], parts[-2] = parts[-2], parts[-1]
    elif how == 1 and len(parts) > 3:
        parts.pop()
    elif parts[0].startswith(("A ", "An ")):
        parts[0] = parts[0].split(" ", 1)[1]
        parts[0] = parts[0][:1].upper() + parts[0][1:]
    else:
        parts.append(draw.one(("another property", "as before", "property of a lady")))
    return ", ".join(parts)


def _forget(row: Row) -> None:
    """A lot or a part tells nothing of one piece's faults, merits or maker."""
    item = row.item
    item.faults, item.merits, item.maker, item.features = [], [], "", []
    item.cautions, item.false_alarm, item.rung = [], "", ""
    item.told_class, item.n_pieces = 3, 1
    row.remark = ""
    if row.source == AUCTION:
        row.condition = "" if item.told_grade == "unknown" else row.condition.split(".")[0] + "."
    elif row.source == ONLINE:
        row.condition = row.condition.split(",")[0]


def bulk_title(kind: Kind, source: int, count: int | None, draw: Choice) -> str:
    """A lot of several things that are no set."""
    if source == ONLINE:
        noun = _plural(draw.one(kind.online_nouns))
        if count:
            text = draw.one(
                (
                    f"LOT OF {count} {noun}",
                    f"JOB LOT {count} {noun}",
                    f"VINTAGE {noun} LOT OF {count}",
                    f"{count} ASSORTED {noun}",
                    f"BULK LOT OF {count} VTG {noun} ESTATE",
                )
            )
        else:
            text = draw.one(
                (
                    f"JOB LOT OF {noun}",
                    f"HUGE LOT {noun} MIXED",
                    f"BOX LOT VINTAGE {noun}",
                    f"BULK LOT {noun} VARIOUS",
                    f"MIXED LOT OF {noun} ESTATE FIND",
                )
            )
        return draw.one((text, text, text.lower(), text.title().replace("'S", "'s")))
    noun = _plural(draw.one(kind.nouns))
    if source == AUCTION:
        if count:
            return draw.one(
                (
                    f"A collection of {count} {noun}, various dates",
                    f"{count} various {noun}",
                    f"Box of {count} assorted {noun}",
                    f"A group of {count} assorted {noun}",
                    f"A mixed lot of {count} {noun}, various sizes",
                )
            )
        return draw.one(
            (
                f"A quantity of {noun}",
                f"A box of assorted {noun} and sundries",
                f"A large quantity of {noun}, various",
                f"A tray of mixed {noun}",
                f"A collection of {noun}, mixed condition",
            )
        )
    if count:
        return draw.one((f"Konvolut, lot of {count} {noun}", f"Posten, {count} assorted {noun}"))
    return draw.one((f"Konvolut {noun}, job lot", f"Posten {noun}, mixed lot"))


PARTS: tuple[tuple[str, str, str], ...] = (
    ("mantel-clock", "part", "clock movement only"),
    ("longcase-clock", "part", "longcase clock dial only"),
    ("longcase-clock", "part", "longcase clock movement only, no case"),
    ("mantel-clock", "part", "mantel clock case only, no movement"),
    ("oil-lamp", "part", "oil lamp base only, no burner"),
    ("oil-lamp", "part", "oil lamp shade only"),
    ("table-lamp", "part", "lamp base only for parts"),
    ("teapot", "part", "teapot lid only"),
    ("decanter", "part", "decanter stopper only"),
    ("tea-caddy", "part", "tea caddy lid only"),
    ("chest-of-drawers", "part", "chest of drawers, single drawer only"),
    ("sewing-machine", "part", "sewing machine, spare parts only"),
    ("camera", "empty_box", "camera box only, no camera"),
    ("camera", "part", "camera, spare parts only"),
    ("tin-toy", "empty_box", "tin toy empty box only"),
    ("tin-toy", "empty_box", "original box only for clockwork tin toy"),
    ("doll", "part", "doll head only"),
    ("doll", "part", "doll body parts only"),
    ("radio", "part", "radio chassis, spare parts only"),
    ("picture-frame", "part", "picture frame glass, spare part only"),
    ("video-game-console", "empty_box", "video game console empty box only"),
    ("video-game-console", "empty_box", "game console box only no console"),
    ("pocket-watch", "part", "pocket watch movement only"),
    ("pocket-watch", "part", "pocket watch case only no movement"),
    ("soft-toy", "empty_box", "teddy bear empty box only"),
    ("violin", "empty_box", "violin case only, empty case"),
    ("typewriter", "part", "typewriter spare parts only"),
    ("globe", "part", "globe stand only"),
    ("painting", "part", "frame only, no painting"),
    ("board-game", "empty_box", "board game empty box only"),
    ("rocking-horse", "part", "rocking horse stand only"),
    ("coffee-grinder", "part", "coffee grinder drawer only"),
)


def part_title(wording: str, source: int, draw: Choice) -> str:
    """A part of a thing, or its empty box."""
    old = draw.one(("vintage ", "antique ", "", "Victorian ", "1930s "))
    text = f"{old}{wording}"
    if source == ONLINE:
        text += draw.one(("", "", " spares", " see photos", " rare"))
        return draw.one((text.upper(), text.upper(), text, text.title()))
    return text[:1].upper() + text[1:]


__all__ = ["FIRST", "LAST", "Market", "Row", "bulk_title", "hammer_for", "part_title", "premium_on"]
