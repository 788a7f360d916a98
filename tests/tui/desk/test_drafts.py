"""Texts of fields that are no part of the job yet."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.desk.drafts import Drafts

_ANY = st.text(st.characters(codec=None, exclude_categories=[]))
"""Any characters, also halves of a pair, as a terminal in a wrong encoding gives them."""


@given(
    texts=st.dictionaries(
        st.text(st.characters(exclude_categories=["Cs"])), st.text(st.characters(exclude_categories=["Cs"]))
    )
)
def test_whatever_was_typed_is_there_again(tmp_path_factory: pytest.TempPathFactory, texts: dict[str, str]) -> None:
    """Any characters come back as they were."""
    job = tmp_path_factory.mktemp("drafts") / "job.toml"
    drafts = Drafts(job)
    for key, text in texts.items():
        drafts.put(key, text)
    drafts.write()
    again = Drafts(job)
    assert {key: again.get(key) for key in again.keys} == texts


def test_no_file_stays_when_nothing_is_pending(tmp_path: Path) -> None:
    """It goes with the last text, and writing nothing twice is no error."""
    drafts = Drafts(tmp_path / "job.toml")
    drafts.put("key", "text")
    drafts.write()
    assert drafts.path.exists()
    drafts.drop("key")
    drafts.drop("never there")
    drafts.write()
    drafts.write()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("content", [b"", b"\xff\x00", b"[1]", b'{"a": 1', b'"text"', b"[" * 100_000])
def test_a_broken_file_holds_nothing(tmp_path: Path, content: bytes) -> None:
    """Noise in its place is no error, and no text."""
    (tmp_path / "job.toml.typed").write_bytes(content)
    assert Drafts(tmp_path / "job.toml").keys == ()


def test_only_texts_are_taken(tmp_path: Path) -> None:
    """An entry that is no text is passed over."""
    (tmp_path / "job.toml.typed").write_text('{"a": "1", "b": 2}', encoding="utf-8")
    assert Drafts(tmp_path / "job.toml").keys == ("a",)


def test_a_disk_that_refuses_is_told_and_leaves_no_litter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The error reaches whoever wanted the texts kept; the half-written file is gone."""

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    drafts = Drafts(tmp_path / "job.toml")
    drafts.put("key", "text")
    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(OSError, match="No space"):
        drafts.write()
    assert list(tmp_path.iterdir()) == []
