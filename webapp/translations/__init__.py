"""One key catalogue for templates, scripts and speech: key and values in, text out."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

LANGUAGES = ("en", "de", "fr")  # all but English hold what clients read and hear; the rest is English
PSEUDO = "qps"  # the tests' language: every text that went through the catalogue is marked
_ACCENTS = str.maketrans("aeiouAEIOU", "àéîöûÀÉÎÖÛ")

Translate = Callable[..., str]


def _flatten(table: Mapping[str, Any], prefix: str = "") -> dict[str, str]:
    flat: dict[str, str] = {}
    for key, value in table.items():
        if isinstance(value, Mapping):
            flat.update(_flatten(value, f"{prefix}{key}."))
        else:
            flat[prefix + key] = str(value)
    return flat


def read_texts(content: str) -> dict[str, str]:
    """Reads the content of one area file: key → text."""
    return _flatten(tomllib.loads(content))


@cache
def catalogue(language: str) -> Mapping[str, str]:
    """Gives every text in a language, in English where it has none of its own."""
    if language == PSEUDO:
        return {key: pseudo(text) for key, text in catalogue("en").items()}
    own = own_texts(language)
    return own if language == "en" else {**catalogue("en"), **own}


@cache
def own_texts(language: str) -> Mapping[str, str]:
    """Reads every area file of a language; a key that two files define is an error."""
    found: dict[str, str] = {}
    folder = files("webapp.translations") / language
    for file in sorted(folder.iterdir(), key=lambda f: f.name):
        if file.name.endswith(".toml"):
            texts = read_texts(file.read_text(encoding="utf-8"))
            if twice := found.keys() & texts.keys():
                raise ValueError(f"{file.name}: also defined elsewhere: {', '.join(sorted(twice))}")
            found.update(texts)
    return found


def pseudo(text: str) -> str:
    """Marks a text as translated and keeps its placeholders."""
    parts = text.split("{")
    marked = [parts[0].translate(_ACCENTS)]
    for part in parts[1:]:
        name, _, rest = part.partition("}")
        marked.append("{" + name + "}" + rest.translate(_ACCENTS))
    return "⟦" + "".join(marked) + "⟧"


@lru_cache(maxsize=16)
def translator(language: str) -> Translate:
    """Gives t(key, **values) of a language; a number `n` picks `key.one` or `key.other` where they exist."""
    texts = catalogue(language if language == PSEUDO or language in LANGUAGES else "en")

    def t(key: str, **values: object) -> str:
        if "n" in values and f"{key}.other" in texts:
            key = f"{key}.one" if values["n"] in (1, "1") and f"{key}.one" in texts else f"{key}.other"
        return texts[key].format_map(values) if values else texts[key]

    return t
