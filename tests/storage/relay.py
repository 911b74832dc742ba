"""What stands between a client and PostgreSQL and names another process than the one that answers.

As every pooler does that gives its clients a server's connections by turns: PostgreSQL's protocol
(version 3.0, "BackendKeyData") says by which process and key a query can be cancelled, and whoever
relays that for several has to make both up.
"""

import socket
import struct
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress

_KEY_DATA, _READY = b"K", b"Z"


@contextmanager
def naming(process_id: int, *, socket_path: str) -> Iterator[int]:
    """Relay to the server behind ``socket_path`` until the block ends; give the port."""
    with socket.create_server(("127.0.0.1", 0)) as listening:
        threading.Thread(target=_accept, args=(listening, socket_path, process_id)).start()
        try:
            yield listening.getsockname()[1]
        finally:
            listening.shutdown(socket.SHUT_RDWR)


def _accept(listening: socket.socket, socket_path: str, process_id: int) -> None:
    with suppress(OSError):
        while True:
            client, _ = listening.accept()
            server = socket.socket(socket.AF_UNIX)
            server.connect(socket_path)
            for work in ((client, server, None), (server, client, process_id)):
                threading.Thread(target=_carry, args=work, daemon=True).start()


def _carry(source: socket.socket, to: socket.socket, process_id: int | None) -> None:
    with suppress(OSError), source.makefile("rb") as said:
        while process_id is not None:
            head = said.read(5)
            kind, size = head[:1], struct.unpack("!I", head[1:])[0]
            rest = said.read(size - 4)
            if kind == _KEY_DATA:
                rest = struct.pack("!I", process_id) + rest[4:]
            to.sendall(head + rest)
            if kind == _READY:
                break
        while part := said.read1(65536):
            to.sendall(part)
    with suppress(OSError):
        to.shutdown(socket.SHUT_WR)
