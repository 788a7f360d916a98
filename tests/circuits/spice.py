"""Running a netlist written by hand in ngspice and reading back what it prints."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

from tests.tools import require_tool

_PRINTED = re.compile(r"^\s*([\w().#@\[\]]+)\s*=\s*([-+.\deE]+)", re.MULTILINE)


def run_netlist(folder: Path, netlist: str) -> list[dict[str, float]]:
    """Return what each `print` or `meas` of the netlist gave, a new record whenever a name comes again."""
    file = folder / "circuit.cir"
    file.write_text(netlist, encoding="ascii")
    command = [require_tool("ngspice", "ngspice"), "-b", str(file)]
    shown = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
    records: list[dict[str, float]] = [{}]
    for name, value in _PRINTED.findall(shown.stdout):
        if name in records[-1]:
            records.append({})
        records[-1][name] = float(value)
    assert records[0], shown.stdout + shown.stderr
    return records
