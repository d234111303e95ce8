"""The phrases of titles that say how many pieces are sold, in the order in which they are tried.

Each rule is one RE2 expression over the title in small letters; a named group `n` holds the
number. RE2 looks neither ahead nor back, so what a rule must not match stands in `unless`.
Common practice of cataloguing, no source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

NUMBER_WORDS: dict[str, int] = {
    "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
    "ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15,
    "sixteen": 16, "seventeen": 17, "eighteen": 18, "nineteen": 19, "twenty": 20, "thirty": 30,
    "forty": 40, "fifty": 50, "sixty": 60, "half a dozen": 6, "half dozen": 6, "half-dozen": 6,
    "a dozen": 12, "one dozen": 12, "two dozen": 24, "three dozen": 36, "four dozen": 48,
    "dozen": 12, "trio": 3, "quartet": 4, "couple": 2,
    "zwei": 2, "drei": 3, "vier": 4, "fünf": 5, "sechs": 6, "acht": 8, "zehn": 10, "zwölf": 12,
    "deux": 2, "trois": 3, "quatre": 4, "cinq": 5, "huit": 8, "douze": 12,
}  # fmt: skip
_WORDS = "|".join(sorted((re.escape(w) for w in NUMBER_WORDS), key=len, reverse=True))
_N = rf"(?P<n>\d{{1,9}}|{_WORDS})"
_COUNT = rf"(?P<n>\d{{1,3}}|{_WORDS})"
_ANY = rf"(?:\d{{1,3}}|{_WORDS})"

# A bare number counts pieces only in front of one of these.
_NOUNS = "|".join(
    """
    chairs armchairs carvers stools benches settles tables stands bookends trunks suitcases chests
    candlesticks candelabra vases jars jugs urns planters plates bowls dishes saucers platters
    tureens teapots trays salvers mugs cups glasses goblets tumblers flutes rummers beakers hocks
    decanters bottles pitchers tankards spoons forks knives ladles casters salts coasters rings
    figures figurines carvings masks busts statues bronzes models soldiers dolls bears toys cars
    trains boats tiles prints etchings engravings lithographs paintings watercolours watercolors
    drawings maps posters postcards photographs plaques panels mirrors frames clocks watches lamps
    lanterns sconces chandeliers appliques rugs carpets quilts cushions pillows tablecloths napkins
    tapestries scarves hats fans bags purses books volumes albums records discs boxes tins baskets
    barrels crates coins medals badges brooches bangles bracelets necklaces pendants pots pans
    saucepans kettles moulds irons weights scales signs doors windows finials doorstops keys locks
    knobs hooks
    teaspoons tablespoons tools planes chisels saws globes paperweights inkwells pens
    puzzles marbles buttons
    stühle sessel teller gläser tassen vasen leuchter chaises fauteuils assiettes verres tasses
    baubles ornaments screens andirons firedogs walking\\ sticks egg\\ cups wall\\ lights
    """.replace("\\ ", "_").split()
).replace("_", " ")

# One object although the language makes it a pair.
_TWINS = (
    r"scissors|shears|tongs|spectacles|eyeglasses|opera glasses|field glasses|binoculars"
    r"|pince[- ]nez|lorgnettes?|goggles|sunglasses|pliers|pincers|tweezers|compasses|dividers"
    r"|callipers|calipers|bellows|nutcrackers|trousers|jeans|breeches|shorts|stockings|socks|shoes"
    r"|boots|brogues|loafers|slippers|sandals|clogs|gloves|gauntlets|mittens|cuff ?links|earrings"
    r"|ear ?clips|skates|skis|snowshoes|handcuffs|headphones|castanets|steelyards"
)

# What a set or service is for: such a set is one thing made of unlike parts.
_PURPOSES = (
    r"tea|coffee|dinner|breakfast|dessert|supper|fish|fruit|sandwich|hors d'oeuvres?|toilet"
    r"|dressing(?:[- ]table)?|vanity|trinket|cruet|condiment|chess|draughts|domino(?:es)?"
    r"|backgammon|croquet|carving|desk|smok(?:ing|er'?s)|writing|manicure|sewing|picnic"
    r"|fire(?:side| ?irons?)?|companion|fondue|punch|lemonade|water|liqueur|cocktail|decanter"
    r"|wash(?:stand)?|christening|train|drum|nativity|cutlery|flatware|bedroom|dining|lounge|salon"
    r"|parlou?r|bridge|poker|mah[- ]?jongg?|building|construction|tool|drawing|shaving|brush"
    r"|dinnerware|gift|table|sofa|bath|steak|salad|sake|saki|cabaret|travelling|travel"
)
_UNLIKE_NUMBER = (
    r"inch(?:es)?|ins?|cms?|mm|ft|feet|foot|yards?|yds?|oz|ounces?|lbs?|kg|grams?|gms?|cts?|carats?"
    r"|karats?|day|days|hours?|months?|years?|tiers?|tiered|doors?|drawers?|seats?|seater|lights?"
    r"|branch|branches|arms?|legs?|fold|pieces?|pcs?|pce|parts?|poster|post|strings?|speed|volts?"
    r"|watts?|tone|colou?r|way|sided|sides?|handled|handles?|masted|blades?|bladed|bottles?|holes?"
    r"|dials?|stones?|ply|rows?|strands?|wheeled|pints?|litres?|gallons?|quarters?|century|storey"
    r"|stage|sections?|compartments?|burner|bells?|graces|seasons|kings|wise|muses|ages|fishers"
    r"|short|long|spot|place|persons?|settings?|letter|lever|jewels?|train|footed|toed|ring|bar"
    r"|size|star|leaf|leaves|division|divisions|draw|over|panel|panels|of a kind|hundred"
)


@dataclass(frozen=True, slots=True)
class Rule:
    """One phrase.

    Attributes:
        name: published as the rule that was used.
        pattern: RE2 source; its group `n` is the number where `n_pieces` is "n".
        kind: "single", "pair", "set", "bulk", or "like" for pieces counted without a word for
            how they go together: three to two dozen are a set, more are a lot, and so are two
            (two that belong together are called a pair).
        n_pieces: the number, "n" for the number read, "2n" for twice it, None for untold.
        unless: RE2 source of titles that the rule leaves alone.
        needs: "word" or "number", the first question that a title must have answered.
    """

    name: str
    pattern: str
    kind: str
    n_pieces: int | str | None
    unless: str | None = None
    needs: str = "word"


_FROM_COLLECTION = (
    r"(?:from|of|the property of) (?:the|a|an) (?:\S+ ){0,4}collection|private collection"
    r"|\bthe collection of\b|figure group|\bcollector"
)
_CONTAINERS = (
    r"quantity|box(?:es)?|tray|bundle|bag|crate|carton|collection|group|selection|assortment|parcel"
    r"|drawer|tub|case|stack|pile"
)
_SIZED = r"(?:an? )?(?:(?:very |extremely )?(?:large|small|mixed|big|good|huge|varied|old) )*"

RULES: tuple[Rule, ...] = (
    Rule(
        "one_of_several",
        r"\b(?:one|single|1|part|half|odd)\b[^,;]*\b(?:of|from) (?:an?|the) (?:\S+ )?"
        r"(?:pair|set)\b",
        "single",
        1,
    ),
    Rule(
        "job_lot_of_n",
        r"\b(?:job ?lots?|bulk lot|[a-z]+ lot ?[-:,])[ :-]*(?:of )?"
        rf"(?:approx\.? |about |over )?{_N}\b",
        "bulk",
        "n",
        r"\b(?:this|auction|sale|each|per) lot\b",
    ),
    Rule(
        "job_lot",
        r"\bjob ?lots?\b|\bbulk lot\b|\b(?:mixed|large|small|huge|big) (?:\S+ )?lot\b"
        r"|\b[a-z]{3,} lot(?: ?[-:,(]|$)|\b(?:shoe)?box ?full?\b|\bbag ?full?\b"
        r"|(?:,|^) ?mixed(?:,| lots?|$)|\blarge (?:tub|box|bag),",
        "bulk",
        None,
        r"\b(?:this|auction|sale|each|per|the) lot\b",
    ),
    Rule("pairs_of_twins", rf"\b{_N} pairs? (?:of )?(?:\S+ ){{0,3}}(?:{_TWINS})\b", "bulk", "n"),
    Rule(
        "twin_by_nature",
        rf"\b(?:pairs?|pr)\b.*\b(?:{_TWINS})\b|\b(?:{_TWINS})\b.*\bpair\b",
        "single",
        1,
    ),
    Rule(
        "set_of_n",
        r"\b(?:sets?|suites?|series|série|serie|satz|run|row|graduated|harlequin|ensemble) "
        rf"(?:of|de|von|aus) (?:about |approx\.? )?{_N}\b",
        "set",
        "n",
        rf"\b(?:{_PURPOSES}) (?:set|service)s? of|{_ANY}[- ]piece suite of",
    ),
    Rule("set_slash_n", r"\bset ?[/:(x-] ?(?P<n>\d{1,3})\b", "set", "n"),
    Rule("n_in_a_set", rf"\b{_COUNT} in (?:the|a) set\b", "set", "n"),
    Rule(
        "trio_of",
        r"\b(?P<n>trio|quartet) of\b",
        "set",
        "n",
        r"(?:trio|quartet) of (?:musicians|dancers|putti|cherubs|singers|ladies|men|women|angels)",
    ),
    Rule(
        "whole_of_parts",
        rf"\b{_ANY}[- ]?(?:pieces?|pcs?|pces?|part)\b[^;]*\b(?:suite|set|service|garniture|kit)\b"
        rf"|\b(?:{_PURPOSES}) (?:sets?|services?|suites?|equipage)\b"
        rf"|\b(?:service|set|suite|canteen|cutlery|flatware) (?:of \S+ )?for {_ANY}\b"
        r"|\bcanteen of\b|\bnests? of\b|\bquartetto\b|\bgarniture\b"
        rf"|\b(?:table|desk)s? (?:and|&|with|\+|plus) (?:{_ANY} )?(?:\S+ ){{0,4}}"
        r"(?:chairs?|stools?)\b"
        r"|\btrio\b|\bcup,? (?:and )?saucer,? (?:and )?(?:tea |side |cake )?plate\b",
        "set",
        1,
    ),
    Rule("suite", r"\bsuite\b", "set", 1, r"\ben[- ]suite\b"),
    Rule("n_pairs", rf"\b{_N} (?:\S+ )?pairs\b", "set", "2n"),
    Rule(
        "pair_and_more",
        r"\bpair of (?:\S+ ){1,6}(?:and|&) (?:another|a similar|a single|one other|one similar"
        r"|a smaller|a larger|an? associated|a further)\b|\bpair\b.*\btogether with\b",
        "bulk",
        None,
    ),
    Rule(
        "pair",
        r"\bpairs?\b|\bpr\b|\bpr\.|\bbrace of\b|\bpaar\b|\bpaire de\b|\bcoppia di\b",
        "pair",
        2,
        r"\bpair[- ]cased?\b|\bpair of lovers\b|\bau pair\b|\b(?:not|no) (?:a |an exact )?pair\b"
        r"|\bpair of (?:dancers|hands|eyes)\b",
    ),
    Rule("quantity_n", rf"\b(?:qty|quantity)[:. ]+{_N}\b", "like", "n"),
    Rule(
        "lot_of_n",
        rf"\b(?:lots? (?:of|de)|konvolut|(?:{_CONTAINERS}) of)[ :-]+"
        rf"(?:approx\.? |approximately |about |over |around |some )?{_N}\b",
        "bulk",
        "n",
        _FROM_COLLECTION,
    ),
    Rule(
        "n_assorted",
        rf"\b{_COUNT} (?:\S+ )?(?:assorted|various|mixed|miscellaneous|misc|odd)\b",
        "bulk",
        "n",
    ),
    Rule("couple_of", r"\bcouple of\b", "bulk", 2, r"couple of (?:lovers|dancers|figures)"),
    Rule(
        "lot",
        rf"\bkonvolut\b|\blots? of\b|\blot(?: [a-z]|[,:;-]|$)|^{_SIZED}(?:{_CONTAINERS}) of\b"
        r"|\bassort(?:ed|ment)\b"
        r"|\bmiscellaneous\b|\bmisc\b|\bbundle\b|\bquantity of\b|\bmixed\b|\bcontents of\b"
        r"|\b(?:large|small|interesting|good) (?:collection|quantity) of\b|\boddments\b"
        r"|\bbits and\b|\bcollection of\b|\band (?:others?|various)\b|\b(?:other|sundry) items\b"
        r"|\bvarious\b|\betc\b"
        r"|\b(?:stamp|coin|postcard|record|button|comic|card|badge|marble|mineral|shell|book) "
        r"collection\b|^(?:several|a few|some) [a-z]+|\b\d+(?:\.\d)? ?(?:kg|kilos?|lbs?) of\b"
        r"|\b\d{2,3}\+",
        "bulk",
        None,
        rf"{_FROM_COLLECTION}|\bbox of (?:paints|dominoes|draughts|matches|chocolates|cigars|bricks"
        r"|watercolours)|\bmixed (?:media|metals?|woods?|method|fibres?|silks?|bouquet|flowers)"
        r"|\b(?:this|the|per|each|auction|sale) lot\b|\blot (?:no|number|nr)\b"
        # What belongs to a thing and comes with it makes no lot of it.
        r"|\bbundle (?:with |incl\.? |and |of )?(?:its |all )?(?:cables?|cords?|leads?|chargers?"
        r"|case|manuals?|accessories|controllers?|power|wires?)\b"
        r"|\blots? of (?:character|detail|wear|patina|charm|life|use|potential|fun|history|age)",
    ),
    Rule(
        "times_n",
        r"(?:^|[ ,(-])x ?(?P<n>\d{1,3})(?:[ ,.)]|$)|(?:^|[ ,(-])(?P<m>\d{1,3}) ?x [a-z]",
        "like",
        "n",
        r"\d ?(?:ft|feet|ins?|inch|inches|cms?|mm|m|\"|')?\.? ?x ?\d|loupe|magnif|zoom|\blens"
        r"|telescope|microscope|binocular",
        "number",
    ),
    Rule(
        "cover_or_stand",
        r"(?:and|&|with|on) (?:its |a )?(?:\S+ )?(?:covers?|stands?|lids?|saucers?|undertray|liner"
        r"|stopper) ?\(\d\)",
        "single",
        1,
        None,
        "number",
    ),
    Rule(
        "count_in_brackets",
        r"[^0-9]\((?P<n>\d{1,3})\)",
        "like",
        "n",
        # "with two (2) wheels" says a number twice and counts no lot by it.
        rf"\((?:925|800|750|375)\)|\b(?:{_WORDS}) \(\d",
        "number",
    ),
    Rule(
        "count_at_end",
        rf"\b(?:{_NOUNS})\b.*, (?P<n>\d{{1,2}})(?:,|$)",
        "like",
        "n",
        None,
        "number",
    ),
    Rule(
        "dozen",
        r"^(?P<n>(?:half a |half[- ]|a |one |two |three |four )?dozen)\b",
        "set",
        "n",
        None,
        "number",
    ),
    Rule(
        "number_and_noun",
        rf"^{_COUNT} (?:[\w'&/.()-]+,? ){{0,6}}?(?:{_NOUNS})\b"
        rf"|\b(?P<m>\d{{1,3}}|{_WORDS}) (?:[\w'&/.-]+ ){{0,2}}?(?:{_NOUNS})\b",
        "like",
        "n",
        rf"\b{_ANY}[- ](?:{_UNLIKE_NUMBER})\b|\b\d{{1,3}}[\"'%]"
        r"|\b(?:and|&|with|no\.?|number|nos\.?|size|model|lot|of|for|circa|c\.?|ca\.?|mark|type"
        r"|fig|by|in|from|\+|plus|or|has|having|its|between|edition|vol\.?|the|over|on) "
        rf"{_ANY} |\b(?:925|800|830|835|900|950|999|750|585|375|916) |\d/\d|\d ?x ?\d|'\d\d ",
        "number",
    ),
    Rule(
        "set_of_one_thing",
        r"\bset of (?:\S+ ){0,3}(?:scales|weights|steps|drawers|shelves|bagpipes|fire ?irons"
        r"|dominoes|carvers|false teeth|beads|rosary|pans? pipes)\b",
        "set",
        1,
    ),
    Rule(
        "set_untold",
        r"\bsets? of\b|^(?:an? )?(?:\S+ ){0,2}set\b [a-z]+s\b",
        "set",
        None,
        r"\bset square\b|\bset (?:with|in|into|on|to)\b",
    ),
    Rule(
        "a_set",
        r"\bset\b",
        "set",
        1,
        r"\bset (?:with|in|into|to|on|square|of|throughout|within|between|dial|down|beneath)\b"
        r"|[a-z]-set\b|(?:diamond|ruby|emerald|sapphire|pearl|stone|gem|garnet|turquoise|opal|paste"
        r"|amethyst|coral|jewel|citrine|topaz|marcasite|cameo|coin|well|heavily|claw) set\b"
        r"|\b(?:tv|television|radio|wireless|crystal) set\b",
    ),
)

# The cheap first questions: a title with none of these has nothing to say. Most titles with a
# number have none of the words, so the rules that need a word never see them.
WORDS = (
    r"\bpairs?\b|\bpaar\b|\bpaire\b|\bcoppia\b|konvolut|\b(?:satz|ensemble|s[eé]rie)\b"
    r"|\bpr\b|\bbrace\b|\bsets?\b|\bsuites?\b|\bservices?\b|\blots?\b|joblot|box ?full"
    r"|bag ?full|(?:tub|box|bag),|\bcanteen\b|\bnests? of|garniture|quartetto|\b(?:trio|quartet)\b"
    r"|saucer"
    r"|\bmixed\b|\bsundry\b|\boddments\b|\bbits and|\bother items|^several|^a few|^some"
    r"|[0-9]\+|kgs? of|kilos? of|lbs? of|\bqty\b|\bquantity\b|\bassort|\bmisc|\bbundle"
    r"|\bvarious\b|\betc\b"
    rf"|\b(?:{_CONTAINERS}|couple|contents|series|run|row|graduated|harlequin|cutlery|flatware) "
    r"(?:of|for)\b"
    r"|\bothers?\b|\b(?:table|desk)s? (?:and|&|with|\+|plus)|\bodd\b|\bcollection\b"
)
NUMBERS = rf"(?:^|[^0-9])[0-9]{{1,3}}(?:[^0-9]|$)|\b(?:{_WORDS})\b"
