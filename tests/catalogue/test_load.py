"""Loading the catalogue."""

from __future__ import annotations

import subprocess
import sys

from retrofit.catalogue.load import load_catalogue


def test_the_catalogue_is_loaded_once() -> None:
    """A second call gives the same object."""
    assert load_catalogue() is load_catalogue()


def test_loading_needs_no_part_of_the_floors_above() -> None:
    """In a fresh interpreter, loading brings in the catalogue alone and neither pydantic nor tomlkit."""
    probe = "import sys; from retrofit.catalogue.load import load_catalogue; load_catalogue(); print(*sys.modules)"
    shown = subprocess.run([sys.executable, "-c", probe], check=True, capture_output=True, text=True).stdout.split()
    rooms = {name.split(".")[1] for name in shown if name.startswith("retrofit.")}
    assert rooms == {"catalogue"}
    assert not {"pydantic", "tomlkit"} & set(shown)
