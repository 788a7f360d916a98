"""Nothing is excused from a check without a reason beside it."""

from __future__ import annotations

import re

from tests.project.tree import ROOT, python_files

EXCUSE = re.compile(r"#\s*(?:noqa\b|type:\s*ignore)(?::\s*[A-Z0-9, ]+|\[[\w\-, ]+\])?(?P<rest>.*)$")
REASON = re.compile(r"\s*[-#:–]+\s*\w")


def excuses_without_reason(text: str) -> list[str]:
    """Return the lines that excuse themselves from a check without saying why."""
    found = [(line, EXCUSE.search(line)) for line in text.splitlines()]
    return [line.strip() for line, match in found if match and not REASON.match(match["rest"])]


def test_every_excuse_in_the_code_says_why() -> None:
    """Each excuse on a line of code is followed by its reason."""
    silent = {
        f"{path}": lines
        for path in python_files()
        if (lines := excuses_without_reason((ROOT / path).read_text(encoding="utf-8")))
    }
    assert silent == {}


def test_every_rule_left_off_says_why() -> None:
    """Each rule that the linter's settings leave off has a comment on its line."""
    settings = (
        (ROOT / "pyproject.toml")
        .read_text(encoding="utf-8")
        .split("[tool.ruff.lint]")[1]
        .split("[tool.ruff.lint.pylint]")[0]
    )
    left_off = [line for line in settings.splitlines() if re.match(r'\s+"[A-Z]+\d+"', line)]
    assert left_off
    assert [line for line in left_off if "#" not in line] == []


def test_a_silent_excuse_is_found() -> None:
    """The search finds an excuse without a reason and passes one with a reason."""
    mark = "# no" + "qa"
    assert excuses_without_reason(f"x = 1  {mark}: E501") == [f"x = 1  {mark}: E501"]
    assert excuses_without_reason(f"x = 1  {mark}: E501  # a table reads better on one line") == []
    assert excuses_without_reason(f"x = 1  {mark}") == [f"x = 1  {mark}"]
