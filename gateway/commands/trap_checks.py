"""What holds and will still not work as meant → notes: rules that swallow, an asking that meets the daily text, a winter without sun, a
gateway whose death nobody would notice."""

from collections.abc import Iterator
from datetime import timedelta

from gateway.commands.configuration_checks import SERVE_CHECKS
from gateway.errors import Problem
from gateway.power.monthly_outlook import power_outlook
from gateway.rules.rulebook import compile_rulebook
from gateway.settings.controller_tables import Controller, RuleTable
from gateway.settings.load import ExtraCheck
from gateway.settings.models import Settings
from gateway.settings.problem_locator import ProblemLocator
from gateway.suggest.trouble_words import QUIET, words_of_trouble

WHATEVER_COMES = ("qzx 73", "#~!", "vyx")
DAY = timedelta(days=1)
MONTHS = 12
ABOUT = timedelta(minutes=10)


def trap_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Notes, each at its key."""
    for index, controller in enumerate(settings.controllers):
        for place, rule in enumerate(controller.rules):
            yield from _swallows(rule, ("controllers", index, "rules", place), locator)
        yield from _asked_at_the_daily_text(controller, index, locator)
        yield from _short_of_sun(controller, index, settings.site.latitude, locator)
    yield from _nobody_would_notice(settings, locator)


def _swallows(rule: RuleTable, here: tuple[str | int, ...], locator: ProblemLocator) -> Iterator[Problem]:
    """A rule that tells nobody, and takes whatever comes, or what speaks of trouble."""
    if rule.means not in QUIET or rule.scope != "whole":
        return
    written = rule.text or rule.regex or ""
    key = "text" if rule.text is not None else "regex"
    book = compile_rulebook([rule])
    if all(book.read(text).rule is not None for text in WHATEVER_COMES):
        yield locator.note(
            (*here, key),
            found=written,
            wrong=f"takes every text and tells nobody of it ({rule.means}): an alarm that no other rule reads is lost",
            right="leave it out: a text that no rule reads is passed on word for word, and counts as a sign of life",
        )
    elif rule.text is not None and (words := words_of_trouble(rule.text)):
        yield locator.note(
            (*here, key),
            found=written,
            wrong=f"speaks of trouble ({', '.join(words)}), and as {rule.means!r} nobody is told of it",
            right='means = "input" with a state, or leave it out to have it passed on word for word',
        )


def _asked_at_the_daily_text(controller: Controller, index: int, locator: ProblemLocator) -> Iterator[Problem]:
    """Asked just when a box that texts once a day would text by itself: both would meet."""
    limit, ask = controller.silence_after, controller.ask
    if not isinstance(limit, timedelta) or not ask.text:
        return
    asked_after = limit - ask.before_silence
    days = round(asked_after / DAY)
    if days and abs(asked_after - days * DAY) <= ABOUT:
        yield locator.note(
            ("controllers", index, "ask"),
            found=ask.before_silence,
            wrong=f"is asked {days * 24} h after its last text, just when a box that texts daily does so by itself",
            right="another before_silence or silence_after, so that the daily text has an hour to come",
        )


def _short_of_sun(
    controller: Controller, index: int, latitude: float | None, locator: ProblemLocator
) -> Iterator[Problem]:
    """A panel that does not bring in a month what goes out."""
    if controller.power is None or controller.power.panel is None:
        return
    if any(
        len(monthly) not in (0, MONTHS)
        for monthly in (controller.power.monthly_kwh_m2_day, controller.power.monthly_celsius)
    ):
        return  # told as a mistake of its own
    outlook = power_outlook(controller.id, controller.power, latitude)
    if not outlook.short_months():
        return
    worst = outlook.worst
    yield locator.note(
        ("controllers", index, "power", "panel"),
        found=f"{controller.power.panel.watts:g} W",
        wrong=f"in month {worst.month} it brings {worst.charge.value:.2g} Ah a day, and {worst.use.value:.2g} Ah go out",
        right="a larger or steeper panel, or a larger battery; `tank-gateway power` reckons each month",
    )


def _nobody_would_notice(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Without the weekly message the silence of a dead gateway is like any other week's."""
    if not settings.contacts or (settings.digest.day != "off" and settings.digest.contacts):
        return
    off = settings.digest.day == "off"
    yield locator.note(
        ("digest", "day") if off else ("digest", "contacts"),
        found=settings.digest.day if off else "nobody",
        wrong="nobody would notice that the gateway is dead: no message comes by itself",
        right='day = "sunday" and contacts = ["…"] in [digest]: where that message is missing, something is wrong',
    )


CHECKS: tuple[ExtraCheck, ...] = (*SERVE_CHECKS, trap_checks)
"""All that `check` and `doctor` tell; here, so that no other command loads what only these need."""
