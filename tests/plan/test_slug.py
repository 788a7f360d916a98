"""Short ids made from a user's words."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from retrofit.plan.slug import LENGTH, slugs


@given(st.lists(st.text(max_size=80)))
def test_every_text_has_a_plain_id_of_its_own(texts: list[str]) -> None:
    """Ids are lower-case words joined by hyphens, none twice, none that was taken, and the same every time."""
    found = list(slugs(texts, taken=["unnamed"]))
    assert len(set(found)) == len(texts)
    assert "unnamed" not in found
    assert all(re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name) and len(name) <= LENGTH + 5 for name in found)
    assert found == list(slugs(texts, taken=["unnamed"]))


def test_words_are_cut_between_words() -> None:
    """An id stays readable."""
    texts = ["Inside the back, on the upper rail, existing screw holes", "Ünder the bench", "é", "!", "x" * 60]
    assert list(slugs(texts)) == [
        "inside-the-back-on-the-upper-rail",
        "under-the-bench",
        "e",
        "unnamed",
        "x" * LENGTH,
    ]
