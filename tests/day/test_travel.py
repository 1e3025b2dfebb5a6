"""Tests of travel from coordinates, from a table and from a routing server."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer

import msgspec
import numpy as np
import pytest

from tubside.day.problem import Place
from tubside.day.routing_server import RoutingServer, parsed_table, routed_travel, table_address
from tubside.day.travel import ROAD_FACTOR, SPEED, great_circle, great_circle_travel
from tubside.day.travel_file import read_travel
from tubside.errors import DayError, RoutingServerError, TravelFileError
from tubside.service.routing_fetch import fetch

PLACES = [Place(52.1, 0.25), Place(52.0, 0.0), Place(51.9, 0.1)]
GOOD = {
    "code": "Ok",
    "durations": [[0, 60, 90], [61, 0, 30.5], [91, 31, 0]],
    "distances": [[0, 600, 900], [610, 0, 305], [910, 310, 0]],
    "sources": [],
}


def test_one_degree_of_latitude() -> None:
    """Tests lengths along a meridian, across the pole and to the other side of the earth."""
    places = [Place(0.0, 7.0), Place(1.0, 7.0), Place(90.0, 50.0), Place(0.0, -173.0)]
    ways = great_circle(places, 1.0)
    assert ways[0] == pytest.approx([0.0, np.pi / 180, np.pi / 2, np.pi], rel=1e-12)
    assert np.array_equal(ways, ways.T)


def test_default_travel() -> None:
    """Tests that the default is the great circle, made longer and driven at one speed."""
    travel = great_circle_travel(PLACES)
    assert travel.metres == pytest.approx(ROAD_FACTOR * great_circle(PLACES))
    assert travel.seconds == pytest.approx(travel.metres / SPEED)


def test_no_place_on_earth() -> None:
    """Tests that swapped or wild coordinates are refused."""
    with pytest.raises(DayError, match="latitude"):
        Place(120.0, 0.0)


TABLE = "from,to,minutes,km\nshop,mill,10,5.5\nmill,shop,12,6\nelsewhere,shop,1,1\n"


def test_read_travel() -> None:
    """Tests that a table is read pair by pair, others passed over, one place named twice."""
    travel = read_travel(TABLE, ["mill", "shop", "shop"])
    assert travel.seconds.tolist() == [[0, 720, 720], [600, 0, 0], [600, 0, 0]]
    assert travel.metres.tolist() == [[0, 6000, 6000], [5500, 0, 0], [5500, 0, 0]]
    assert travel.source == "travel.csv"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a,b\n", "travel.csv:1: the first line is another"),
        (TABLE + "mill,shop,3,3\n", "travel.csv:5: mill to shop is there already"),
        (TABLE + "mill,pub,ten,3\n", "travel.csv:5: 'ten' and '3' are not minutes and km"),
        (TABLE + "mill,pub,-1,3\n", "travel.csv:5: '-1' and '3' are not minutes and km"),
        (TABLE + "mill,pub,nan,3\n", "travel.csv:5: 'nan' and '3' are not minutes and km"),
        (TABLE + "mill,pub,3\n", "travel.csv:5: 3 cells"),
        (TABLE + ",pub,3,3\n", "travel.csv:5: a place has no name"),
        (TABLE + '"mill,pub,3,3\n', "travel.csv:5: unexpected end of data"),
        ("from,to,minutes,km\nshop,mill,10,5\n", "travel.csv:1: no line from mill to shop"),
        ("", "travel.csv:1: the first line is another"),
    ],
)
def test_faults_of_a_table(text: str, said: str) -> None:
    """Tests that each fault is told with its line."""
    with pytest.raises(TravelFileError) as told:
        read_travel(text, ["mill", "shop"])
    assert said in str(told.value)


def test_all_faults_at_once() -> None:
    """Tests that more than one fault is told, and that many missing pairs are counted."""
    with pytest.raises(TravelFileError) as told:
        read_travel(TABLE + "x,y,a,b\nx,y\n", ["mill", "shop"])
    assert len(told.value.problems) == 2
    with pytest.raises(TravelFileError, match="70 more pairs are missing"):
        read_travel("from,to,minutes,km\n", [f"place {k}" for k in range(10)])


def test_answer_of_a_server() -> None:
    """Tests that times and lengths are read as they stand."""
    travel = parsed_table(msgspec.json.encode(GOOD), PLACES, "here")
    assert travel.seconds.tolist() == GOOD["durations"]
    assert travel.metres.tolist() == GOOD["distances"]
    assert travel.notes == ()


def test_no_way_is_estimated_and_told() -> None:
    """Tests that a pair without a way goes as the crow flies, and that this is told."""
    lacking = {**GOOD, "durations": [[0, None, 90], [61, 0, 30.5], [91, 31, 0]]}
    travel = parsed_table(msgspec.json.encode(lacking), PLACES, "here")
    assert travel.seconds[0, 1] == great_circle_travel(PLACES).seconds[0, 1]
    assert travel.metres[0, 1] == great_circle_travel(PLACES).metres[0, 1]
    assert travel.notes == ("here knows no way for 1 pairs of places; estimated for them",)


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (b"<html>", "gave no table"),
        (b"\xff", "gave no table"),
        (msgspec.json.encode({"code": "NoTable", "message": "too big"}), "NoTable too big"),
        (msgspec.json.encode({**GOOD, "durations": [[0, 1], [1, 0]]}), "gave no durations"),
        (msgspec.json.encode({**GOOD, "distances": None}), "gave no distances"),
        (msgspec.json.encode({**GOOD, "durations": [["a"] * 3] * 3}), "gave no table"),
        (msgspec.json.encode({**GOOD, "durations": [[-1] * 3] * 3}), "cannot be"),
        (msgspec.json.encode({**GOOD, "durations": [[1e9] * 3] * 3}), "more than a week"),
    ],
)
def test_answers_that_are_none(answer: bytes, said: str) -> None:
    """Tests that what is no table of these places is refused."""
    with pytest.raises(RoutingServerError, match=said):
        parsed_table(answer, PLACES, "here")


@pytest.mark.parametrize("base", ["", "ftp://x", "127.0.0.1:5000", "file:///x", "http://x/?a=b"])
def test_no_address(base: str) -> None:
    """Tests that only an http address is taken."""
    with pytest.raises(RoutingServerError, match="is no address"):
        table_address(RoutingServer(base), PLACES)


def test_a_silent_server_is_told() -> None:
    """Tests that without an answer travel is estimated, and that this is told."""

    def silent(_address: str, _timeout: float) -> bytes:
        raise TimeoutError

    travel = routed_travel(PLACES, RoutingServer("http://here:5000"), silent)
    assert travel.source == "great circle"
    assert "here:5000 did not answer" in travel.notes[0]


class _Routes(BaseHTTPRequestHandler):
    """A routing server that knows one table, and sends elsewhere for another profile."""

    def do_GET(self) -> None:
        """Answer."""
        moved = "/away/" in self.path
        body = b"" if moved else msgspec.json.encode(GOOD)
        self.send_response(302 if moved else 200)
        if moved:
            self.send_header("Location", "/table/v1/driving/0,0")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def routes() -> Iterator[str]:
    """Return the address of a routing server of this machine."""
    with HTTPServer(("127.0.0.1", 0), _Routes) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
        thread.start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()
        thread.join()


def test_over_http(routes: str) -> None:
    """Tests that a real server is asked, and that no redirect is followed."""
    travel = routed_travel(PLACES, RoutingServer(routes), fetch)
    assert travel.seconds.tolist() == GOOD["durations"]
    away = routed_travel(PLACES, RoutingServer(routes, profile="away"), fetch)
    assert away.source == "great circle"
    gone = routed_travel(PLACES, RoutingServer("http://127.0.0.1:1", timeout=1.0), fetch)
    assert "did not answer" in gone.notes[0]
