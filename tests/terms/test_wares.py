"""What goods of a trade are called after, and which of the stuffs told is theirs.

Common practice in the trade, no source. The examples are ours.
"""

from __future__ import annotations

import pytest

from pipeline.terms.lexicon import lexicon_for
from pipeline.terms.modifiers import load_modifiers
from tests.terms.test_forms import accepted


@pytest.mark.parametrize(
    ("text", "material"),
    [
        # a name that tells what the piece holds, works or is for
        ("Silver table, mahogany", "mahogany"),
        ("Silver tray, ebony", "silver"),
        ("Crystal cabinet, walnut", "walnut"),
        ("Cork squeezer, cast iron", "cast-iron"),
        ("Leather awl, steel", "steel"),
        ("Leather armchair, oak", "oak"),
        ("Linen smoother, green glass", "coloured-glass"),
        ("Maple sap bucket, pine", "pine"),
        # linen is a shade of paint, and a cloth where it was worked
        ("Coif, linen embroidered with silk", "linen"),
        ("Jacket, linen quilted and corded", "linen"),
        ("Linen velvet cushion", "velvet"),
        ("Silver embroidered velvet bag", "velvet"),
        # how a plastic looks
        ("Silver vinyl mini dress", "vinyl"),
        ("Walnut bakelite mantel clock", "bakelite"),
        ("Walnut and bakelite clock", "walnut"),
        ("Oak formica table", "formica"),
        # the case, the frame, the hoop, told first
        ("Clock, oak case, brass", "oak"),
        ("Clock, brass case, enamel dial", "brass"),
        ("Wall mirror, mahogany frame, plate glass", "mahogany"),
        ("Ring, gold hoop, sapphire", "gold"),
        ("Locket, gold case, hair", "gold"),
        ("Purse, steel frame, velvet", "velvet"),
        ("Casket, bone plaques", "bone"),
        ("Mail shirt, iron rings", "iron"),
        # a stone that is cut and set
        ("Cameo, onyx, mounted in gold", "onyx"),
        ("Brooch, shell cameo, gold", "shell"),
        # mounts and tops of what is laid in
        ("Cabinet, marquetry, ivory", "marquetry"),
        ("Table, marble, gilt bronze", "marble"),
        ("Table, satinwood banded with rosewood", "satinwood"),
        # a form called after a metal
        ("A coffee pot of silver form, porcelain", "porcelain"),
        ("A Worcester silver shape sauceboat", None),
        ("A silver bowl, circular form", "silver"),
        # motifs of jewels
        ("An 18ct gold buckle ring", "gold-18ct"),
        ("Garnet fringe necklace", "garnet"),
        ("Leather strap watch", None),
        # lids, edges, tempers, marks, paints
        ("A silver lidded jar", None),
        ("Quilt, silk binding", None),
        ("Cooking pot, shell-tempered ware", None),
        ("Sixpence, 1562, mm. ermine", None),
        ("Ivory telephone", None),
        ("Silver bicycle", None),
        ("Ivory card case", "ivory"),
        ("Whieldon tortoiseshell plate", None),
        ("Tortoiseshell card case", "tortoiseshell"),
        # finds, and stones that seldom tell a stuff
        ("An incomplete copper alloy buckle", "copper-alloy"),
        ("Cast copper alloy mount", "copper-alloy"),
        ("Serpentine tankard, pewter mounts", "serpentine"),
        ("Serpentine commode", None),
        # the fault is the spout's, and the body the pot's; what is worn ends with its cloth
        ("Teapot Staffordshire pearlware spout restored", "pearlware"),
        ("Knife ivory handle cracked", None),
        ("Handbag tan calf, no maker", "leather"),
        ("Tea dress, floral crepe, covered buttons", "textile"),
        # the same thing named again
        ("Mancerina. Silver saucer with holder for the cup", "silver"),
        ("Oak chest. Brass candlestick", "oak"),
        ("Mirror in frame of carved and gilded limewood", "limewood"),
        ("A string of cultured pearls", "pearl"),
        # words that mean another stuff on certain goods
        ("Porcelain gas pump sign", "enamel"),
        ("Porcelain sink", "porcelain"),
        ("Jadeite mixing bowl", "jadeite-glass"),
        ("Jadeite bangle", "jade"),
        ("Electrum parallel rule", "nickel-silver"),
        ("Wallpaper, block printed on paper", "paper"),
        ("Black wood frame", "wood"),
        ("Steel wool box", None),
    ],
)
def test_whose_stuff(text: str, material: str | None) -> None:
    assert accepted(text, "material") == material


@pytest.mark.parametrize(
    ("text", "category"),
    [
        # two names together: what the first shows, and what was done with it
        ("Postcard rocking horse", "postcard"),
        ("Cookie jar coffee pot", "biscuit-jar"),
        ("Leopard print pillbox hat", "hat"),
        ("Willow pattern coffee pot", "coffee-pot"),
        ("Lapel pin fob watch", "pocket-watch"),
        ("Brooch flower basket", "brooch"),
        ("Ring flask, stoneware", "flask"),
        ("Mirror-fronted wardrobe", "wardrobe"),
        ("Stencil-decorated chair", "chair"),
        ("Cameo-mounted box", "box"),
        ("Mirror painted with flowers", "mirror"),
        ("Banister-back side chair", "side-chair"),
        ("Silver buckle mounted as a brooch", None),
        ("Vase mounted as a lamp", "vase"),
        ("Cameo mounted as a pendant", "cameo"),
        # what was drawn, whatever it shows
        ("The Virgin and Child, red chalk", "drawing"),
        ("A vase of flowers, black chalk", "drawing"),
        ("Box, pen and ink decoration", "box"),
        ("Pen, ink and wash, study of a tree", "drawing"),
        ("Pen, gold nib", "fountain-pen"),
        ("Virgin and Child, engraving", "engraving"),
        ("Vase, glass, engraving of a ship", "vase"),
        # cloths by their stuff
        ("Woven silk, 1735", "fabric"),
        ("Damask, linen", None),
        ("Robe, brocaded silk", "robe"),
        # a shape, and what it is for
        ("A pair of cauldron salts", "salt-cellar"),
        ("A drum mustard, with blue glass liner", "mustard-pot"),
        ("A silver baluster pepper", "pepper-pot"),
        ("A salt bucket", "bucket"),
        ("A bell, salt glazed", "bell"),
        # whom a model shows
        ("An ivory model of Shoulao", "figurine"),
        ("A pair of jade models of elephants", "figurine"),
        ("Ivory model of a junk", "scale-model"),
        # what is in it, or it
        ("Cigar box of coins", None),
        ("Two boxes of decorative china", None),
        ("A silver box of walnut form", "box"),
        # never of such a stuff
        ("Crystal piano", None),
        ("Porcelain doll", "doll"),
        # words that only another word tells
        ("Crown, Victoria, 1889", "coin"),
        ("Bridal crown, silver", "tiara"),
        ("Crown, 1847", None),
        ("Fragment, silk, Byzantine", "fragment"),
        ("Marble fragment of a foot, Roman", "antiquity"),
        # a plain word before a word of form, and a lone word that is spelt otherwise
        ("Casaque, gilt", None),
        ("Gold ring", "ring"),
        ("Yaglik, linen, Ottoman", "towel"),
        ("A portrait of a prince, gouache on ivory", "portrait-miniature"),
        # makers of another thing out of the name before them
        ("Bottle washer, iron", None),
        ("Violin mute, ebony", None),
    ],
)
def test_which_piece(text: str, category: str | None) -> None:
    assert accepted(text, "category") == category


def test_names_that_hold_a_stuff_are_names_of_things() -> None:
    """A phrase of the role that no category carries would hide the thing in it."""
    lexicon = lexicon_for(None)
    named = lexicon.concept_of["category"]
    held = [p for p, roles in load_modifiers().phrases.items() if "holds" in roles]
    numbers = {p: lexicon.phrase_numbers.get(tuple(p.split()), -1) for p in held}
    assert held
    assert [p for p, number in numbers.items() if number < 0 or named[number] < 0] == []
