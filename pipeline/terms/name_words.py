"""Names of people and places that the rules look for; the lexicon gives each a number."""

_GIVEN_NAMES = """
    abraham adam adolf agnes albert alexander alfred alice andre andrea andrew anna anthony antoine
    antonio archibald arthur august augustus bartholomew benjamin bernard bertram bruno carl carlo
    caroline catherine cecil charles christian christopher clara clarence claude clement conrad
    daniel david dennis dominic dorothy duncan edgar edith edmund edward edwin eleanor eliza
    elizabeth ellen emile emily emma enoch eric ernest ethel eugene evelyn ezra felix ferdinand
    francis francois frank franz frederick friedrich fritz gabriel geoffrey georg george gerald
    gertrude gilbert giovanni giuseppe godfrey graham gustav guy hannah hans harold harriet harry
    helen henri henry herbert hermann horace hubert hugh hugo humphrey ian isaac jacob jacques james
    jane jean jeremiah johann john jonathan josef joseph joshua josiah jules julia julius karl
    kenneth laurence lawrence leonard leopold lewis lionel louisa lucas lucy ludwig marcel margaret
    maria marion martha martin mary matthew maurice max michael miles moses nathaniel nicholas
    norman oliver oscar otto patrick paul percy peter philip pierre ralph raymond reginald richard
    robert roger roland rudolf rupert samuel sarah sidney silas simon solomon stanley stephen susan
    sydney sylvia theodore theophilus thomas timothy victor vincent walter wilfred wilhelm william
    winifred zachariah
"""
# names of things or of stuffs that are surnames too
_WORDS_THAT_ARE_SURNAMES = """
    ball bath beech bell birch bolt buffet bush cane chambers chest clay coffin cork crane dent
    dresser drum flint frost hammer holly hook horn lamb lock mallet moss mould nail plum pond post
    reed rush shields slate spade steel stein stone straw swan thorn tray vane vice wax whip wood
"""
GIVEN = frozenset(_GIVEN_NAMES.split())
SURNAMES = frozenset(_WORDS_THAT_ARE_SURNAMES.split())

# whom a figure shows -> the kind of figure
_SHOWN = {
    "buddha": (
        "buddha shakyamuni sakyamuni amitayus amitabha amida vairocana bhaisajyaguru akshobhya "
        "ratnasambhava"
    ),
    "bodhisattva": (
        "bodhisattva guanyin kannon avalokiteshvara avalokitesvara lokeshvara manjusri manjushri "
        "maitreya miroku tara vajrapani padmapani samantabhadra jizo ksitigarbha"
    ),
    "religious-figure": (
        "ganesh ganesha krishna vishnu shiva siva durga parvati lakshmi hanuman saraswati "
        "nataraja hotei budai shoulao daruma jambhala mahakala virgin madonna christ saint "
        "st bishop apostle angel"
    ),
}
SHOWN = {kind: frozenset(names.split()) for kind, names in _SHOWN.items()}

# no town or county that Britain has too: Boston, Newport, Hampshire
IN_AMERICA = frozenset(
    ["massachusetts", "connecticut", "pennsylvania", "philadelphia", "rhode", "salem", "virginia",
     "maryland", "delaware", "carolina", "american", "america", "vermont", "maine", "albany",
     "charleston", "deerfield"]
)  # fmt: skip

IN_SPANISH_AMERICA = frozenset(
    ["peru", "mexico", "mexican", "bolivia", "guatemala", "colombia", "ecuador", "cuzco", "lima",
     "quito", "potosi", "puebla"]
)  # fmt: skip
TIMES = frozenset(["early", "mid", "late", "circa", "c", "ca", "qing", "ming", "republic"])

NAME_WORDS = GIVEN.union(SURNAMES, IN_AMERICA, IN_SPANISH_AMERICA, TIMES, *SHOWN.values())
