"""A language → its phrase file as written, and what is said in it: English where it lacks a phrase."""

import tomllib
from collections.abc import Mapping
from functools import lru_cache
from importlib import resources
from typing import Any

TAKEN_WHOLE = frozenset({"head", "other"})
"""By these keys a message and the forms of a number are known, which make no sense in two languages; nor does a clock."""


def languages() -> tuple[str, ...]:
    """Which phrase files there are."""
    folder = resources.files("gateway.phrases")
    return tuple(sorted(item.name.removesuffix(".toml") for item in folder.iterdir() if item.name.endswith(".toml")))


@lru_cache(maxsize=8)
def read_phrases(language: str) -> Mapping[str, Any]:
    """A phrase file as it is written."""
    return tomllib.loads(resources.files("gateway.phrases").joinpath(f"{language}.toml").read_text("utf-8"))


@lru_cache(maxsize=8)
def merged_phrases(language: str) -> Mapping[str, Any]:
    """A language's phrases; English where it lacks one."""
    return merge(read_phrases("en"), read_phrases(language))


def merge(below: Mapping[str, Any], above: Mapping[str, Any]) -> dict[str, Any]:
    """One upon the other; a message, the forms of a number and what a voice says of a time are taken as a whole."""
    merged = dict(below)
    for key, value in above.items():
        whole = key == "clock" or not isinstance(value, dict) or TAKEN_WHOLE & set(value)
        deeper = not whole and isinstance(merged.get(key), dict)
        merged[key] = merge(merged[key], value) if deeper else value
    return merged
