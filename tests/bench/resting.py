"""`serve` at rest with nothing to do: processor time, wake-ups, bytes written, memory; beside a bare Python."""

import os
import subprocess
import sys
import time
from pathlib import Path

from gateway.simulator import Habits
from tests.bench.figure import Figure, Run
from tests.bench.programs import at_modem, environment, serving

TICKS_PER_S = os.sysconf("SC_CLK_TCK")
LIMIT_MB = 68.0
LIBRARIES = "import pydantic, regex, phonenumbers, serial, sqlalchemy, apscheduler.triggers.cron"


def measure(run: Run) -> list[Figure]:
    """Five minutes of it (CI: ten seconds)."""
    rest_s = 10.0 if run.short else 300.0
    with at_modem(Habits()) as modem, serving(run.place("resting"), modem) as program:
        time.sleep(2.0)
        before = Rest(program.process.pid)
        time.sleep(rest_s)
        after = Rest(program.process.pid)
    minutes = rest_s / 60
    asked = sum(line.startswith("AT+CM") or line.startswith("AT+CSQ") for line in modem.commands)
    run.notes.append(f"resting: {rest_s:.0f} s; {asked} sweeps and looks at the signal since the start.")
    return [
        Figure(what="processor", ours=(after.cpu_s - before.cpu_s) / rest_s * 100, unit="%"),
        Figure(what="wake-ups of all threads", ours=(after.wakes - before.wakes) / minutes, unit="/min"),
        Figure(
            what="bytes written to the disk", ours=(after.written - before.written) / 1024 / minutes, unit="KiB/min"
        ),
        Figure(
            what="resident memory",
            ours=after.resident_mb,
            floor=_resident_mb("pass"),
            unit="MB",
            most_ours=LIMIT_MB,
            floor_is=f"a bare Python; with the libraries imported {_resident_mb(LIBRARIES):.1f} MB",
        ),
        Figure(what="file handles", ours=after.handles, unit=""),
        Figure(what="threads", ours=after.threads, unit=""),
    ]


class Rest:
    """What the kernel says of a process."""

    def __init__(self, pid: int) -> None:
        here = Path(f"/proc/{pid}")
        fields = (here / "stat").read_text().rpartition(")")[2].split()
        self.cpu_s = (int(fields[11]) + int(fields[12])) / TICKS_PER_S
        tasks = list((here / "task").iterdir())
        self.threads = len(tasks)
        self.wakes = sum(_said(task / "status", "voluntary_ctxt_switches") for task in tasks)
        self.written = _said(here / "io", "write_bytes")
        self.resident_mb = _said(here / "status", "VmRSS") / 1024
        self.handles = len(list((here / "fd").iterdir()))


def _said(file: Path, name: str) -> int:
    line = next(line for line in file.read_text().splitlines() if line.startswith(f"{name}:"))
    return int(line.split()[1])


def _resident_mb(code: str) -> float:
    said = f"{code}\nprint(next(l for l in open('/proc/self/status') if l.startswith('VmRSS')).split()[1])"
    done = subprocess.run([sys.executable, "-c", said], capture_output=True, text=True, env=environment(), check=True)
    return int(done.stdout) / 1024
