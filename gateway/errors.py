"""One family of errors, named by whose fault it is.

Each says what, which, what was expected and what was got; the raw answer or text rides along in `raw`.
"""

from dataclasses import dataclass
from typing import Literal

SimReason = Literal["puk", "pin", "pin-refused", "pin-waits", "busy", "fails"]


class GatewayError(Exception):
    """Whatever the gateway can say in words to a person."""

    def __init__(self, said: str, *, raw: str | None = None) -> None:
        super().__init__(said)
        self.said = said
        self.raw = raw


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One mistake (or, with `warning`, one oddity) in the configuration file.

    `line` counts from 1, 0 where none can be named; `key` is dotted (`tanks[0].floats[1].input`); `suggestion` is
    the near miss that was probably meant.
    """

    file: str
    line: int
    key: str
    found: str
    wrong: str
    right: str
    suggestion: str | None = None
    warning: bool = False


class ConfigurationWrong(GatewayError):
    """The configuration has mistakes; `problems` holds all of them, `warnings` what is odd beside them."""

    def __init__(self, problems: tuple[Problem, ...], warnings: tuple[Problem, ...] = ()) -> None:
        super().__init__(f"{len(problems)} mistake(s) in the configuration")
        self.problems = problems
        self.warnings = warnings


class UsageWrong(GatewayError):
    """A command was called in a way that cannot be meant (exit code 2)."""


class ModemTrouble(GatewayError):
    """The modem, or the line to it, did not do its part."""


class ModemGone(ModemTrouble):
    """The device is not there, or went away while open."""


class ModemHeld(ModemTrouble):
    """Another program holds the serial port."""


class ModemSilent(ModemTrouble):
    """No answer came within the time allowed."""


class ModemRefused(ModemTrouble):
    """The modem answered ERROR, +CME ERROR or +CMS ERROR; `code` its number, if any; `family` 'cms', 'cme' or ''."""

    def __init__(self, said: str, *, family: str = "", code: int | None = None, raw: str | None = None) -> None:
        super().__init__(said, raw=raw)
        self.family = family
        self.code = code


class SimTrouble(ModemTrouble):
    """No SIM, a wrong PIN, or a PUK is wanted; `reason` names it for people, in whatever language."""

    def __init__(self, said: str, *, reason: SimReason = "fails", raw: str | None = None) -> None:
        super().__init__(said, raw=raw)
        self.reason = reason


class StoreTrouble(GatewayError):
    """The store cannot be used."""


class StoreFull(StoreTrouble):
    """There is no room left; what came stays on the SIM, and it goes on by itself once there is room."""


class StoreUnwritable(StoreTrouble):
    """The disk is read-only or failing; what came stays on the SIM, and the gateway ends so that it is started anew."""


class StoreMissing(StoreTrouble):
    """There is no store at that place; only what writes makes one."""


class StoreDamaged(StoreTrouble):
    """The store's file is damaged; it is left as it is."""


class StoreNewer(StoreTrouble):
    """The store was written by a newer program; it is left as it is."""


class StoreHeld(StoreTrouble):
    """Another gateway works on this store."""


def why_unreadable(error: OSError | UnicodeDecodeError) -> str:
    """Why a file cannot be read, without the library's numbers."""
    return str(error.strerror) if isinstance(error, OSError) else "it is no plain text (UTF-8)"
