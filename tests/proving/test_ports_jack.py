"""Real MIDI ports: nothing is lost, and what goes away is shown, and picked up again."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

import pytest

from retrofit.proving.ports.errors import PortChoiceError, PortError
from retrofit.proving.ports.midi_in import MidiInput
from retrofit.proving.ports.midi_out import MidiOutput
from retrofit.proving.ports.system import look_once
from retrofit.proving.sources import Losses, Source
from tests.proving.floods import flood, numbered
from tests.proving.jack import JackServer

PATIENCE_S = 30.0
NOTE = bytes((0x90, 60, 64))


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch) -> Iterator[JackServer]:
    """Give a running server, and make it the one that ports are looked for at."""
    with JackServer() as running:
        monkeypatch.setenv("JACK_DEFAULT_SERVER", running.name)
        yield running


def until(done: Callable[[], bool]) -> bool:
    """Wait for something to become true, as long as a very busy machine may need."""
    deadline = time.monotonic() + PATIENCE_S
    while not done() and time.monotonic() < deadline:
        time.sleep(0.02)
    return done()


def standing(port: MidiInput | MidiOutput, away: bool) -> Callable[[], bool]:
    """Return a question whether a port is away, or there, by now."""

    def asked() -> bool:
        port.poll() if isinstance(port, MidiInput) else port.tend()
        return port.away == away

    return asked


def heard_by(source: Source, count: int = 1) -> list[tuple[int, bytes]]:
    """Return what comes next, once there are so many messages."""
    found: list[tuple[int, bytes]] = []

    def enough() -> bool:
        found.extend(source.poll())
        return len(found) >= count

    until(enough)
    return found


def next_heard(source: Source) -> list[bytes]:
    """Return the messages that come next."""
    return [message for _, message in heard_by(source)]


def test_every_message_of_a_flood_arrives_in_order(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three seconds at 20,000 messages a second: each one arrives, once and in its place, and none is counted lost."""
    with JackServer(patient=True) as running:
        monkeypatch.setenv("JACK_DEFAULT_SERVER", running.name)
        with MidiOutput("flood", virtual=True) as out, MidiInput("flood") as heard:
            sent, messages = flood(out, heard, 3.0)
            assert messages == [numbered(count) for count in range(sent)]
            assert sent > 3 * 10_000
            assert heard.losses == Losses()


@pytest.mark.usefixtures("server")
def test_messages_of_every_kind_come_through() -> None:
    """System exclusive, clock and active sensing are heard too, at times that do not go back."""
    messages = [NOTE, b"\xf0\x7d\x01\x05\x06\xf7", b"\xf8", b"\xfe", b"\xc0\x05", b"\xe0\x01\x02", b"\xf6"]
    with MidiOutput("console", virtual=True) as out, MidiInput("console") as heard:
        assert out.send(*messages)
        found = heard_by(heard, len(messages))
    assert [message for _, message in found] == messages
    assert [at_us for at_us, _ in found] == sorted(at_us for at_us, _ in found)
    assert 0 <= time.monotonic_ns() // 1000 - found[-1][0] < PATIENCE_S * 1e6
    assert (out.sent, out.unsent) == (len(messages), 0)


@pytest.mark.usefixtures("server")
def test_a_device_that_goes_is_away_until_it_comes_back_by_name() -> None:
    """What it sent before it went is heard, silence meanwhile is no failure, and it is heard again afterwards."""
    with MidiOutput("console", virtual=True) as out:
        heard = MidiInput("console")
        heard.__enter__()
        out.send(NOTE)
        assert next_heard(heard) == [NOTE]
    assert until(standing(heard, away=True))
    assert not heard.ended
    with MidiOutput("console", virtual=True) as out:
        assert until(standing(heard, away=False))
        out.send(NOTE)
        assert next_heard(heard) == [NOTE]
        heard.close()


def test_a_sound_server_that_crashes_takes_nobody_with_it(server: JackServer) -> None:
    """Both sides are away, sending neither waits nor pretends, and a new server brings both back."""
    with MidiOutput("console", virtual=True) as out, MidiInput("console") as heard:
        server.crash()
        assert until(lambda: not out.send(NOTE))
        assert until(standing(heard, away=True))
        assert out.away
        assert out.unsent
        server.stop()
        server.start()
        assert until(standing(out, away=False))
        assert until(standing(heard, away=False))
        heard.poll()
        assert out.send(NOTE)
        assert next_heard(heard) == [NOTE]


@pytest.mark.usefixtures("server")
def test_ports_are_listed_and_chosen_from_the_list() -> None:
    """Two consoles are both listed; a part of a name that fits both is refused with both names."""
    with MidiOutput("left console", virtual=True), MidiOutput("right console", virtual=True):
        names = [port.name for port in look_once().inputs]
        assert {name.split(":")[-1] for name in names} == {"left console", "right console"}
        with pytest.raises(PortChoiceError) as caught, MidiInput("console"):
            pass
        assert set(caught.value.names) == set(names)


@pytest.mark.usefixtures("server")
def test_other_programs_can_find_us_as_a_port_that_listens() -> None:
    """A virtual input is an output of the system's to whoever sends."""
    with MidiInput("listener", virtual=True) as heard, MidiOutput("listener") as out:
        assert out.send(NOTE)
        assert next_heard(heard) == [NOTE]


def test_without_a_server_it_is_said_why_there_are_no_ports(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each back end that offers nothing says why, and being a port of it is refused with that."""
    monkeypatch.setenv("JACK_DEFAULT_SERVER", "tests-no-such-server")
    reasons = {back_end.name.lower(): back_end.reason for back_end in look_once().back_ends}
    assert "no JACK server is running" in reasons["jack"]
    if not look_once().working:
        with pytest.raises(PortError, match="no JACK server is running"), MidiOutput("x", virtual=True):
            pass


@pytest.mark.usefixtures("server")
def test_only_whole_messages_are_sent() -> None:
    """Half a message, or one and a half, is the caller's mistake and goes nowhere."""
    with MidiOutput("console", virtual=True) as out:
        for content in (b"\x90\x40", NOTE + b"\x40", b"", b"\xf0\x01"):
            with pytest.raises(ValueError, match="not one MIDI message"):
                out.send(NOTE, content)
        assert out.sent == 0
