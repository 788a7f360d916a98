"""The entry point.  It imports nothing but `sys` until it knows that more is wanted, so that `--version` is instant."""

from __future__ import annotations

import sys

from retrofit.cli.version import VERSION


def main() -> None:
    """Run the command line with the process's own arguments, and end the process with the exit code."""
    arguments = sys.argv[1:]
    if arguments == ["--version"]:
        sys.stdout.write(f"retrofit {VERSION}\n")
        return
    from retrofit.cli.run import run  # noqa: PLC0415  # click takes longer to load than --version takes to answer

    sys.exit(run(arguments))


if __name__ == "__main__":
    main()
