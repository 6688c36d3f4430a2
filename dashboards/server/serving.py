"""Serves the dashboard: this computer alone unless told otherwise."""

import errno
import socket
import sys
import threading
import webbrowser
from pathlib import Path

from dashboards.password import FILE_VARIABLE, HASH_VARIABLE, stored_hash
from dashboards.server.compressing import Compressed
from dashboards.server.gate import LOOPBACK, Gate
from mv.base.errors import InputError

THREADS = 6  # a page asks for a handful of things at once
PORTS_TRIED = 20


def serve(
    path: Path | str,
    *,
    host: str = "127.0.0.1",
    port: int = 8050,
    open_browser: bool = True,
    results: Path | None = None,
) -> None:
    """Serve the study at `path` until interrupted.

    Raises InputError where another address than this computer's is asked for without a password,
    and where no port near `port` is free.
    """
    import waitress

    from dashboards.app import create_app

    if not Path(path).exists():
        raise InputError("is not there", file=path, remedy="Give a study.toml or the folder that holds one")
    password_hash = needed_password(host)
    listener = open_listener(host, port)
    app = create_app(path, results=results)
    gate = Gate(Compressed(app.server.wsgi_app), password_hash=password_hash)
    address = f"http://{_named(host)}:{listener.getsockname()[1]}/"
    _tell(address, host, port, listener.getsockname()[1])
    if open_browser:
        threading.Timer(0.6, webbrowser.open, args=(address,)).start()
    try:
        waitress.serve(gate, sockets=[listener], threads=THREADS, ident="Tallylux", _quiet=True)
    finally:
        listener.close()


def needed_password(host: str) -> str | None:
    """The password's hash where one is set. Raises InputError where one is needed and none is set."""
    kept = stored_hash()
    if kept is None and host not in LOOPBACK:
        raise InputError(
            "others could reach this address, so a password is needed",
            place="--host",
            value=host,
            remedy=f"Run python -m dashboards.password, put the line into {HASH_VARIABLE} or into a file "
            f"named by {FILE_VARIABLE}, and put a TLS proxy before the dashboard: without one the "
            "password crosses the network readably",
        )
    return kept


def open_listener(host: str, port: int) -> socket.socket:
    """A bound socket at `port`, or at the next free one after it."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    for candidate in range(port, min(port + PORTS_TRIED, 65536)):
        listener = socket.socket(family, socket.SOCK_STREAM)
        if sys.platform != "win32":
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((host, candidate))
        except OSError as error:
            listener.close()
            if error.errno != errno.EADDRINUSE:
                remedy = "Choose another with --host and --port"
                raise InputError(
                    f"cannot listen: {error.strerror}", place=f"{host}:{candidate}", remedy=remedy
                ) from None
            continue
        return listener
    raise InputError(
        "no port is free", place=f"{port} to {port + PORTS_TRIED - 1}", remedy="Choose another with --port"
    )


def _named(host: str) -> str:
    shown = {"0.0.0.0": "127.0.0.1", "::": "[::1]", "::1": "[::1]"}
    return shown.get(host, host)


def _tell(address: str, host: str, wanted: int, got: int) -> None:
    if got != wanted:
        print(f"Port {wanted} is taken; using {got}.")
    print(f"The dashboard is at {address}  (Ctrl+C ends it)", flush=True)
    if host not in LOOPBACK:
        print(
            "Others can reach it. Put a TLS proxy before it: "
            "without one the password crosses the network readably."
        )
