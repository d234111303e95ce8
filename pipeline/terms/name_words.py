"""Names of people and places that the rules look for; the lexicon gives each a number."""

from pipeline.terms.wordforms import plural_forms

_GIVEN_NAMES = """
    abraham adam adolf agnes alan albert alec alexander alexandre alf alfred ann algernon alice
    alistair allan amelia amos anders andre andrea andrew anna anne annie anthony antoine
    antonia antonio archibald arnold arthur august augustus barbara barnabas bartholomew
    beatrice benj benjamin benjn bernard bernhard bertha bertram bessie betsy brian bridget
    bruno capt carl carlo caroline catherine cecil cecilia charles chas christian christina
    christopher clara clarence claude clement colin conrad cornelia cornelius cuthbert cyril
    daniel danl david deborah dennis derek diana dominic donald dora doris dorothy douglas dr
    duncan ebenezer edgar edith edmond edmund edna edward edwd edwin eileen eleanor elias elijah
    elisabeth eliza elizabeth ellen elsie emile emily emma enid enoch eric erik ernest ernst
    esther ethan ethel etienne eugene eva evelyn ezra fanny felix ferdinand fergus francis
    francois frank franz fred frederick fredk friedrich fritz gabriel gareth gaston geo geoff
    geoffrey georg george gerald gerard gertrude gideon gilbert giles giovanni giuseppe gladys
    godfrey gordon gottfried graham greta gustav guy gwen hannah hans harold harriet harry
    heinrich helen helena henri henrietta henry herbert hermann hester hilda hiram horace
    horatio hubert hugh hugo humphrey ian ida ignaz inez irene isaac isabel isabella isaiah ivan
    ivor jacob jacques james jane janet jas jean jenny jeremiah jeremy jessie joan joanna joe
    joel johann johannes john jonathan jos josef joseph joshua josiah juan judith jules julia
    julius karen karl keith kenneth kurt lars laura laurence lawrence leo leon leonard leonora
    leopold letitia lewis lionel lizzie lorenz lorenzo louis louisa louise lucas lucy ludwig
    luigi lydia mabel magnus malcolm marcel marcus margaret maria marie marion martha martin
    mary mathias matilda matthew maud maurice mavis max messrs michael miles miriam mollie molly
    moses mr mrs muriel nancy nathaniel ned neil nellie nicholas nigel nora norma norman obadiah
    olga oliver oscar otis otto owen pablo patrick paul pauline pedro peggy percy peter phebe
    philip phoebe pierre priscilla prudence rachel ralf ralph raymond rebecca reginald reuben
    rev revd rhoda richard richd robert robt roger roland rosalind rosamund roy rudolf rufus
    rupert ruth saml samuel sarah seth sidney sigmund silas simon solomon sophia sophie stanley
    stefan stella stephen susan susanna susannah sydney sylvia tabitha theodore theophilus
    thomas thos timothy tobias tom ursula vera vernon victor viktor vincent vivian walter warren
    wilfred wilhelm wilhelmina william wilma winifred winston wm yvonne zachariah
"""
# names of things or of stuffs that are surnames too
_WORDS_THAT_ARE_SURNAMES = """
    ball bath beech bell birch bolt buffet bush cane chambers chest clay coffin cork crane dent
    dresser drum flint frost hammer holly hook horn lamb lock mallet moss mould nail plum pond post
    reed rush shields slate spade stein stone straw swan thorn tray vane vice wax whip wood
"""
# ... and stuffs that are named behind many a word: a surname only where the name ends with them
_STUFFS_THAT_ARE_SURNAMES = (
    "brass china copper cotton diamond glass gold ivory marble pearl rose silver steel"
)
FIRMS = frozenset(["son", "sons", "bros", "brothers", "co", "company", "ltd", "cie", "partners"])
GIVEN = frozenset(_GIVEN_NAMES.split())
SURNAMES = frozenset(_WORDS_THAT_ARE_SURNAMES.split())
STUFFS = frozenset(_STUFFS_THAT_ARE_SURNAMES.split())

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
# the Edo of Benin, whose name is a period of Japan too; and what stands behind a people's name
IN_BENIN = frozenset(["benin", "nigeria", "nigerian", "oba"])
OF_A_PEOPLE = frozenset(
    ["people", "peoples", "artist", "artists", "culture", "kingdom", "court", "chief"]
)
TIMES = frozenset(["early", "mid", "late", "circa", "c", "ca", "qing", "ming", "republic"])

# whence a thing comes
_NATIONS = """
    african american anglo arab arabic argentine asian australian austrian baltic bavarian belgian
    bengali berber bohemian bosnian brazilian breton british bulgarian burmese cambodian canadian
    caucasian ceylonese chilean chinese colonial continental coptic cornish croatian cuban cypriot
    czech danish dutch egyptian english estonian ethiopian european finnish flemish florentine
    french georgian german ghanaian greek hungarian icelandic indian indonesian iranian iraqi irish
    islamic israeli italian japanese javanese jewish kenyan khmer korean latvian lebanese
    lithuanian maltese manx maori mexican milanese moldavian mongolian moorish moroccan mughal
    neapolitan nepalese nigerian norman norwegian ottoman parisian persian peruvian polish
    polynesian portuguese prussian roman romanian russian sardinian saxon scandinavian scots
    scottish serbian siamese sicilian slovak spanish sudanese swedish swiss syrian thai tibetan
    tunisian turkish tyrolean ukrainian venetian viennese vietnamese welsh
"""
NATIONS = frozenset(_NATIONS.split())
# what a figure shows: beasts and people
_CREATURES = """
lion lioness tiger leopard panther bear wolf fox dog hound greyhound spaniel terrier pug poodle cat
kitten horse stallion mare foal donkey mule camel elephant rhinoceros hippopotamus giraffe monkey
ape bull ox cow calf buffalo ram ewe sheep lamb goat pig boar sow deer stag hind hare rabbit
squirrel mouse rat bird eagle hawk falcon owl cockerel cock hen duck goose swan heron crane stork
pheasant partridge parrot peacock dove raven fish carp crab lobster frog toad tortoise turtle snake
serpent lizard crocodile dragon phoenix griffin unicorn sphinx insect beetle grasshopper butterfly
ibis baboon centaur harpy
"""
_PEOPLE = """
man woman boy girl child children youth lady gentleman nude bather dancer mother putto putti cherub
angel saint virgin christ madonna warrior soldier knight king queen emperor empress prince goddess
god nymph satyr faun bacchante muse venus diana apollo hercules mercury cupid eros minerva
shepherd shepherdess fisherman hunter huntsman musician monk nun priest philosopher poet athlete
wrestler discobolus gladiator peasant farmer sailor worker gardener flautist drummer rider horseman
attendant courtier courtesan official guardian immortal luohan lohan figure
mourner scribe bacchus neptune jupiter athena aphrodite poseidon hermes dionysus silenus medusa
pieta crucifixion annunciation lamentation prophet apostle evangelist
"""
_POSES = """
standing seated kneeling reclining crouching rearing striding dancing enthroned recumbent prancing
sleeping walking running leaping coiled mounted
"""
CREATURES = frozenset(_CREATURES.split())
MANY_CREATURES = frozenset(form for one in CREATURES for form in plural_forms(one))
PEOPLE = frozenset(_PEOPLE.split())
POSES = frozenset(_POSES.split())

NAME_WORDS = GIVEN.union(
    SURNAMES, STUFFS, FIRMS, IN_AMERICA, IN_SPANISH_AMERICA, IN_BENIN, OF_A_PEOPLE, NATIONS, TIMES,
    CREATURES, MANY_CREATURES, PEOPLE, POSES, *SHOWN.values()
)  # fmt: skip
