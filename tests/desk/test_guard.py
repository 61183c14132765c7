"""Who may speak to the desk.

Against requests of other sites' pages (OWASP: cross-site request forgery, DNS rebinding), and
against files that are too large.
"""

import re
import socket
import threading
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path

import pytest

from desk.running import RunningDesk

BOUNDARY = "----tune"


def ask(
    desk: RunningDesk, path: str, method: str = "GET", body: bytes | None = None, **headers: str
) -> HTTPResponse:
    """A request as the desk's own page makes it; headers by their names with ``_``, "" to leave one out."""
    usual = {"Cookie": f"apoyando_desk={desk.token}", "Host": f"127.0.0.1:{desk.port}"}
    if method == "POST":
        usual |= {"Origin": desk.home, "Content-Type": "application/x-www-form-urlencoded"}
    given = {name.replace("_", "-"): value for name, value in headers.items()}
    connection = HTTPConnection("127.0.0.1", desk.port, timeout=30)
    sent = {name: value for name, value in (usual | given).items() if value}
    connection.request(method, path, body, sent)
    answer = connection.getresponse()
    answer.read()
    connection.close()
    return answer


def test_the_desk_listens_on_this_machine_alone(desk: RunningDesk) -> None:
    """On another address of the machine nobody answers; 127.0.0.2 is one on Linux."""
    with pytest.raises(OSError, match="refused"):
        socket.create_connection(("127.0.0.2", desk.port), timeout=5)


def test_the_opening_address_gives_a_cookie_that_scripts_and_other_sites_cannot_use(
    desk: RunningDesk,
) -> None:
    cookie = ask(desk, f"/open?token={desk.token}", Cookie="").getheader("Set-Cookie") or ""

    assert f"apoyando_desk={desk.token}" in cookie
    assert {"HttpOnly", "SameSite=strict", "Path=/"} <= {part.strip() for part in cookie.split(";")}
    assert len(desk.token) >= 43  # 256 bits in base 64


@pytest.mark.parametrize("path", ["/", "/songs", "/static/desk.css", "/type/STIX-Regular.otf", "/nothing"])
def test_without_the_token_nothing_is_shown(desk: RunningDesk, path: str) -> None:
    assert ask(desk, path, Cookie="").status == 403
    assert ask(desk, path, Cookie="apoyando_desk=wrong").status == 403


def test_a_wrong_token_opens_nothing(desk: RunningDesk) -> None:
    answer = ask(desk, "/open?token=wrong", Cookie="")

    assert (answer.status, answer.getheader("Set-Cookie")) == (403, None)


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "127.0.0.1:1", "localhost.evil.example"])
def test_another_host_name_is_refused_also_with_the_token(desk: RunningDesk, host: str) -> None:
    """DNS rebinding: a foreign name that leads to this machine."""
    assert ask(desk, "/", Host=host).status == 421
    assert ask(desk, f"/open?token={desk.token}", Host=host).status == 421


def test_localhost_is_the_same_machine(desk: RunningDesk) -> None:
    assert ask(desk, "/", Host=f"localhost:{desk.port}").status == 200


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "", "http://127.0.0.1:1"])
def test_only_the_desks_own_pages_change_anything(desk: RunningDesk, origin: str) -> None:
    assert ask(desk, "/sketch", "POST", b"text=X:1", Origin=origin).status == 403


def test_a_request_that_another_site_began_changes_nothing(desk: RunningDesk) -> None:
    assert ask(desk, "/sketch", "POST", b"text=X:1", Sec_Fetch_Site="cross-site").status == 403
    assert ask(desk, "/sketch", "POST", b"text=X:1", Sec_Fetch_Site="same-origin").status == 200


def test_nothing_from_elsewhere_can_be_loaded_or_framed(desk: RunningDesk) -> None:
    answer = ask(desk, "/")
    policy = answer.getheader("Content-Security-Policy") or ""

    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert answer.getheader("X-Content-Type-Options") == "nosniff"
    assert answer.getheader("Access-Control-Allow-Origin") is None


def test_more_than_eight_megabytes_are_no_song(desk: RunningDesk) -> None:
    assert ask(desk, "/sketch", "POST", Content_Length=str(8 * 2**20 + 1)).status == 413


def test_who_does_not_say_how_much_comes_is_cut_off_at_the_same_size(desk: RunningDesk) -> None:
    """Transfer-Encoding: chunked (RFC 9112, 7.1)."""
    head = (
        f"POST /songs HTTP/1.1\r\nHost: 127.0.0.1:{desk.port}\r\nOrigin: {desk.home}\r\n"
        f"Cookie: apoyando_desk={desk.token}\r\nTransfer-Encoding: chunked\r\n"
        f"Content-Type: multipart/form-data; boundary={BOUNDARY}\r\n\r\n"
    )
    part = f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="song"; filename="a.abc"\r\n\r\n'.encode()
    with socket.create_connection(("127.0.0.1", desk.port), timeout=30) as line:
        line.sendall(head.encode() + b"%x\r\n%s\r\n" % (len(part), part))
        sender = threading.Thread(target=_send_much, args=(line,))
        sender.start()
        answer = line.recv(200)
        sender.join()

    assert answer.startswith(b"HTTP/1.1 413")


def _send_much(line: socket.socket) -> None:
    chunk = b"100000\r\n" + b"x" * 2**20 + b"\r\n"
    try:
        for _ in range(12):
            line.sendall(chunk)
    except OSError:
        pass


@pytest.mark.parametrize("name", ["../../away.abc", "/etc/away.abc", "..\\away.abc", "a\0b.abc"])
def test_the_name_of_a_file_never_becomes_a_path(desk: RunningDesk, name: str) -> None:
    song = 'X:1\nT:\nM:4/4\nL:1/4\nK:C\n"C"C E G c |]\n'
    body = (
        f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="song"; filename="{name}"\r\n\r\n'
        f"{song}\r\n--{BOUNDARY}--\r\n"
    )
    before, shelved = names_in(desk.shelf.parent), names_in(desk.shelf)
    kind = f"multipart/form-data; boundary={BOUNDARY}"
    answer = ask(desk, "/songs", "POST", body.encode(), Content_Type=kind)

    assert answer.status in (303, 400, 422)
    assert names_in(desk.shelf.parent) == before
    assert all(re.fullmatch(r"(away|song|a-?b)(-\d+)?", new) for new in names_in(desk.shelf) - shelved)


def names_in(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir() if path.name != "index.sqlite-journal"}


@pytest.mark.parametrize("song_id", ["..", "%2e%2e", "..%2f..", "0123456789abcdef", "index.sqlite"])
def test_an_address_names_a_song_by_its_id_only(desk: RunningDesk, song_id: str) -> None:
    assert ask(desk, f"/songs/{song_id}/text").status == 404


@pytest.mark.parametrize("path", ["/static/../app.py", "/static/%2e%2e/app.py", "/type/../__init__.py"])
def test_files_of_the_program_are_not_served(desk: RunningDesk, path: str) -> None:
    assert ask(desk, path).status == 404


def test_a_text_longer_than_any_tune_is_refused_in_plain_words(desk: RunningDesk) -> None:
    connection = HTTPConnection("127.0.0.1", desk.port, timeout=30)
    headers = {
        "Cookie": f"apoyando_desk={desk.token}",
        "Origin": desk.home,
        "Content-Type": "application/x-www-form-urlencoded",
    }
    connection.request("POST", "/sketch", b"text=" + b"A" * 2_000_000, headers)
    answer = connection.getresponse()
    told = answer.read().decode()
    connection.close()
    assert (answer.status, told) == (
        400,
        "What was sent is longer than any tune, or did not come whole. Try again.",
    )
