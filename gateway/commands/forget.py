"""`forget NUMBER`: removes a person's texts; the events stay."""

import argparse

from gateway.commands.site_and_store import load_site, open_site_store
from gateway.commands.terminal_output import counted, print_json
from gateway.errors import UsageWrong
from gateway.facts.harmless import harmless


def run(arguments: argparse.Namespace) -> int:
    """Blanks what that number wrote and was sent."""
    if not arguments.number.strip():
        raise UsageWrong('an empty number; right would be: tank-gateway forget "0491 570 159"')
    site = load_site(arguments)
    number = site.number(arguments.number)
    with open_site_store(site.settings).write() as tx:
        rows = tx.forget(number)
    if arguments.json:
        print_json({"number": number, "rows": rows})
    else:
        print(f"{counted(rows, 'text')} of {harmless(number)} {'is' if rows == 1 else 'are'} forgotten; events stay.")
    return 0
