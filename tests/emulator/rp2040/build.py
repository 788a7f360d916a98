"""Compiles sketch folders for the RP2040 as bare images: the firmware's own files, and a start-up of a few lines.

The Arduino core for this chip cannot be had here, so nothing of it is in the image: its start-up, its USB and its
interrupts are missing, and a small stand-in (`library/`) takes the place of the three libraries that the firmware asks.
The C and C++ files are those of the sketch folder, byte for byte.  Flags are `-Os` and warnings as errors.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import tempfile
from collections.abc import Sequence
from functools import cache
from pathlib import Path

from platformdirs import user_cache_path

from tests.emulator.build import BuildError, Image
from tests.tools import require_tool

BARE = Path(__file__).parent / "bare"
LIBRARY = BARE.parent / "library"
STRICT = ("-Wall", "-Wextra", "-Wconversion", "-Wshadow", "-Werror")
CPU = ("-mcpu=cortex-m0plus", "-mthumb")
_SHARED = (*CPU, "-Os", "-ffunction-sections", "-fdata-sections", "-DF_CPU=125000000", "-DUSE_TINYUSB", *STRICT)
FLAGS = {
    ".c": ("arm-none-eabi-gcc", "-std=gnu11", *_SHARED),
    ".cpp": ("arm-none-eabi-g++", "-std=gnu++17", "-fno-exceptions", "-fno-rtti", "-fno-threadsafe-statics", *_SHARED),
}
_LINK = (*CPU, "-nostartfiles", "-Wl,--gc-sections", "-T", BARE / "bare.ld")
_PACKAGES = {"arm-none-eabi-gcc": "gcc-arm-none-eabi", "arm-none-eabi-size": "binutils-arm-none-eabi"}


def build_bare(folder: Path) -> Image:
    """Compile a sketch folder into a bare image.  Raises `BuildError` with the compiler's words."""
    sources = [*sorted(folder.glob("*.c")), *sorted(folder.glob("*.cpp")), LIBRARY / "library.cpp"]
    return _kept(sources, [*sorted(folder.glob("*.h")), *sorted(LIBRARY.glob("*.h"))], folder)


def build_bare_program(source: str) -> Image:
    """Compile one hand-written C program with its own `board_setup` and `board_loop`."""
    with tempfile.TemporaryDirectory() as name:
        path = Path(name, "program.c")
        path.write_text(source, encoding="utf-8")
        Path(name, "board.h").write_text("void board_setup(void);\nvoid board_loop(void);\n", encoding="utf-8")
        return _kept([path], [], Path(name))


def _kept(sources: Sequence[Path], headers: Sequence[Path], folder: Path) -> Image:
    for tool, package in _PACKAGES.items():
        require_tool(tool, package)
    start = [BARE / "startup.c", BARE / "bare.ld"]
    kept = _image_folder() / f"m0-{_digest([*sources, *headers, *start])}"
    if not kept.is_dir():
        _build_into(kept, [*sources, BARE / "startup.c"], folder)
    flash, ram = (kept / "sizes").read_text().split()
    return Image(kept / "image.bin", int(flash), int(ram))


def _image_folder() -> Path:
    folder = Path(os.environ.get("RETROFIT_IMAGES", "") or user_cache_path("console-retrofit") / "images")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _digest(inputs: Sequence[Path]) -> str:
    digest = hashlib.sha256(repr((FLAGS, _LINK, _compiler_version())).encode())
    for path in inputs:
        content = path.read_bytes()
        digest.update(f"{path.name}\0{len(content)}\0".encode() + content)
    return digest.hexdigest()[:32]


@cache
def _compiler_version() -> str:
    return subprocess.run(["arm-none-eabi-gcc", "--version"], capture_output=True, text=True, check=True).stdout


def _build_into(kept: Path, sources: Sequence[Path], folder: Path) -> None:
    """Build beside the final place and move there at the end, so that two builds at once do not meet half an image."""
    with tempfile.TemporaryDirectory(dir=kept.parent) as name:
        work = Path(name, "image")
        work.mkdir()
        objects = [_compile(source, work, folder) for source in sources]
        elf = work / "image.elf"
        run_tool(["arm-none-eabi-gcc", *_LINK, "-o", elf, *objects, "-lc", "-lgcc"])
        run_tool(["arm-none-eabi-objcopy", "-O", "binary", elf, work / "image.bin"])
        (work / "sizes").write_text(_sizes(elf))
        try:
            work.rename(kept)
        except OSError:
            if not kept.is_dir():
                raise


def _compile(source: Path, work: Path, folder: Path) -> Path:
    target = work / f"{source.name}.o"
    run_tool([*FLAGS[source.suffix], f"-I{folder}", f"-I{LIBRARY}", "-c", source, "-o", target])
    return target


def _sizes(elf: Path) -> str:
    """Return `flash ram` as arm-none-eabi-size counts them: text + data, and data + bss."""
    text, data, bss = run_tool(["arm-none-eabi-size", elf]).splitlines()[1].split()[:3]
    return f"{int(text) + int(data)} {int(data) + int(bss)}"


def run_tool(command: Sequence[str | Path]) -> str:
    """Run a tool of the compiler.  Raises `BuildError` with its words."""
    done = subprocess.run([str(word) for word in command], capture_output=True, text=True, check=False)
    if done.returncode:
        raise BuildError(f"{Path(command[0]).name} stopped with {done.returncode}:\n{done.stderr.strip()[-4000:]}")
    return done.stdout
