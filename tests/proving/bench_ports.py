"""Whether every message arrives through real ports: `python -m tests.proving.bench_ports [SECONDS]`, 60 s by default.

It starts a sound server of its own without a sound card, sends 20,000 numbered messages a second through it, and prints
how many were sent, heard and in their place.
"""

from __future__ import annotations

import os
import resource
import sys

from retrofit.proving.ports.midi_in import MidiInput
from retrofit.proving.ports.midi_out import MidiOutput
from tests.proving.floods import RATE, flood, numbered
from tests.proving.jack import JackServer


def main(seconds: float) -> int:
    """Run the bench; return 0 when nothing was lost."""
    with JackServer(patient=True) as server:
        os.environ["JACK_DEFAULT_SERVER"] = server.name
        with MidiOutput("flood", virtual=True) as out, MidiInput("flood") as heard:
            sent, messages = flood(out, heard, seconds)
            losses = heard.losses
    in_place = sum(message == numbered(count) for count, message in enumerate(messages))
    sys.stdout.write(f"sent      {sent:>9} in {seconds:g} s, {sent / seconds:.0f} a second (goal {RATE})\n")
    sys.stdout.write(f"heard     {len(messages):>9}, {in_place} of them in their place\n")
    sys.stdout.write(f"lost      {sent - len(messages):>9}; counted: {losses}\n")
    sys.stdout.write(f"memory    {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:>9.0f} MiB at most\n")
    return int(in_place != sent or len(messages) != sent)


if __name__ == "__main__":
    sys.exit(main(float(sys.argv[1]) if len(sys.argv) > 1 else 60.0))
