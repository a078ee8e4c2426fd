"""The TOML file → checked Settings, or every mistake in it at once.

Raises: ConfigurationWrong with all problems, each with its line. Warnings come beside the settings. `extra_checks` are
judgements that need a room above this one (rules, phrases): they are handed the settings and a `Locate`.
"""

import stat
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from gateway.errors import ConfigurationWrong, Problem
from gateway.phone_numbers import e164, is_emergency
from gateway.settings.crosschecks import crosscheck
from gateway.settings.models import Ask, Settings
from gateway.settings.positions import positions
from gateway.settings.problems import Locate, of_pydantic
from gateway.settings.repair import STAND_IN, repaired
from gateway.settings.syntax import Slip, parse
from gateway.settings.undecided import undecided

ExtraCheck = Callable[[Settings, Locate], Iterable[Problem]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """Settings that hold, and what is odd about them."""

    settings: Settings
    warnings: tuple[Problem, ...]


def load(file: str, extra_checks: Iterable[ExtraCheck] = ()) -> Loaded:
    """Reads and checks the file."""
    try:
        raw = Path(file).read_bytes()
        text = raw.decode("utf-8-sig")
    except OSError as wrong:
        raise _refused(file, 0, f"cannot be read: {wrong.strerror}", "give its place with --config FILE") from None
    except UnicodeDecodeError as wrong:
        line = raw.count(b"\n", 0, wrong.start) + 1
        raise _refused(file, line, f"is no UTF-8 text (byte {wrong.start})", "save it as UTF-8") from None
    loaded = load_text(text, file, extra_checks)
    return Loaded(settings=_with_asks(loaded.settings, Locate(file, positions(text))), warnings=loaded.warnings)


def _with_asks(settings: Settings, locate: Locate) -> Settings:
    """A controller's asking text may stand in a file of its own, since it can hold the box's password. Raises ConfigurationWrong."""
    problems: list[Problem] = []
    controllers = []
    for index, one in enumerate(settings.controllers):
        if one.ask.text_file:
            text, wrong = _asking_text(one.ask)
            if wrong:
                here = ("controllers", index, "ask", "text_file")
                right = "a text file that the gateway can read, with the text and nothing else"
                problems.append(locate.problem(here, found=one.ask.text_file, wrong=wrong, right=right))
            one = one.model_copy(update={"ask": one.ask.model_copy(update={"text": text})})
        controllers.append(one)
    if problems:
        raise ConfigurationWrong(tuple(problems))
    return settings.model_copy(update={"controllers": tuple(controllers)})


def _asking_text(ask: Ask) -> tuple[str, str]:
    """(what stands in the file, or what is wrong with it)."""
    if ask.text:
        return "", "there are both text and text_file"
    try:
        text = Path(ask.text_file).read_text("utf-8").strip()
    except (OSError, UnicodeDecodeError) as wrong:
        return "", f"cannot be read: {wrong}"
    return text, "" if text else "is empty"


def load_text(text: str, file: str, extra_checks: Iterable[ExtraCheck] = ()) -> Loaded:
    """Checks the text of a file."""
    parsed = parse(text)
    locate = Locate(file, positions(parsed.text) if parsed.data is not None else positions(""))
    problems = [_of_slip(slip, file) for slip in parsed.slips]
    if parsed.data is None:
        raise ConfigurationWrong(_sorted(problems))
    prepared = _numbers(parsed.data, locate, problems)
    warnings = undecided(parsed.text, locate)
    try:
        settings = Settings.model_validate(prepared)
    except ValidationError as wrong:
        found = [one for one in of_pydantic(wrong, locate, prepared) if not _was_lost(one, parsed.lost)]
        problems.extend(found)
        rest = _of_the_rest(prepared, locate, problems, extra_checks)
        raise _refusal([*problems, *(one for one in rest if not _was_lost(one, parsed.lost)), *warnings]) from None
    problems.extend([*warnings, *crosscheck(settings, locate)])
    for check in extra_checks:
        problems.extend(check(settings, locate))
    if any(not one.warning for one in problems):
        raise _refusal(one for one in problems if not _was_lost(one, parsed.lost))
    return Loaded(settings=settings, warnings=_sorted(problems))


def _of_slip(slip: Slip, file: str) -> Problem:
    return Problem(file=file, line=slip.line, key="", found=slip.found, wrong=slip.wrong, right=slip.right)


def _was_lost(problem: Problem, lost: frozenset[str]) -> bool:
    """Whether a key seems to be missing, or needs a note, only because its line could not be read."""
    return (problem.warning or problem.found == "nothing") and problem.key.rsplit(".", 1)[-1] in lost


def _refusal(found: Iterable[Problem]) -> ConfigurationWrong:
    """Without what only follows from a mistake that is told: a number cannot be read without its country, and needs no note."""
    problems = list(found)
    mistaken = {one.key for one in problems if not one.warning}
    if "site.country" in mistaken:
        problems = [one for one in problems if not one.key.endswith(".number")]
    problems = [one for one in problems if not (one.warning and one.key in mistaken)]
    return ConfigurationWrong(
        _sorted(one for one in problems if not one.warning), _sorted(one for one in problems if one.warning)
    )


def _of_the_rest(
    data: Mapping[str, Any], locate: Locate, known: list[Problem], extra_checks: Iterable[ExtraCheck]
) -> list[Problem]:
    """What is wrong between tables, told in the same go, without repeating what is known or was stood in for."""
    settings = repaired(data)
    if settings is None:
        return []
    found = list(crosscheck(settings, locate))
    for check in extra_checks:
        found.extend(check(settings, locate))
    told = {one.key for one in known}
    return [one for one in found if one.key not in told and STAND_IN not in f"{one.found}{one.wrong}"]


def mode_problem(file: str) -> Problem | None:
    """A configuration that anybody on the machine can read or write."""
    try:
        mode = Path(file).stat().st_mode
    except OSError:
        return None
    if not mode & (stat.S_IROTH | stat.S_IWOTH):
        return None
    return Problem(
        file=file,
        line=0,
        key="",
        found=stat.filemode(mode),
        wrong="every user of this machine can read it, and it holds phone numbers",
        right=f"chmod 640 {file}",
        warning=True,
    )


def _numbers(data: Mapping[str, Any], locate: Locate, problems: list[Problem]) -> dict[str, Any]:
    """Phone numbers as E.164; a lone number of a controller as a list."""
    country = str(data["site"].get("country", "")) if isinstance(data.get("site"), dict) else ""
    prepared = dict(data)
    for table in ("controllers", "contacts"):
        rows = data.get(table)
        if not isinstance(rows, list):
            continue
        done = []
        for index, row in enumerate(rows):
            if isinstance(row, dict) and "number" in row:
                row = {**row, "number": _row_number(table, index, row["number"], country, locate, problems)}
            done.append(row)
        prepared[table] = done
    return prepared


def _row_number(table: str, index: int, raw: Any, country: str, locate: Locate, problems: list[Problem]) -> Any:
    several = table == "controllers"
    listed = raw if several and isinstance(raw, list) else [raw]
    if not all(isinstance(one, str) for one in listed):
        return raw
    numbers = []
    for one in listed:
        number = e164(one, country)
        if number is None and (not several or not one.strip() or _looks_like_a_number(one)):
            emergency = is_emergency(one.strip(), country)
            wrong = f"{one!r} cannot be a phone number of {country or 'this country'}"
            problems.append(
                locate.problem(
                    (table, index, "number"),
                    found=repr(one),
                    wrong=f"{one!r} calls an emergency service: no machine may text it" if emergency else wrong,
                    right="write it nationally, or as + country code and number",
                )
            )
        numbers.append(number or one.strip())
    return tuple(numbers) if several else numbers[0]


def _looks_like_a_number(said: str) -> bool:
    digits = sum(char.isdigit() for char in said)
    return (
        digits > 6
        or (said.strip().startswith("+") and digits > 0)
        or (digits > 0 and set(said) <= set("0123456789 +-()/."))
    )


def _refused(file: str, line: int, wrong: str, right: str) -> ConfigurationWrong:
    return ConfigurationWrong((Problem(file=file, line=line, key="", found="", wrong=wrong, right=right),))


def _sorted(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """What is no TOML first, then by line."""
    return tuple(sorted(problems, key=lambda one: (bool(one.key), one.line, one.key)))
