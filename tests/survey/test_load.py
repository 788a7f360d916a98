"""Loading a job file: what is sound gives a job, everything else gives problems and nothing but problems."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.survey.job import Job
from retrofit.survey.load import load_job, parse_job, parse_job_bytes
from retrofit.survey.points import list_points
from retrofit.survey.problems import JobFileError, ProblemKind
from retrofit.survey.toml_text import toml_string
from retrofit.survey.user_text import SIZE_LIMIT_BYTES
from tests.survey.places import DEMO, GOOD

GOOD_TEXT = GOOD.read_text(encoding="utf-8")
NOT_OUR_WORDS = ("pydantic", "Input should", "Value error", "validation", "Traceback", "ctx")
ANY_TEXT = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), min_size=1, max_size=40)


def only_problem(path: Path) -> tuple[ProblemKind, str]:
    """Return kind and message of the only problem that loading `path` gives."""
    with pytest.raises(JobFileError) as caught:
        load_job(path)
    (problem,) = caught.value.problems
    return problem.kind, str(problem)


def judge(parse: Callable[[], Job]) -> None:
    """Assert that `parse` gives a job or problems in our words, and nothing else."""
    try:
        told = [] if isinstance(parse(), Job) else ["no job"]
    except JobFileError as error:
        told = [str(problem) for problem in error.problems] or ["no problem"]
    assert [message for message in told if not message.isprintable() or ": found " not in message] == []
    assert [(word, message) for message in told for word in NOT_OUR_WORDS if word in message] == []


def test_the_good_job_loads() -> None:
    """A sound file gives its job."""
    job = load_job(GOOD)

    assert [group.id for group in job.groups] == ["great", "tabs", "shoes", "roller"]
    assert job.groups[0].wiring.idle.source.value == 4700.0


@pytest.mark.parametrize("name", ["gutted_home.toml", "theatre.toml"])
def test_the_demo_jobs_load(name: str) -> None:
    """Both demonstration jobs are sound."""
    assert load_job(DEMO / name).instrument.invented


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    """A wrong name is said plainly."""
    kind, message = only_problem(tmp_path / "nothing.toml")

    assert kind is ProblemKind.NO_FILE
    assert "nothing.toml: found no file of this name" in message


def test_a_folder_is_told(tmp_path: Path) -> None:
    """A folder is no job file."""
    kind, message = only_problem(tmp_path)

    assert kind is ProblemKind.NOT_A_FILE
    assert "found a folder" in message


def test_a_device_is_not_read_for_ever() -> None:
    """A device that never ends is refused before it is read."""
    assert only_problem(Path("/dev/zero"))[0] is ProblemKind.NOT_A_FILE


def test_a_file_that_may_not_be_read_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Missing permission is said in the system's words, with the remedy."""

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    path = tmp_path / "job.toml"
    path.write_text(GOOD_TEXT, encoding="utf-8")
    monkeypatch.setattr(Path, "open", refuse)

    kind, message = only_problem(path)

    assert kind is ProblemKind.UNREADABLE
    assert "Permission denied" in message
    assert "see who may read and write the file" in message


def test_a_byte_order_mark_is_read_over(tmp_path: Path) -> None:
    """A job that an old editor saved with a mark before its first character is the same job, lines included."""
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD_TEXT.encode())
    assert load_job(path) == load_job(GOOD)
    path.write_bytes(b"\xef\xbb\xbf" + GOOD_TEXT.replace("format = 1", "format = 2").encode())
    wanted = GOOD_TEXT.splitlines().index("format = 1") + 1
    assert only_problem(path)[1].startswith(f"{path}:{wanted} format: ")


def test_a_name_with_a_nul_is_told() -> None:
    """A path that the system cannot even look up gives a problem and no traceback."""
    assert only_problem(Path("job\0.toml"))[0] in (ProblemKind.UNREADABLE, ProblemKind.NO_FILE)


def test_a_huge_file_is_refused_and_one_at_the_limit_is_read(tmp_path: Path) -> None:
    """The limit is exact: one byte more is too large."""
    path = tmp_path / "job.toml"
    filler = b"#" * (SIZE_LIMIT_BYTES - len(GOOD_TEXT.encode()) - 1)
    path.write_bytes(filler + b"\n" + GOOD_TEXT.encode())
    assert load_job(path).format == 1

    path.write_bytes(b"#" + path.read_bytes())
    assert only_problem(path)[0] is ProblemKind.TOO_LARGE


def test_windows_line_ends_load_and_keep_line_numbers() -> None:
    """A file with CR LF gives the same job, and a fault on the same line."""
    assert parse_job(GOOD_TEXT.replace("\n", "\r\n"), "job.toml") == parse_job(GOOD_TEXT, "job.toml")

    broken = GOOD_TEXT.replace('owner = "us"', 'owner = "thm"')
    lines = []
    for text in (broken, broken.replace("\n", "\r\n")):
        with pytest.raises(JobFileError) as caught:
            parse_job(text, "job.toml")
        lines.append(caught.value.problems[0].line)
    assert lines == [broken[: broken.index('"thm"')].count("\n") + 1] * 2


def test_a_fault_in_one_group_does_not_blame_references_to_it() -> None:
    """Points of a group with a fault of its own are not called unknown."""
    broken = GOOD_TEXT.replace('name = "Vox', 'nmae = "Vox')

    with pytest.raises(JobFileError) as caught:
        parse_job(broken, "job.toml")

    assert [problem.kind for problem in caught.value.problems] == [ProblemKind.UNKNOWN_KEY]


@pytest.mark.parametrize(
    ("sound", "faulty"),
    [
        ('id = "great"     #', 'di = "great"     #'),  # the division that the keys name
        ('id = "main"', "id = 5"),  # the supply that a common names
        ('id = "tabs"', 'di = "tabs"'),  # the group whose points are one line
    ],
)
def test_a_member_without_an_id_does_not_blame_references_to_it(sound: str, faulty: str) -> None:
    """What has lost its id is told once, and nothing that may mean it is called unknown."""
    common = '[[groups.wiring.commons]]\nname = "bus"\nsupply = "main"\n\n[[groups]]\nid = "tabs"'
    text = GOOD_TEXT.replace('[[groups]]\nid = "tabs"', common)
    parse_job(text, "job.toml")

    with pytest.raises(JobFileError) as caught:
        parse_job(text.replace(sound, faulty, 1), "job.toml")

    kinds = {problem.kind for problem in caught.value.problems}
    assert kinds <= {ProblemKind.UNKNOWN_KEY, ProblemKind.MISSING_KEY, ProblemKind.WRONG_TYPE}


def test_the_smallest_ranges_are_sound() -> None:
    """A common of a single contact, the last one, and a contact under a single key."""
    text = GOOD_TEXT.replace(
        '[[groups]]\nid = "tabs"',
        '[[groups.wiring.commons]]\nname = "bus"\nfirst = 61\nlast = 61\n\n[[groups]]\nid = "tabs"',
    ).replace("count = 61 }", 'count = 61 }\ncontacts = [{ id = "first" }, { id = "low", lowest = 36, highest = 36 }]')

    assert [point.id for point in list_points(parse_job(text, "job.toml")) if point.id.endswith("low")] == [
        "great.36.low"
    ]


@pytest.mark.parametrize("format_line", ['format = "1"', "format = true", "format = 1.0", "format = 0", "format = []"])
def test_only_the_whole_number_one_is_our_format(format_line: str) -> None:
    """Look-alikes of the format number are refused with the line to write."""
    with pytest.raises(JobFileError, match="write 'format = 1'"):
        parse_job(GOOD_TEXT.replace("format = 1", format_line), "job.toml")


@pytest.mark.parametrize("key", ["velocity = ", "power_on_wait_s = ", "board = ", "skip_channels = "])
def test_numbers_of_any_size_are_told(key: str) -> None:
    """A number too large to be printed is refused like any other that does not fit."""
    text = GOOD_TEXT.replace("[[supplies]]", f"[wanted]\n{key}0x{'F' * 5000}\n\n[[supplies]]", 1)

    with pytest.raises(JobFileError) as caught:
        parse_job(text, "job.toml")

    (problem,) = caught.value.problems
    assert "a whole number of more than 60 digits" in str(problem)
    assert problem.line == text[: text.index(key)].count("\n") + 1


def test_control_characters_in_a_message_are_escaped() -> None:
    """What the user typed is told on one line, with nothing in it that moves the cursor or turns the text round."""
    text = GOOD_TEXT.replace('"12,4 V"', '"-12\\n\\u202E V"').replace('"great"     #', '"gr\\u001B[2J\\u202Eeat" #')

    with pytest.raises(JobFileError) as caught:
        parse_job(text, "jo\x1bb.toml")

    messages = [str(problem) for problem in caught.value.problems]
    assert len(messages) >= 2
    assert [message for message in messages if not message.isprintable()] == []


@pytest.mark.parametrize("words", ["format = 7", 'format = "1"', "format = 1.0", "format = true", ""])
def test_a_wrong_format_hides_no_other_problem(words: str) -> None:
    """Whatever the number says or lacks, the rest of the file is judged in the same run."""
    faulty = GOOD_TEXT.replace("owner", "ownr").replace('division = "great"', 'division = "graet"', 1)

    def kinds(text: str) -> list[ProblemKind]:
        with pytest.raises(JobFileError) as caught:
            parse_job(text, "job.toml")
        return [problem.kind for problem in caught.value.problems]

    about_format = ProblemKind.WRONG_FORMAT if words else ProblemKind.NO_FORMAT
    assert sorted(kinds(faulty.replace("format = 1", words))) == sorted([about_format, *kinds(faulty)])
    assert kinds(GOOD_TEXT.replace("format = 1", words)) == [about_format]


@given(ANY_TEXT)
def test_a_name_of_any_characters_loads_unchanged(name: str) -> None:
    """Quotes, newlines, comment ends, braces, controls and direction marks are the user's own."""
    text = GOOD_TEXT.replace('"test job"', toml_string(name))

    assert parse_job(text, "job.toml").instrument.name == name


@given(st.binary(max_size=300))
def test_random_bytes_give_problems_only(content: bytes) -> None:
    """Noise never gives a traceback."""
    judge(lambda: parse_job_bytes(content, "job.toml"))


@given(st.integers(0, len(GOOD_TEXT)))
def test_a_truncated_file_gives_problems_or_a_job(length: int) -> None:
    """A file cut anywhere is judged, never choked on."""
    judge(lambda: parse_job(GOOD_TEXT[:length], "job.toml"))


STRANGE = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.just(16**5000),
    st.floats(),
    ANY_TEXT,
    st.dates(),
    st.lists(st.integers(-2, 200), max_size=4),
    st.dictionaries(ANY_TEXT, st.integers(), max_size=3),
    st.sampled_from(["unknown", "manual", "shoes", "great", "OL", "4k7", [], {}, [[]], [{}], {"kind": []}]),
)


@settings(max_examples=300)
@given(STRANGE, st.randoms(use_true_random=False))
def test_a_mutated_job_gives_problems_or_a_job(strange: object, rng: random.Random) -> None:
    """Any value of any type at any place of a sound job is told in our words."""
    data: dict[str, Any] = tomlkit.parse(GOOD_TEXT).unwrap()
    place: Any = data
    while True:
        keys = list(place) if isinstance(place, dict) else list(range(len(place)))
        key = rng.choice(keys)
        deeper = isinstance(place[key], dict | list) and place[key]
        if not deeper or rng.random() < 0.2:
            break
        place = place[key]
    if strange is None:
        del place[key]
    else:
        place[key] = strange
    try:
        text = tomlkit.dumps(data)
    except (ValueError, TypeError):  # a list that TOML cannot hold
        return
    judge(lambda: parse_job(text, "job.toml"))


@settings(max_examples=200)
@given(st.integers(0, len(GOOD_TEXT)), st.integers(0, 12), st.text("[]{}=\"'\n,.#ab1-\\ \t", max_size=6))
def test_a_misedited_text_gives_problems_or_a_job(start: int, length: int, inserted: str) -> None:
    """Characters taken out and put in anywhere never give a traceback."""
    judge(lambda: parse_job(GOOD_TEXT[:start] + inserted + GOOD_TEXT[start + length :], "job.toml"))
