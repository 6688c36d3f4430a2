"""Who may ask: this computer alone, or whoever knows the password."""

import base64
import binascii
import hashlib
import hmac
import secrets
import threading
from collections.abc import Iterable
from urllib.parse import urlsplit

from werkzeug.security import check_password_hash

from dashboards.server.compressing import Environment, StartResponse, WsgiApp

LOOPBACK = ("127.0.0.1", "localhost", "::1")
CHANGING = ("POST", "PUT", "PATCH", "DELETE")


class Gate:
    """A WSGI app in front of another: refuses foreign hosts and origins, asks for the password.

    Without a password only requests addressed to this computer by name pass, so that no foreign page
    can reach the dashboard through a name it controls. A change asked for by another site's page is
    refused in any case.
    """

    def __init__(self, app: WsgiApp, *, password_hash: str | None = None) -> None:
        self._app, self._hash = app, password_hash
        self._key = secrets.token_bytes(32)
        self._known: set[bytes] = set()
        self._lock = threading.Lock()

    def __call__(self, environ: Environment, start_response: StartResponse) -> Iterable[bytes]:
        """One request."""
        host = environ.get("HTTP_HOST", "")
        if self._hash is None and hostname(host) not in LOOPBACK:
            return _refused(start_response, "403 Forbidden", f"Not served under the name {hostname(host)!r}.")
        if environ.get("REQUEST_METHOD") in CHANGING and not _same_origin(environ, host):
            return _refused(start_response, "403 Forbidden", "Asked for by a page of another site.")
        if self._hash is not None and not self._admits(environ.get("HTTP_AUTHORIZATION", "")):
            asked = [("WWW-Authenticate", 'Basic realm="Tallylux", charset="UTF-8"')]
            return _refused(start_response, "401 Unauthorized", "A password is needed.", asked)
        return self._app(environ, start_response)

    def _admits(self, header: str) -> bool:
        """Checks the slow hash once for each right password; a wrong one is always checked in full."""
        mark = hmac.digest(self._key, header.encode(), hashlib.sha256)
        if mark in self._known:
            return True
        with self._lock:  # one at a time: guessing gains nothing from asking in parallel
            right = check_password_hash(self._hash or "", password_of(header))
        if right and len(self._known) < 1000:
            self._known.add(mark)
        return right


def password_of(header: str) -> str:
    """The password in a Basic authorization header; empty where there is none."""
    kind, _, packed = header.partition(" ")
    if kind.lower() != "basic":
        return ""
    try:
        return base64.b64decode(packed, validate=True).decode("utf-8").partition(":")[2]
    except (binascii.Error, UnicodeDecodeError):
        return ""


def hostname(host: str) -> str:
    """The name in a Host header, port and brackets removed."""
    return urlsplit(f"//{host}").hostname or ""


def _same_origin(environ: Environment, host: str) -> bool:
    origin = environ.get("HTTP_ORIGIN")
    return origin is None or urlsplit(origin).netloc.lower() == host.lower()


def _refused(
    start_response: StartResponse, status: str, words: str, headers: list[tuple[str, str]] | None = None
) -> Iterable[bytes]:
    body = f"{words}\n".encode()
    common = [("Content-Type", "text/plain; charset=utf-8"), ("Content-Length", str(len(body)))]
    start_response(status, common + (headers or []))
    return [body]
