"""Names of sketch folders."""

from __future__ import annotations

import re
import subprocess

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from retrofit.firmware.sketch_name import sketch_name

RESERVED = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])", re.IGNORECASE)
"""Device names (Microsoft, Naming Files, Paths, and Namespaces)."""


@given(st.text())
@example("CON")
@example("lpt1")
@example("ſ" * 80)
@example("7" * 80)
@example("x" * 62 + " y")
def test_any_job_name_gives_a_legal_sketch_name(job_name: str) -> None:
    """The name begins with a letter, has only ASCII letters, digits and underscores, and at most 63 of them; a dash
    stands only after the first word of a name that was made up.
    """
    name = sketch_name(job_name)
    assert re.fullmatch(r"[A-Za-z][A-Za-z0-9_]{0,62}|console-[0-9a-f]{8}", name)
    assert not RESERVED.fullmatch(name)


@pytest.mark.parametrize(
    ("job_name", "name"),
    [
        ("Two-manual home console (demo, invented)", "two_manual_home_console_demo_invented"),
        ("Flûte & Célesta", "flute_celesta"),
        ("3 manuals", "console_3_manuals"),
        ("../../etc/passwd", "etc_passwd"),
        ("COM1", "console_com1"),
    ],
)
def test_the_name_stays_recognisable(job_name: str, name: str) -> None:
    """Accents are dropped, everything but letters and digits joins words, and names never leave the folder."""
    assert sketch_name(job_name) == name


def test_names_without_latin_letters_do_not_meet() -> None:
    """Such a name becomes eight digits of its SHA-256 digest, as `sha256sum` prints it: another name, other digits."""
    digits = subprocess.run(["sha256sum"], input="Флейта".encode(), capture_output=True, check=True).stdout.decode()[:8]
    assert sketch_name("Флейта") == f"console-{digits}"
    assert len({sketch_name(name) for name in ("Флейта", "オルガン", "1912", "")}) == 4
