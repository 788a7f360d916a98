"""Power-on and every other reset: silence, then what is held, then the state of stops and shoes."""

from __future__ import annotations

from tests.firmware.console import Console

SILENCE = [(0xB0, 123, 0), (0xB1, 123, 0), (0xB4, 123, 0)]
"""All Notes Off is controller 123 with value 0 (MIDI 1.0 Detailed Specification, channel mode messages)."""

STOPS_OFF = [(0xB2, number, 0) for number in range(20, 28)]


def idle(console: Console) -> None:
    """The sample's port A at rest: its upper half is on when high."""
    console.ports[0] = 0x0F


def test_silence_then_stops_then_shoes(sample: Console) -> None:
    """Channels that carry notes are silenced first; then every stop is sent, off ones too, then every known shoe."""
    idle(sample)
    sample.run(200)
    assert sample.messages() == [*SILENCE, *STOPS_OFF, (0xB0, 11, 0), (0xB1, 16, 0)]


def test_nothing_but_silence_before_the_contacts_have_settled(sample: Console) -> None:
    """During the waiting time contacts that change are debounced but not reported."""
    idle(sample)
    for register in (0, 2, 4):
        sample.registers[register] = 0x00
        sample.run(12)
    assert sample.messages() == SILENCE
    assert sample.state(0) == 0xFF


def test_a_stop_drawn_at_power_on_is_sent_as_on(sample: Console) -> None:
    """A maintained stop that is on at power-on is sent on, once, and then off when it is retired."""
    idle(sample)
    sample.registers[4] = 0xFF & ~0x04
    sample.run(200)
    stops = [m for m in sample.messages() if m[0] == 0xB2]
    assert stops == [(0xB2, n, 127 if n == 22 else 0) for n in range(20, 28)]
    sample.registers[4] = 0xFF
    sample.run(50)
    assert sample.messages() == [(0xB2, 22, 0)]


def test_a_key_held_at_power_on_is_reported_and_muted_until_released(sample: Console) -> None:
    """A held key gives the report F0 7D 01 high low F7 and no note; its release is silent; its next press sounds."""
    idle(sample)
    sample.registers[1] = 0xFF & ~0x20
    sample.run(200)
    messages = sample.messages()
    assert messages[3] == (0xF0, 0x7D, 1, 0, 8 + 5, 0xF7)
    assert not [m for m in messages if m[0] in {0x90, 0x80}]
    sample.registers[1] = 0xFF
    sample.run(50)
    assert sample.messages() == []
    sample.registers[1] = 0xFF & ~0x20
    sample.run(20)
    assert sample.messages() == [(0x90, 44 + 5, 100)]


def test_other_keys_of_the_lane_are_heard_while_one_is_muted(sample: Console) -> None:
    """Muting is for the held contact alone."""
    idle(sample)
    sample.registers[1] = 0xFF & ~0x20
    sample.run(200)
    sample.take()
    sample.registers[1] = 0xFF & ~0x21
    sample.run(20)
    sample.registers[1] = 0xFF
    sample.run(20)
    assert sample.messages() == [(0x90, 44, 100), (0x80, 44, 64)]


def test_a_piston_held_at_power_on_is_muted(sample: Console) -> None:
    """A piston that is on at power-on is reported as held and sends nothing until it is pressed anew."""
    sample.ports[0] = 0x0F & ~0x01
    sample.run(200)
    messages = sample.messages()
    assert (0xF0, 0x7D, 1, 0, 64, 0xF7) in messages
    assert not [m for m in messages if m[0] == 0xC3]
    for level in (0x0F, 0x0E):
        sample.ports[0] = level
        sample.run(20)
    assert sample.messages() == [(0xC3, 0)]


def test_a_reset_while_notes_sound_begins_with_silence(sample: Console) -> None:
    """After a reset in the middle of playing, silence comes first and the held note is not struck again."""
    idle(sample)
    sample.run(200)
    sample.registers[0] = 0x00
    sample.run(3)
    assert sample.take()
    sample.run(60)
    sample.take()
    sample.reset()
    sample.run(300)
    messages = sample.messages()
    assert messages[:3] == SILENCE
    assert not [m for m in messages if m[0] == 0x90]
    assert len([m for m in messages if m[0] == 0xF0]) == 8
