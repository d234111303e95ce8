"""A lexicon in a file, so that a command need not build it again.

The file holds numbers and texts only: an Arrow stream with one row an array, before it the digest
of the stream. Nothing of it is looked at before the digest holds, and its name is made of the
vocabulary, of the modifiers and of the code that builds, so a file is either right or not used.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from pipeline.settings import TermSettings
from pipeline.terms.fault_parts import FAULT_PARTS_FILE
from pipeline.terms.fields import FieldReader
from pipeline.terms.kept_file import code_digest, read_sound, sweep, write_whole
from pipeline.terms.lexicon import Lexicon, build_lexicon, held_lexicon, hold
from pipeline.terms.modifiers import MODIFIERS_FILE, PLAIN_WORDS_FILE, load_modifiers
from pipeline.terms.phrase_tables import PhraseNumbers, Phrases, Readings
from pipeline.terms.titles import read_chunk
from pipeline.terms.vocabulary import Vocabulary

ENDING = ".lexicon"
_SCHEMA = pa.schema(
    [("name", pa.string()), ("dtype", pa.string()), ("data", pa.large_binary())]
)  # fmt: skip
_OF_READINGS = ("phrase", "concept", "score", "first", "others")
_OF_TRIE = ("root_child", "keys", "children", "node_phrase", "has_children")
_TEXT = "utf-8"
# Reading these asks for most of the tables that reading ever asks for; the others are made when
# they are asked for.
_SAMPLES = (
    "A Victorian oak chest of drawers, circa 1860, brass handles, later painted, some wear",
    "After the antique, a set of six silver plated spoons in the style of George III, cased",
    "Pair of faux bamboo chairs, one leg a.f., no key, not working, oak veneer, good condition",
    "bureau; clock in marble case inlaid with brass, possibly French, 18th century or later",
)

Arrays = dict[str, npt.NDArray[Any] | str]


def use_kept(vocabulary: Vocabulary, folder: Path) -> bool:
    """Have this process read with the lexicon kept in a folder; build and keep it if there is none.

    A file that is missing, of other words or code, or damaged is made anew; older ones are swept
    away. A folder that cannot be written to is no error: the lexicon is then built each time.

    Returns:
        whether nothing had to be built.
    """
    if held_lexicon(vocabulary) is not None:
        return True
    path = folder / (_name_for(vocabulary) + ENDING)
    found = _read(path, vocabulary)
    if found is not None:
        hold(found)
        return True
    lexicon = hold(build_lexicon(vocabulary, load_modifiers()))
    with contextlib.suppress(OSError):
        write_lexicon(lexicon, path)
        sweep(path)
    return False


def write_lexicon(lexicon: Lexicon, path: Path) -> None:
    """Write a lexicon with the tables that reading asks for, whole or not at all."""
    for kind in lexicon.concept_ids:
        FieldReader(lexicon, kind, TermSettings())
    read_chunk(lexicon, pa.array(_SAMPLES, pa.large_string()), TermSettings())
    _ = lexicon.speller
    arrays = _taken_apart(lexicon)
    table = pa.table(
        {
            "name": list(arrays),
            "dtype": ["" if isinstance(a, str) else a.dtype.str for a in arrays.values()],
            "data": [
                a.encode(_TEXT) if isinstance(a, str) else np.ascontiguousarray(a).tobytes()
                for a in arrays.values()
            ],
        },
        schema=_SCHEMA,
    )
    sink = pa.BufferOutputStream()
    with pa.ipc.new_stream(sink, table.schema) as stream:
        stream.write_table(table)
    write_whole(path, sink.getvalue())


def _read(path: Path, vocabulary: Vocabulary) -> Lexicon | None:
    """The lexicon of a file; None where there is no sound one."""
    body = read_sound(path)
    if body is None:
        return None
    with pa.ipc.open_stream(pa.py_buffer(body)) as stream:
        table = stream.read_all().combine_chunks()
    data = table.column("data").chunk(0)
    arrays: Arrays = {}
    for row, (name, dtype) in enumerate(
        zip(table.column("name").to_pylist(), table.column("dtype").to_pylist(), strict=True)
    ):
        buffer = data[row].as_buffer()
        arrays[name] = np.frombuffer(buffer, dtype=np.dtype(dtype)) if dtype else str(buffer, _TEXT)
    return _put_together(arrays, vocabulary)


def _taken_apart(lexicon: Lexicon) -> Arrays:
    arrays: Arrays = {
        "words": "\n".join(lexicon.words),
        "phrases": "\n".join(lexicon.phrases.texts),
        "aliases": json.dumps(lexicon.aliases, ensure_ascii=False),
        "roles": lexicon.roles,
    }
    for part in _OF_TRIE:
        arrays[part] = getattr(lexicon, part)
    for kind, readings in lexicon.readings.items():
        for part in _OF_READINGS:
            arrays[f"readings/{kind}/{part}"] = getattr(readings, part)
    for kind, phrases in lexicon.field_only.items():
        arrays[f"field only/{kind}"] = phrases
    for key, value in lexicon.text_tables().items():
        if isinstance(value, np.ndarray) and value.ndim == 1:
            arrays[f"table/{key}"] = value
        elif isinstance(value, dict):
            arrays[f"names/{key}"] = "\n".join(value)
            arrays[f"numbers/{key}"] = np.array(list(value.values()), dtype=np.int32)
    return arrays


def _put_together(arrays: Arrays, vocabulary: Vocabulary) -> Lexicon:
    def text(name: str) -> str:
        return str(arrays[name])

    def lines(name: str) -> list[str]:
        return text(name).split("\n") if arrays[name] else []

    def of(name: str) -> Any:
        return arrays[name]

    kinds = [name.split("/")[1] for name in arrays if name.endswith("/phrase")]
    words = lines("words")
    phrases = Phrases(lines("phrases"))

    def numbers_by_name(key: str) -> dict[str, int]:
        return dict(zip(lines(f"names/{key}"), of(f"numbers/{key}").tolist(), strict=True))

    kept: dict[object, Callable[[], Any]] = {}
    for name in arrays:
        form, _, key = name.partition("/")
        if form == "table":
            kept[key] = partial(of, name)
        elif form == "names":
            kept[key] = partial(numbers_by_name, key)
    return Lexicon(
        vocabulary=vocabulary,
        modifiers=load_modifiers(),
        concept_ids={kind: tuple(c.id for c in vocabulary.concepts(kind)) for kind in kinds},
        words=dict(zip(words, range(1, len(words) + 1), strict=True)),
        phrases=phrases,
        phrase_numbers=PhraseNumbers(phrases),
        readings={
            kind: Readings(*(of(f"readings/{kind}/{part}") for part in _OF_READINGS))
            for kind in kinds
        },
        roles=of("roles"),
        root_child=of("root_child"),
        keys=of("keys"),
        children=of("children"),
        node_phrase=of("node_phrase"),
        has_children=of("has_children"),
        field_only={kind: of(f"field only/{kind}") for kind in kinds},
        aliases=json.loads(text("aliases")),
        _kept=kept,
    )


def _name_for(vocabulary: Vocabulary) -> str:
    """Digest of all that a lexicon depends on; numbers of concepts hang on their order too."""
    digest = hashlib.sha256(code_digest())
    digest.update(vocabulary.fingerprint.encode())
    for kind in vocabulary.kinds:
        digest.update("\n".join([kind, *(c.id for c in vocabulary.concepts(kind))]).encode())
    for path in (MODIFIERS_FILE, PLAIN_WORDS_FILE, FAULT_PARTS_FILE):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:24]
