"""`errand CONTROLLER ID`: sends an errand and waits for its answer; without an ID lists them; `--first` sets a new box up."""

import argparse
import sys
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from gateway.clock import SystemClock
from gateway.commands.running_daemon import SLEEPS_AT_MOST, await_in_store, require_daemon
from gateway.commands.site_and_store import load_site, open_site_store, wake_daemon
from gateway.commands.terminal_output import local_time, print_json, print_table, print_text
from gateway.errands import LEAVES_WITHIN
from gateway.errors import GatewayError, UsageWrong
from gateway.facts import Event
from gateway.facts.harmless import harmless
from gateway.handlers.errands import order_errand
from gateway.handlers.unit_of_work import unit_of_work
from gateway.ports import Store
from gateway.settings.controller_tables import Controller, Errand
from gateway.settings.durations import format_duration
from gateway.site import Site
from gateway.status.errands import end_of, errand_called, errands_of, first_steps, result_json

Result = Mapping[str, Any]


def run(arguments: argparse.Namespace) -> int:
    """0 where each errand was answered as expected (or none was expected), 1 otherwise."""
    site = load_site(arguments)
    if arguments.first:
        return _set_up(site, arguments)
    if arguments.id is None:
        _list(site, _controllers(site, arguments.controller), as_json=arguments.json)
        return 0
    controller = _controller_called(site, arguments.controller)
    errand = _errand_called(controller, arguments.id)
    require_daemon(site.settings)
    result = _carry_out(site, open_site_store(site.settings), controller, errand, sure=arguments.yes)
    if arguments.json:
        print_json(result)
    else:
        _print_result(site, controller, errand, result)
    return _exit_code(result, errand)


def _set_up(site: Site, arguments: argparse.Namespace) -> int:
    """All errands of risk `sets`, one after the other; after one that was not answered as expected the rest is left."""
    if arguments.controller is None or arguments.id is not None:
        raise UsageWrong("right would be: tank-gateway errand CONTROLLER --first")
    controller = _controller_called(site, arguments.controller)
    errands = first_steps(controller)
    if not errands:
        raise GatewayError(f'{controller.name} has no errand with risk = "sets"')
    require_daemon(site.settings)
    store, results, code = open_site_store(site.settings), [], 0
    for errand in errands:
        results.append(_carry_out(site, store, controller, errand, sure=arguments.yes))
        code = _exit_code(results[-1], errand)
        if not arguments.json:
            _print_result(site, controller, errand, results[-1])
        if code:
            break
    undone = [errand.id for errand in errands[len(results) :]]
    if arguments.json:
        print_json({"controller": controller.id, "errands": results, "undone": undone})
    elif undone:
        print(f"Not sent: {', '.join(undone)}. Mend it, and begin again with --first.")
    return code


def _carry_out(site: Site, store: Store, controller: Controller, errand: Errand, *, sure: bool) -> Result:
    """The errand from order to end."""
    if errand.risk != "looks" and not sure:
        _confirm(site, controller, errand)
    with store.write() as tx:
        unit = unit_of_work(tx, site, SystemClock().now())
        ordered = order_errand(unit, unit.site.controllers[controller.id], errand, by=None)
    if ordered.kind == "errand-refused":
        return result_json(site, controller.id, ordered)
    wake_daemon(site.settings)
    ended = _await_end(site, store, controller, errand, ordered)
    if ended is None:
        raise GatewayError(
            f"the daemon has not told how {errand.id} ended; `tank-gateway history` will: it goes on without this command"
        )
    return result_json(site, controller.id, ended)


def _await_end(site: Site, store: Store, controller: Controller, errand: Errand, ordered: Event) -> Event | None:
    longest = LEAVES_WITHIN + errand.within * errand.tries + 2 * SLEEPS_AT_MOST
    return await_in_store(
        store,
        site.settings,
        lambda reader: end_of(reader, controller.id, ordered.id or 0, ordered.at),
        longest,
    )


def _confirm(site: Site, controller: Controller, errand: Errand) -> None:
    """Asks whoever sits there, with what could go wrong. Raises GatewayError unless they say yes."""
    caution = site.phrases.sentence("caution", errand.risk) or ""
    print(f"{errand.id} {errand.risk} something at {controller.name}. {caution}", file=sys.stderr)
    print("Type yes to send it: ", end="", file=sys.stderr, flush=True)
    if sys.stdin.readline().strip().casefold() not in ("yes", "y"):
        print(file=sys.stderr)
        raise GatewayError(f"{errand.id} was not sent (--yes leaves the question out)")


def _exit_code(result: Result, errand: Errand) -> int:
    as_expected = result["state"] == "answered" or (result["state"] == "no-answer" and not errand.answer)
    return 0 if as_expected else 1


def _print_result(site: Site, controller: Controller, errand: Errand, result: Result) -> None:
    name, sent = f"{controller.name}, {errand.id}", _clock(site, result["sent_at"])
    cost = f", {result['cost']:.2f} {site.settings.limits.currency}" if result["cost"] else ""
    tries = f", sent {result['tries']} times" if result["tries"] > 1 else ""
    took = f" after {result['round_trip_s']:.1f} s" if result["round_trip_s"] is not None else ""
    match result["state"]:
        case "answered":
            print(f"{name}: sent {sent}, answered{took}{tries}{cost}.\n  {harmless(result['answer'])}")
        case "unexpected":
            print(f"{name}: sent {sent}, answered otherwise than expected{took}{tries}{cost}.")
            print(f"  expected {errand.answer}\n  came     {harmless(result['answer'])}")
        case "no-answer" if not errand.answer:
            print(f"{name}: sent {sent}{cost}; no answer is expected.")
        case "no-answer":
            print(f"{name}: sent {sent}, no answer within {format_duration(errand.within)}{tries}{cost}.")
        case _:
            print(f"{name}: not sent. {site.phrases.sentence('errand-not-sent', result['why']) or ''}".rstrip())


def _clock(site: Site, at: str | None) -> str:
    return local_time(datetime.fromisoformat(at), site.zone) if at else "-"


def _controllers(site: Site, written: str | None) -> Sequence[Controller]:
    return site.settings.controllers if written is None else (_controller_called(site, written),)


def _controller_called(site: Site, written: str) -> Controller:
    """By its id or its name, without case. Raises GatewayError."""
    for controller in site.settings.controllers:
        if written.casefold() in (controller.id.casefold(), controller.name.casefold()):
            return controller
    known = ", ".join(f"{controller.id} ({controller.name})" for controller in site.settings.controllers)
    raise GatewayError(f"there is no controller {written!r}; there are: {known or 'none'}")


def _errand_called(controller: Controller, written: str) -> Errand:
    errand = errand_called(controller, written)
    if errand is None:
        known = ", ".join(errand.id for errand in errands_of(controller))
        raise GatewayError(f"{controller.name} has no errand {written!r}; there are: {known or 'none'}")
    return errand


def _list(site: Site, controllers: Sequence[Controller], *, as_json: bool) -> None:
    errands = [(controller, errand) for controller in controllers for errand in errands_of(controller)]
    if as_json:
        print_json({"errands": [_listed(controller, errand) for controller, errand in errands]})
        return
    if not errands:
        print_text("There are no errands: [[controllers.errands]] in the configuration describes them.")
        return
    rows = [
        (controller.id, errand.id, errand.risk, errand.answer or "none", format_duration(errand.within), _who(errand))
        for controller, errand in errands
    ]
    headings = ("controller", "errand", "risk", "expects", "within", "by text")
    print_table(headings, rows)


def _listed(controller: Controller, errand: Errand) -> Mapping[str, Any]:
    """A text that stands in a file of its own is not shown: it may hold the box's password."""
    return {
        "controller": controller.id,
        "errand": errand.id,
        "text": None if errand.text_file else errand.text,
        "answer": errand.answer,
        "within": format_duration(errand.within),
        "tries": errand.tries,
        "risk": errand.risk,
        "may": list(errand.may),
        "longest": format_duration(errand.longest),
    }


def _who(errand: Errand) -> str:
    return ", ".join(errand.may) or "nobody"
