"""Compresses what is worth compressing on its way out."""

import gzip
from collections.abc import Callable, Iterable
from typing import Any

Environment = dict[str, Any]
StartResponse = Callable[..., Any]
WsgiApp = Callable[[Environment, StartResponse], Iterable[bytes]]

WORTH_BYTES = 1400  # about one network packet
KINDS = ("text/", "application/json", "application/javascript", "image/svg+xml")
KEPT_FOREVER = "max-age=31536000"  # how the files of the page's own packages are marked


class Compressed:
    """A WSGI app whose texts are sent gzipped to whoever takes it; lasting files only once."""

    def __init__(self, app: WsgiApp) -> None:
        self._app = app
        self._kept: dict[str, bytes] = {}

    def __call__(self, environ: Environment, start_response: StartResponse) -> Iterable[bytes]:
        """One request."""
        if "gzip" not in environ.get("HTTP_ACCEPT_ENCODING", ""):
            return self._app(environ, start_response)
        begun: list[Any] = []

        def remember(status: str, headers: list[tuple[str, str]], _error: Any = None) -> None:
            begun[:] = [status, headers]

        parts = self._app(environ, remember)
        try:
            body = b"".join(parts)
        finally:
            if hasattr(parts, "close"):
                parts.close()
        status, headers = begun
        return [self._sent(environ, status, headers, body, start_response)]

    def _sent(
        self, environ: Environment, status: str, headers: Any, body: bytes, start_response: StartResponse
    ) -> bytes:
        named = {name.lower(): value for name, value in headers}
        if len(body) >= WORTH_BYTES and named.get("content-type", "").startswith(KINDS):
            body = self._packed(environ, named.get("cache-control", ""), body)
            headers = [pair for pair in headers if pair[0].lower() != "content-length"]
            headers += [
                ("Content-Encoding", "gzip"),
                ("Vary", "Accept-Encoding"),
                ("Content-Length", str(len(body))),
            ]
        start_response(status, headers)
        return body

    def _packed(self, environ: Environment, caching: str, body: bytes) -> bytes:
        lasting = KEPT_FOREVER in caching and not environ.get("QUERY_STRING")
        address = environ.get("PATH_INFO", "")
        if lasting and address in self._kept:
            return self._kept[address]
        packed = gzip.compress(body, compresslevel=6 if lasting else 3, mtime=0)
        if lasting:
            self._kept[address] = packed
        return packed
