"""`begin`: a first configuration by ten questions at the terminal; each answer is checked at once, and what was answered stays if it is
interrupted."""

import argparse
import json
import os
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TypeVar
from zoneinfo import ZoneInfo

from tzlocal import get_localzone_name

from gateway.commands.ask_labels import ask_labels
from gateway.commands.first_configuration import Answers, FirstPerson, FirstTank, first_configuration
from gateway.commands.standard_streams import text_of_file
from gateway.commands.trap_checks import CHECKS
from gateway.errors import GatewayError, ModemTrouble, UsageWrong
from gateway.facts import input_key
from gateway.modem.likely_device import likely_device
from gateway.phone_numbers import is_country, line_kind, to_e164
from gateway.phrases import languages
from gateway.settings.load import load_text
from gateway.settings.problem_locator import problem_line
from gateway.suggest.samples import SampleFile, read_samples
from gateway.suggest.suggest_rules import Suggestion, suggest_from

T = TypeVar("T")
INSTALLED_STORE = "sqlite:////var/lib/tank-gateway/gateway.db"
BAUD = 115200
IN_THE_MODEM = "modem"
NOT_YET = ".begun"
"""What is put behind the configuration's name for the answers given so far."""


class NotSo(Exception):
    """An answer that cannot be; says what would be right."""


class Conversation:
    """Questions and answers. What was answered is kept in a file, and is not asked again when the conversation is gone on with."""

    def __init__(self, kept: Path, ask: Callable[[str], str] = input) -> None:
        self._kept, self._ask = kept, ask
        self._answered: list[str] = []
        with suppress(FileNotFoundError):
            self._answered = list(json.loads(kept.read_text("utf-8")))
        self._next = 0
        if self._answered:
            print(f"Going on after {len(self._answered)} answers (to begin anew, remove {kept}).")

    def ask(self, question: str, read: Callable[[str], T], *, default: str = "") -> T:
        """Asks until the answer can be read."""
        while True:
            again = self._next < len(self._answered)
            shown = f"{question}{f' [{default}]' if default else ''}: "
            written = self._answered[self._next] if again else self._ask(shown).strip() or default
            try:
                value = read(written)
            except NotSo as error:
                del self._answered[self._next :]
                print(f"  {error}")
                continue
            if not again:
                self._answered.append(written)
                self._kept.write_text(json.dumps(self._answered, ensure_ascii=False), "utf-8")
            self._next += 1
            return value

    def raw(self, question: str) -> str:
        """One answer as it is written, whatever it is."""
        return self.ask(question.removesuffix(": ").removesuffix("> "), str)

    def done(self) -> None:
        """Nothing is to be gone on with."""
        self._kept.unlink(missing_ok=True)


def run(arguments: argparse.Namespace) -> int:
    """Asks, writes the file, and says what to do next."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise UsageWrong(
            "asks at a terminal; right would be to run it there, or to edit a copy of config/one-tank.toml"
        )
    file = Path(arguments.config)
    if file.exists() or file.is_symlink():
        raise GatewayError(
            f"{file} is there already and is left as it is; right would be another name: begin --config my.toml"
        )
    if not file.parent.is_dir() or not os.access(file.parent, os.W_OK):
        raise GatewayError(f"{file} cannot be written; right would be sudo, or another name: begin --config my.toml")
    talk = Conversation(file.with_name(file.name + NOT_YET))
    try:
        text = configuration_by_questions(talk, _store_for(file))
    except (EOFError, KeyboardInterrupt):
        print(f"\nNothing is written yet. The same command goes on here:\n  tank-gateway begin --config {file}")
        return 1
    loaded = load_text(text, str(file), CHECKS)
    descriptor = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW, 0o640)
    with os.fdopen(descriptor, "w", encoding="utf-8") as made:
        made.write(text)
    talk.done()
    print(f"\n{file} is written and holds.")
    for note in loaded.warnings:
        print(f"  {problem_line(note)}")
    print(_next_steps(file))
    return 0


def configuration_by_questions(talk: Conversation, store_url: str) -> str:
    """The text of the file."""
    answers = Answers()
    print("A few questions; Enter takes what stands in brackets. Ctrl-C stops; the same command goes on.\n")
    answers.place = talk.ask("1. What is the place called", _named)
    answers.country = talk.ask("2. In which country is it (two letters, such as AU)", _country)
    answers.timezone = talk.ask("3. Its time zone", _timezone, default=_own_timezone())
    answers.language = talk.ask(f"4. Language of the messages ({', '.join(languages())})", _language, default="en")
    answers.device = talk.ask("5. The modem's device (or: simulated)", _named, default=likely_device())
    answers.box = talk.ask("6. What do you call the box that texts", _named, default="Pump box")
    answers.box_number = talk.ask("   Its number, as you dial it", lambda said: _number(said, answers.country))
    suggestion = _samples(talk, answers)
    # without its first line, which says where to paste them
    answers.rules = suggestion.toml.partition("\n")[2] if suggestion is not None and suggestion.rules else ""
    _tanks(talk, answers, _inputs(suggestion))
    _people(talk, answers)
    answers.drinkers = talk.ask("10. How many people draw water", _count, default="2")
    return first_configuration(answers, store_url)


def _samples(talk: Conversation, answers: Answers) -> Suggestion | None:
    """The rules made of a file of texts; what has no label is asked about here."""
    print(
        "7. Texts of the box that you have: a file with one a line, a chat copied from your phone, or what the modem has kept."
    )
    read = partial(_sample_file, answers=answers)
    sample_file = talk.ask(f"   The file's name, or: {IN_THE_MODEM} (Enter: none yet)", read)
    if sample_file is None or not sample_file.samples:
        return None
    suggestion = suggest_from(sample_file)
    if suggestion.groups:
        labels = {sample.text: sample for sample in ask_labels(suggestion.groups, talk.raw)}
        samples = tuple(labels.get(sample.text, sample) for sample in sample_file.samples)
        suggestion = suggest_from(SampleFile(samples=samples, odd=sample_file.odd, opening=sample_file.opening))
    many = len(suggestion.rules)
    print(f"   {many} {'rule reads' if many == 1 else 'rules read'} them.\n")
    return suggestion


def _inputs(suggestion: Suggestion | None) -> list[str]:
    """The inputs that the labelled texts tell of, as their labels name them."""
    if suggestion is None:
        return []
    return sorted({sample.label.input for sample in suggestion.samples if sample.label and sample.label.input})


def _tanks(talk: Conversation, answers: Answers, inputs: Sequence[str]) -> None:
    many = talk.ask("8. How many tanks have a float on that box", _count, default="1")
    for number in range(1, many + 1):
        default = "House tank" if number == many else ""
        name = talk.ask(f"   Tank {number}: its name", _named, default=default)
        answers.tanks.append(_tank(talk, name, [other.name for other in answers.tanks], inputs))


def _tank(talk: Conversation, name: str, before: Sequence[str], inputs: Sequence[str]) -> FirstTank:
    known = f" ({', '.join(inputs)})" if inputs else " (as its texts say it)"
    tank = FirstTank(name=name)
    tank.shape = _shape(talk)
    height = _height(tank.shape)
    level = "   Water above the outlet when it switches, in m"
    tank.low_input = talk.ask(f"   Which input is its LOW float{known} (Enter: none)", input_key)
    if tank.low_input and height:
        tank.low_m = talk.ask(level, lambda said: _metres(said, height))
    tank.high_input = talk.ask("   Which input is its HIGH float (Enter: none)", input_key)
    if tank.high_input and height:
        tank.high_m = talk.ask(level, lambda said: _metres(said, height))
    if before:
        question = f"   Which tank feeds it ({', '.join(before)}; Enter: none)"
        tank.fed_by = talk.ask(question, lambda said: _one_of(said, before))
    return tank


def _shape(talk: Conversation) -> dict[str, object] | None:
    """Litres, a tape measure, or nobody knows."""
    print(
        "   Its size: l litres are known, r round and upright, b a box, n nobody knows (then no hours can be reckoned)"
    )
    kind = talk.ask("   l, r, b or n", lambda said: _letter(said, "lrbn"))
    if kind == "n":
        return None
    if kind == "l":
        litres = talk.ask("   Litres", _positive)
        return {
            "kind": "litres",
            "litres": litres,
            "height_m": talk.ask("   Height of the water when full, in m", _positive),
        }
    if kind == "r":
        across = talk.ask("   Across (1.8), or around with a tape (around 5.65), in m", _across)
        return {"kind": "upright-cylinder", "diameter_m": across, "height_m": talk.ask("   Height, in m", _positive)}
    sides = {
        f"{side}_m": talk.ask(f"   {side.capitalize()}, in m", _positive) for side in ("length", "width", "height")
    }
    return {"kind": "box", **sides}


def _people(talk: Conversation, answers: Answers) -> None:
    many = talk.ask("9. How many people are to be told", _count_of_people, default="1")
    for place in range(1, many + 1):
        first = " (told first)" if place == 1 else ""
        name = talk.ask(f"   Person {place}{first}: name", _named)
        number = talk.ask("   Number, as you dial it", lambda said: _number(said, answers.country))
        answers.people.append(FirstPerson(name=name, number=number, landline=line_kind(number) == "landline"))


def _named(said: str) -> str:
    if not said:
        raise NotSo("a name, please")
    return " ".join(said.split())


def _country(said: str) -> str:
    if not is_country(said.upper()):
        raise NotSo("two letters of ISO 3166, such as AU, DE, ES, UA")
    return said.upper()


def _timezone(said: str) -> str:
    try:
        ZoneInfo(said)
    except (ValueError, OSError, KeyError):
        raise NotSo('a name such as "Australia/Sydney"') from None
    return said


def _language(said: str) -> str:
    if said not in languages():
        raise NotSo(f"one of {', '.join(languages())}")
    return said


def _number(said: str, country: str) -> str:
    number = to_e164(said, country)
    if number is None:
        raise NotSo(f"that is no phone number of {country}; as you dial it at home, or with +")
    return number


def _sample_file(said: str, *, answers: Answers) -> SampleFile | None:
    if not said:
        return None
    if said.casefold() == IN_THE_MODEM and not Path(said).exists():
        return _texts_in_modem(answers)
    try:
        return read_samples(text_of_file(said).splitlines())
    except GatewayError as error:
        raise NotSo(str(error)) from None


def _texts_in_modem(answers: Answers) -> SampleFile:
    """What the box has sent and nobody has deleted; it stays where it is."""
    # only where it is asked for: the dialogue with the modem, which the other questions do without
    from gateway.modem.one_look import stored_texts

    try:
        kept = stored_texts(answers.device, BAUD)
    except ModemTrouble as trouble:
        raise NotSo(f"the modem cannot be read: {trouble.said}; Enter goes on without") from None
    texts = [text.text for text in kept if to_e164(text.sender, answers.country) == answers.box_number]
    if not texts:
        others = f", only {len(kept)} of others" if kept else ""
        raise NotSo(
            f"the modem keeps no text of {answers.box}{others}; let the box send some, or Enter goes on without"
        )
    return read_samples(texts)


def _count(said: str) -> int:
    if not said.isdecimal() or int(said) > 99:
        raise NotSo("a whole number")
    return int(said)


def _count_of_people(said: str) -> int:
    if _count(said) < 1:
        raise NotSo("somebody must be told: at least one")
    return _count(said)


def _positive(said: str) -> float:
    try:
        value = float(said.replace(",", ".").removesuffix("m").removesuffix("l"))
    except ValueError:
        raise NotSo("a number, such as 1.8") from None
    if not 0 < value < 1e6:
        raise NotSo("a number above nought")
    return value


def _across(said: str) -> float:
    """Around is what a tape tells of a tank that stands."""
    if said.casefold().startswith("around"):
        return round(_positive(said[len("around") :].strip()) / 3.14159265, 3)
    return _positive(said)


def _metres(said: str, height: float) -> float:
    level = _positive(said)
    if level > height:
        raise NotSo(f"the tank is only {height:g} m high")
    return level


def _height(shape: dict[str, object] | None) -> float | None:
    height = shape.get("height_m") if shape is not None else None
    return height if isinstance(height, float) else None


def _letter(said: str, letters: str) -> str:
    if said.casefold()[:1] not in letters or not said:
        raise NotSo(f"one of {', '.join(letters)}")
    return said.casefold()[0]


def _one_of(said: str, names: Sequence[str]) -> str:
    wanted = next((name for name in names if name.casefold() == said.casefold()), None)
    if said and wanted is None:
        raise NotSo(f"one of {', '.join(names)}, or Enter")
    return wanted or ""


def _own_timezone() -> str:
    try:
        return str(get_localzone_name() or "")
    except (ValueError, OSError):
        return ""


def _store_for(file: Path) -> str:
    """Where the installation keeps it; beside a trial's own file else."""
    return INSTALLED_STORE if str(file).startswith("/etc/") else f"sqlite:///{file.parent.resolve()}/gateway.db"


def _next_steps(file: Path) -> str:
    given = "" if str(file) == "/etc/tank-gateway/gateway.toml" else f" --config {file}"
    return f"""Next:
  tank-gateway explain "a text of the box"{given}    how it would be read, and who would be told what
  tank-gateway serve{given}                          (installed: sudo systemctl restart tank-gateway)
  tank-gateway doctor{given}                         what is right and what is not"""
