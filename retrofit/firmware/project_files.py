"""Two files beside a sketch that tell the user's own tools which board it is for; the port is left to the user.

`sketch.yaml` is the sketch project file of the Arduino command line (Arduino CLI, sketch project file, `default_fqbn`);
`platformio.ini` is the project configuration of PlatformIO Core (PlatformIO, projectconf).  Both are plain facts of
the board, from the file list, and hold nothing of the job.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

SKETCH_PROJECT_FILE_NAME = "sketch.yaml"
PLATFORMIO_FILE_NAME = "platformio.ini"


@dataclass(frozen=True, slots=True)
class BoardTools:
    """How a board is called by the user's tools.

    `full_name` is its fully qualified board name, `index_url` where its core comes from when that is not the stock one;
    `platform` and `board` are its names in PlatformIO, and `options` what else stands there.
    """

    full_name: str
    platform: str
    board: str
    index_url: str = ""
    options: Mapping[str, str] | None = None


def project_files(tools: BoardTools) -> dict[str, bytes]:
    """Return name and content of both files."""
    return {
        SKETCH_PROJECT_FILE_NAME: _sketch_project(tools).encode(),
        PLATFORMIO_FILE_NAME: _platformio(tools).encode(),
    }


def _sketch_project(tools: BoardTools) -> str:
    index = f"# The board's core comes from {tools.index_url}\n" if tools.index_url else ""
    return f"{index}default_fqbn: {tools.full_name}\n"


def _platformio(tools: BoardTools) -> str:
    """The sketch lies in the folder itself, not in a folder of sources."""
    options = "".join(f"{key} = {value}\n" for key, value in (tools.options or {}).items())
    return (
        "[platformio]\n"
        "src_dir = .\n"
        "\n"
        "[env:console]\n"
        f"platform = {tools.platform}\n"
        f"board = {tools.board}\n"
        "framework = arduino\n"
        f"{options}"
    )
