"""`begin`: a first configuration by ten questions at the terminal; each answer is checked at once, and what was answered stays if it is
interrupted."""

import argparse
import os
import sys
from functools import partial
from pathlib import Path
from typing import Literal

from gateway.commands.ask_labels import ask_labels
from gateway.commands.conversation import UNDO, Conversation, Left, NotSo, TakenBack
from gateway.commands.first_configuration import Answers, FirstPerson, first_configuration
from gateway.commands.standard_streams import text_of_file
from gateway.commands.tank_questions import ask_tanks
from gateway.commands.trap_checks import CHECKS
from gateway.commands.written_answers import (
    likely_timezone,
    read_count,
    read_count_of_people,
    read_country,
    read_language,
    read_name,
    read_number,
    read_timezone,
    zones_of,
)
from gateway.errors import ConfigurationWrong, GatewayError, ModemTrouble, UsageWrong
from gateway.modem.likely_device import likely_device
from gateway.phone_numbers import line_kind, to_e164
from gateway.phrases import languages
from gateway.settings.load import load_text
from gateway.settings.problem_locator import problem_line
from gateway.suggest.samples import SampleFile, read_samples
from gateway.suggest.suggest_rules import Suggestion, suggest_from

INSTALLED_STORE = "sqlite:////var/lib/tank-gateway/gateway.db"
BAUD = 115200
IN_THE_MODEM = "modem"
NOT_YET = ".begun"
"""What is put behind the configuration's name for the answers given so far."""


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
        text = _text_that_holds(talk, file)
    except (Left, KeyboardInterrupt):
        print(f"\nNothing is written yet. The same command goes on here:\n  tank-gateway begin --config {file}")
        return 1
    descriptor = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW, 0o640)
    with os.fdopen(descriptor, "w", encoding="utf-8") as made:
        made.write(text)
    talk.done()
    print(f"\n{file} is written and holds.")
    for note in load_text(text, str(file), CHECKS).warnings:
        print(f"  {problem_line(note)}")
    print(_next_steps(file))
    return 0


def _text_that_holds(talk: Conversation, file: Path) -> str:
    """Asked again from the last answer where that is taken back, and from the tanks on where the whole does not hold."""
    while True:
        try:
            text = configuration_by_questions(talk, _store_for(file))
            load_text(text, str(file), CHECKS)
            return text
        except TakenBack:
            print("\nThe last answer is taken back.\n")
        except ConfigurationWrong as mistakes:
            print("\nThis cannot be so; please answer again from question 8 on:")
            for problem in mistakes.problems:
                print(f"  {problem.key}: {problem.wrong}; {problem.right}")
            print()
            talk.begin_anew_at_mark()


def configuration_by_questions(talk: Conversation, store_url: str) -> str:
    """The text of the file."""
    answers = Answers()
    print(f"A few questions; Enter takes what stands in brackets, {UNDO} takes the last answer back.")
    print("Ctrl-C stops; the same command goes on.\n")
    answers.place = talk.ask("1. What is the place called", read_name)
    answers.country = talk.ask("2. In which country is it (two letters, such as AU)", read_country)
    answers.timezone = talk.ask(
        "3. Its time zone, or its city",
        partial(read_timezone, zones=zones_of(answers.country)),
        default=likely_timezone(answers.country),
    )
    answers.language = talk.ask(f"4. Language of the messages ({', '.join(languages())})", read_language, default="en")
    answers.device = talk.ask("5. The modem's device (or: simulated)", read_name, default=likely_device())
    answers.box = talk.ask("6. What do you call the box that texts", read_name, default="Pump box")
    answers.box_number = talk.ask("   Its number, as you dial it", partial(read_number, country=answers.country))
    suggestion = _samples(talk, answers)
    # without its first line, which says where to paste them
    answers.rules = suggestion.toml.partition("\n")[2] if suggestion is not None and suggestion.rules else ""
    talk.mark()
    ask_tanks(talk, answers, _told_of(suggestion, "input"), _told_of(suggestion, "level"))
    _people(talk, answers)
    answers.drinkers = talk.ask("10. How many people draw water", read_count, default="2")
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
        talk.now_about("\n".join(sample.text for sample in sample_file.samples))
        labels = {
            sample.text: sample
            for sample in ask_labels(suggestion.groups, lambda question: talk.ask(question, str, end=""))
        }
        samples = tuple(labels.get(sample.text, sample) for sample in sample_file.samples)
        suggestion = suggest_from(SampleFile(samples=samples, odd=sample_file.odd, opening=sample_file.opening))
    many = len(suggestion.rules)
    print(f"   {many} {'rule reads' if many == 1 else 'rules read'} them.\n")
    return suggestion


def _told_of(suggestion: Suggestion | None, means: Literal["input", "level"]) -> list[str]:
    """The inputs that the labelled texts tell of, as their labels name them."""
    if suggestion is None:
        return []
    labels = (sample.label for sample in suggestion.samples)
    return sorted({label.input for label in labels if label and label.means == means and label.input})


def _people(talk: Conversation, answers: Answers) -> None:
    many = talk.ask("9. How many people are to be told", read_count_of_people, default="1")
    for place in range(1, many + 1):
        first = " (told first)" if place == 1 else ""
        name = talk.ask(f"   Person {place}{first}: name", read_name)
        number = talk.ask("   Number, as you dial it", partial(_new_number, answers=answers))
        answers.people.append(FirstPerson(name=name, number=number, landline=line_kind(number) == "landline"))


def _new_number(said: str, answers: Answers) -> str:
    """Nobody else's, and not the box's."""
    number = read_number(said, answers.country)
    whose = {answers.box_number: answers.box} | {person.number: person.name for person in answers.people}
    if number in whose:
        raise NotSo(f"that is the number of {whose[number]}")
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


def _store_for(file: Path) -> str:
    """Where the installation keeps it; beside a trial's own file else."""
    return INSTALLED_STORE if str(file).startswith("/etc/") else f"sqlite:///{file.parent.resolve()}/gateway.db"


def _next_steps(file: Path) -> str:
    given = "" if str(file) == "/etc/tank-gateway/gateway.toml" else f" --config {file}"
    return f"""Next:
  tank-gateway explain "a text of the box"{given}    how it would be read, and who would be told what
  tank-gateway serve{given}                          (installed: sudo systemctl restart tank-gateway)
  tank-gateway doctor{given}                         what is right and what is not"""
