"""Settings → everything wired: the one place where rooms are joined to each other.

`device = "simulated"` starts the simulated modem on a pseudo-terminal and opens its other end with the same code as a
real one.
"""

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from gateway.clock import SystemClock
from gateway.errors import SimTrouble, StoreTrouble
from gateway.facts.states.gateway_itself import PinTried
from gateway.modem import Times, Trace, open_modem
from gateway.ports import Clock, Modem, Store, Timer
from gateway.service.journal import log
from gateway.service.lifesign import LifeSign
from gateway.service.loop import Daemon
from gateway.service.pin_mark import pin_mark
from gateway.settings.models import Settings
from gateway.settings.pin_file import pin
from gateway.site import compile_site
from gateway.storage import hold, open_store

SIMULATED = "simulated"


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """A daemon that is ready to run, and what must be closed after it."""

    daemon: Daemon
    store: Store
    simulated: Any
    close: Callable[[], None]


def build(
    settings: Settings,
    *,
    reload: Callable[[], Settings] | None = None,
    clock: Clock | None = None,
    timer: Timer | None = None,
    simulated: Any = None,
    times: Times | None = None,
    trace: Path | None = None,
    habits: Any = None,
) -> Built:
    """Wires the house; `times` are how long the modem may take, `timer` how the loop waits (by `clock`), `habits` how a simulated modem behaves.

    Raises the GatewayError family: a held store, a damaged one, a PIN file that is not there.
    """
    clock = clock or SystemClock()
    with ExitStack() as undo:
        lock = hold(settings.store.url, settings.site.name)
        undo.callback(lock.release)
        store = open_store(settings.store.url, settings.site.name, create=True, lock=lock)
        undo.callback(store.close)
        before = store.adopt()
        if before is not None:
            log.info("the site was called %r before; its record goes with it", before)
        device = settings.modem.device
        if device == SIMULATED:
            simulated = simulated or _simulated(settings, habits, undo)
            device = simulated.device
        life = LifeSign(clock, settings.store.url, settings.site.name)
        undo.callback(life.end)
        traced = Trace(trace, clock.now) if trace is not None else None
        modem = _modem(settings, device, store, clock, times, traced)
        daemon = Daemon(
            site=compile_site(settings),
            store=store,
            modem=modem,
            clock=clock,
            reload=reload,
            life=life,
            timer=timer,
        )
        return Built(daemon=daemon, store=store, simulated=simulated, close=undo.pop_all().close)


def _simulated(settings: Settings, habits: Any, undo: ExitStack) -> Any:
    # only where there is no modem: 20 ms and half a megabyte that no board at home needs (measured)
    from gateway.simulator import SimulatedModem, control_path, serve_control

    modem = SimulatedModem(habits=habits)
    modem.start()
    undo.callback(modem.stop)
    control = serve_control(control_path(settings.store.url, settings.site.name), modem)
    undo.callback(control.stop)
    return modem


def _modem(
    settings: Settings, device: str, store: Store, clock: Clock, times: Times | None, trace: Trace | None
) -> Modem:
    def tried() -> bool:
        with _for_the_sim(), store.read() as reader:
            kept = reader.state(PinTried)
        return kept is not None and kept == PinTried(mark=pin_mark(settings))

    def mark_tried() -> None:
        with _for_the_sim():
            mark = pin_mark(settings)
            with store.write() as tx:
                tx.set_state(PinTried(mark=mark))

    def mark_taken() -> None:
        with _for_the_sim(), store.write() as tx:
            tx.clear_state(PinTried)

    table = settings.modem.model_copy(update={"device": device})
    return open_modem(
        table,
        pin(settings),
        clock,
        pin_tried=tried,
        mark_pin_tried=mark_tried,
        mark_pin_taken=mark_taken,
        times=times,
        trace=trace,
    )


@contextmanager
def _for_the_sim() -> Iterator[None]:
    """On the modem's thread: no store, no try. It asks again as long as the SIM wants its PIN."""
    try:
        yield
    except (StoreTrouble, OSError) as trouble:
        said = trouble.said if isinstance(trouble, StoreTrouble) else str(trouble)
        raise SimTrouble(f"the SIM's PIN waits until its one try can be kept: {said}", reason="pin-waits") from trouble
