"""A proxy between phone and server that can be told to misbehave as networks do."""

from __future__ import annotations

import socket
import socketserver
import struct
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from tests.waiting import until

PIECE, LATE_S = 120, 0.1
Fault = Callable[[bytes], bytes]
FaultOf = Callable[[str, bytes], bytes]  # knows the request's first line
MOVED = b"HTTP/1.1 302 Found\r\nLocation: /join\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"
PORTAL = (
    b"HTTP/1.1 200 OK\r\nContent-Type: text/html; charset=utf-8\r\nConnection: close\r\n\r\n"
    b"<!doctype html><title>Ward network</title><p>Sign in to use this network."
)


@dataclass(slots=True)
class Rule:
    """What is done to the answers of requests whose first line holds `path`, how many times."""

    path: str
    fault: Fault
    times: int
    reaches_the_server: bool = True
    way: Literal["", "reset", "slowly"] = ""
    fault_of: FaultOf | None = None
    happened: int = 0


def _read_message(connection: socket.socket) -> bytes:
    """Reads one request, head and body, and asks for its connection to end with the answer."""
    data = b""
    while b"\r\n\r\n" not in data:
        if not (piece := connection.recv(65_536)):
            return b""
        data += piece
    head, _, body = data.partition(b"\r\n\r\n")
    lines = [line for line in head.split(b"\r\n") if not line.lower().startswith(b"connection:")]
    length = next((int(line.split(b":")[1]) for line in lines if line.lower().startswith(b"content-length:")), 0)
    while len(body) < length:
        if not (piece := connection.recv(65_536)):
            return b""
        body += piece
    return b"\r\n".join([*lines, b"Connection: close"]) + b"\r\n\r\n" + body


def _read_to_the_end(connection: socket.socket) -> bytes:
    pieces = []
    while piece := connection.recv(65_536):
        pieces.append(piece)
    return b"".join(pieces)


class FaultyProxy:
    """Listens on a port of its own and passes each request on to `server_port`, one connection for each."""

    def __init__(self, server_port: int) -> None:
        self.server_port = server_port
        self.rules: list[Rule] = []
        self.seen: list[str] = []
        proxy = self

        class Handler(socketserver.BaseRequestHandler):
            def handle(self) -> None:
                proxy._passes_on(self.request)

        class Server(socketserver.ThreadingTCPServer):
            allow_reuse_address = True
            daemon_threads = True

        self._server = Server(("127.0.0.1", 0), Handler)
        self.url = f"http://127.0.0.1:{self._server.server_address[1]}"
        self._thread = threading.Thread(target=self._server.serve_forever, daemon=True)
        self._thread.start()

    def ends(self) -> None:
        self._server.shutdown()
        self._server.server_close()

    # --- what it can be told ---

    def cuts_answers(self, path: str, after_bytes: int = 0, times: int = 1) -> Rule:
        """Lets the server do its work, then cuts the connection after so many bytes of the answer."""
        return self._add(Rule(path, lambda answer: answer[:after_bytes], times))

    def changes_answers(self, path: str, fault: Fault, times: int = 1) -> Rule:
        """Changes the answers on their way."""
        return self._add(Rule(path, fault, times))

    def changes_answers_by_request(self, path: str, fault_of: FaultOf) -> Rule:
        """Changes each answer on its way by what was asked."""
        return self._add(Rule(path, bytes, 10**9, fault_of=fault_of))

    def shows_a_portal(self, path: str = " ") -> Rule:
        """Answers everything with the sign-in page of the network in between; the server hears nothing."""
        return self._add(Rule(path, lambda _: PORTAL, 10**9, reaches_the_server=False))

    def resets_connections(self, path: str, after_bytes: int = 0, times: int = 1) -> Rule:
        """Lets the server do its work, then ends the connection with a reset, after so many bytes of the answer."""
        return self._add(Rule(path, lambda answer: answer[:after_bytes], times, way="reset"))

    def answers_slowly(self, path: str, times: int = 1) -> Rule:
        """Brings the answer late and in small pieces, and keeps the connection open for a while after the last one."""
        return self._add(Rule(path, lambda answer: answer, times, way="slowly"))

    def leads_elsewhere(self, path: str, times: int = 1) -> Rule:
        """Answers with a redirect to a sign-in page of the network in between, as a login page does."""
        return self._add(Rule(path, lambda _: MOVED, times, reaches_the_server=False))

    def behaves(self) -> None:
        """Passes everything on as it is, from now on."""
        self.rules.clear()

    def _add(self, rule: Rule) -> Rule:
        self.rules.append(rule)
        return rule

    def has_done(self, rule: Rule) -> None:
        """Waits until a rule has been applied as often as it should."""
        until(lambda: rule.happened >= min(rule.times, 1))

    # --- what it does ---

    def _rule_for(self, request: bytes) -> Rule | None:
        first_line = request.split(b"\r\n", 1)[0].decode("latin-1")
        self.seen.append(first_line)
        return next((rule for rule in self.rules if rule.path in first_line and rule.happened < rule.times), None)

    def _passes_on(self, phone: Any) -> None:
        request = _read_message(phone)
        if not request:
            return  # a connection opened in advance and never used
        rule = self._rule_for(request)
        if rule:
            rule.happened += 1
        answer = self._asks_the_server(request) if rule is None or rule.reaches_the_server else b""
        try:
            self._brings(phone, self._spoilt(rule, request, answer) if rule else answer, rule.way if rule else "")
        except OSError:
            return  # the phone went away first

    @staticmethod
    def _spoilt(rule: Rule, request: bytes, answer: bytes) -> bytes:
        first_line = request.split(b"\r\n", 1)[0].decode("latin-1")
        return rule.fault_of(first_line, answer) if rule.fault_of else rule.fault(answer)

    @staticmethod
    def _brings(phone: socket.socket, answer: bytes, way: str) -> None:
        if way == "slowly":
            for at in range(0, len(answer), PIECE):
                threading.Event().wait(LATE_S)
                phone.sendall(answer[at : at + PIECE])
            threading.Event().wait(LATE_S)
            return
        phone.sendall(answer)
        if way == "reset":
            phone.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
            phone.close()

    def _asks_the_server(self, request: bytes) -> bytes:
        try:
            with socket.create_connection(("127.0.0.1", self.server_port), timeout=30) as server:
                server.sendall(request)
                return _read_to_the_end(server)
        except OSError:
            return b""
