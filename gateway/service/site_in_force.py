"""The configuration in force: every transaction of the daemon is made under it, and when told so it is read anew.

A file with mistakes changes nothing: what was in force stays so, and each mistake is on record with its line.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from gateway.errors import ConfigurationWrong
from gateway.handlers import gateway_life
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Store, Transaction
from gateway.service.clock_watch import ClockWatch
from gateway.service.journal import Journal
from gateway.service.systemd import Systemd
from gateway.settings.models import Settings
from gateway.settings.problem_locator import problem_line
from gateway.site import Site, compile_site

Result = TypeVar("Result")


class SiteInForce:
    """`site`: the configuration, compiled. `read`: reads its file; None where there is none to read anew."""

    def __init__(
        self,
        site: Site,
        store: Store,
        watch: ClockWatch,
        journal: Journal,
        systemd: Systemd,
        read: Callable[[], Settings] | None,
    ) -> None:
        self.site = site
        self._store, self._watch, self._journal, self._systemd, self._read = store, watch, journal, systemd, read

    def within(self, work: Callable[[UnitOfWork], Result]) -> Result:
        """Does the work in one transaction."""
        with self._store.write() as tx:
            return work(self.unit(tx))

    def unit(self, tx: Transaction) -> UnitOfWork:
        """What a handler works with, now and in this transaction."""
        return self._watch.unit(tx, self.site)

    def reload(self) -> None:
        """Reads the file: what it says is in force from now on, or it is refused."""
        if self._read is None:
            return
        self._systemd.say_reloading()
        try:
            self.site = compile_site(self._read())
            self.within(gateway_life.reloaded)
            self._journal("reloaded")
        except ConfigurationWrong as wrong:
            problems = [problem_line(replace(problem, file=Path(problem.file).name)) for problem in wrong.problems]
            self.within(lambda unit: gateway_life.reload_refused(unit, problems))
            self._journal("reload-refused", mistakes=len(problems))
        self._systemd.say_ready()
