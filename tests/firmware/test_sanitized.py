"""The core under the compilers' own watch: no access outside an array, no undefined arithmetic."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.firmware.build import CORE, HERE, HOST, HOST_COMPILERS, SAMPLE, STRICT, core_sources, run
from tests.tools import require_tool


@pytest.mark.parametrize(("compiler", "package"), HOST_COMPILERS)
def test_random_playing_meets_no_fault(tmp_path: Path, compiler: str, package: str) -> None:
    """Twenty thousand ticks of random contacts, with the wire stopped now and then, run clean under both sanitizers."""
    require_tool(compiler, package)
    program = tmp_path / "storm"
    watch = ["-g", "-O1", "-fsanitize=address,undefined", "-fno-sanitize-recover=all"]
    includes = [f"-I{SAMPLE}", f"-I{CORE}", f"-I{HOST}"]
    sources = [*core_sources(), *sorted(HOST.glob("*.c")), HERE / "storm.c"]
    built = run([compiler, *STRICT, *watch, *includes, *sources, "-o", program])
    assert built.returncode == 0, built.stderr
    ran = run([program])
    assert ran.returncode == 0, ran.stderr
    assert int(ran.stdout) > 10_000, "the storm must have been heard"
