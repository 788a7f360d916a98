"""Throws random and hostile bytes at MIDI in, on the core under the sanitizers.

python -m tests.firmware.fuzz_midi_in --bytes 1000000

Then it does the same, with fewer bytes, to a core that counts its lines, and says which of MIDI in were reached.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.firmware.build import CORE, HERE, HOST, STRICT, core_sources, put_table, run
from tests.firmware.fuzz.programs import Covered, covered_files
from tests.firmware.test_usb_packets import sample_by
from tests.tools import require_tool

WATCH = ("-g", "-O1", "-fsanitize=address,undefined", "-fno-sanitize-recover=all")


@dataclass(frozen=True)
class Fuzzed:
    """What one run met: bytes in, messages that asked for nothing, broken ones, bytes out on the wire."""

    bytes_in: int
    ignored: int
    broken: int
    bytes_out: int


COUNTED = ("-g", "-O0", "--coverage")
COVERED_BYTES = 50_000
MIDI_IN_FILES = ("midi_in.c", "requests.c", "stop_orders.c", "usb_packets.c")


def build_noise(folder: Path, compiler: str = "gcc", options: Sequence[str] = WATCH) -> Path:
    """Compile the noise with both outlets and orders for stops; return the program."""
    require_tool(compiler, compiler)
    table = put_table(folder, sample_by(1, 1).replace("#define LISTEN_STOPS 0", "#define LISTEN_STOPS 1"))
    includes = [f"-I{table}", f"-I{CORE}", f"-I{HOST}"]
    sources = [*core_sources(), *sorted(HOST.glob("*.c")), HERE / "noise.c"]
    built = run([compiler, *STRICT, *options, *includes, *sources, "-o", folder / "noise"])
    assert built.returncode == 0, built.stderr
    return folder / "noise"


def fuzz(program: Path, byte_count: int, seed: int) -> Fuzzed:
    """Run the noise; a fault of the core, found by a sanitizer or by the noise itself, raises `AssertionError`."""
    ran = run([program, str(byte_count), str(seed)], timeout_s=3600)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    return Fuzzed(*(int(word) for word in ran.stdout.split()))


def coverage(folder: Path, byte_count: int, seed: int) -> list[Covered]:
    """Run the noise on a core that counts its lines, and return what it reached of each file of MIDI in."""
    home = folder / "covered"
    home.mkdir()
    fuzz(build_noise(home, options=COUNTED), byte_count, seed)
    return covered_files(home, MIDI_IN_FILES)


def main() -> int:
    """Fuzz as much as asked for, and print what was met and what was reached."""
    parser = argparse.ArgumentParser(description="Random and hostile bytes on MIDI in, under the sanitizers.")
    parser.add_argument("--bytes", type=int, default=1_000_000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    with TemporaryDirectory() as folder:
        met = fuzz(build_noise(Path(folder)), asked.bytes, asked.seed)
        covered = coverage(Path(folder), min(asked.bytes, COVERED_BYTES), asked.seed)
    counted = f"{met.ignored} messages ignored, {met.broken} broken (65535 is that or more)"
    sys.stdout.write(f"{met.bytes_in} bytes in; {counted}; {met.bytes_out} bytes out\n\n")
    sys.stdout.write("".join(f"{file.line()}\n" for file in covered))
    return 0


if __name__ == "__main__":
    sys.exit(main())
