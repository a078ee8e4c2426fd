"""Each command in words: what it does, an example, what it reads and what it writes. `help`, `--help` and the manual page are made of them."""

from collections.abc import Mapping
from dataclasses import dataclass

CONFIGURATION = "the configuration"
BOTH = "the configuration and the record"
NOTHING = "nothing"


@dataclass(frozen=True, slots=True, kw_only=True)
class CommandWords:
    """One command: a sentence; a line that could be typed as it stands; what it reads; what it writes."""

    does: str
    example: str
    reads: str = BOTH
    writes: str = NOTHING


WORDS: Mapping[str, CommandWords] = {
    "serve": CommandWords(
        does="The daemon: takes the controller's texts from the modem, keeps them and tells the household. SIGTERM ends it with nothing "
        "lost, SIGHUP reads the configuration again.",
        example="tank-gateway serve --config trial.toml",
        reads="the configuration, the PIN file and the modem",
        writes="the record, a backup a day and the page, where they are configured; texts to the contacts",
    ),
    "rehearse": CommandWords(
        does="A whole story on the simulated modem; with --days your own household lived through on a clock that runs ahead.",
        example="tank-gateway rehearse --config my.toml --days 365 --with dry-spell,leak",
        reads="nothing; with --days the configuration",
        writes="files of its own in a temporary folder, or in --folder; nothing of yours",
    ),
    "simulate": CommandWords(
        does="A text into a serve that runs on the simulated modem, as if it had come by radio.",
        example='tank-gateway simulate "LINE 1 MADE 0717" --from "0491 570 006"',
        reads=CONFIGURATION,
        writes="nothing itself: the serve that gets the text does",
    ),
    "check": CommandWords(
        does="Every mistake of the configuration at once, each with its line, and what is odd in it.",
        example="tank-gateway check --config my.toml",
        reads="the configuration and the PIN file",
    ),
    "begin": CommandWords(
        does="A first configuration by ten questions at the terminal. Each answer is checked at once; interrupted, it goes on.",
        example="tank-gateway begin --config my.toml",
        reads="the answers, and a file of sample texts if there is one",
        writes="the configuration, where there is none yet",
    ),
    "explain": CommandWords(
        does="How a raw text would be read, by which rule, and which messages would go to whom. Nothing is sent or kept.",
        example='tank-gateway explain "LINE 1 MADE" --from "0491 570 006"',
        reads="the configuration and the record, where there is one; without TEXT, texts from standard input",
    ),
    "suggest": CommandWords(
        does="Rules made from sample texts, to be pasted in place of the rules of a controller.",
        example="tank-gateway suggest texts.txt",
        reads="the file of samples alone",
    ),
    "phrases": CommandWords(
        does="Every message as it would leave, in the household's own names, with the segments it takes.",
        example="tank-gateway phrases --kind low --language de",
        reads="the configuration",
    ),
    "schema": CommandWords(
        does="A JSON Schema of the configuration, with which an editor completes and checks what is written; --mqtt: of "
        "the topics that are published, for a program that listens.",
        example="tank-gateway schema > gateway.schema.json",
        reads=NOTHING,
    ),
    "modem": CommandWords(
        does="Tries the modem step by step: what it answers, what it grants, and whether the gateway could work with it. Nothing is sent, "
        "read or deleted, and no PIN is given.",
        example="tank-gateway modem --report modem.txt",
        reads="the configuration and the modem, which no daemon may have at that time",
        writes="nothing; with --report that file, with numbers, words and the PIN masked",
    ),
    "doctor": CommandWords(
        does="The modem, the SIM, the network, the clock, the disk and the record: what is right, what is not, and what to do.",
        example="tank-gateway doctor --text wren",
        reads="the configuration, the record and, where no daemon runs, the modem",
        writes="nothing; with --text a test message that leaves by the daemon",
    ),
    "tanks": CommandWords(
        does="Every tank and controller now, or as it was known then: state, since when, forecast, likely cause.",
        example="tank-gateway tanks --at 07:00",
    ),
    "history": CommandWords(
        does="The events, newest last: in a terminal the last that fit, into a file or a pipe all of them.",
        example="tank-gateway history --since yesterday --tank house",
    ),
    "events": CommandWords(
        does="For scripts: the events as lines of JSON, in the order in which they were stored; --follow waits for new ones and ends when "
        "nobody reads any more. Without --after it follows from now on.",
        example="tank-gateway events --follow --after 1042",
    ),
    "texts": CommandWords(
        does="The texts in and out with their state, newest last: in a terminal the last that fit, into a file or a pipe all of them.",
        example="tank-gateway texts --last 20",
    ),
    "water": CommandWords(
        does="Volumes, draw, inflow, refill and pump: each calculated figure with its inputs and its source.",
        example="tank-gateway water",
        reads=CONFIGURATION,
    ),
    "power": CommandWords(
        does="The battery and the sun, month by month, and what the battery's voltage says now.",
        example="tank-gateway power",
    ),
    "page": CommandWords(
        does="One self-contained HTML page of it all. Only a page of ours is written over, unless --force says so.",
        example="tank-gateway page tanks.html",
        writes="the file",
    ),
    "calendar": CommandWords(
        does="What is due (drills, cards, turns of the watch, a tank that may be empty) and what was (low spells), as an iCalendar file that a "
        "phone subscribes to from any web server. Made anew over its own file, an entry that changed is known as the same.",
        example="tank-gateway calendar tanks.ics",
        writes="the file, where there is none yet or a calendar of ours",
    ),
    "import": CommandWords(
        does="Old texts into the history, by the same rules. Nothing is sent, and twice is once.",
        example="tank-gateway import old.csv",
        reads="the configuration and the file: a table with headings such as received_at,sender,text, or a chat",
        writes="the record",
    ),
    "house-book": CommandWords(
        does="All that a buyer, a sitter or whoever takes over must know, as one page to print.",
        example="tank-gateway house-book house.html",
        writes="the file, where there is none yet or a page of ours",
    ),
    "read-again": CommandWords(
        does="The stored texts by today's rules: what would change, and with --yes the change. Nothing is sent.",
        example="tank-gateway read-again --since 7d",
        writes="nothing; with --yes the record",
    ),
    "note": CommandWords(
        does="A remark into the history.",
        example='tank-gateway note "cleaned the intake"',
        reads=CONFIGURATION,
        writes="the record",
    ),
    "errand": CommandWords(
        does="A text to a controller on your order, and its answer; without an ID the list of errands. --first sets a new box up.",
        example="tank-gateway errand ridge status",
        writes="the record; one text to the controller, which the daemon sends",
    ),
    "drill": CommandWords(
        does="Tests the chain to the people: everybody gets a test, and their OK is waited for.",
        example="tank-gateway drill --to wren",
        writes="the record; a text to each contact, which the daemon sends",
    ),
    "walk": CommandWords(
        does="The test after fitting: each float is lifted and lowered as it says, and the whole chain is timed and judged. With serve "
        "running; interrupted, it is gone on with by the same command.",
        example="tank-gateway walk --tank house --to wren",
        writes="the record; with --sheet a page to print; texts to the tester, which the daemon sends",
    ),
    "alarms": CommandWords(
        does="What stands: since when, how urgent, who has it, who was told and what comes next. --why: every kind, and why it is as urgent.",
        example="tank-gateway alarms --why",
    ),
    "over": CommandWords(
        does="Somebody says that a tank's alarm is over, for a box that never tells it.",
        example="tank-gateway over house",
        writes="the record",
    ),
    "watch": CommandWords(
        does="Who is called first just now. With a contact: they are asked by text to have the watch, and have it once they say OK.",
        example='tank-gateway watch robin --until "sunday 18:00"',
        writes="the record, and a text to the contact",
    ),
    "away": CommandWords(
        does="Nobody draws water from now on: forecasts go by that, any draw is told as a leak, and at the end it is asked who is there.",
        example='tank-gateway away --until "sunday 18:00"',
        writes="the record, and a text to each contact who hears of tanks",
    ),
    "pause": CommandWords(
        does="Work on a tank: its events are kept, its messages are held until the time is over.",
        example="tank-gateway pause house 4h",
        reads=CONFIGURATION,
        writes="the record",
    ),
    "backup": CommandWords(
        does="A consistent, verified copy of the record while the daemon runs, with the configuration, its secrets masked. It makes no "
        "folder, and says on which device the copy lies. --all: one archive with the configuration whole, to move house with.",
        example="tank-gateway backup /media/stick/gateway.db",
        writes="the file",
    ),
    "restore": CommandWords(
        does="A backup, or an archive of backup --all, back into its place, once it is verified; the record that was there is set aside. Its "
        "configuration is put where there is none, else beside the one that is there; --configuration puts it in its place.",
        example="tank-gateway restore /media/stick/gateway.db",
        reads="the configuration, where there is one, and the backup",
        writes="the record; of an archive the credentials and the configuration too, which it puts beside one that is there",
    ),
    "forget": CommandWords(
        does="Removes a person's texts from the record; the events that followed from them stay.",
        example='tank-gateway forget "0491 570 159"',
        writes="the record",
    ),
    "help": CommandWords(
        does="What the commands do; of one command also an example, what it reads and what it writes.",
        example="tank-gateway help history",
        reads=NOTHING,
    ),
}
"""A command that stands in the parser stands here too (tests/commands/test_words.py)."""


def described(words: CommandWords) -> str:
    """What stands below the options of a command's help."""
    return f"example:\n  {words.example}\n\nreads:  {words.reads}\nwrites: {words.writes}"
