"""`python -m tests.firmware.fuzz`: hostile frames for the board link, and how much of it they have reached."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from tests.firmware.fuzz.programs import FuzzError, coverage, fuzz_link

FRAMES = 1_000_000
COVERED_FRAMES = 50_000


def main(arguments: list[str] | None = None) -> int:
    """Run the fuzzer, print what it did, and return 1 when something happened that must not."""
    options = _options(arguments)
    try:
        with TemporaryDirectory() as name:
            done = fuzz_link(Path(name), options.frames, options.seed)
            covered = coverage(Path(name), min(options.frames, COVERED_FRAMES), options.seed)
    except (FuzzError, pytest.skip.Exception, pytest.fail.Exception) as error:
        sys.stderr.write(f"fuzz: {error}\n")
        return 1
    sys.stdout.write("".join(f"{line}\n" for line in (*done.lines(), "", *(file.line() for file in covered))))
    return 0


def _options(arguments: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.firmware.fuzz", description=(__doc__ or "").split(": ")[1])
    parser.add_argument("--frames", type=int, default=FRAMES, help=f"how many frames ({FRAMES:,})")
    parser.add_argument("--seed", type=int, default=1, help="the same seed makes the same frames (1)")
    return parser.parse_args(arguments)


if __name__ == "__main__":
    sys.exit(main())
