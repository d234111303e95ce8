"""The words that date texts are made of, each with the part it plays in the grammar.

Words are given folded: lower case, no accents, `ss` for sharp s, `o` for a stroked o. English
first, then German, French, Italian, Spanish, Portuguese, Dutch, Swedish, Danish, Polish, Czech
and Russian as museums and auction houses write them. A word stands here once; where two
languages disagree about it ("fin", "um")
the grammar decides by what comes next.
"""

from __future__ import annotations

from typing import Final

# Kinds of token. Short strings: compared by identity in the parser's inner loop.
NUM: Final = "num"  # value: int; digits known from the text
ORD: Final = "ord"  # 19th, 19e, nineteenth; value: int, -1 for "last"
ROMAN: Final = "roman"  # XIX; value: int
ROMAN_ORD: Final = "roman_ord"  # XIXe, XIXeme; value: int
CENTURY_NUM: Final = "century_num"  # 19thC, 19c.: a whole century in one token
C_NUM: Final = "c_num"  # C18, c.19th: century or circa, the context decides
DECADE: Final = "decade"  # 1920s; value: (first year, digits given)
MASK: Final = "mask"  # 186-, 18--; value: (first year, last year)
FULL: Final = "full"  # a numeric day, month and year; value: (year, edtf)
CENTURY: Final = "century"
MILLENNIUM: Final = "millennium"
FRACTION: Final = "fraction"  # half, quarter, third, decade; value: 2, 4, 3, 10
PART: Final = "part"  # value: early, mid, late
CIRCA: Final = "circa"
HEDGE: Final = "hedge"
ERA: Final = "era"  # value: bc, ad
MONTH: Final = "month"
SEASON: Final = "season"
BEFORE: Final = "before"
AFTER: Final = "after"
LATER: Final = "later"  # after the date: "and later", "onwards"
EARLIER: Final = "earlier"
SUFFIX_CIRCA: Final = "suffix_circa"  # "or so", "-ish"
TO: Final = "to"
OR: Final = "or"
AND: Final = "and"
BETWEEN: Final = "between"
FROM: Final = "from"
PRESENT: Final = "present"
NAMED: Final = "named"  # value: NamedPeriod
STYLE: Final = "style"
STYLE_OF: Final = "style_of"  # "style of", "model of": what follows is no date of making
REPRO: Final = "repro"
MARK: Final = "mark"  # "Qianlong mark": says nothing of the making
ROLE: Final = "role"  # value: made, design, printed, dated, inscribed, patent, founded ...
LATER_PRINT: Final = "later_print"
LATER_WORK: Final = "later_work"  # "with later alterations"
NOISE: Final = "noise"
REF: Final = "ref"  # the number after it is no date
UNIT: Final = "unit"  # the number before it is no date
NODATE: Final = "nodate"
TENS: Final = "tens"  # twenties; value: 20
TEENS: Final = "teens"  # eighteen, nineteen; value: 18
HUNDREDS: Final = "hundreds"
PUNCT: Final = "punct"
WORD: Final = "word"  # nothing known

_WORDS: dict[str, tuple[tuple[object, str], ...]] = {
    CIRCA: (
        (
            None,
            "circa ca c cca cir circ crica cerca abt about approx approximately approximate around "
            "roughly aprox um gegen etwa zirka ungefahr vers env environ verso attorno "
            "intorno hacia alrededor rond omstreeks omkring omkr kring runt ungefar ~ ± "
            "okolo ok kolem zhruba asi около ок",
        ),
    ),
    HEDGE: (
        (
            None,
            "probably prob possibly poss perhaps maybe likely presumably apparently uncertain "
            "guess questionable attributed attrib retro supposedly reputedly believed thought wohl "
            "vermutlich wahrscheinlich moglicherweise vielleicht probablement peutetre "
            "probabilmente forse probablemente posiblemente quiza quizas waarschijnlijk "
            "vermoedelijk mogelijk troligen sannolikt formodentlig sandsynligvis "
            "prawdopodobnie provavelmente talvez pravdepodobne вероятно возможно",
        ),
    ),
    CENTURY_NUM: (
        (13, "duecento"),
        (14, "trecento"),
        (15, "quattrocento"),
        (16, "cinquecento"),
        (17, "seicento"),
        (18, "settecento"),
        (19, "ottocento"),
        (20, "novecento"),
    ),
    PART: (
        (
            "early",
            "early erly beginning begin beginnings start fruh fruhes fruhe fruhen anfang anfangs "
            "anf beginn debut inizio inizi primi principios principio comienzos inicios vroeg "
            "tidig tidigt tidlig borjan begyndelsen "
            "poczatek poczatku poczatki alku eleje zacatek zacatku pocatek inicio comeco "
            "начало начала нач",
        ),
        (
            "mid",
            "mid middle midd mitte milieu mediados medio midden mitten midten mids mitt midt "
            "meados kozepe srodek середина середины сер",
        ),
        (
            "late",
            "late lt end ends spat spates spate spaten ende endes fin fine finales fines eind "
            "einde laat slut slutet slutningen sen sent latter "
            "koniec konca konec konce schylek loppu vege finais конец конца кон",
        ),
    ),
    FRACTION: (
        (2, "h half halves halfte halften moitie meta mitad helft halft halvan halvdel haelfte"),
        (2, "metade polowa polowy pol polovina poloviny половина половины пол"),
        (4, "quarter quarters qtr qtrs quart quarto cuarto kwart viertel kvartal fjardedel q"),
        (4, "cwierc ctvrtina четверть четверти четв"),
        (3, "drittel tiers terzo tercio tredjedel thirds terco треть трети"),
        (10, "decade decades jahrzehnt decennie decennio decada decennium artionde"),
    ),
    CENTURY: (
        (
            None,
            "century centuries cent centry centruy centuary cents jh jhd jhdt jhdts jhs jht jahrh "
            "jahrhundert jahrhunderts jahrhunderte ss siecle siecles "
            "siglo siglos secolo secoli sec "
            "saec saeculum seculo eeuw arhundrede arhundredes arhundradet sekel cen centurys cty "
            "wiek wieku stoleti stol szazad yuzyil vuosisata 世紀 世纪 век века вв в столетие",
        ),
    ),
    MILLENNIUM: ((None, "millennium millennia millenium jahrtausend millenaire jt"),),
    BEFORE: (
        (
            None,
            "before bef pre prior by until till vor avant antes voor fore innan inden ante "
            "bevor jusque predates earlier przed pred до",
        ),
    ),
    AFTER: (
        (None, "after aft post since nach apres dopo despues despu efter na desde seit apos после"),
    ),
    LATER: ((None, "onward onwards forward later forwards afterwards ff"),),
    TO: ((None, "to through thru thro bis al tot til au ad a hasta e"),),
    OR: ((None, "or oder ou o oppure eller"),),
    AND: ((None, "and und et y och og en ed &"),),
    BETWEEN: ((None, "between betw btw zwischen entre tra fra tussen mellan mellem"),),
    FROM: ((None, "from von depuis dal dalla vanaf fran"),),
    PRESENT: ((None, "present today now date heute aujourd heden"),),
    STYLE: (
        (
            None,
            "style styles styled stil stile estilo stijl manner taste revival fashion "
            "gusto type inspired look esque influence influenced themed vibe "
            "neo pseudo aesthetic",
        ),
    ),
    REPRO: (
        (
            None,
            "reproduction repro reproductions replica replicas copy copies facsimile reprint "
            "reprinted restrike fake kopie nachbildung reedition reissue",
        ),
    ),
    MARK: ((None, "mark marks marked marke marque"),),
    NODATE: (
        (
            None,
            "undated undatiert undatierte unknown undetermined unspecified none undat "
            "nodate na nan null inconnu inconnue desconocido sconosciuto onbekend okand nd sd oj "
            "odat odatiert ongedateerd undatert",
        ),
    ),
    TENS: (
        (20, "twenties"),
        (30, "thirties"),
        (40, "forties fourties"),
        (50, "fifties"),
        (60, "sixties"),
        (70, "seventies"),
        (80, "eighties"),
        (90, "nineties"),
    ),
    TEENS: (
        (12, "twelve"),
        (13, "thirteen"),
        (14, "fourteen"),
        (15, "fifteen"),
        (16, "sixteen"),
        (17, "seventeen"),
        (18, "eighteen"),
        (19, "nineteen"),
    ),
    HUNDREDS: ((None, "hundreds"),),
    ORD: (
        (
            1,
            "first erste ersten erstes premier premiere prima primer primera primo eerste "
            "forsta forste",
        ),
        (2, "second zweite zweiten zweites deuxieme seconde seconda segunda segundo secondo"),
        (2, "tweede andra anden"),
        (1, "primeira primeiro pierwsza pierwszy pierwszej prvni первая первой"),
        (2, "druga drugiej druha druhe вторая второи второй"),
        (-1, "ostatnia ostatniej posledni последняя последнеи"),
        (3, "terceiro terceira trzecia treti третья третьеи"),
        (4, "czwarta ctvrta четвертая"),
        (3, "third dritte dritten drittes troisieme derde terza tercer tercera tredje"),
        (4, "fourth forth vierte vierten viertes quatrieme quarta cuarta vierde fjarde fjerde"),
        (5, "fifth"),
        (6, "sixth"),
        (7, "seventh"),
        (8, "eighth"),
        (9, "ninth"),
        (10, "tenth"),
        (11, "eleventh"),
        (12, "twelfth"),
        (13, "thirteenth"),
        (14, "fourteenth"),
        (15, "fifteenth"),
        (16, "sixteenth sechzehnten"),
        (17, "seventeenth siebzehnten"),
        (18, "eighteenth achtzehnten"),
        (19, "nineteenth neunzehnten"),
        (20, "twentieth zwanzigsten"),
        (
            -1,
            "last letzte letztes letzten dernier derniere ultimo ultima laatste sista sidste siste",
        ),
        (-1, "final"),
    ),
    SEASON: (
        (21, "spring fruhling fruhjahr printemps primavera lente var forar"),
        (22, "summer sommer ete estate verano zomer sommar"),
        (23, "autumn fall herbst automne autunno otono herfst host efterar"),
        (24, "winter hiver inverno invierno vinter"),
    ),
    MONTH: (
        (1, "january jan januar janvier gennaio enero januari"),
        (2, "february feb febr februar fevrier febbraio febrero februari"),
        (3, "march mar marz maerz mars marzo maart marts"),
        (4, "april apr avril aprile abril"),
        (5, "may mai maggio mayo mei maj"),
        (6, "june jun juni juin giugno junio"),
        (7, "july jul juli juillet luglio julio"),
        (8, "august aug aout agosto augustus augusti"),
        (9, "september sep sept septembre settembre septiembre"),
        (10, "october oct oktober octobre ottobre octubre okt"),
        (11, "november nov novembre noviembre"),
        (12, "december dec dezember decembre dicembre diciembre dez"),
    ),
    ROLE: (
        (
            "made",
            "made manufactured mfd mfg produced executed crafted built created completed finished "
            "constructed fabricated assembled hergestellt gefertigt fabrique fabbricato fabricado "
            "vervaardigd tillverkad hallmarked hallmark hallmarks assayed assay sterling "
            "marks woven painted drawn carved etched engraver gemalt peint dipinto blown built "
            "quilted stitched worked embroidered taken photographed",
        ),
        (
            "design",
            "designed design conceived entworfen entwurf concu ontworpen negative composed modeled "
            "modelled modelliert",
        ),
        (
            "printed",
            "printed restruck struck published publ pub issued printing imprint",
        ),
        ("printed", "gedruckt imprime edited released pressed"),
        ("cast", "cast recast coule gegossen fuso"),
        ("dated", "dated datiert datierte date datato datata fechado gedateerd daterad dateret"),
        ("dated", "dates dating signed sgd bouwjaar postmarked dtd"),
        (
            "inscribed",
            "inscribed engraved inscription bez bezeichnet bearing bears monogrammed reads titled "
            "labelled labeled presented ob obiit",
        ),
        (
            "patent",
            "patented pat patent patd registered regd copyright copyrighted copr © patents reg",
        ),
        ("introduced", "introduced launched discontinued invented developed"),
        ("founded", "established founded estd est fondee gegrundet opgericht fundada"),
        ("life", "born b died d geb gest ne nee lived geboren"),
        ("active", "active act fl flourished working wkg worked tatig actif"),
        (
            "repair",
            "repaired restored altered refinished rewired converted regilt recovered rebound "
            "reupholstered restoration rebuilt remade adapted modified relined refaced repolished "
            "renewed replaced restrung repainted refurbished",
        ),
        ("event", "commemorating commemorative anniversary celebrating centenary battle"),
        ("event", "depicting showing views view"),
        ("acquired", "acquired purchased bought sold auctioned gifted inherited exhibited bequest"),
        ("acquired", "provenance collected gift donated found excavated dug unearthed bequeathed"),
        ("acquired", "transferred deposited opened closed demolished wrecked tested"),
    ),
    NOISE: (
        (
            None,
            "the an of in year anno der des dem den das die im jahr jahre jahren du de la le "
            "les l il lo gli af del della dell dello dei degli delle el los las het van uit i "
            "av period antique vintage modern contemporary recent original genuine authentic "
            "era age aged times time epoque ep zeit periode epoca at on is it annee annees anni "
            "anos ano jaren jaar aars aren ar piece example old dynasty epoch reign somewhere "
            "roku rok lata latach года год г гг годы годов "
            "during sometime day month within only as is zum zur aus estimated dat bei kring "
            "work ans with without tijd both monday tuesday wednesday thursday friday saturday "
            "sunday mon tue wed thu fri sat sun manufacture creation origin production making "
            "construction this that these london birmingham sheffield edinburgh chester exeter "
            "dublin glasgow england english british france french german germany american usa "
            "america italian italy japanese japan chinese china dutch swedish danish scottish "
            "irish welsh spanish european continental russian austrian vienna paris york",
        ),
    ),
    REF: (
        (
            None,
            "no nos nr num number item # lot ref model mod cat inv inventory sku serial sn "
            "ser part tel phone page p pp edition ed ltd limited code id size qty upc isbn vol "
            "volume catalogue catalog reference accession acc pattern nummer numero modell modele "
            "mould mold shape rd box ean art figure fig set price asking bid inc ch chapter "
            "room psalm opus op caliber calibre cal hn pl dekor",
        ),
    ),
    UNIT: (
        (
            None,
            "mm cm m in inch inches ft foot feet kg g gr gm gms gram grams oz w watt watts lumens "
            "lm pcs pieces pc copies miles mile yrs yr years volts volt v ml l litre litres liter "
            "days lbs lb pounds pages ct carat carats km rpm hz psi usd gbp eur euro euros dollars "
            "pence street road avenue ave lane rogers dpi px pixels mb gb k sheets stitches tpi "
            'troy grs mah " gallon gallons cc hp yards yard yds stones beads words '
            "minutes seconds hours items lots stamps coins cards",
        ),
    ),
}

WORDS: dict[str, tuple[str, object]] = {}
for _kind, _groups in _WORDS.items():
    for _value, _text in _groups:
        for _word in _text.split():
            WORDS.setdefault(_word, (_kind, _value))

# A named period before one of these is the look of it: "Queen Anne leg", "Tudor rose pattern".
LOOK_NOUNS: Final = frozenset(
    ("leg", "legs", "feet", "pattern", "shape", "shaped", "form", "design", "portrait", "bust")
)

# A date before one of these is the date of a part or of later work, not of the whole.
PART_NOUNS: Final = frozenset(
    [
        "additions",
        "addition",
        "alterations",
        "alteration",
        "elements",
        "restorations",
        "restoration",
        "repairs",
        "repair",
        "mounts",
        "mount",
        "frame",
        "frames",
        "stand",
        "stands",
        "base",
        "bases",
        "case",
        "handles",
        "handle",
        "upholstery",
        "gilding",
        "decoration",
        "marriage",
        "shade",
        "shades",
        "wiring",
        "binding",
        "backing",
        "finish",
        "hinges",
        "hardware",
        "knobs",
        "lid",
        "cover",
        "mirror",
        "glass",
        "marble",
        "top",
        "tops",
        "hands",
        "movement",
        "dial",
        "inscription",
        "engraving",
        "monogram",
        "provenance",
        "label",
        "receipt",
        "replacement",
        "replacements",
    ]
)

MONTH_NAMES: Final = frozenset(word for _, words in _WORDS[MONTH] for word in words.split())
