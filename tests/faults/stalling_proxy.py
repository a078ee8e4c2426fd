"""A TCP proxy before a server: it passes on what comes, until it is told to stall; then it takes everything and gives nothing back."""

import contextlib
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager


class StallingProxy:
    """`port`: where it listens. `stalled` is set: the line is alive, and nobody answers."""

    def __init__(self, server_port: int) -> None:
        self._server_port = server_port
        self.stalled = threading.Event()
        self.swallowed = threading.Event()
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port = self._listener.getsockname()[1]
        self._open: list[socket.socket] = [self._listener]
        threading.Thread(target=self._accept, daemon=True).start()

    def close(self) -> None:
        """Every line is cut."""
        for line in self._open:
            with contextlib.suppress(OSError):
                line.shutdown(socket.SHUT_RDWR)
            line.close()

    def _accept(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                client, _ = self._listener.accept()
                server = socket.create_connection(("127.0.0.1", self._server_port))
                self._open += [client, server]
                for source, sink in ((client, server), (server, client)):
                    threading.Thread(target=self._pass_on, args=(source, sink), daemon=True).start()

    def _pass_on(self, source: socket.socket, sink: socket.socket) -> None:
        with contextlib.suppress(OSError):
            while data := source.recv(65_536):
                if self.stalled.is_set():
                    self.swallowed.set()
                else:
                    sink.sendall(data)
            sink.shutdown(socket.SHUT_WR)


@contextmanager
def stalling_proxy(server_port: int) -> Iterator[StallingProxy]:
    """One at work."""
    proxy = StallingProxy(server_port)
    try:
        yield proxy
    finally:
        proxy.close()
