"""A language file -> `Language`: the same keys as English has, each sentence with the same {placeholders}.

Those that travel with the program lie in `assistant/files/languages`, where `es.yaml` shows every key; a shop may have its own.
"""

from __future__ import annotations

from pathlib import Path

from assistant.core.problems import CallProblem
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import DETAIL, Language, PlaceWords, UnitWords, placeholders
from assistant.core.units import KINDS
from assistant.files.language_numbers import numbers_of
from assistant.files.yaml_fields import Fields
from assistant.files.yaml_source import Complaints, Table, did_you_mean, parse_yaml, read_text

FOLDER = Path(__file__).with_name("languages")
KEYS = (
    "code", "voice", "decimal_sign", "phrases", "numbers", "units", "said_units", "bare_gallon", "degrees", "one_of",
    "inch_parts", "commands", "everyday", "all", "sides", "part_number", "of", "months", "ordinals", "sign_words", "signs",
    "places", "names",
)  # fmt: skip
PLACE_KEYS = ("on_number", "on_word", "number", "is")
GALLONS = ("us_gal", "imp_gal")


def shipped_languages() -> tuple[str, ...]:
    """The codes of the languages that travel with the program."""
    return (ENGLISH.code, *sorted(path.stem for path in FOLDER.glob("*.yaml")))


def find_language(name: str, beside: Path) -> Language:
    """The language of that code, or in that file, which is looked for in the folder `beside`.

    Raises CallProblem where there is none, FileProblems with all that is wrong with its file.
    """
    if name == ENGLISH.code:
        return ENGLISH
    if name in shipped_languages():
        return load_language(FOLDER / f"{name}.yaml")
    if (beside / name).is_file():
        return load_language(beside / name)
    raise CallProblem(
        f"there is no language '{name}', neither with the program nor as a file in {beside}",
        do=f"write one of {', '.join(shipped_languages())}, or the name of a language file",
    )


def load_language(path: Path) -> Language:
    """The language in a file. Raises CallProblem (no such file) or FileProblems (all that is wrong with it)."""
    complaints = Complaints(str(path))
    table = parse_yaml(read_text(path), complaints)
    return complaints.checked(language_of(table, complaints) if table else None)


def language_of(table: Table, complaints: Complaints) -> Language:
    """The language in a table that was read; what is wrong with it goes to `complaints`."""
    fields = Fields(table, "a language", KEYS, complaints)
    return Language(
        code=fields.text("code"),
        voice=fields.text("voice"),
        phrases=_phrases(fields),
        numbers=numbers_of(fields.under("numbers")),
        units=_units(fields),
        unit_words=_unit_words(fields),
        commands=_commands(fields),
        everyday=_said(fields, "everyday"),
        sides={words: side for side, words in _all_of(fields, "sides", tuple(ENGLISH.sides)).items()},
        all_=fields.text("all").lower(),
        part_number=fields.text("part_number").lower(),
        of=fields.text("of", "").lower(),
        months=so_many(fields, "months", len(ENGLISH.months)),
        ordinals=so_many(fields, "ordinals", len(ENGLISH.ordinals)),
        sign_words=_all_of(fields, "sign_words", tuple(ENGLISH.sign_words)),
        signs=_signs(fields),
        places=_places(fields.under("places", PLACE_KEYS)),
        names={**ENGLISH.names, **_names(fields)},
        point=fields.text("decimal_sign"),
    )


def so_many(fields: Fields, key: str, count: int) -> tuple[str, ...]:
    """A list of just so many texts."""
    found = tuple(text.value for text in fields.texts(key))
    if len(found) != count:
        fields.complain(key, f"'{key}' holds {len(found)} texts, {count} are wanted", f"write {count}, in their order")
    return found


def _said(fields: Fields, key: str) -> tuple[str, ...]:
    """What may be said, one text or several; none where the key is not given."""
    return tuple(text.value.lower() for text in fields.texts(key))


def _phrases(fields: Fields) -> dict[str, str]:
    inner = fields.under("phrases", tuple(ENGLISH.phrases))
    found = {}
    for key, english in ENGLISH.phrases.items():
        if not inner.has(key):
            inner.complaints.add(fields.place("phrases"), f"'phrases' needs '{key}'", f'translate "{english}"')
            continue
        found[key] = inner.text(key)
        _check_placeholders(inner, key, found[key], placeholders(english))
    return found


def _check_placeholders(fields: Fields, key: str, sentence: str, wanted: frozenset[str]) -> None:
    """The same as in English, save what comes in English itself."""
    try:
        there = placeholders(sentence)
    except ValueError as error:
        fields.complain(key, f"'{key}': {error}", "write {name} with one bracket on each side")
        return
    for name in sorted(there - wanted):
        fields.complain(key, f"'{key}' has no {{{name}}}", did_you_mean(name, sorted(wanted)))
    for name in sorted(wanted - there - {DETAIL}):
        fields.complain(key, f"'{key}' lacks {{{name}}}", f'put it in: in English it is "{ENGLISH.phrases[key]}"')


def _all_of(fields: Fields, key: str, wanted: tuple[str, ...]) -> dict[str, str]:
    """A table that has just these keys."""
    inner = fields.under(key, wanted)
    return {name: inner.text(name) for name in wanted}


def _units(fields: Fields) -> dict[str, tuple[str, str]]:
    """Unit -> one and many; a single text is both. What English leaves unsaid is unsaid."""
    spoken = tuple(unit for unit, (_, many) in ENGLISH.units.items() if many)
    inner = fields.under("units", spoken)
    found = dict.fromkeys(ENGLISH.units, ("", ""))
    for unit in spoken:
        texts = tuple(text.value for text in inner.texts(unit))
        if not texts or len(texts) > 2:
            inner.complain(unit, f"how is the unit '{unit}' said", f"write '{unit}: [one, many]', or one text for both")
            continue
        found[unit] = (texts[0], texts[-1])
    return found


def _unit_words(fields: Fields) -> UnitWords:
    heard = fields.under("said_units", tuple(KINDS))
    for unit, english in ENGLISH.unit_words.phrases.items():
        if english and not heard.has(unit):
            what = f"'said_units' needs the unit '{unit}'"
            heard.complaints.add(fields.place("said_units"), what, f"write what may be said for {english[0]}")
    bare = fields.under("bare_gallon", GALLONS)
    parts = fields.under("inch_parts")
    return UnitWords(
        phrases={unit: _said(heard, unit) for unit in heard.names},
        bare={site: _measures(bare, site) for site in bare.names},
        degrees=_said(fields, "degrees"),
        of_one=frozenset(_said(fields, "one_of")),
        inch_parts={word.replace("_", " "): parts.whole(word, None, 2, 64) for word in parts.names},
    )


def _measures(bare: Fields, site: str) -> dict[str, tuple[str, ...]]:
    measures = bare.under(site, tuple(KINDS))
    return {unit: _said(measures, unit) for unit in measures.names}


def _commands(fields: Fields) -> dict[str, tuple[str, ...]]:
    inner = fields.under("commands", tuple(ENGLISH.commands))
    found = {name: _said(inner, name) for name in ENGLISH.commands}
    taken: dict[str, str] = {}
    for name, phrases in found.items():
        if not phrases:
            what = f"'commands' needs '{name}'"
            inner.complaints.add(fields.place("commands"), what, f"write '{name}: ...', what is said for it")
        for phrase in phrases:
            if phrase in taken:
                inner.complain(name, f"'{phrase}' is said for '{taken[phrase]}' already", "take another word for one")
            taken[phrase] = name
    return found


def _signs(fields: Fields) -> dict[str, str]:
    """Spoken word -> sign."""
    inner = _all_of(fields, "signs", tuple(ENGLISH.signs.values()))
    return {words.lower(): sign for sign, words in inner.items()}


def _places(fields: Fields) -> PlaceWords:
    return PlaceWords(
        on_number=_said(fields, "on_number"),
        on_word=_said(fields, "on_word"),
        number=fields.text("number", "").lower(),
        is_=fields.text("is", "").lower(),
    )


def _names(fields: Fields) -> dict[str, str]:
    """What the program calls things, all of it, and names of the files as far as they are given."""
    node = fields.table.entries.get("names")
    free = tuple(node.entries) if isinstance(node, Table) else ()
    inner = fields.under("names", (*ENGLISH.names, *free))
    return {name: inner.text(name) for name in dict.fromkeys((*ENGLISH.names, *free))}
