"""A year of readings as rows, and a real PostgreSQL server that holds them."""

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

ZONE = "America/Chicago"
PASSWORD = "Lantern-3:7@x"  # signs that an address must escape


@pytest.fixture(scope="session")
def readings() -> pd.DataFrame:
    """Thirty days of quarter hours over the autumn change of the clock: read_at (with zone), kwh."""
    stamps = pd.date_range("2024-10-20", "2024-11-19", freq="15min", tz=ZONE, inclusive="left")
    lit = (stamps.hour >= 7) & (stamps.hour < 18)
    kwh = np.round(np.where(lit, 2.5, 0.125) + np.arange(len(stamps)) % 7 / 1000, 3)
    return pd.DataFrame({"read_at": stamps, "kwh": kwh})


def server_programs() -> Path | None:
    """The folder of PostgreSQL's server programs, which a distribution keeps off the path."""
    found = shutil.which("initdb")
    folders = [Path(found).parent] if found else sorted(Path("/usr/lib/postgresql").glob("*/bin"))
    return folders[-1] if folders else None


@pytest.fixture(scope="session")
def postgres(readings: pd.DataFrame) -> Iterator[str]:
    """The address, credentials and all, of a server on loopback with the table `readings`."""
    programs = server_programs()
    if programs is None:
        pytest.skip("no PostgreSQL server is installed")
    folder = Path(tempfile.mkdtemp(prefix="postgres-"))  # pytest's own folders are closed to other users
    as_user = []
    if os.geteuid() == 0:  # the server refuses to run as root
        as_user = ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups"]
        folder.chmod(0o755)
        shutil.chown(folder, "postgres", "postgres")
    password = folder / "password"
    password.write_text(PASSWORD)
    password.chmod(0o644)
    port = _free_port()
    data = str(folder / "data")

    def run(program: str, *words: str) -> None:
        subprocess.run(
            [*as_user, str(programs / program), *words],
            check=True,
            capture_output=True,
            cwd=folder,
            timeout=60,
        )

    run("initdb", "-D", data, "-U", "reader", "-A", "scram-sha-256", f"--pwfile={password}", "--no-sync")
    options = f"-p {port} -c listen_addresses=127.0.0.1 -c fsync=off -c unix_socket_directories={folder}"
    run("pg_ctl", "-D", data, "-w", "-l", str(folder / "log"), "-o", options, "start")
    try:
        yield _filled(port, readings)
    finally:
        run("pg_ctl", "-D", data, "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


def _filled(port: int, readings: pd.DataFrame) -> str:
    import sqlalchemy

    address = sqlalchemy.URL.create(
        "postgresql+psycopg", "reader", PASSWORD, "127.0.0.1", port, "postgres"
    ).render_as_string(hide_password=False)
    engine = sqlalchemy.create_engine(address)
    rows = readings.assign(meter="LP-1", wh=(readings["kwh"] * 1000).round().astype(int))
    rows.to_sql("readings", engine, index=False)
    with engine.begin() as connection:
        connection.exec_driver_sql("CREATE SEQUENCE changes")
    engine.dispose()
    return address


def _free_port() -> int:
    with socket.socket() as sock:
        sock.bind(("127.0.0.1", 0))
        return int(sock.getsockname()[1])
