"""Short forms after which a full stop ends no sentence: "vict. mahog. chest, attrib. to".

Common practice of catalogues and sellers, no source; a single letter is always short for
something and needs no place here.
"""

from __future__ import annotations

SHORT_FORMS = frozenset(
    ["abt", "adj", "al", "alt", "alum", "am", "amer", "anf", "anon", "ant", "antq", "app", "appr",
     "approx", "apx", "arch", "assr", "asst", "att", "attr", "attrib", "aug", "av", "ave", "bap",
     "bd", "bef", "bev", "bib", "bibl", "bro", "bros", "bx", "ca", "cab", "cap", "capt", "cat",
     "cca", "ccl", "cent", "chas", "chi", "chip", "chpt", "cir", "circ", "cm", "co", "col", "coll",
     "comp", "cond", "cont", "cop", "corp", "ctr", "cu", "cyl", "dec", "deg", "dep", "des", "dia",
     "diam", "dim", "dims", "dir", "disc", "dist", "doz", "dr", "ea", "eb", "ecc", "ed", "edit",
     "eds", "edw", "edwd", "el", "elec", "eliz", "em", "emb", "enam", "encl", "ende", "eng",
     "engd", "engl", "engr", "ep", "esp", "esq", "est", "et", "etc", "ex", "exc", "excl", "exhib",
     "ext", "fab", "fam", "feb", "fed", "fig", "figs", "fin", "fl", "flor", "fr", "franc", "fri",
     "frt", "ft", "furn", "gal", "galv", "gen", "geo", "georg", "ger", "germ", "govt", "gt", "gu",
     "gul", "hd", "hep", "hepp", "hgt", "hon", "horiz", "hosp", "ht", "ill", "illus", "illust",
     "imit", "imp", "in", "inc", "inch", "incl", "ins", "inscr", "int", "inv", "ir", "iss", "it",
     "ital", "jac", "jan", "jap", "jas", "jh", "jhd", "jhdt", "jos", "jr", "jub", "jul", "jun",
     "kat", "ld", "lge", "lib", "lic", "lim", "lit", "lith", "liv", "loc", "lou", "lt", "ltd",
     "mach", "mah", "mahog", "maj", "manf", "manuf", "mar", "mat", "max", "med", "mfd", "mfg",
     "mfr", "mid", "min", "mini", "misc", "mkd", "mkr", "mod", "mon", "mono", "mt", "mtd", "mus",
     "nat", "neg", "nic", "no", "nos", "nov", "nr", "num", "obl", "oct", "op", "oper", "orig",
     "oz", "pa", "pat", "patd", "ped", "phil", "pl", "pls", "pol", "por", "port", "pos", "poss",
     "pp", "pr", "pres", "prob", "prof", "prov", "prs", "pt", "pub", "publ", "qt", "qty", "qu",
     "rd", "rec", "reg", "regd", "regy", "rep", "repl", "res", "restd", "ret", "rev",
     "ro", "sat", "sc", "sch", "sculp", "sculpt", "sec", "sep", "sept", "ser", "sg", "sh", "sher",
     "sig", "sil", "silv", "sim", "sl", "sm", "sml", "soc", "sp", "spec", "sq", "sr", "st", "std",
     "ster", "sterl", "sth", "str", "sup", "surg", "tel", "temp", "tfl", "thos", "thu", "thur",
     "tues", "typ", "um", "un", "univ", "unm", "upr", "var", "vel", "ven", "ver", "vert", "vgc",
     "vic", "vict", "vol", "vols", "vs", "wal", "wed", "wh", "wil", "wm", "wms", "wn", "wt", "yr",
     "yrs", "zeb", "benj", "danl", "esqr", "fredk", "jno", "lieut", "messrs",
     "revd", "richd", "robt", "saml", "sergt"]
)  # fmt: skip
