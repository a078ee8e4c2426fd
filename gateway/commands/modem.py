"""`modem`: tries the modem step by step, says what it grants; with `--report FILE` every command and answer, masked, for somebody far away.

Nothing is sent, read or deleted, and no PIN is given. Where a daemon has the modem it is left alone: `serve --trace FILE` does the same at work.
"""

import argparse
import sys
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from gateway.clock import SystemClock
from gateway.commands.configuration_checks import EXTRA_CHECKS
from gateway.commands.own_files import refuse_what_is_not_ours
from gateway.commands.running_daemon import daemon_runs
from gateway.commands.terminal_output import counted, print_json, print_table
from gateway.errors import GatewayError, ModemTrouble, UsageWrong
from gateway.facts.harmless import harmless
from gateway.modem.modem_trial import Step, Trial, try_modem
from gateway.modem.trace import Trace, is_trace
from gateway.settings.load import load
from gateway.settings.models import Settings
from gateway.storage.files import no_file

LABELS = {
    "model": "model",
    "memories": "memories",
    "announces": "announces texts",
    "sim": "SIM",
    "registered": "in a network",
    "signal_percent": "signal in percent",
    "notes": "notes",
    "unknown_lines": "lines that are not known",
}
"""What a person reads for what a program gets by `--json`."""


def run(arguments: argparse.Namespace) -> int:
    """0 where the gateway could work with it, else 1."""
    settings = load(arguments.config, EXTRA_CHECKS).settings
    if daemon_runs(settings):
        raise GatewayError("the daemon has the modem: stop it first, or start it with `serve --trace FILE`")
    trace = _report(arguments.report, arguments.config)
    device = arguments.device or settings.modem.device
    with ExitStack() as undo:
        trial = _tried(settings, device, trace, undo, told=not arguments.json)
    if arguments.json:
        print_json(_document(device, trial, arguments.report))
    else:
        _print_end(trial, arguments.report)
    if trial.trouble is not None:
        print(harmless(f"wrong: the gateway cannot work with {device}: {trial.trouble}"), file=sys.stderr)
    return 0 if trial.trouble is None else 1


def report_file(named: str, config: str) -> Path:
    """Where a report or a trace may be written: over nothing but another. Raises UsageWrong, GatewayError."""
    file = Path(named)
    wrong = no_file(file, "modem-report.txt")
    if wrong is not None:
        raise UsageWrong(wrong)
    if not file.parent.is_dir():
        raise UsageWrong(f"there is no folder {file.parent}")
    refuse_what_is_not_ours(file, Path(config), is_ours=is_trace, what="report", example="modem-report.txt")
    return file


def _report(named: str | None, config: str) -> Trace | None:
    """A report begins anew."""
    if not named:
        return None
    file = report_file(named, config)
    file.unlink(missing_ok=True)
    return Trace(file, SystemClock().now)


def _tried(settings: Settings, device: str, trace: Trace | None, undo: ExitStack, *, told: bool) -> Trial:
    if device == "simulated":
        # only where there is no modem: what no board at home needs (measured in `service/build_daemon.py`)
        from gateway.simulator import SimulatedModem

        device = undo.enter_context(SimulatedModem()).device
    table = settings.modem
    try:
        return try_modem(
            device,
            table.baud,
            trace=trace,
            delivery_reports=table.delivery_reports,
            progress=_print_step if told else lambda step: None,
        )
    except ModemTrouble as trouble:
        return Trial(steps=(), ready=None, condition=None, trouble=trouble.said, unknown=())


def _print_step(step: Step) -> None:
    said = " / ".join(step.said)
    print(harmless(f"{step.what:24}{step.command:14}{step.outcome:9}{said}"), flush=True)


def _print_end(trial: Trial, report: str | None) -> None:
    rows = [(LABELS[what], _in_words(value)) for what, value in _granted(trial).items() if value not in (None, [], "")]
    print()
    print_table(("what the gateway would use", ""), rows)
    if report:
        print(
            f"\nEvery command and answer is in {report}: numbers, words and the PIN are masked. Send it to whoever helps you."
        )


def _in_words(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        each = (
            f"{part['shape']} ({counted(part['times'], 'time')})" if isinstance(part, dict) else part for part in value
        )
        return "; ".join(map(str, each))
    return str(value)


def _document(device: str, trial: Trial, report: str | None) -> dict[str, Any]:
    steps = [
        {
            "what": step.what,
            "command": step.command,
            "result": step.outcome,
            "said": list(step.said),
            "took_s": step.took_s,
        }
        for step in trial.steps
    ]
    return {
        "device": device,
        "usable": trial.trouble is None,
        "trouble": trial.trouble,
        "steps": steps,
        **_granted(trial),
        "report": report,
    }


def _granted(trial: Trial) -> dict[str, Any]:
    ready, condition = trial.ready, trial.condition
    return {
        "model": ready.model if ready else None,
        "memories": list(ready.memories) if ready else [],
        "announces": ready.announces if ready else None,
        "sim": condition.sim if condition else None,
        "registered": condition.registered if condition else None,
        "signal_percent": condition.signal_percent if condition else None,
        "notes": list(ready.notes) if ready else [],
        "unknown_lines": [{"shape": shape, "times": times} for shape, times in trial.unknown],
    }
