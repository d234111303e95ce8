"""The words of the demo's sellers. Every firm, maker, artist and place is invented."""

from __future__ import annotations

HOUSE = "Pellow & Wrake, Ostermere"
MARKET = "Clutterfold"
SHOP = "Kontor Seidelbruck, Grauhafen"
SELLERS = (
    "attic_marrow", "quillbox77", "nanas_hutch_oh", "brindlebarn", "oddmentary", "pinetarn_finds",
    "thelma_j_sells", "lampwick_lane", "harbourhoard", "tumblegate", "cellar2ceiling", "mossy_attic",
    "curlewtrader", "grizzlepot", "dustmote_den", "wexcombe_relics",
)  # fmt: skip
TOWNS = (
    "Ostermere", "Wexcombe Tarn", "Grauhafen", "Port Lumley Bay", "Harkaby", "Thistlemere",
    "Saint-Ouvrin", "Lumbrook", "Dunmarrow", "Castle Pellow",
)  # fmt: skip

# makers by trade, as written
MAKERS: dict[str, tuple[str, ...]] = {
    "furniture": ("Belwick & Tarn", "Josiah Thripp",
                  "Quarrendon & Sons"),
    "lighting": ("Hollis & Wray", "Lumbrook Light Co."),
    "clocks-and-watches": ("Thos. Quarrendon", "Eb. Sallow",
                           "Vaudremont Frères"),
    "tableware-and-vessels": ("Ostermere Works", "Zwiebelau"),
    "ceramics": ("Harkaby", "Zwiebelau"),
    "glassware": ("Lumbrook", "Orsolani & Figli"),
    "metalware-and-silver": ("Hesper Blount", "Ambrose Tew"),
    "prints-and-paintings": ("Odalie Fenn", "J. Marchbank-Toll",
                             "Corneel Vastrick", "Ida Grell"),
    "maps-and-globes": ("Pettifer Drane", "G. A. Vellmann"),
    "books-and-paper": ("Elspeth Corrow", "Drane & Pickle"),
    "textiles-and-rugs": ("Mercy Tolland",),
    "jewellery": ("Pell & Arbuth", "Maison Oudrelle"),
    "toys-and-games": ("Harkaby Toys", "Brüder Zottel",
                       "Tumblewick"),
    "video-games": ("Qubiton", "Pixarquo"),
    "musical-instruments": ("Ludo Ferranz", "Klingmühler"),
    "scientific-instruments": ("Negus Pryor", "Dollimore & Vane"),
    "kitchen-and-household": ("Brasket & Co", "Kupfergrund"),
    "decorative-objects": ("Zwiebelau", "Nicolette d'Aubrin"),
    "sculpture": ("A. Ferrouxel", "Corneel Vastrick"),
    "tools": ("Tolhurrick Bros", "Sheaf & Stribley"),
    "cameras-and-optics": ("Corvanex", "Ludwigsauge"),
    "electricals": ("Corvanex", "Hallowbell"),
    "sporting-and-travel": ("Greel & Sons", "McIntarn"),
    "militaria": ("Wilbram Stoake",),
    "garden-and-architectural": ("Dunmarrow Foundry",),
    "writing-and-desk": ("Nibley Dart", "Hesper Blount"),
    "smoking-and-tobacco": ("Bramwick", "Flintam"),
    "sewing-and-needlework-tools": ("Jennet", "Hesper Blount"),
    "coins-and-medals": (),
}  # fmt: skip

# material -> words of the catalogue, of the online market, of the ledger
MATERIALS: dict[str, tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]] = {
    "mahogany": (("mahogany",), ("MAHOGANY",), ("Mahagoni, mahogany", "mahogany")),
    "oak": (("oak",), ("OAK", "SOLID OAK"), ("oak", "Eiche (oak)")),
    "walnut": (("walnut",), ("WALNUT",), ("walnut", "Nussbaum, walnut")),
    "pine": (("pine",), ("PINE", "KNOTTY PINE WOOD"), ("pine", "Kiefer (pine)")),
    "burr-walnut": (("burr walnut",), ("BURL WALNUT",), ("burr walnut",)),
    "cut-glass": (("cut glass",), ("CUT GLASS",), ("cut glass",)),
    "crystal": (("crystal",), ("CRYSTAL",), ("crystal", "cristal, crystal")),
    "gilt-metal": (("gilt metal", "gilt-metal"), ("GOLD GILT METAL",), ("gilt metal",)),
    "silver-plate": (("silver-plated", "silver plate"), ("SILVERPLATE", "SILVER PLATED"),
                     ("silver plate", "versilbert (silver plate)")),
    "sterling-silver": (("silver", "sterling silver"), ("STERLING SILVER", "STERLING"),
                        ("silver", "Silber (silver)")),
    "gold-9ct": (("9ct gold",), ("9K GOLD", "9CT GOLD"), ("9ct gold",)),
    "gold-18ct": (("18ct gold",), ("18K GOLD",), ("18ct gold", "Gold 750, 18ct gold")),
    "rolled-gold": (("rolled gold",), ("GOLD FILLED",), ("rolled gold",)),
    "gilded": (("giltwood",), ("GILT WOOD",), ("giltwood",)),
    "biscuit-porcelain": (("bisque",), ("BISQUE",), ("bisque", "Biskuit, bisque")),
    "pressed-wood-composition": (("composition",), ("COMPOSITION",), ("composition",)),
    "synthetic-fabric": (("plush",), ("PLUSH",), ("plush",)),
    "mixed-materials": (("",), ("",), ("",)),
    "oil-on-canvas": (("",), ("",), ("",)),
    "oil-on-board": (("",), ("",), ("",)),
    "watercolour": (("",), ("",), ("",)),
    "gouache": (("gouache",), ("GOUACHE",), ("gouache",)),
    "paper": (("",), ("",), ("",)),
    "card": (("card", "cardboard"), ("CARDBOARD",), ("cardboard",)),
    "chrome-plated": (("chrome", "chromium-plated"), ("CHROME",), ("chrome",)),
    "tinplate": (("tinplate",), ("TIN",), ("tinplate", "Blech, tinplate")),
    "tole": (("toleware",), ("TOLE",), ("tole",)),
    "brass": (("brass",), ("BRASS", "SOLID BRASS"), ("brass", "Messing, brass", "laiton, brass")),
    "copper": (("copper",), ("COPPER",), ("copper", "Kupfer, copper", "cuivre, copper")),
    "cast-iron": (("cast-iron", "cast iron"), ("CAST IRON",), ("cast iron",)),
    "wrought-iron": (("wrought-iron",), ("WROUGHT IRON",), ("wrought iron",)),
    "cranberry-glass": (("cranberry glass",), ("CRANBERRY GLASS",), ("cranberry glass",)),
    "gesso": (("gilt gesso",), ("GESSO",), ("gesso",)),
    "galvanised": (("galvanised",), ("GALVANIZED",), ("galvanised",)),
    "cloisonne": (("cloisonné",), ("CLOISONNE",), ("cloisonné",)),
    "aluminium": (("aluminium",), ("ALUMINUM",), ("aluminium",)),
    "delft": (("delft",), ("DELFT",), ("delft",)),
    "patchwork": (("",), ("",), ("",)),
    "silver": (("silver",), ("SILVER",), ("silver",)),
}  # fmt: skip

# fault -> words of the catalogue and the report, of the online market, of the ledger
FAULTS: dict[str, tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]] = {
    "refinished": (("refinished", "stripped and refinished"), ("REFINISHED",), ("refinished",)),
    "replaced-hardware": (("replaced handles", "later handles"), ("REPLACED HARDWARE", "NEW PULLS REPLACED HANDLES"), ("later handles",)),
    "replaced-feet": (("replaced feet", "later feet"), ("REPLACED FEET",), ("later feet",)),
    "worm": (("old woodworm", "old worm"), ("WORM HOLES",), ("woodworm", "Holzwurm, old worm")),
    "veneer-loss": (("veneer losses", "some lifting veneer"), ("VENEER LOSS", "VENEER CHIPS"), ("veneer loss",)),
    "scratches": (("scratches", "surface scratches", "minor scratches and knocks"), ("SCRATCHES", "SCUFFS"), ("scratches", "Kratzer, scratches")),
    "married": (("associated top", "a marriage"), ("MARRIED PIECE",), ("married piece",)),
    "cut-down": (("reduced in height", "cut down"), ("CUT DOWN",), ("cut down",)),
    "restored": (("restored", "old restoration"), ("RESTORED",), ("restauriert, restored", "restored")),
    "loose": (("loose joints", "some loose joints"), ("WOBBLY", "LOOSE JOINTS"), ("loose joints",)),
    "chips": (("chips", "chip to rim", "small chips"), ("CHIPPED", "SMALL CHIP", "FLEA BITES"), ("chip", "chips")),
    "hairline": (("hairline crack", "short hairline"), ("HAIRLINE", "HAIRLINE CRACK"), ("hairline", "Haarriss, hairline")),
    "crazing": (("crazing", "overall crazing"), ("CRAZING",), ("crazing",)),
    "gilding-loss": (("rubbed gilding", "worn gilding"), ("GILT WORN", "WORN GILDING"), ("worn gilding",)),
    "stained": (("stained", "some staining"), ("STAINS", "STAINED"), ("fleckig, stained", "stained")),
    "cracked": (("cracked", "crack"), ("CRACKED", "CRACK"), ("cracked", "Riss, cracked")),
    "dents": (("dents", "small dents", "dented"), ("DENTS", "DING & DENTS"), ("dents",)),
    "plate-worn": (("worn plate", "plate worn"), ("PLATE LOSS", "WORN PLATING"), ("worn plate",)),
    "metal-repair": (("solder repair", "soldered repair"), ("SOLDER REPAIR",), ("soldered",)),
    "monogram-erased": (("monogram erased", "erased armorial"), ("MONOGRAM REMOVED",), ("monogram erased",)),
    "corrosion": (("rust", "rusted", "some corrosion"), ("RUSTY", "RUST"), ("rust", "rostig, rust")),
    "foxing": (("foxing", "foxed", "light foxing"), ("FOXING",), ("foxing", "stockfleckig, foxed")),
    "toning": (("toned", "age toning"), ("TONING", "YELLOWED"), ("toned",)),
    "torn": (("torn", "edge tears", "small tears"), ("TEAR", "TORN", "RIPS"), ("tear", "torn")),
    "trimmed": (("trimmed", "trimmed margins"), ("TRIMMED",), ("trimmed",)),
    "creased": (("creased", "fold lines"), ("CREASED", "CREASES"), ("creased",)),
    "laid-down": (("laid down", "laid on board"), ("LAID DOWN", "LINEN BACKED"), ("laid down",)),
    "faded": (("faded", "fading"), ("FADED", "FADING"), ("faded", "verblasst, faded")),
    "moth-damage": (("moth damage", "mothed"), ("MOTH HOLES",), ("moth damage",)),
    "wear": (("wear", "signs of wear", "wear throughout"), ("WEAR", "SHOWS WEAR"), ("wear",)),
    "darned": (("darning", "old darning", "darned"), ("DARNED",), ("darned",)),
    "not-working": (("not working", "not running"), ("NOT WORKING", "NON-WORKING", "DOESNT RUN"), ("defekt, not working", "not working")),
    "untested": (("untested", "sold untested"), ("UNTESTED", "NOT TESTED"), ("untested", "ungeprüft, untested")),
    "incomplete": (("incomplete", "parts missing", "part missing"), ("INCOMPLETE", "MISSING PARTS"), ("incomplete", "unvollständig, incomplete")),
    "missing-pendulum": (("pendulum missing", "lacks pendulum"), ("NO PENDULUM",), ("no pendulum",)),
    "replaced-movement": (("replaced movement", "later movement"), ("QUARTZ CONVERSION", "REPLACED MOVEMENT"), ("replaced movement",)),
    "no-key": (("no key", "lacks key"), ("NO KEY",), ("no key",)),
    "paint-loss": (("paint loss", "flaking paint"), ("PAINT LOSS", "PAINT WEAR"), ("paint loss",)),
    "repair": (("repaired", "old repair", "repairs"), ("REPAIRED", "OLD REPAIR"), ("repaired", "repariert, repaired")),
    "missing-pieces": (("pieces missing",), ("MISSING PIECES",), ("pieces missing",)),
    "rewired": (("rewired",), ("REWIRED", "NEWLY WIRED"), ("rewired", "neu verkabelt, rewired")),
    "missing-shade": (("lacks shade", "no shade"), ("NO SHADE",), ("no shade",)),
    "replaced-shade": (("replaced shade", "later shade"), ("REPLACED SHADE",), ("later shade",)),
    "drilled": (("drilled for electricity", "drilled"), ("DRILLED",), ("drilled",)),
    "missing-lid": (("lacks cover", "no lid"), ("NO LID", "MISSING LID"), ("no lid", "ohne Deckel, no lid")),
    "relined": (("relined", "re-lined canvas"), ("RELINED",), ("relined", "doubliert, relined")),
    "unframed": (("unframed",), ("UNFRAMED", "NO FRAME"), ("unframed", "ungerahmt, unframed")),
    "missing-pages": (("lacks pages", "missing pages"), ("MISSING PAGES",), ("missing pages",)),
    "rebound": (("rebound", "rebacked"), ("REBOUND",), ("rebound",)),
    "missing-stones": (("stone missing", "missing stone"), ("MISSING STONE",), ("stone missing",)),
    "restrung": (("restrung",), ("NEW STRINGS", "RESTRUNG"), ("restrung",)),
    "missing-handle": (("handle missing",), ("MISSING HANDLE",), ("handle missing",)),
    "cleaned": (("cleaned",), ("CLEANED",), ("cleaned", "gereinigt, cleaned")),
}  # fmt: skip

MERITS: dict[str, tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]] = {
    "signed": (("signed", "signed and dated"), ("SIGNED", "HAND SIGNED"), ("signed", "signiert, signed")),
    "labelled": (("with maker's label", "labelled to reverse"), ("LABELED", "ORIG LABEL", "ORIGINAL PAPER LABEL"), ("labelled", "with label")),
    "original-hardware": (("original handles", "with original brasses"), ("ORIG HARDWARE", "ORIGINAL HARDWARE"), ("original handles",)),
    "original-patina": (("of good colour and original patina", "good patina"), ("ORIGINAL PATINA",), ("original patina",)),
    "provenance": (("with provenance",), ("W/ PROVENANCE", "PROVENANCE"), ("with provenance",)),
    "working": (("in working order",), ("WORKING", "WORKS GREAT FULLY WORKING"), ("working", "funktioniert, working")),
    "serviced": (("recently serviced",), ("SERVICED",), ("serviced",)),
    "boxed": (("in original box", "boxed"), ("IN ORIGINAL BOX", "W/ ORIG BOX", "BOXED"), ("in original box", "mit OVP, boxed")),
    "marked": (("stamped", "with maker's mark"), ("MARKED", "STAMPED"), ("marked", "gestempelt, stamped")),
    "no-damage": (("undamaged", "no chips or cracks"), ("NO CHIPS OR CRACKS", "NO DAMAGE"), ("undamaged",)),
    "numbered": (("numbered",), ("NUMBERED", "LTD ED NUMBERED"), ("numbered",)),
    "first-edition": (("first edition",), ("FIRST EDITION", "1ST EDITION"), ("first edition", "Erstausgabe, first edition")),
    "dust-jacket": (("in dust jacket", "with dust wrapper"), ("W/ DUST JACKET", "DUST JACKET"), ("with dust jacket",)),
}  # fmt: skip

# condition as told: grade -> words
REPORT: dict[str, tuple[str, ...]] = {
    "as_new": ("As new.", "Mint.", "Unused.", "As new, apparently never used."),
    "excellent": ("Excellent condition.", "Excellent.", "In excellent condition throughout.", "Fine condition."),
    "very_good": ("Very good condition.", "Very good overall.", "In very good order.", "VGC."),
    "good": ("Good condition.", "Good overall.", "In good condition, commensurate with age.", "Good condition for age."),
    "fair": ("Fair condition.", "Fair.", "Fair condition only.", "In fair condition."),
    "poor": ("Poor condition.", "As found.", "A/F.", "In poor condition.", "Damaged."),
    "for_parts": ("For spares or repair.", "Spares or repair only."),
    "unknown": ("Please see images.", "Sold as viewed.", "", "Condition report on request.", "Not examined out of the frame.", "No report."),
}  # fmt: skip
ONLINE_CONDITION: dict[str, tuple[str, ...]] = {
    "as_new": ("New", "NIB", "Mint", "like new", "Brand new"),
    "excellent": ("Excellent", "excellent condition", "EXC", "EUC", "Excellent - see pics"),
    "very_good": ("Very good", "VG", "great condition", "VGC", "very good used condition", "Great shape"),
    "good": ("Good", "good condition", "Used - good", "good vintage condition", "nice condition"),
    "fair": ("Fair", "fair condition", "acceptable", "worn", "Used - fair"),
    "poor": ("Poor", "as found", "damaged", "Poor - project", "rough"),
    "for_parts": ("For parts or not working", "for parts or repair", "PARTS OR REPAIR"),
    "used": ("Used", "Pre-owned", "used", "preowned"),
    "unknown": ("", "see pics", "See description", "--", "please look at photos"),
}  # fmt: skip
LEDGER_CONDITION: dict[str, tuple[str, ...]] = {
    "as_new": ("neuwertig", "wie neu"),
    "excellent": ("excellent", "ausgezeichnet", "excellent état"),
    "very_good": ("sehr gut", "very good", "très bon état"),
    "good": ("gut", "good", "bon état"),
    "fair": ("mäßig", "fair", "gebraucht, fair", "état moyen"),
    "poor": ("beschädigt", "poor", "mauvais état"),
    "for_parts": ("nur für Ersatzteile", "for parts"),
    "unknown": ("", "siehe Foto", "-"),
}  # fmt: skip

FLUFF = (
    "RARE", "L@@K", "ESTATE FIND", "NICE!!", "GORGEOUS", "BEAUTIFUL", "STUNNING", "FREE SHIP", "WOW",
    "FARMHOUSE", "SHABBY", "COTTAGE", "PRIMITIVE", "GRANDMAS", "COOL", "*", "~", "!!", "UNIQUE",
    "HTF", "ESTATE", "NR", "MUST SEE", "DECOR", "COLLECTIBLE",
)  # fmt: skip
PRAISE = ("fine", "good", "handsome", "attractive", "charming", "small", "large", "unusual", "very good",
          "well-figured", "substantial", "provincial", "decorative", "interesting")  # fmt: skip
OLD_WORDS = ("antique", "vintage", "old")
PLACES_OF_MAKING = ("English", "French", "Continental", "Scottish", "Dutch", "German", "Irish", "Italian")

SHORTENINGS = {
    "VINTAGE": "VTG", "ANTIQUE": "ANTQ", "VICTORIAN": "VICT", "MAHOGANY": "MAHOG", "STERLING": "STERL",
    "CONDITION": "COND", "ORIGINAL": "ORIG", "LARGE": "LG", "SMALL": "SM", "WITH": "W/", "CENTURY": "C",
    "DRAWERS": "DRWRS", "SILVER": "SILV", "EDWARDIAN": "EDW", "PORCELAIN": "PORC", "AND": "&",
    "GEORGE III": "GEO III", "MID CENTURY MODERN": "MCM", "REPRODUCTION": "REPRO",
}  # fmt: skip
COMMON_SLIPS = {
    "mahogany": "mahogony", "victorian": "victorain", "porcelain": "porcelin", "brooch": "broach",
    "jewellery": "jewelery", "chest of drawers": "chest of draws", "sterling": "stirling",
    "antique": "antiqe", "edwardian": "edwardien", "candlestick": "candelstick", "barometer": "barometor",
    "watercolour": "watercolor", "lithograph": "lithogragh", "binoculars": "binoculers",
    "decanter": "decantor", "cradle": "cradel", "saucer": "sauser", "microscope": "microscop",
    "typewriter": "typwriter", "telescope": "telescop", "figurine": "figurene", "teapot": "tea-pot",
    "rosewood": "rose wood", "mantel": "mantle", "earthenware": "earthernware", "thimble": "thimbel",
    "bakelite": "bakerlite", "carriage": "cariage", "walnut": "wallnut", "inkwell": "inkwel",
}  # fmt: skip

# kind -> features that call for a caution, with the caution in plain words
CAUTIONS: dict[str, tuple[tuple[str, str], ...]] = {
    "barometer": (("with ivory setting knob", "ivory"), ("the mercury tube intact", "mercury")),
    "tea-caddy": (("with ivory escutcheon", "ivory"),),
    "sword": (("with ivory grip", "ivory"),),
    "hand-fan": (("with ivory guards", "ivory"), ("trimmed with ostrich feathers", "feathers")),
    "sewing-machine": (("with old wiring", "wiring"),),
    "table-lamp": (("with old wiring", "wiring"), ("the cord frayed", "wiring")),
    "radio": (("with old cloth-covered flex", "wiring"),),
    "chandelier": (("with old wiring", "wiring"),),
    "compass": (("with radium dial", "radium"), ("with luminous radium paint", "radium")),
    "brooch": (("carved ivory panel", "ivory"), ("tortoiseshell piqué panel", "tortoiseshell")),
    "jewellery-box": (("with tortoiseshell panels", "tortoiseshell"), ("inlaid with ivory stringing", "ivory")),
    "picture-frame": (("with tortoiseshell border", "tortoiseshell"),),
    "tin-toy": (("with old lead paint", "lead"),),
    "rocking-horse": (("in old lead paint", "lead"),),
    "figurine": (("with ivory face and hands", "ivory"),),
}  # fmt: skip
KIND_CAUTIONS = {"cradle": "crib", "high-chair": "crib", "pistol": "firearm", "taxidermy": "taxidermy",
                 "bayonet": "blade", "sword": "blade"}  # fmt: skip
MATERIAL_CAUTIONS = {"ivory": "ivory", "tortoiseshell": "tortoiseshell", "feather": "feathers", "lead": "lead"}
FALSE_ALARMS: dict[str, tuple[str, ...]] = {
    "table-lamp": ("with ivory coloured shade",), "vase": ("with ivory-coloured glaze",),
    "tablecloth": ("in ivory colour",), "telephone": ("in ivory coloured case",),
    "bureau": ("feather banded",), "chest-of-drawers": ("with feather banding",),
    "fountain-pen": ("in faux tortoiseshell",), "picture-frame": ("in faux tortoiseshell",),
    "binoculars": ("in gunmetal finish",), "hand-fan": ("in imitation ivory",),
    "doll": ("in ivory silk dress",), "teapot": ("with tortoiseshell glaze",),
}  # fmt: skip
