"""Only this computer, or whoever knows the password; no page of another site."""

import base64
from typing import Any

import pytest

from dashboards.password import hashed, stored_hash
from dashboards.server.gate import Gate, hostname, password_of
from dashboards.server.serving import needed_password
from mv.base.errors import InputError

SECRET = "twelve letters and more"


def inside(_environ: dict[str, Any], start_response: Any) -> list[bytes]:
    start_response("200 OK", [("Content-Type", "text/plain")])
    return [b"inside"]


def basic(password: str) -> str:
    return "Basic " + base64.b64encode(f"anyone:{password}".encode()).decode()


@pytest.fixture(scope="module")
def kept() -> str:
    return hashed(SECRET)


@pytest.mark.parametrize("host", ["127.0.0.1:8050", "localhost:8050", "[::1]:8050"])
def test_this_computer_is_let_in(asked: Any, host: str) -> None:
    assert asked(Gate(inside), "/", headers={"Host": host})[2] == b"inside"


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example:8050", ""])
def test_a_foreign_name_for_this_computer_is_refused(asked: Any, host: str) -> None:
    assert asked(Gate(inside), "/", headers={"Host": host})[0] == "403 Forbidden"


def test_a_change_asked_for_by_another_sites_page_is_refused(asked: Any) -> None:
    headers = {"Host": "127.0.0.1:8050", "Origin": "https://evil.example"}
    assert asked(Gate(inside), "/", method="POST", headers=headers)[0] == "403 Forbidden"
    headers["Origin"] = "http://127.0.0.1:8050"
    assert asked(Gate(inside), "/", method="POST", headers=headers)[2] == b"inside"


def test_with_a_password_only_the_password_opens(asked: Any, kept: str) -> None:
    gate = Gate(inside, password_hash=kept)
    host = {"Host": "verify.example"}
    status, headers, _ = asked(gate, "/", headers=host)
    assert status == "401 Unauthorized"
    assert headers["www-authenticate"].startswith("Basic ")
    assert asked(gate, "/", headers=host | {"Authorization": basic("wrong")})[0] == "401 Unauthorized"
    for _ in range(2):
        assert asked(gate, "/", headers=host | {"Authorization": basic(SECRET)})[2] == b"inside"
    assert asked(gate, "/", headers=host | {"Authorization": basic("wrong again")})[0] == "401 Unauthorized"


@pytest.mark.parametrize("header", ["", "Basic", "Basic !!!", "Bearer abc", "Basic /w=="])
def test_a_broken_header_holds_no_password(header: str) -> None:
    assert password_of(header) == ""


def test_a_host_header_is_read_without_its_port() -> None:
    assert hostname("[::1]:8050") == "::1"
    assert hostname("LocalHost:80") == "localhost"


def test_the_hash_comes_from_the_environment_or_from_a_file(tmp_path: Any, kept: str) -> None:
    file = tmp_path / "password"
    file.write_text(kept + "\n", encoding="utf-8")
    assert stored_hash({}) is None
    assert stored_hash({"TALLYLUX_PASSWORD_HASH": kept}) == kept
    assert stored_hash({"TALLYLUX_PASSWORD_FILE": str(file)}) == kept


def test_a_password_in_the_clear_is_refused() -> None:
    with pytest.raises(InputError, match="no password hash"):
        stored_hash({"TALLYLUX_PASSWORD_HASH": SECRET})
    with pytest.raises(InputError, match="cannot be read"):
        stored_hash({"TALLYLUX_PASSWORD_FILE": "/nowhere/at/all"})
    with pytest.raises(InputError, match="shorter than 12"):
        hashed("short")


def test_the_hash_never_holds_the_password(kept: str) -> None:
    assert SECRET not in kept
    assert hashed(SECRET) != kept


def test_another_host_needs_a_password(monkeypatch: pytest.MonkeyPatch, kept: str) -> None:
    for name in ("TALLYLUX_PASSWORD_HASH", "TALLYLUX_PASSWORD_FILE"):
        monkeypatch.delenv(name, raising=False)
    assert needed_password("127.0.0.1") is None
    with pytest.raises(InputError, match="TLS"):
        needed_password("0.0.0.0")
    monkeypatch.setenv("TALLYLUX_PASSWORD_HASH", kept)
    assert needed_password("0.0.0.0") == kept
