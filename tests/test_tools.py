"""Missing tools: left out by name at a desk, a failure in continuous integration."""

from __future__ import annotations

import pytest

from tests.tools import require_tool


def test_a_tool_that_is_there_is_found() -> None:
    """The path of an installed command is returned."""
    assert require_tool("sh", "dash").endswith("/sh")


def test_a_missing_tool_skips_and_names_its_package(monkeypatch: pytest.MonkeyPatch) -> None:
    """At a desk the test is skipped, and says what to install."""
    monkeypatch.setenv("CI", "")
    with pytest.raises(pytest.skip.Exception, match="apt-get install no-such-package"):
        require_tool("no-such-tool", "no-such-package")


def test_a_missing_tool_fails_in_continuous_integration(monkeypatch: pytest.MonkeyPatch) -> None:
    """With CI=true nothing may be left out."""
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="no-such-tool is not installed"):
        require_tool("no-such-tool", "no-such-package")
