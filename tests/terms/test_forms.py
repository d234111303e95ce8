"""One form of words at a time: what a phrase of catalogues and sellers does to any piece.

Common practice in the trade, no source. The examples are ours; each names a form that was probed
over many things and stuffs before a rule was written for it.
"""

from __future__ import annotations

import pyarrow as pa
import pytest

from pipeline.terms.titles import read_titles


def read(text: str) -> dict[str, object]:
    return read_titles(pa.array([text])).to_pylist()[0]


def accepted(text: str, kind: str) -> object:
    row = read(text)
    return row[f"{kind}_id"] if row[f"{kind}_status"] == "accepted" else None


@pytest.mark.parametrize(
    ("text", "material"),
    [
        # what is added to a piece, behind a hyphen or as a participle
        ("Brass-nailed leather trunk", "leather"),
        ("Iron-shod oak spade", "oak"),
        ("Leather-inset mahogany writing table", "mahogany"),
        ("Brass galleried mahogany tray", "mahogany"),
        ("Silver-ferruled malacca cane", "rattan"),
        ("Walnut-veneered oak chest", "walnut"),
        # features behind a stuff: of the piece in a run, of the feature in its own clause
        ("Chest of drawers oak drop handles", "oak"),
        ("Sideboard oak swan neck handles", "oak"),
        ("Tankard pewter hinged lid", "pewter"),
        ("Chair oak cane seat", "oak"),
        ("Stool velvet oak claw feet", "velvet"),
        ("Sofa walnut bun feet", None),
        ("Jug silver hinged lid", None),
        ("Table oak legs", None),
        ("Sofa leather button back", "leather"),
        ("Leather backed chair", None),
        ("An ebonised cabinet, ivory line", "ebonised"),
        ("A japanned cabinet, pine carcass", "japanned"),
        ("A cabinet, oak carcase", "oak"),
        ("An armchair, oak repairs", None),
        ("A longcase clock, oak case, brass eight day movement", "oak"),
        ("A sextant, brass frame, ivory scale", "brass"),
        ("Sword with hilt of ivory", None),
        ("Dagger with steel blade and handle of ivory", "steel"),
        ("Ladle with bowl of coconut shell", "coconut"),
        ("A wall mirror, bevelled plate, oak frame", "oak"),
        ("A mirror, bevelled plate", "mirror-glass"),
        ("A marine chronometer in brass bound mahogany box", "mahogany"),
        ("A longcase clock, mahogany trunk", "mahogany"),
        ("A candlestick, brass stem", "brass"),
        ("A tortoiseshell and gold mounted etui", "tortoiseshell"),
        ("An ebony box, ivory and silver mounted", "ebony"),
        ("An ebonised and brass bracket clock", "ebonised"),
        ("An ebonised and amboyna credenza", "amboyna"),
        ("Tablecloth linen lace", "linen"),
        ("Tortoiseshell panelled snuff box", "tortoiseshell"),
        ("Crucifix; ivory figure, ebony cross", "ivory"),
        ("A near matching walnut table", "walnut"),
        ("Kettle copper works well", "copper"),
        ("Clock oak key", "oak"),
        ("Coat wool lined", "wool"),
        ("Box oak lined", None),
        ("Table, carved, principally of walnut", "walnut"),
        # what lies over a carcase
        ("Commode; oak veneered with kingwood", "kingwood"),
        ("Desk; spruce, walnut veneer", "walnut"),
        ("Trunk; oak, covered in hide", "leather"),
        ("Armchair; oak, covered in leather", "oak"),
        ("Prayer book with ivory covers", "ivory"),
        ("Album with brass clasp", None),
        # names that hold a stuff, shades of skins, labels of fields, threads of jewels
        ("Leather bag", "leather"),
        ("Gold medal", "gold"),
        ("Panel of silk", "silk"),
        ("Linen jacket", "linen"),
        ("Silver leather shoes", "leather"),
        ("Silver fox stole", "fur"),
        ("Silver and leather flask", "silver"),
        ("Bowl. Fabric: clay", "clay"),
        ("Composition doll", "composition"),
        ("Necklace; jade, cotton", "jade"),
        ("Ring; diamond, gold", "gold"),
        ("Silver mounted horn spoon", "horn"),
        ("View of a town; pen and grey ink", "ink-drawing"),
        ("Mary Oakes, stoneware vase", "stoneware"),
        # words that are a stuff on some goods and nothing on all others
        ("Kid evening gloves, cream", "leather"),
        ("Briefcase, crocodile", "reptile-skin"),
        ("Toy, crocodile, tin", "tinplate"),
        ("White fox stole", "fur"),
        ("Fox doorstop", None),
        ("Cranberry scent bottle", "cranberry-glass"),
        ("Cranberry linen cloth", "linen"),
        # pieces of the whole, a ground, a case told in a word of form
        ("Fan, twenty blades of pierced ivory", "ivory"),
        ("Indenture, three skins of vellum", "vellum"),
        ("Stool, inlaid mother-of-pearl and bone on walnut", "walnut"),
        ("Shoe lasts, beech hinged", "beech"),
        ("Box, brass hinged", None),
        ("Cape, navy wool lined scarlet", "wool"),
        ("Longcase clock, oak arched-top case", "oak"),
        ("Mirror, gesso frame", "gesso"),
        ("Desk with bookcase top and mirror antique oak", "oak"),
        ("Mug, silver plate worn", "silver-plate"),
        ("Pair ruby glass lustres", "ruby-glass"),
        ("Dress / day dress with cape / printed muslin / British", "cotton"),
        ("Medal, Institution of the Port. Bronze, cased", "bronze"),
        # a trim is a part, a cover is the whole
        ("Box lined in lead", None),
        ("Trunk bound in brass", None),
        ("Novel bound in calf", "leather"),
        ("Box covered in shagreen", "shagreen"),
        # figures
        ("Standing figure in bronze of a dancer", "bronze"),
        ("Figure of ivory", "ivory"),
        # the part that is most of a thing
        ("Mirror in giltwood frame", "gilded"),
        ("Mirror framed in mahogany", "mahogany"),
        ("Mirror, the frame of brass", "brass"),
        ("Print in oak frame", None),
        ("A jug with a stoneware body", "stoneware"),
        ("Mantel clock, the case in walnut", "walnut"),
        ("Telescope in oak case", None),
        ("Coffee table, glass top, oak base", "oak"),
        ("Coffee table with marble top", None),
        ("Stool, elm seat on ash legs", "elm"),
        ("Plain table, recent elm top and elm legs", None),
        ("Sickle, steel blade and wooden handle", "steel"),
        ("Ladle, coconut bowl, whalebone handle", "coconut"),
        ("Fan with paper leaf and ivory sticks", "paper"),
        ("Lute, walnut and maple ribs", "maple"),
        ("Pair of pistols, walnut stocks", None),
        ("Votive plaque, gold", "gold"),
        ("Box carved from amber", "amber"),
        ("Vase, gold", None),
        # jewels
        ("Sapphire ring, 18ct gold setting", "gold-18ct"),
        ("Diamond ring, platinum mount", "platinum"),
        ("Coral necklace with gold clasp", "coral"),
        ("Ring, tests as 18ct gold", "gold-18ct"),
        ("Brooch, tested as silver", "silver"),
        # lacquer as a body and as a coat
        ("Lacquer and ivory inro", "lacquer"),
        ("Lacquered brass microscope", "brass"),
        ("Red lacquer elm cabinet", "elm"),
        # a name turned round tells what the thing works or holds
        ("Weight, wool; lead", "lead"),
        ("Knife, paper; ivory", "ivory"),
        ("Press, linen; oak", "oak"),
        ("Chair, wicker", "wicker"),
        ("Mop, cotton", "cotton"),
        # leaf and pigment on a ground, a colour before another stuff
        ("Manuscript leaf, tempera and gold on parchment", "parchment"),
        ("Marriage deed, ink and shell gold on vellum", "vellum"),
        ("Order of merit, breast badge in gold and enamel", "gold"),
        ("Turquoise faience amulet", "faience"),
        ("Coral silk evening bag", "silk"),
        ("Coral necklace", "coral"),
        ("Crock, blue on grey stoneware", "stoneware"),
        # what is printed, and on what
        ("Wooden jigsaw puzzle, coloured lithograph on plywood", "plywood"),
        ("Lithograph on card", "lithograph"),
        ("Biscuit tin in the form of a bus", "tinplate"),
        ("Biscuit tin, litho birds", "tinplate"),
        ("Tin opener", None),
        # the piece named again; a detail of it
        ("Leather-covered costrel: bottle of waxed leather", "leather"),
        ("Medal, Institution of the Harbour. Bronze, cased", "bronze"),
        ("Treen: a coconut goblet", "coconut"),
        ("Treen goblet", "wood"),
        # the country and the ware
        ("Vase; China; bronze", "bronze"),
        ("Mirror; China, Western Zhou dynasty; bronze", "bronze"),
        ("Jar; Southern China; stoneware", "stoneware"),
        ("Doll; china; cloth", "china"),
        ("Teapot; China", "china"),
        ("Teapot. China. Small chip", "china"),
        # a list behind "with", up to the stuff in a field of its own
        ("Dish with bamboo, plum, and pine; porcelain", "porcelain"),
        ("Box inlaid with ebony, ivory, and brass; walnut", "walnut"),
        ("Cabinet with ebony and ivory", None),
        # the ground, where nothing but ink and gold is told
        ("Manuscript; ink, gold on parchment", "parchment"),
        ("Sutra scroll; gold and silver on indigo paper", "paper"),
        ("Brooch; gold on silver", "silver-gilt"),
        # words that tell a stuff only in a clause of their own
        ("Cylinder seal; serpentine", "serpentine"),
        ("Commode; serpentine; mahogany", "mahogany"),
        ("Serpentine chest", None),
        ("Dagger; flint", "flint"),
        ("Musket, flint", None),
        ("Reed organ, walnut", "walnut"),
        ("Basket; reed", "reed"),
        # wire, crafts, places
        ("Silver wire brooch", "silver"),
        ("Brass wire basket", "brass"),
        ("Wire egg basket", "iron"),
        ("Vase, cloisonné, silver wire", "cloisonne"),
        ("Crochet hook", None),
        ("Lace up boots, leather", "leather"),
        ("Lace collar", "lace"),
        ("Basket, Pine Ridge, hide", "leather"),
        ("Pink glass plate", "coloured-glass"),
        ("Walnut on oak bureau", "walnut"),
        ("Alpaca shawl", "wool"),
        ("Alpaca spoon", "nickel-silver"),
        # the stuff in the name of a shape is the piece's
        ("Vase porcelain swan", "porcelain"),
        ("Inkwell bronze owl", "bronze"),
        ("Banjo, maple neck", None),
        ("Golf club, hickory shaft", "hickory"),
        ("Slate bed billiard table, mahogany", "mahogany"),
        ("Coat, alpaca", None),
    ],
)
def test_stuffs(text: str, material: str | None) -> None:
    assert accepted(text, "material") == material


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        # a vessel of a form is full of nothing
        ("A silver box of oval form", "box"),
        ("A mahogany tray of rectangular outline", "tray"),
        ("Box of malachite", "box"),
        ("A box of books", "book"),
        ("A jar of buttons", "button"),
        ("Bottle in the form of a shoe, glass", "bottle"),
        ("A silver box in the form of a book", "box"),
        # models
        ("A silver model of a pheasant with articulated wings", "figurine"),
        ("A silver model of a boat", "ship-model"),
        # what is painted on a piece, and what stands beside it
        ("A Chinese porcelain vase, painted with birds, flowers and a boat", "vase"),
        ("A brass kettle, a trivet and a pair of bellows", None),
        ("A bronze figure of a warrior, a shield at his feet", "sculpture"),
        ("A teapot, a clock on stand", None),
        ("A bronze figure of a huntsman, holding a horn and a sword", "sculpture"),
        ("A pottery jug and toby jug", "jug"),
        # counts
        ("A near pair of brass candlesticks", "candlestick"),
        ("One of a set of six silver spoons", "spoon"),
        # the word set
        ("A French ormolu mantel clock set on a marble base", "mantel-clock"),
        ("A brass mantel clock set, with candelabra", "clock-garniture"),
        ("Glass bowl set in silver", "bowl"),
        # a sentence of the seller
        ("Found this in the loft, oak chest of drawers", "chest-of-drawers"),
        ("Please see all photos - oak chest of drawers", "chest-of-drawers"),
        ("Victorian photos x 20", "photograph"),
        ("copper kettle vase not included", "kettle"),
        ("mahogany bookcase shop display", "bookcase"),
        ("teapot converted to lamp", None),
        ("Brass lantern clock, verge converted to anchor", "lantern-clock"),
        ("Dish with tulips, carnations and a saz leaf", "dish"),
        ("Kettle with lid, trivet and a pair of bellows", None),
        ("Oak coffer, dated 1671. Makes a super coffee table or blanket box.", "chest"),
        ("Hot water bottle / foot warmer, copper", "hot-water-bottle"),
        ("lamp / vase", None),
        # two names in a row
        ("vintage wine bottle lamp", "lamp"),
        ("needlepoint footstool", "footstool"),
        ("A sofa rug", None),
        ("Lamp filler, tin", None),
        # "N for X" is "X N"
        ("Box for snuff, horn", "snuff-box"),
        ("Mould for candles, tin", "candle-mould"),
        ("Case for spectacles, shagreen", "spectacles-case"),
        ("Trap for mice, elm", "mousetrap"),
        ("Original box for a watch", None),
        # dolls
        ("Doll's kettle, copper", "toys-and-games"),
        ("Doll's hat, straw", "dolls-clothes"),
        ("Doll's house chair", "dolls-house-furniture"),
        # pictures, books and figures by what they are made of
        ("The Blue Vase, albumen print", "photograph"),
        ("Photograph frame, silver, with albumen print", "picture-frame"),
        ("Powder horn, engraving of a ship", "powder-horn"),
        ("Japanese Sword Guards, hardcover book", "book"),
        ("The Gun and its Development, 2 vols, full calf", "book"),
        ("Collected Poems, 4to, original boards, plates", "book"),
        ("Bookends, bronze, leather bound", "bookends"),
        ("Crouching lion, limestone", "sculpture"),
        ("Standing Vishnu, sandstone", "sculpture"),
        ("Girl with a basket, marble", "sculpture"),
        ("Horse, glazed earthenware, Tang", "figurine"),
        ("Crouching lion, oil on canvas", "painting"),
        ("Standing lion, brooch, gold", "brooch"),
        ("Man's coat, wool", "coat"),
        ("Dog bowl, ceramic", "dog-bowl"),
        # a gloss in brackets explains what no vocabulary holds
        ("A Dutch brass tondoos (tinderbox), 18th century", "tinderbox"),
        ("Sold with all faults: banjo, five string", "banjo"),
        ("A.1987-41, stomacher, embroidered linen", "stomacher"),
        # what the word before tells of its form, or what it shows
        ("A silver baluster tankard", "tankard"),
        ("A bronze leopard plaque", "plaque"),
        # what belongs to a piece makes no second one
        ("Kitchen scales + 7 brass weights", "scales"),
        ("Kitchen scales and a copper kettle", None),
        ("Album of postcards & cabinet cards", "postcard-album"),
        ("Washstand, marble top and tiles at back", "washstand"),
        ("Six cafe chairs, cane seats, job lot", "bentwood-chair"),
        ("Writing slope + inkwell job lot", None),
        ("Table cloths from granny's linen cupboard clear out", "tablecloth"),
        ("Hanging scroll. Two carp and a broken bucket. Ink on silk", "scroll-painting"),
        ("Hanging scroll, ink on silk, and a bronze bucket", None),
        # a full stop before a quotation ends a sentence
        ("Headscarf. 'Horses of the Hunt', silk twill", "scarf"),
        # the box that is the piece
        ("Silver snuff box damaged", "snuff-box"),
        ("Oak box torn", "box"),
        ("Hat box worn", "hat-box"),
        ("Doll, box damaged", "doll"),
        ("Model train, box worn", "toy-train"),
        # said of the piece, and of what is gone from it
        ("Near pair of oak stools", "stool"),
        ("Ex-display oak table", "table"),
        ("Carving set in box", "carving-set"),
        ("Mantel clock set on a marble base", "mantel-clock"),
        ("Silver coffee pot lid missing", "coffee-pot"),
        ("Silver coffee pot lid", "lid"),
        ("Walnut on oak chest of drawers", "chest-of-drawers"),
        ("Chest on oak stand", "chest-on-stand"),
        # in the style of another thing
        ("Pistol style lighter", "lighter"),
        ("Football style money box", "money-box"),
        ("Lantern style clock", "lantern-clock"),
        ("Diamond eternity band", "ring"),
        ("9ct gold rope chain", "necklace"),
        # figures by whom they show, ornaments by a stuff and a beast
        ("Saint George and the Dragon; terracotta", "sculpture"),
        ("Horse; glazed terracotta", "sculpture"),
        ("Lion; copper alloy", "sculpture"),
        ("Brass elephant", "figurine"),
        ("Glass duck", "glass-animal"),
        ("Wooden horse", None),
        ("Silver cat", None),
        ("Bronze cat", "sculpture"),
        ("Brass bell", "bell"),
        # a thing shaped as a beast
        ("Ashtray ceramic fish", "ashtray"),
        ("Doorstop cast iron dog", "door-stop"),
        ("Ceramic cat", "figurine"),
        ("Ceramic figure of a cat beside a jug", "pottery-figure"),
    ],
)
def test_kinds(text: str, kind: str | None) -> None:
    assert accepted(text, "category") == kind


def test_the_targets_of_modifiers_are_kinds() -> None:
    """A target that is no kind makes its rule dead without a sign."""
    from pipeline.terms.lexicon import lexicon_for

    lexicon = lexicon_for(None)
    targets = lexicon.modifiers.targets.items()
    wanted = {target for role, target in targets if role.startswith("scale_") and target}
    assert wanted <= set(lexicon.concept_ids["category"])


@pytest.mark.parametrize(
    ("text", "category"),
    [
        # a maker named first
        ("Jane Coates, porcelain bowl", "bowl"),
        ("Walnut, J., Landscape, watercolour", "watercolour"),
        ("John Box, longcase clock, oak case", "longcase-clock"),
        ("Victoria Cross, bronze", "medal"),
        ("Albert Chain, silver", "watch-chain"),
        ("A chair, oak", "chair"),
        # a set is a noun but before stones
        ("A porcelain tea set with gilt rims", "tea-set"),
        ("Vase set with turquoise", "vase"),
        ("Clock set with jewels", "clock"),
        # one of a list of stuffs turns no heading
        ("Coat; wool, fur", "coat"),
        ("Bowl; wood, ash", "bowl"),
        ("Cabinet; Medium: oak", "cabinet"),
        ("Table, card; mahogany", "card-table"),
        ("Coat, fur", "fur-coat"),
        ("Cup; horn", "drinking-horn"),
        ("Silver mounted horn card case", "card-case"),
        ("Mounted horns on shield", "antlers"),
        ("Silver cuff with malachite inlay", "bracelet"),
        ("Lace cuff", "cuff"),
        # a use named behind the piece, and what was made into another thing
        ("Copper kettle planter", "kettle"),
        ("Teak sideboard tv stand", "sideboard"),
        ("Oak side table", "side-table"),
        ("Leather armchair furniture", "armchair"),
        ("Kilim upholstered stool", "stool"),
        ("Violin wood case", "violin"),
        ("Violin case, wood", "instrument-case"),
        ("Dress and jacket", "dress"),
    ],
)
def test_names_of_pieces(text: str, category: str) -> None:
    assert accepted(text, "category") == category
