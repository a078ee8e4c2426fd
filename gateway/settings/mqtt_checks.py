"""The table `[mqtt]` → what no broker could be reached with, or what would be open to more than it should. No broker is asked."""

import re
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import SplitResult, urlsplit

from gateway.errors import Problem, why_unreadable
from gateway.settings import credentials
from gateway.settings.models import Mqtt, Settings
from gateway.settings.problem_locator import ProblemLocator

RIGHT_URL = 'such as "mqtts://broker.home", or "mqtt://127.0.0.1:1883" for one on this board'
NO_TOPIC = re.compile(r"[+#\x00]|^[/$]|/$|//|^$")
"""MQTT 3.1.1, 4.7: + and # are wildcards, $… is the broker's own, and an empty level is a level of its own that nobody means."""
ON_THIS_BOARD = ("localhost", "127.0.0.1", "::1")


def check_mqtt(table: Mqtt, locator: ProblemLocator) -> Iterator[Problem]:
    """Nothing, where no broker is named."""
    if not table.url:
        return
    where = _where(table.url)
    if where is None:
        yield locator.problem(
            ("mqtt", "url"), found=_shown(table.url), wrong="is no address of a broker", right=RIGHT_URL
        )
    elif where.username is not None or where.password is not None:
        yield locator.problem(
            ("mqtt", "url"),
            found=_shown(table.url),
            wrong="holds a password or a user",
            right="mqtt.user and mqtt.password_file",
        )
    elif where.scheme == "mqtt" and where.hostname not in ON_THIS_BOARD:
        wrong = "is not encrypted: whoever is on the network reads along" + (
            ", also the password" if table.password_file else ""
        )
        yield locator.note(("mqtt", "url"), found=table.url, wrong=wrong, right=RIGHT_URL)
    if NO_TOPIC.search(table.topic):
        yield locator.problem(
            ("mqtt", "topic"), found=table.topic, wrong="is no topic to publish under", right='a word such as "tanks"'
        )
    if table.password_file and not table.user:
        yield locator.problem(
            ("mqtt", "password_file"), found=table.password_file, wrong="has no user to it", right="mqtt.user"
        )


def mqtt_reach_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """What will keep `serve` from its broker; it runs all the same."""
    table = settings.mqtt
    if not table.url:
        return
    if find_spec("paho") is None:
        wrong = "nothing is published: the library for it is not installed"
        yield locator.note(("mqtt", "url"), found=_shown(table.url), wrong=wrong, right="sudo deploy/install --mqtt")
    for key, named in (("password_file", table.password_file), ("ca_file", table.ca_file)):
        wrong = _unreadable(key, named) if named else ""
        if wrong:
            right = f"a file in {credentials.FOLDER}" if key == "password_file" else "a certificate as a PEM file"
            yield locator.note(("mqtt", key), found=named, wrong=wrong, right=right)


def _unreadable(key: str, named: str) -> str:
    try:
        if key == "password_file":
            credentials.read_credential(named)
        else:
            Path(named).read_bytes()
    except PermissionError:
        return "may not be looked at by you, so it was not checked; try sudo"
    except (OSError, UnicodeDecodeError) as error:
        return f"cannot be read: {why_unreadable(error)}"
    return ""


def _where(url: str) -> SplitResult | None:
    try:
        where = urlsplit(url)
        port = where.port
    except ValueError:
        return None
    plain = where.path in ("", "/") and not where.query and not where.fragment
    return where if where.scheme in ("mqtt", "mqtts") and where.hostname and plain and port != 0 else None


def _shown(url: str) -> str:
    """Without what may be a password."""
    return re.sub(r"//[^/@]*@", "//…@", url)
