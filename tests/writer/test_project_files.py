"""The two project files beside a sketch, read by parsers of their formats."""

from __future__ import annotations

import re
import tomllib
from configparser import ConfigParser
from pathlib import Path

import pytest
import yaml

import firmware_templates
from retrofit.catalogue.load import load_catalogue
from retrofit.firmware.about import ABOUT_FILE_NAME
from retrofit.firmware.project_files import PLATFORMIO_FILE_NAME, SKETCH_PROJECT_FILE_NAME, project_files
from retrofit.firmware.sketch import board_tools, sketch_files
from tests.emulator.build import TARGETS, stock_core
from tests.writer.plans import bench_plan

BOARDS = tomllib.loads((Path(firmware_templates.__file__).parent / "files.toml").read_text(encoding="utf-8"))["boards"]
FULL_NAME = re.compile(r"[\w.-]+:[\w.-]+:[\w.-]+(:[\w.-]+=[\w.-]+(,[\w.-]+=[\w.-]+)*)?")
"""Arduino CLI, frequently asked questions: VENDOR:ARCHITECTURE:BOARD_ID[:MENU_ID=OPTION[,...]]."""


def test_every_board_with_firmware_is_in_the_catalogue_and_has_its_tools() -> None:
    """No board is left without project files, and none is there that cannot be planned."""
    assert set(BOARDS) == set(load_catalogue().boards)
    assert all(board_tools(board).full_name for board in BOARDS)


@pytest.mark.parametrize("board", BOARDS)
def test_the_sketch_project_file_names_board_and_no_port(board: str) -> None:
    """It is YAML with the one key `default_fqbn` (Arduino CLI, sketch project file), a fully qualified board name."""
    content = yaml.safe_load(project_files(board_tools(board))[SKETCH_PROJECT_FILE_NAME])
    assert set(content) == {"default_fqbn"}
    assert FULL_NAME.fullmatch(content["default_fqbn"])


@pytest.mark.parametrize("board", BOARDS)
def test_the_platformio_file_has_one_environment_and_no_port(board: str) -> None:
    """It is an INI file whose sources are the folder itself, with platform, board and framework and no port."""
    parser = ConfigParser()
    parser.read_string(project_files(board_tools(board))[PLATFORMIO_FILE_NAME].decode())
    assert parser.sections() == ["platformio", "env:console"]
    assert parser["platformio"]["src_dir"] == "."
    environment = parser["env:console"]
    assert environment["framework"] == "arduino"
    assert environment["platform"]
    assert environment["board"]
    assert not [key for key in environment if "port" in key]


@pytest.mark.parametrize("board", TARGETS)
def test_the_full_name_is_the_one_that_is_built(board: str) -> None:
    """The board stands in the stock core's boards.txt, and its name is what the core's own builder is given."""
    name = board_tools(board).full_name
    assert name == TARGETS[board].name
    boards = (stock_core() / "boards.txt").read_text(encoding="utf-8")
    assert f"\n{name.split(':')[2]}.name=" in boards


def test_both_files_lie_in_the_folder_and_the_page_speaks_of_them() -> None:
    """A sketch holds both; its page says that those tools have not built it, and what to know of the board."""
    files = sketch_files(bench_plan(), "bench_console")
    about = " ".join(files[ABOUT_FILE_NAME].decode().split())
    assert {SKETCH_PROJECT_FILE_NAME, PLATFORMIO_FILE_NAME} <= set(files)
    assert "this firmware was not built by those two tools" in about
    assert "watchdog" in about
    assert "4.3 V would be extended fuse 0xFC" in about
