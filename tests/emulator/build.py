"""Compiles sketches and small programs for the AVR boards with the flags of the stock core, keeping finished images.

The flags are those of the recipes in the core's `platform.txt` and of its boards `mega` and `leonardo`; the core's own
sources are compiled along, so that the image is what the desktop tool would load.  Images are kept under a name that is
the digest of everything that went into them.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import tempfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from platformdirs import user_cache_path

from tests.tools import leave_out, require_tool

CORE_PLACES = ("/usr/share/arduino/hardware/arduino/avr", "/usr/local/share/arduino/hardware/arduino/avr")
BUILDER_FILES = "/usr/share/arduino-builder"
_DEFINES = (
    "-DF_CPU=16000000L",
    "-DARDUINO=10819",
    "-DARDUINO_ARCH_AVR",
    # Wanted by the core's WString.cpp; the compiler that Debian ships does not define it.
    "-DDECIMAL_DIG=9",
)
_COMMON = ("-c", "-Os", "-w", "-ffunction-sections", "-fdata-sections", "-flto", "-fno-fat-lto-objects")
_CPP_ONLY = ("-std=gnu++11", "-fpermissive", "-fno-exceptions", "-fno-threadsafe-statics", "-Wno-error=narrowing")
_LINK_FLAGS = ("-w", "-Os", "-flto", "-fuse-linker-plugin", "-Wl,--gc-sections")


@dataclass(frozen=True)
class Target:
    """A board as the stock core's `boards.txt` has it: chip, variant folder, what is defined, and its full name."""

    mcu: str
    variant: str
    defines: tuple[str, ...]
    name: str

    @property
    def c_flags(self) -> tuple[str, ...]:
        """Flags for C."""
        return (*_COMMON, f"-mmcu={self.mcu}", "-std=gnu11", *_DEFINES, *self.defines)

    @property
    def cpp_flags(self) -> tuple[str, ...]:
        """Flags for C++."""
        return (*_COMMON, f"-mmcu={self.mcu}", *_CPP_ONLY, *_DEFINES, *self.defines)

    @property
    def assembler_flags(self) -> tuple[str, ...]:
        """Flags for assembly."""
        return ("-c", "-x", "assembler-with-cpp", "-flto", f"-mmcu={self.mcu}", *_DEFINES, *self.defines)

    @property
    def link_flags(self) -> tuple[str, ...]:
        """Flags for linking."""
        return (*_LINK_FLAGS, f"-mmcu={self.mcu}")


TARGETS = {
    "atmega2560": Target("atmega2560", "mega", ("-DARDUINO_AVR_MEGA2560",), "arduino:avr:mega:cpu=atmega2560"),
    "atmega32u4": Target(
        "atmega32u4",
        "leonardo",
        (
            "-DARDUINO_AVR_LEONARDO",
            "-DUSB_VID=0x2341",
            "-DUSB_PID=0x8036",
            '-DUSB_MANUFACTURER="Unknown"',
            '-DUSB_PRODUCT="Arduino Leonardo"',
        ),
        "arduino:avr:leonardo",
    ),
}


class BuildError(Exception):
    """The compiler refused; the message holds its words."""


@dataclass(frozen=True)
class Image:
    """A finished image and what it occupies, in bytes."""

    hex: Path
    flash: int
    ram: int


def build_sketch(folder: Path, board: str = "atmega2560") -> Image:
    """Compile a sketch folder together with the stock core.  Raises `BuildError` with the compiler's words."""
    target = TARGETS[board]
    core = stock_core()
    sketch = sorted(path for path in folder.iterdir() if path.suffix in _SUFFIXES)
    library = sorted(path for path in (core / "cores" / "arduino").iterdir() if path.suffix in _SUFFIXES)
    includes = (core / "cores" / "arduino", core / "variants" / target.variant, folder)
    return _build(target, sketch, library, includes, _headers(folder))


def build_program(source: str, board: str = "atmega2560") -> Image:
    """Compile one hand-written C program, without the stock core."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "program.c")
        path.write_text(source, encoding="utf-8")
        return _build(TARGETS[board], [path], [], (), [])


def build_with_stock_tool(folder: Path, work: Path, board: str = "atmega2560") -> Path:
    """Build a sketch folder by the desktop tool's own steps (arduino-builder) and return the hex file."""
    builder = require_tool("arduino-builder", "arduino-builder")
    hardware = stock_core().parents[1]
    work.mkdir(parents=True, exist_ok=True)
    _run(
        [
            builder,
            "-compile",
            "-hardware",
            hardware,
            "-hardware",
            BUILDER_FILES,
            "-tools",
            BUILDER_FILES,
            "-fqbn",
            TARGETS[board].name,
            "-prefs",
            "compiler.cpp.extra_flags=-DDECIMAL_DIG=9",
            "-ide-version",
            "10819",
            "-build-path",
            work,
            folder / f"{folder.name}.ino",
        ]
    )
    return work / f"{folder.name}.ino.hex"


@cache
def stock_core() -> Path:
    """Return the folder of the stock AVR core."""
    places = (Path(place) for place in CORE_PLACES)
    found = next((place for place in places if (place / "cores" / "arduino" / "main.cpp").is_file()), None)
    if found is None:
        leave_out("the stock AVR core is not installed; on Debian: apt-get install arduino-core-avr")
    return found


_SUFFIXES = (".c", ".cpp", ".ino", ".S")


def _headers(folder: Path) -> list[Path]:
    return sorted(path for path in folder.iterdir() if path.suffix in (".h", ".hpp", ".inc"))


def _build(
    target: Target,
    sources: Sequence[Path],
    library: Sequence[Path],
    includes: Sequence[Path],
    headers: Iterable[Path],
) -> Image:
    require_tool("avr-gcc", "gcc-avr")
    kept = _image_folder() / _digest(target, [*sources, *library, *headers])
    if not kept.is_dir():
        _build_into(kept, target, sources, library, includes)
    flash, ram = (kept / "sizes").read_text().split()
    return Image(kept / "image.hex", int(flash), int(ram))


def _image_folder() -> Path:
    folder = Path(os.environ.get("RETROFIT_IMAGES", "") or user_cache_path("console-retrofit") / "images")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _digest(target: Target, inputs: Iterable[Path]) -> str:
    flags = (target.c_flags, target.cpp_flags, target.link_flags, _compiler_version())
    digest = hashlib.sha256(repr(flags).encode())
    for path in inputs:
        content = path.read_bytes()
        digest.update(f"{path.name}\0{len(content)}\0".encode() + content)
    return digest.hexdigest()[:32]


@cache
def _compiler_version() -> str:
    return subprocess.run(["avr-gcc", "--version"], capture_output=True, text=True, check=True).stdout


def _build_into(
    kept: Path, target: Target, sources: Sequence[Path], library: Sequence[Path], includes: Sequence[Path]
) -> None:
    """Build beside the final place and move there at the end, so that two builds at once do not meet half an image."""
    with tempfile.TemporaryDirectory(dir=kept.parent) as name:
        folder = Path(name, "image")
        folder.mkdir()
        objects = [_compile(target, source, folder, includes) for source in sources]
        archive = [_archive(target, library, folder, includes)] if library else []
        elf = folder / "image.elf"
        _run(["avr-gcc", *target.link_flags, "-o", elf, *objects, *archive, "-lm"])
        _run(["avr-objcopy", "-O", "ihex", "-R", ".eeprom", elf, folder / "image.hex"])
        (folder / "sizes").write_text(_sizes(elf))
        try:
            folder.rename(kept)
        except OSError:
            if not kept.is_dir():
                raise


def _compile(target: Target, source: Path, folder: Path, includes: Sequence[Path]) -> Path:
    output = folder / f"{source.name}.o"
    include_flags = [f"-I{path}" for path in includes]
    match source.suffix:
        case ".c":
            command = ["avr-gcc", *target.c_flags]
        case ".S":
            command = ["avr-gcc", *target.assembler_flags]
        case ".ino":
            command = ["avr-g++", *target.cpp_flags, "-x", "c++", "-include", "Arduino.h"]
        case _:
            command = ["avr-g++", *target.cpp_flags]
    _run([*command, *include_flags, source, "-o", output])
    return output


def _archive(target: Target, library: Sequence[Path], folder: Path, includes: Sequence[Path]) -> Path:
    """Return the core as an archive, compiled once for all sketches."""
    kept = folder.parents[1] / f"core-{_digest(target, library)}.a"
    if not kept.is_file():
        objects = folder / "core"
        objects.mkdir()
        parts = [_compile(target, source, objects, includes[:-1]) for source in library]
        _run(["avr-gcc-ar", "rcs", objects / "core.a", *parts])
        (objects / "core.a").rename(kept)
    return kept


def _sizes(elf: Path) -> str:
    """Return `flash ram` as avr-size counts them: text + data, and data + bss."""
    report = _run(["avr-size", "-A", elf])
    sections = {
        row[0]: int(row[1]) for row in map(str.split, report.splitlines()) if len(row) == 3 and row[1].isdigit()
    }
    data = sections.get(".data", 0)
    return f"{sections['.text'] + data} {data + sections.get('.bss', 0) + sections.get('.noinit', 0)}"


def _run(command: Sequence[str | Path]) -> str:
    done = subprocess.run([str(word) for word in command], capture_output=True, text=True, check=False)
    if done.returncode:
        raise BuildError(f"{Path(command[0]).name} stopped with {done.returncode}:\n{done.stderr.strip()[-4000:]}")
    return done.stdout
