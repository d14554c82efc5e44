"""A reverse proxy that ends TLS before the real server, as a clinic's own does."""

from __future__ import annotations

import asyncio
import base64
import hashlib
import ssl
import threading
from asyncio import StreamReader, StreamWriter
from collections.abc import Coroutine
from typing import Any, TypeVar, cast

import trustme
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

T = TypeVar("T")
NAME = "clinic.test"  # a name that nobody can own (RFC 6761)
BAD_GATEWAY = b"HTTP/1.1 502 Bad Gateway\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"
NOT_PASSED_ON = (b"connection:", b"keep-alive:", b"x-forwarded-host:", b"x-forwarded-proto:")


class TlsProxy:
    """Listens with a certificate of its own at `url`; `flags` make a browser know the name and the certificate.

    Each request has a connection of its own to the server. Who asked is added to what the browser says of itself;
    the host and the scheme are the proxy's own word.
    """

    def __init__(self, port: int, server_port: int) -> None:
        self.url = f"https://{NAME}:{port}"
        self.server_port = server_port
        certificate = trustme.CA().issue_cert(NAME)
        self._context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        certificate.configure_cert(self._context)
        known = _key_hash(certificate.cert_chain_pems[0].bytes())
        self.flags = [f"--host-resolver-rules=MAP {NAME} 127.0.0.1", f"--ignore-certificate-errors-spki-list={known}"]
        self._open: set[StreamWriter] = set()
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, daemon=True)
        self._thread.start()
        self._listening = self._runs(asyncio.start_server(self._serves, "127.0.0.1", port, ssl=self._context))

    def _runs(self, work: Coroutine[Any, Any, T]) -> T:
        return asyncio.run_coroutine_threadsafe(work, self._loop).result(30)

    def ends(self) -> None:
        """Closes the port, and every connection with it; nothing more the second time."""
        if self._loop.is_closed():
            return
        self._runs(self._closes())
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(10)
        self._loop.close()

    async def _closes(self) -> None:
        self._listening.close()
        others = asyncio.all_tasks() - {cast("asyncio.Task[None]", asyncio.current_task())}
        for task in others:
            task.cancel()
        await asyncio.gather(*others, return_exceptions=True)
        for connection in self._open:
            connection.transport.abort()

    async def _serves(self, browser: StreamReader, answers: StreamWriter) -> None:
        self._open.add(answers)
        try:
            head = await browser.readuntil(b"\r\n\r\n")
            body = await browser.readexactly(_body_bytes(head))
            answers.write(await self._asks_the_server(self._as_proxied(head, answers) + body))
            await answers.drain()
        except (asyncio.IncompleteReadError, ConnectionError, ssl.SSLError):
            pass  # a connection opened in advance and never used, or a browser that went away
        finally:
            answers.close()

    def _as_proxied(self, head: bytes, browser: StreamWriter) -> bytes:
        """Says what a proxy says: who asked, by which scheme, for which host."""
        lines = [line for line in head.removesuffix(b"\r\n\r\n").split(b"\r\n") if not _starts(line, NOT_PASSED_ON)]
        host = next(line.partition(b":")[2].strip() for line in lines if _starts(line, (b"host:",)))
        asked_by = str(browser.get_extra_info("peername")[0]).encode()
        lines += [b"X-Forwarded-For: " + asked_by, b"X-Forwarded-Proto: https", b"X-Forwarded-Host: " + host]
        return b"\r\n".join([*lines, b"Connection: close", b"", b""])

    async def _asks_the_server(self, request: bytes) -> bytes:
        try:
            answer, asks = await asyncio.open_connection("127.0.0.1", self.server_port)
        except ConnectionError:
            return BAD_GATEWAY
        try:
            asks.write(request)
            return await answer.read() or BAD_GATEWAY
        except ConnectionError:
            return BAD_GATEWAY
        finally:
            asks.close()


def _starts(line: bytes, names: tuple[bytes, ...]) -> bool:
    return line.lower().startswith(names)


def _body_bytes(head: bytes) -> int:
    lengths = [line.partition(b":")[2] for line in head.split(b"\r\n") if _starts(line, (b"content-length:",))]
    return int(lengths[0]) if lengths else 0


def _key_hash(pem: bytes) -> str:
    """Names a certificate's key as Chromium does: base64 of the SHA-256 of its public part."""
    key = x509.load_pem_x509_certificate(pem).public_key()
    return base64.b64encode(hashlib.sha256(key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)).digest()
                            ).decode()
