"""The TOML file → checked Settings, or every mistake in it at once.

Raises: ConfigurationWrong with all problems, each with its line. Warnings come beside the settings. `extra_checks` are
judgements that need a room above this one (rules, phrases): they are handed the settings and a `ProblemLocator`.
"""

import stat
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from gateway.errors import ConfigurationWrong, Problem
from gateway.settings.cross_checks import check_settings
from gateway.settings.key_lines import find_key_lines
from gateway.settings.models import Settings
from gateway.settings.number_checks import normalise_numbers
from gateway.settings.problem_locator import ProblemLocator
from gateway.settings.text_files import with_texts_of_files
from gateway.settings.toml_slips import parse_toml
from gateway.settings.validation_errors import problems_of_validation
from gateway.settings.without_mistakes import STAND_IN, settings_without_mistakes

ExtraCheck = Callable[[Settings, ProblemLocator], Iterable[Problem]]
TRY_SUDO = "it is for root and the service alone: try sudo"
INSTALLED = "/etc/"
"""A configuration below it is a household's own; one elsewhere is a trial."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """Settings that hold, and what is odd about them."""

    settings: Settings
    warnings: tuple[Problem, ...]


def load(file: str, extra_checks: Iterable[ExtraCheck] = ()) -> Loaded:
    """Reads and checks the configuration file."""
    try:
        octets = Path(file).read_bytes()
        text = octets.decode("utf-8-sig")  # an editor may have put a byte order mark in front
    except OSError as error:
        right = TRY_SUDO if isinstance(error, PermissionError) else "give its place with --config FILE"
        raise _refuse_file(file, 0, f"cannot be read: {error.strerror}", right) from None
    except UnicodeDecodeError as error:
        line = octets.count(b"\n", 0, error.start) + 1
        raise _refuse_file(file, line, f"is no UTF-8 text (byte {error.start})", "save it as UTF-8") from None
    loaded = load_text(text, file, extra_checks)
    settings = with_texts_of_files(loaded.settings, ProblemLocator(file, find_key_lines(text)))
    return Loaded(settings=settings.of_file(text), warnings=loaded.warnings)


def _refuse_file(file: str, line: int, wrong: str, right: str) -> ConfigurationWrong:
    return ConfigurationWrong((Problem(file=file, line=line, key="", found="", wrong=wrong, right=right),))


def load_text(text: str, file: str, extra_checks: Iterable[ExtraCheck] = ()) -> Loaded:
    """Checks the text of a configuration file; `file` is only named in problems."""
    parsed = parse_toml(text)
    locator = ProblemLocator(file, find_key_lines(parsed.text if parsed.data is not None else ""))
    slips = [
        Problem(file=file, line=slip.line, key="", found=slip.found, wrong=slip.wrong, right=slip.right)
        for slip in parsed.slips
    ]
    if parsed.data is None:
        raise ConfigurationWrong(_in_order(slips))
    data, refused_numbers = normalise_numbers(parsed.data, locator)
    try:
        settings = Settings.model_validate(data)
    except ValidationError as error:
        known = [*slips, *refused_numbers, *problems_of_validation(error, locator, data)]
        further = _check_the_remainder(data, locator, known, extra_checks)
        raise _refusal([*known, *further], parsed.lost) from None
    problems = [*slips, *refused_numbers, *_check_all(settings, locator, extra_checks)]
    if any(not problem.warning for problem in problems):
        raise _refusal(problems, parsed.lost)
    return Loaded(settings=settings, warnings=_in_order(problems))


def _check_all(settings: Settings, locator: ProblemLocator, extra_checks: Iterable[ExtraCheck]) -> list[Problem]:
    problems = list(check_settings(settings, locator))
    for check in extra_checks:
        problems.extend(check(settings, locator))
    return problems


def _check_the_remainder(
    data: Mapping[str, Any], locator: ProblemLocator, known: list[Problem], extra_checks: Iterable[ExtraCheck]
) -> list[Problem]:
    """What is wrong between tables, told in the same go, without repeating what is known or was stood in for."""
    settings = settings_without_mistakes(data)
    if settings is None:
        return []
    known_keys = {problem.key for problem in known}
    return [
        problem
        for problem in _check_all(settings, locator, extra_checks)
        if problem.key not in known_keys and STAND_IN not in f"{problem.found}{problem.wrong}"
    ]


def _refusal(problems: Iterable[Problem], lost: frozenset[str]) -> ConfigurationWrong:
    """Without what only follows from a mistake that is told: a number cannot be read without its country, and needs no note."""
    told = [problem for problem in problems if not _was_lost(problem, lost)]
    mistaken = {problem.key for problem in told if not problem.warning}
    if "site.country" in mistaken:
        told = [problem for problem in told if not problem.key.endswith(".number")]
    return ConfigurationWrong(
        _in_order(problem for problem in told if not problem.warning),
        _in_order(problem for problem in told if problem.warning and problem.key not in mistaken),
    )


def _was_lost(problem: Problem, lost: frozenset[str]) -> bool:
    """Whether a key seems to be missing, or needs a note, only because its line could not be read."""
    return (problem.warning or problem.found == "nothing") and problem.key.rsplit(".", 1)[-1] in lost


def _in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """What is no TOML first, then by line."""
    return tuple(sorted(problems, key=lambda problem: (bool(problem.key), problem.line, problem.key)))


def mode_problem(file: str) -> Problem | None:
    """That anybody on the machine can read or write the configuration, which the installed one is refused for; None: they cannot."""
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
        warning=not file.startswith(INSTALLED),
    )
