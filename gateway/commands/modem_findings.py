"""The modem → what `doctor` says of it: its port, SIM, network and signal. A running daemon's modem is not touched."""

from collections.abc import Iterator
from pathlib import Path

from gateway.commands.finding import Finding
from gateway.commands.opening import store_of
from gateway.commands.showing import local
from gateway.gsm.signal import WEAK_PERCENT
from gateway.site import Site
from gateway.status.troubles import trouble_since


def modem_findings(site: Site) -> Iterator[Finding]:
    """What the daemon saw of it last; without a daemon, whether something answers at its port."""
    from gateway.storage import holder

    device = site.settings.modem.device
    if holder(site.settings.store.url, site.settings.site.name) is not None:
        yield from _as_the_daemon_saw_it(site)
    elif device == "simulated":
        yield Finding(what="modem", right=True, said="simulated")
    else:
        yield from _at_its_port(device, site.settings.modem.baud)


def _at_its_port(device: str, baud: int) -> Iterator[Finding]:
    from gateway.modem.probe import answers_at, candidates

    if Path(device).exists():
        answers = answers_at(device, baud)
        yield Finding(
            what="modem",
            right=answers,
            said=f"{device} {'answers AT' if answers else 'does not answer AT'}",
            do="" if answers else "another of its ports may: see the candidates",
        )
    else:
        yield Finding(what="modem", right=False, said=f"there is no {device}", do="plug it in; see the candidates")
    for name, description in candidates():
        yield Finding(what="candidate", right=None, said=f"{name}: {description}")


def _as_the_daemon_saw_it(site: Site) -> Iterator[Finding]:
    with store_of(site.settings).read() as reader:
        modem = reader.mark("gateway:modem") or {}
        seen = reader.mark("gateway:condition") or {}
        lost = trouble_since(reader, "modem-lost") or trouble_since(reader, "sim-trouble")
    notes = "; ".join(modem.get("notes", ()))
    yield Finding(
        what="modem",
        right=False if lost else bool(modem) or None,
        said=str(modem.get("model", "not seen yet")) + (f" ({notes})" if notes else ""),
        do=f"lost since {local(lost, site.zone)}: see above" if lost else "",
    )
    sim = seen.get("sim")
    yield Finding(
        what="SIM",
        right=None if sim is None or lost else sim == "ready",
        said=str(sim or "unknown"),
        do="" if sim in (None, "ready") else "do what it says; a PUK is entered in a phone",
    )
    registered = None if lost else seen.get("registered")
    yield Finding(
        what="network",
        right=registered,
        said=str(seen.get("operator") or "unknown"),
        do="" if registered is not False else "no network: move the antenna, look at the SIM's contract",
    )
    yield _signal(None if lost else seen.get("signal_percent"))


def _signal(percent: float | None) -> Finding:
    weak = percent is not None and percent < WEAK_PERCENT
    return Finding(
        what="signal",
        right=None if percent is None else not weak,
        said=f"{percent:.0f} %" if percent is not None else "unknown",
        do="weak: a higher or freer place for the antenna, or one outside" if weak else "",
    )
