"""The group of commands.  A command's file is imported when the command is called; the list of them costs nothing."""

from __future__ import annotations

import importlib

import click

from retrofit.cli.output import MEANINGS
from retrofit.cli.version import VERSION
from retrofit.survey.problems import did_you_mean

COMMANDS = {
    "demo": ("retrofit.cli.demo", "Copy the two demo consoles, then check, plan and build each of them."),
    "new": ("retrofit.cli.new", "Write the job file of a console just seen."),
    "reading": ("retrofit.cli.reading", "Take readings of lines at the bench, one by one, and say what to read next."),
    "check": ("retrofit.cli.check", "Say every problem of a job file and every finding of its plan."),
    "plan": ("retrofit.cli.plan", "Show the plan: addresses, timing, messages, findings."),
    "compare": ("retrofit.cli.compare", "Compare the ways of reading the contacts, and recommend one."),
    "timing": ("retrofit.cli.timing", "Show where each press's time goes, and what the wire can carry."),
    "simulate": ("retrofit.cli.simulate", "Play the console in numbers: late, double and lost strokes by the million."),
    "build": ("retrofit.cli.build", "Write the firmware sketch and the papers: wiring, messages, putback."),
    "record": ("retrofit.cli.record", "Keep the plan's addresses in the job file, and how far a division has come."),
    "board": ("retrofit.cli.board", "Ask a live board what it is, how it stands, and what it has measured."),
    "ports": ("retrofit.cli.ports", "List the MIDI and serial ports of this computer."),
    "listen": ("retrofit.cli.listen", "Show what is heard, line by line, by the names of a job's points."),
    "prove": (
        "retrofit.cli.prove",
        "Prove a division on the live console: every contact, stop and shoe against the plan.",
    ),
    "learn": ("retrofit.cli.learn", "Find out by one slow run which input is which key, and keep it in the job file."),
    "rehearse": ("retrofit.cli.rehearse", "Prove a stand-in console, with faults put in by name, before any wire."),
    "history": ("retrofit.cli.history", "Show the records of proving runs, compare two visits, write a certificate."),
    "putback": ("retrofit.cli.putback", "Print how everything comes out again, step by step."),
    "chords": ("retrofit.cli.chords", "Show the chords that find each bad diode of a matrix."),
    "diodes": ("retrofit.cli.diodes", "Show what the readings of a diode board say, and which key to read next."),
    "contacts": ("retrofit.cli.contacts", "Take a group's contact list to a spreadsheet and back."),
    "rules": ("retrofit.cli.rules", "List the rules that a plan is held against."),
    "explain": ("retrofit.cli.explain", "Tell what a finding means, and whether a job may waive it."),
    "schema": ("retrofit.cli.schema", "Write the JSON schema of job files, for editors."),
    "ui": ("tui.command", "Work on a job on text screens, by keys alone."),
}
"""Name, where the command lives, and its short help.  The module is named as text, so nothing imports it early."""

EPILOG = "\b\nExit codes:\n" + "\n".join(f"  {code.value:>3}  {words}" for code, words in MEANINGS.items())


class LazyGroup(click.Group):
    """A group whose commands are imported one at a time."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002  # click's own signature
        """Return the names in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002  # click's own signature
        """Import and return one command, or None for a name that there is not."""
        if cmd_name not in COMMANDS:
            return None
        found = importlib.import_module(COMMANDS[cmd_name][0]).command
        if not isinstance(found, click.Command):
            raise TypeError(f"{COMMANDS[cmd_name][0]}.command is no command")
        return found

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command named first; an unknown name is answered with the nearest one."""
        if args[0] not in COMMANDS:
            nearest = did_you_mean(args[0], COMMANDS)
            ctx.fail(f"there is no command {args[0]!r}{f'; {nearest}' if nearest else ''}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002  # click's own signature
        """Write the list of commands from the table, importing none of them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, words) for name, (_, words) in COMMANDS.items()])


@click.group(cls=LazyGroup, epilog=EPILOG, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(VERSION, "--version", message="retrofit %(version)s")
def app() -> None:
    """Plan the conversion of an organ console to MIDI, and write what is needed to do it.

    Everything starts from a job file: what was found at the console and what is wanted of it.
    """
