"""`phrases`: every message as it would leave, in the household's names, with the segments it takes."""

import argparse
from dataclasses import asdict, dataclass

from gateway.commands.sample_messages import Names, message_names, sample_message
from gateway.commands.site_and_store import load_site
from gateway.commands.terminal_output import print_json, print_text
from gateway.errors import UsageWrong
from gateway.gsm.segments import measure_text
from gateway.phrases import Phrasebook, languages, load_phrases
from gateway.phrases.phrasebook import Line
from gateway.phrases.put_together import spoken_s
from gateway.settings.problem_locator import nearest_word
from gateway.site import Site, segments_allowed


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One message. `phrase`: its key in the phrase file, `said.low`; `spoken_s`: by voice; `unsure`: what a native reader should judge."""

    phrase: str
    text: str
    segments: int
    spoken_s: int | None
    unsure: str | None


def run(arguments: argparse.Namespace) -> int:
    """Prints them in the order of the file."""
    site = load_site(arguments)
    book = _book(arguments.language, site)
    line: Line = "landline" if arguments.voice else "mobile"
    wanted = [name for name in message_names(book) if arguments.kind in (None, name, name.partition(".")[2])]
    if not wanted:
        raise UsageWrong(_no_such_message(arguments.kind, book))
    shown = [_shown(book, name, line, site) for name in wanted]
    if arguments.json:
        messages = [asdict(message) for message in shown]
        print_json({"language": book.language, "voice": arguments.voice, "messages": messages})
        return 0
    for message in shown:
        measure = f"{message.segments} segment{'s' * (message.segments != 1)}"
        if message.spoken_s is not None:
            measure = f"spoken, about {message.spoken_s} s"
        print_text(message.text, before=f"{message.phrase} ({measure})\n", label="  ")
        if message.unsure:
            print_text(f"(a native reader has still to judge: {message.unsure})", label="  ")
    return 0


def _no_such_message(kind: str, book: Phrasebook) -> str:
    """What was probably meant; of some hundred the whole list is no help, unless nothing is like it."""
    kinds = list(dict.fromkeys(name.partition(".")[2] for name in message_names(book)))
    meant = nearest_word(kind, kinds)
    return f"there is no message {kind!r}; " + (
        f"did you mean {meant!r}?" if meant else f"there are: {', '.join(kinds)}"
    )


def _book(language: str | None, site: Site) -> Phrasebook:
    if language is None:
        return site.phrases
    if language not in languages():
        raise UsageWrong(f"there is no phrase file for {language!r}; there are: {', '.join(languages())}")
    return load_phrases(language)


def _shown(book: Phrasebook, name: str, line: Line, site: Site) -> Shown:
    allowed = segments_allowed(site.settings, book)
    text = sample_message(book, name, line, segments=allowed, names=names_of(site))
    return Shown(
        phrase=name,
        text=text,
        segments=measure_text(text).segments,
        spoken_s=round(spoken_s(text)) if line == "landline" else None,
        unsure=book.unsure.get(name),
    )


def names_of(site: Site) -> Names:
    """The household's own, as far as there are any."""
    invented, settings = Names(), site.settings
    house, people = site.house_tank(), [contact.name for contact in settings.contacts]
    return Names(
        tank=house.name if house is not None else invented.tank,
        controller=settings.controllers[0].name if settings.controllers else invented.controller,
        tanks=", ".join(tank.name for tank in settings.tanks) or invented.tanks,
        who=people[0] if people else invented.who,
        name=people[1] if len(people) > 1 else invented.name,
        site=settings.site.name,
        zone=site.zone,
    )
