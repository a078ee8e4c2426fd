"""The account of a life in words, for a terminal of 80 columns: what a household can decide by."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from gateway.commands.rehearsal_folder import PAGE
from gateway.commands.terminal_output import print_table, print_text
from gateway.rehearsal.account import Account, DrySpell
from gateway.rehearsal.assumptions import assumptions
from gateway.rehearsal.lived_through import Lived

A_YEAR = timedelta(days=365)
HOURS_TOLD = 48.0
"""A longer time before is told in days."""


def print_summary(account: Account, changes: Sequence[str], lived: Lived) -> None:
    """All of it."""
    site = lived.site
    print(f"{site.settings.site.name}: {account.days:g} days lived through, seed {account.seed}.\n")
    for sentence in (*_water(account, lived), *forecasts_in_words(account)):
        print_text(sentence)
    print()
    rows = [(site.contact_name(to.contact), to.urgent, to.soon, to.record, to.night) for to in account.messages]
    print_table(("messages to", "urgent", "soon", "other", "at night"), rows)
    more = list(_costs_and_boxes(account, lived))
    for number, sentence in enumerate(more):
        print_text(sentence, before="" if number else "\n")
    if changes:
        print("\nWhat would have made a difference:")
        for change in changes:
            print_text(change, label="  ")
    print("\nAssumed:")
    for sentence in assumptions(lived):
        print_text(sentence, label="  ")
    print("\nLook further:")
    print(f"  tank-gateway history --config {lived.configuration}")
    print(f"  and in a browser: {lived.configuration.with_name(PAGE)}")


def _water(account: Account, lived: Lived) -> Iterator[str]:
    for tank, count in account.low_spells.items():
        yield f"{lived.site.tank_name(tank)} was low {_times(count)}."
    if not account.low_spells:
        yield "No tank was ever told to be low."
    for spell in account.dry_spells:
        until = f"until {_when(spell.until, lived)}" if spell.until else "to the end"
        yield f"The taps were dry from {_when(spell.began, lived)} {until}: {_margin(spell)}."
    if not account.dry_spells and lived.household.supply.tap is not None:
        yield "The taps never ran dry."


def _margin(spell: DrySpell) -> str:
    if spell.margin_h is None:
        return "nobody was told before"
    hours = spell.margin_h
    return f"told {hours:.0f} h before" if hours <= HOURS_TOLD else f"told {hours / 24:.0f} days before"


def _when(at: datetime, lived: Lived) -> str:
    local = at.astimezone(lived.site.zone)
    return f"{local:%d %b %H:%M}" if lived.until - lived.start <= A_YEAR else f"{local:%d %b %Y %H:%M}"


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def forecasts_in_words(account: Account) -> Iterator[str]:
    """A forecast holds if the tank would have been dry between its early and its late time, had nobody done anything."""
    inside, of, factor = account.forecasts
    if of:
        off = f" Where it would have run dry, the likely time was off by a factor of {factor:.1f}." if factor else ""
        yield f"Of {of} forecast{'s' if of != 1 else ''} of a dry tank {inside} held.{off}"
    right, causes = account.causes
    if causes:
        yield f"A cause was named {_times(causes)}, rightly {_times(right) if right else 'never'}."


def _costs_and_boxes(account: Account, lived: Lived) -> Iterator[str]:
    if lived.site.settings.limits.price_per_segment:
        yield f"A year of texts costs {account.cost * 365 / account.days:.2f} {account.currency}."
    for controller, lowest in account.lowest_charge.items():
        yield f"The battery of {lived.site.controller_name(controller)} was never below {lowest:.0%} of its charge."
    for unspoken in account.unspoken:
        yield f"Never heard, since no rule can read it: {unspoken}."
