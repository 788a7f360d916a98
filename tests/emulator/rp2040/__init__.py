"""The same proof on an RP2040 in emulation: its build, its emulator, and its own figures."""
