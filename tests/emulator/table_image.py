"""Images of the firmware with a table written by a test, instead of one that was planned."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from retrofit.firmware.sketch import listed_files
from tests.emulator.build import Image, build_sketch
from tests.emulator.demos import Spoil, spoil_file
from tests.firmware.build import CORE, put_table
from tests.firmware.table_text import ConsoleTable

TEMPLATES = CORE.parent


def image_of(table: ConsoleTable, board: str = "atmega2560", spoils: Sequence[Spoil] = ()) -> Image:
    """Compile a sketch folder of all hand-written files of a board with this table, spoilt as asked."""
    with TemporaryDirectory() as name:
        folder = put_table(Path(name), table.text())
        for file in listed_files(board):
            shutil.copy(TEMPLATES / file, folder)
        shutil.copy(TEMPLATES / "avr" / "sketch.ino", folder / "console.ino")
        for spoil in spoils:
            spoil_file(spoil, folder)
        return build_sketch(folder, board)
