"""The command line's words → parsed arguments. Light: imports no command, so that `--help` and `check` start fast."""

import argparse
from collections.abc import Sequence
from typing import TypeAlias

from gateway import __version__
from gateway.commands.plain_usage import PlainParser, describe_commands, parse_plainly

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"

MOMENT = "yesterday, monday, 07:00, 2026-03-01, 2026-03-01T04:11"
SINCE = f"from then on: {MOMENT}, or how long ago: 7d"
AHEAD = "sunday, tomorrow 18:00, 2026-12-06 18:00, or how long: 3d"
MOST = 1_000_000_000
DEFAULT_CONFIG = "/etc/tank-gateway/gateway.toml"
MODEM_MAKES = (
    "plain, empty-quotes, phone-book-names, bare-headers, chatters, slow-start, one-store, calls-without-ok, says-figures, "
    "says-no-results, phase-2"
)
"""`simulator/makes.py` has them; loading it for every command would take longer than most of them."""

MODULES = {
    "backup": "backup_store",
    "explain": "explain_text",
    "import": "import_texts",
    "house-book": "house_book",
    "read-again": "read_again",
    "schema": "print_schema",
    "texts": "list_texts",
}
"""Commands whose module cannot bear their own name: it is a word of Python's, or a file of another room has it."""


def module_of(command: str) -> str:
    """Which module of `gateway.commands` a command is."""
    return MODULES.get(command, command)


def _count(written: str) -> int:
    if not written.isdecimal() or not 0 < int(written) < MOST:
        raise argparse.ArgumentTypeError(f"{written!a} is no number of rows, such as 20")
    return int(written)


def _event_id(written: str) -> int:
    if not written.isdecimal() or int(written) >= MOST:
        raise argparse.ArgumentTypeError(f"{written!a} is no event's id, such as 1042; 0 is before the first")
    return int(written)


def parse(argv: Sequence[str] | None = None) -> argparse.Namespace:
    """The arguments of a command line; ends the program with 2 where they cannot be meant."""
    return parse_plainly(*command_line(), argv)


def command_line() -> tuple[PlainParser, Commands]:
    """The whole command line, and the commands in it."""
    top = PlainParser(
        prog="tank-gateway",
        description="Turns the raw alarm texts of an unattended controller into named tank events and plain messages.",
        epilog="`tank-gateway help COMMAND` says more of a command, with an example.",
    )
    top.add_argument("--version", action="version", version=f"tank-gateway {__version__}", help="which version this is")
    plain: argparse.ArgumentParser = top
    commands = plain.add_subparsers(dest="command", required=True, metavar="COMMAND")
    common = argparse.ArgumentParser(add_help=False)
    _add_config(common)
    common.add_argument("--json", action="store_true", help="one JSON document on standard output")
    _daemon(commands, common)
    _setting_up(commands, common)
    _looking(commands, common)
    _writing(commands, common)
    _keeping(commands, common)
    help_of = commands.add_parser("help", help="what a command does, with an example")
    help_of.add_argument("of", nargs="?", metavar="COMMAND")
    describe_commands(commands)
    return top, commands


def _add_config(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--config", default=DEFAULT_CONFIG, metavar="FILE", help=f"default: {DEFAULT_CONFIG}")


def _daemon(commands: Commands, common: argparse.ArgumentParser) -> None:
    serve = commands.add_parser("serve", parents=[common], help="the daemon")
    serve.add_argument(
        "--trace", metavar="FILE", help="every command to the modem and its answer, masked; at most a megabyte"
    )
    rehearse = commands.add_parser("rehearse", parents=[common], help="a whole story on the simulated modem")
    rehearse.add_argument("--folder", help="keep the rehearsal's files here (default: a temporary folder)")
    rehearse.add_argument("--fast", action="store_true", help="without the pauses for reading along")
    rehearse.add_argument("--days", type=float, metavar="N", help="the household of --config, lived through N days")
    rehearse.add_argument("--seed", type=int, default=1, metavar="S", help="the same seed, the same days (default: 1)")
    rehearse.add_argument("--with", dest="stories", default="", metavar="STORY,...", help="what goes wrong in them")
    rehearse.add_argument(
        "--clock", default="", metavar="TROUBLE,...", help="what the board's clock does: steps, starts-1970, wakes-late"
    )
    for command in (serve, rehearse):
        command.add_argument(
            "--modem", default="plain", metavar="MAKE", help=f"how the simulated modem behaves: {MODEM_MAKES}"
        )
    simulate = commands.add_parser("simulate", parents=[common], help="a text into a serve on the simulated modem")
    simulate.add_argument("text")
    simulate.add_argument("--from", dest="sender", required=True, metavar="NUMBER")


def _setting_up(commands: Commands, common: argparse.ArgumentParser) -> None:
    commands.add_parser("begin", parents=[common], help="a first configuration, by questions")
    commands.add_parser("check", parents=[common], help="reads the configuration and reports every problem")
    explain = commands.add_parser("explain", parents=[common], help="how a raw text would be read; sends nothing")
    explain.add_argument("text", nargs="?", help="without it, texts are read from standard input, one a line")
    explain.add_argument("--from", dest="sender", metavar="WHO", help="who would send it: a name, an id or a number")
    explain.add_argument("--stranger", action="store_true", help="--from is a number that nobody here has")
    explain.add_argument("--fresh", action="store_true", help="as if nothing had come before")
    suggest = commands.add_parser("suggest", parents=[common], help="proposes rules from a file of sample texts")
    suggest.add_argument("file", help="one sample a line: label<TAB>text, or just the text; - for standard input")
    phrases = commands.add_parser("phrases", parents=[common], help="what would leave, in the household's names")
    phrases.add_argument("--language", metavar="CODE", help="another than the household's: de, en, es, uk")
    phrases.add_argument("--kind", metavar="KIND", help="only this message, such as low")
    phrases.add_argument("--voice", action="store_true", help="as a landline hears it")
    schema = commands.add_parser("schema", parents=[common], help="a JSON Schema of the configuration, for editors")
    schema.add_argument("--mqtt", action="store_true", help="of what is published by MQTT instead, topic by topic")
    modem = commands.add_parser("modem", parents=[common], help="tries the modem step by step and says what it grants")
    modem.add_argument("--report", metavar="FILE", help="each command and answer, masked, for somebody far away")
    modem.add_argument("--device", metavar="PORT", help="another port than that of the configuration")
    doctor = commands.add_parser("doctor", parents=[common], help="what is right and what is not, and what to do")
    doctor.add_argument("--text", dest="contact", metavar="CONTACT", help="send a test message to this contact")


def _looking(commands: Commands, common: argparse.ArgumentParser) -> None:
    tanks = commands.add_parser("tanks", parents=[common], help="every tank and controller now")
    tanks.add_argument("--at", metavar="TIME", help=f"as it was known then: {MOMENT}")
    alarms = commands.add_parser("alarms", parents=[common], help="what stands, who has it, what comes next")
    alarms.add_argument("--why", action="store_true", help="every kind: how urgent, what comes of it, what to do")
    history = commands.add_parser("history", parents=[common], help="the events, newest last")
    history.add_argument("--since", metavar="TIME", help=SINCE)
    history.add_argument("--last", type=_count, metavar="N", help="only the newest so many")
    history.add_argument("--tank", metavar="ID")
    history.add_argument("--csv", action="store_true", help="for a spreadsheet")
    history.add_argument("--jsonl", action="store_true", help="one JSON document a line")
    history.add_argument("--figures", action="store_true", help="how many alarms, how often, against published bounds")
    events = commands.add_parser("events", help="the events as JSON lines, in the order of storing")
    _add_config(events)
    events.add_argument("--follow", action="store_true", help="go on with each new one as it is stored")
    events.add_argument("--after", type=_event_id, metavar="ID", help="those that were stored after that one")
    texts = commands.add_parser("texts", parents=[common], help="every text in and out with its state")
    texts.add_argument("--since", metavar="TIME", help=SINCE)
    texts.add_argument("--last", type=_count, metavar="N", help="only the newest so many")
    commands.add_parser("water", parents=[common], help="volumes, draw, inflow, refill, pump")
    commands.add_parser("power", parents=[common], help="the battery and sun outlook, month by month")
    page = commands.add_parser("page", parents=[common], help="a self-contained HTML page of it all")
    page.add_argument("file")
    page.add_argument("--full", action="store_true", help="with nothing folded away, every event by itself")
    page.add_argument("--force", action="store_true", help="also over a file that is no page of ours")
    calendar = commands.add_parser(
        "calendar", parents=[common], help="what is due and what was, for a phone's calendar"
    )
    calendar.add_argument("file")
    calendar.add_argument("--force", action="store_true", help="also over a file that is no calendar of ours")
    book = commands.add_parser("house-book", parents=[common], help="what somebody who takes over must know, to print")
    book.add_argument("file")
    book.add_argument("--force", action="store_true", help="also over a file that is no page of ours")


def _writing(commands: Commands, common: argparse.ArgumentParser) -> None:
    old = commands.add_parser("import", parents=[common], help="old texts into the history; sends nothing")
    old.add_argument("file", help="a table with headings, or a chat as a phone copies it; - for standard input")
    old.add_argument("--from", dest="sender", metavar="WHO", help="whose texts they are, where the file does not tell")
    old.add_argument("--dates", choices=("day-first", "month-first"), help="how 03/04/2026 is meant")
    again = commands.add_parser("read-again", parents=[common], help="stored texts by today's rules; sends nothing")
    again.add_argument("--since", metavar="TIME", help="only texts from then on (default: all)")
    again.add_argument("--yes", action="store_true", help="change it; without, only what would change is told")
    note = commands.add_parser("note", parents=[common], help="a remark into the history")
    note.add_argument("text")
    over = commands.add_parser("over", parents=[common], help="somebody says that a tank's alarm is over")
    over.add_argument("tank")
    errand = commands.add_parser(
        "errand", parents=[common], help="sends an errand to a controller and waits for its answer"
    )
    errand.add_argument("controller", nargs="?", help="id or name; without it all are listed")
    errand.add_argument("id", nargs="?", help="without it the controller's errands are listed")
    errand.add_argument("--yes", action="store_true", help="what sets or switches leaves without a question")
    errand.add_argument("--first", action="store_true", help="all that set, in their order: a new box is set up")
    drill = commands.add_parser("drill", parents=[common], help="tests the chain to the people and waits for their OK")
    drill.add_argument("--to", dest="contact", metavar="CONTACT", help="only this contact; else everybody")
    walk = commands.add_parser(
        "walk", parents=[common], help="the test after fitting: each float, and the whole chain timed"
    )
    walk.add_argument("--tank", metavar="ID", help="only this tank's floats; else all")
    walk.add_argument(
        "--to", dest="contact", metavar="CONTACT", help="who gets the test's messages (default: the first mobile)"
    )
    walk.add_argument("--wait", default="10m", metavar="TIME", help="so long each text is waited for (default: 10m)")
    walk.add_argument("--sheet", metavar="FILE", help="the result as a page to print")
    watch = commands.add_parser("watch", parents=[common], help="who is called first; with a contact asks them to be")
    watch.add_argument("contact", nargs="?", help="id or name; without it, who has the watch is said")
    watch.add_argument("--until", metavar="TIME", help=AHEAD)
    away = commands.add_parser("away", parents=[common], help="nobody draws water: any draw is a leak")
    away.add_argument("--until", metavar="TIME", help=AHEAD)
    away.add_argument("--back", action="store_true", help="somebody is there again")
    pause = commands.add_parser("pause", parents=[common], help="work on a tank: its messages are held")
    pause.add_argument("tank")
    pause.add_argument("duration", help="such as 4h")


def _keeping(commands: Commands, common: argparse.ArgumentParser) -> None:
    backup = commands.add_parser("backup", parents=[common], help="a consistent copy while the daemon runs")
    backup.add_argument("file")
    backup.add_argument(
        "--all", action="store_true", help="with the configuration whole: one archive to move house with"
    )
    backup.add_argument(
        "--with-credentials", action="store_true", help="with --all: the files with PIN and passwords too"
    )
    restore = commands.add_parser("restore", parents=[common], help="a backup back into place")
    restore.add_argument("file", help="a backup, or an archive of backup --all")
    restore.add_argument(
        "--configuration", action="store_true", help="its configuration in place of the one that is there"
    )
    forget = commands.add_parser("forget", parents=[common], help="removes a person's texts; events stay")
    forget.add_argument("number")
