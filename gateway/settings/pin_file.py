"""modem.pin_file → the SIM's PIN: what is wrong with it, and it."""

import re
from collections.abc import Iterator

from gateway.errors import ConfigurationWrong, Problem, why_unreadable
from gateway.settings import credentials
from gateway.settings.models import Settings
from gateway.settings.problem_locator import ProblemLocator

PIN = re.compile(r"\d{4,8}")
"""3GPP TS 31.101, 9.5.1: a PIN has four to eight digits."""
KEY = ("modem", "pin_file")
IS_THE_PIN = "looks like the PIN itself, which must not stand here"


def pin_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """What keeps `serve` from its PIN; what may only be looked at by root is no mistake, but is said."""
    named = settings.modem.pin_file
    if not named:
        return
    right = _right()
    try:
        held = credentials.read_credential(named)
    except PermissionError:
        wrong = "the PIN file may not be looked at by you, so it was not checked"
        yield locator.note(KEY, found=_shown(named), wrong=wrong, right="try sudo")
    except (OSError, UnicodeDecodeError) as error:
        is_one = PIN.fullmatch(named.strip())
        wrong = IS_THE_PIN if is_one else f"the PIN file {named} cannot be read: {why_unreadable(error)}"
        yield locator.problem(KEY, found=_shown(named), wrong=wrong, right=right)
    else:
        if not PIN.fullmatch(held):
            yield locator.note(
                KEY, found=_shown(named), wrong="the PIN file holds no PIN of 4 to 8 digits", right=right
            )


def pin(settings: Settings) -> str | None:
    """The PIN; None: no file is named. Raises ConfigurationWrong."""
    named = settings.modem.pin_file
    if not named:
        return None
    try:
        return credentials.read_credential(named)
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigurationWrong(
            (
                Problem(
                    file=_shown(named),
                    line=0,
                    key=".".join(KEY),
                    found=_shown(named),
                    wrong=f"the PIN file cannot be read: {why_unreadable(error)}",
                    right=_right(),
                ),
            )
        ) from None


def _right() -> str:
    return f"a file in {credentials.FOLDER} that holds the SIM's PIN and nothing else, readable by root alone"


def _shown(named: str) -> str:
    """It may be the PIN itself, which belongs into no log."""
    return "(digits)" if named.strip().isdigit() else named
