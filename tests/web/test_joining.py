"""Other devices of the house: who gets in by the code, and who does not."""

import datetime
import re
import socket
from collections.abc import Iterator
from dataclasses import replace

import pytest

from inkaccord.errors import OrderError
from inkaccord.web.joining import MOST_TRIES, VALID, Joining, is_of_house, own_addresses
from web_kit import OpenPage, open_page, studio, value_on

NOW = datetime.datetime(2026, 5, 4, 12, tzinfo=datetime.UTC)


class Clock:
    now = NOW

    def __call__(self) -> datetime.datetime:
        return self.now


def test_a_code_serves_once() -> None:
    joining = Joining(("10.0.0.4",))
    code = joining.code
    assert code is not None
    key = joining.join(code.replace(" ", "-"), " tablet ")
    assert joining.takes(key)
    assert [it.name for it in joining.devices] == ["tablet"]
    with pytest.raises(OrderError):
        joining.join(code, "another")
    joining.send_away(joining.devices[0].number)
    assert not joining.takes(key)


def test_a_code_serves_for_a_while_and_for_few_tries() -> None:
    clock = Clock()
    joining = Joining(("10.0.0.4",), clock)
    code = joining.code
    assert code is not None
    clock.now = NOW + VALID
    assert joining.code is None
    with pytest.raises(OrderError):
        joining.join(code, "")
    joining.renew()
    code = joining.code
    assert code is not None
    for _ in range(MOST_TRIES):
        with pytest.raises(OrderError):
            joining.join("1", "")
    assert joining.code is None
    with pytest.raises(OrderError):
        joining.join(code, "")


def test_a_house_is_a_private_network() -> None:
    assert all(map(is_of_house, ("192.168.1.5", "10.1.2.3", "172.16.0.9", "169.254.3.4")))
    assert not any(map(is_of_house, ("8.8.8.8", "172.32.0.1", "", "house.example")))


@pytest.fixture(scope="module")
def at_home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenPage]:
    """A page that other devices may join."""
    if not own_addresses():
        pytest.skip("this machine is in no network")
    folder = tmp_path_factory.mktemp("studio")
    studio(folder)
    yield from open_page(folder, "--on-network")


@pytest.fixture
def elsewhere(at_home: OpenPage) -> OpenPage:
    """The same page, by its address in the house."""
    port = at_home.host.partition(":")[2]
    return replace(at_home, address=f"http://{own_addresses()[0]}:{port}/?key=none")


def code_of(at_home: OpenPage) -> str:
    at_home.post("/devices", {})
    found = re.search(r'class="code">([0-9 ]+)<', at_home.get("/devices").text)
    assert found is not None
    return found[1]


def join(elsewhere: OpenPage, code: str) -> str:
    """Join, and return the cookie; nothing where that is refused."""
    answer = elsewhere.post("/join", {"code": code, "name": "<b>tablet"})
    return answer.headers.get("set-cookie", "").partition(";")[0]


def test_who_did_not_join_sees_the_field_for_the_code_alone(
    at_home: OpenPage, elsewhere: OpenPage
) -> None:
    for path in ("/", at_home.order, "/devices", "/begin"):
        answer = elsewhere.get(path)
        assert (answer.status, answer.headers["location"]) == (303, "/join")
        assert "tags" not in answer.text
    assert elsewhere.get("/join").status == 200
    assert join(elsewhere, "0000 000") == ""


def test_the_key_of_the_start_opens_nothing_from_elsewhere(
    at_home: OpenPage, elsewhere: OpenPage
) -> None:
    assert elsewhere.get("/", Cookie=at_home.cookie).headers["location"] == "/join"
    key = at_home.address.partition("?")[2]
    answer = elsewhere.get(f"/?{key}")
    assert answer.headers["location"] == "/join"
    assert "set-cookie" not in answer.headers


def test_a_name_that_is_not_where_one_asks_from_is_refused(
    at_home: OpenPage, elsewhere: OpenPage
) -> None:
    """Asked by its address in the house, the page answers to no other name, its own at home too."""
    port = int(at_home.host.partition(":")[2])
    for host in (at_home.host, f"localhost:{port}", f"evil.example:{port}"):
        with socket.create_connection((own_addresses()[0], port), 10) as connection:
            asked = f"GET / HTTP/1.1\r\nHost: {host}\r\nCookie: {at_home.cookie}\r\n\r\n"
            connection.sendall(asked.encode())
            assert b" 421 " in connection.recv(64)
    assert elsewhere.get("/join").status == 200


def test_a_device_joins_by_the_code_and_is_sent_away(
    at_home: OpenPage, elsewhere: OpenPage
) -> None:
    assert elsewhere.post("/join", {"code": code_of(at_home)}, Origin="http://evil").status == 403
    cookie = join(elsewhere, code_of(at_home))
    assert "tags" in elsewhere.get("/", Cookie=cookie).text
    answer = elsewhere.get("/devices", Cookie=cookie)
    assert answer.status == 404
    assert 'class="code"' not in answer.text
    assert elsewhere.post("/devices", {}, Cookie=cookie).status == 404
    shown = at_home.get("/devices").text
    assert "&lt;b&gt;tablet" in shown
    assert '<button name="away"' in shown.partition('<details class="sure">')[2]
    away = value_on(shown, "away")
    at_home.post("/devices", {"away": away})
    assert elsewhere.get("/", Cookie=cookie).headers["location"] == "/join"


def test_a_page_that_was_not_opened_for_others_has_no_way_in(opened: OpenPage) -> None:
    assert opened.get("/join").status == 404
    assert opened.get("/devices").status == 404
    port = int(opened.host.partition(":")[2])
    for address in own_addresses():
        with pytest.raises(OSError, match="refused"):
            socket.create_connection((address, port), 5)
