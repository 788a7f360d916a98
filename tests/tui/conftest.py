"""Every test of the screens has a folder and a user's folder of its own."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

import retrofit.demo


@pytest.fixture(autouse=True)
def own_folders(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep the screens away from whoever runs the tests: work and the list of jobs lie in the test's own folder."""
    own = tmp_path_factory.mktemp("own")
    monkeypatch.setenv("XDG_STATE_HOME", str(own / "state"))
    monkeypatch.delenv("NO_COLOR", raising=False)
    work = own / "work"
    work.mkdir()
    monkeypatch.chdir(work)
    return work


@pytest.fixture
def gutted(own_folders: Path) -> Path:
    """Return a copy of the demo console that is taken over."""
    return Path(shutil.copy(Path(retrofit.demo.__path__[0], "gutted_home.toml"), own_folders))


@pytest.fixture
def theatre(own_folders: Path) -> Path:
    """Return a copy of the demo console that is only listened to."""
    return Path(shutil.copy(Path(retrofit.demo.__path__[0], "theatre.toml"), own_folders))
