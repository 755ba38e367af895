"""The files of language data: one format, no key that the reader doesn't know, no word of two meanings in one table."""

import tomllib
from importlib import resources

import pytest

from pairing.model import Kind
from pairing.plan.language import languages, lexicon_of, spelled

FILES = {
    file.name: tomllib.loads(file.read_text(encoding="utf-8"))
    for file in resources.files("pairing.plan").joinpath("languages").iterdir()
    if file.name.endswith(".toml")
}


def keys(data: dict[str, dict[str, object]]) -> set[str]:
    return {
        f"{table}.{key}" for table, row in data.items() if table not in ("language", "shared", "numbers") for key in row
    }


@pytest.mark.parametrize("name", FILES)
def test_every_language_says_things_that_english_says_too(name: str) -> None:
    assert keys(FILES[name]) <= keys(FILES["en.toml"])


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize("table", ["units", "sides", "kinds"])
def test_no_word_has_two_meanings_in_one_table(name: str, table: str) -> None:
    rows = FILES[name].get(table, {})
    typed = [(spelled(word), key) for key, words in rows.items() for word in words if key not in ("parts", "direction")]
    owners = {phrase: {key for other, key in typed if other == phrase} for phrase, _ in typed}
    assert {phrase: found for phrase, found in owners.items() if len(found) > 1} == {}


def test_every_kind_of_section_has_words() -> None:
    assert set(FILES["en.toml"]["kinds"]) == {kind.value for kind in Kind}


def test_english_is_always_known_and_comes_first() -> None:
    assert languages()[0].code == "en"
    assert lexicon_of(["nothing"]).has(spelled("E/S"), "sides.each")
