"""A plain serial line for the tests: commands out, answers in, nothing of the gateway's own dialogue."""

import serial

FINAL = (b"OK\r\n", b"ERROR\r\n")


class Line:
    """pyserial on the simulated modem's device."""

    def __init__(self, device: str, patience: float = 5.0) -> None:
        self.port = serial.Serial(device, 115200, timeout=patience, exclusive=True)

    def ask(self, command: str) -> list[str]:
        """The lines of the answer, blank ones left out, up to and with the final one."""
        self.port.write(command.encode() + b"\r")
        return self.until_final()

    def until_final(self) -> list[str]:
        lines: list[str] = []
        while True:
            line = self.read_line()
            lines.append(line)
            if line in ("OK", "ERROR") or line.startswith(("+CME ERROR", "+CMS ERROR")):
                return lines

    def read_line(self) -> str:
        """The next line that is not blank. Raises TimeoutError."""
        while True:
            raw = self.port.readline()
            if not raw.endswith(b"\n"):
                raise TimeoutError(f"no whole line came, only {raw!r}")
            line = raw.decode("ascii", "replace").strip()
            if line:
                return line

    def prompt(self, command: str) -> None:
        """Asks and waits for the prompt."""
        self.port.write(command.encode() + b"\r")
        seen = self.port.read_until(b"> ")
        assert seen.endswith(b"> "), seen

    def send(self, pdu: str, length: int) -> list[str]:
        """AT+CMGS with this PDU."""
        self.prompt(f"AT+CMGS={length}")
        self.port.write(pdu.encode() + b"\x1a")
        return self.until_final()

    def initialise(self) -> None:
        """What every test needs first."""
        for command in ("ATE0", "AT+CMEE=1", "AT+CMGF=0"):
            assert self.ask(command)[-1] == "OK"
