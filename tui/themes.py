"""How the screens look: for the bench, for daylight, for a dark room, and without any colour."""

from __future__ import annotations

from textual.theme import Theme


def _one_ink(name: str, ink: str, paper: str, *, dark: bool) -> Theme:
    """Return a theme of one ink on one paper: what is to be told apart is told by letters, marks and borders."""
    return Theme(
        name=name,
        primary=ink,
        secondary=ink,
        accent=ink,
        warning=ink,
        error=ink,
        success=ink,
        foreground=ink,
        background=paper,
        surface=paper,
        panel=paper,
        boost=paper,
        dark=dark,
        luminosity_spread=0.0,
        text_alpha=1.0,
        variables={
            "block-cursor-foreground": paper,
            "block-cursor-background": ink,
            "block-cursor-blurred-foreground": ink,
            "block-cursor-blurred-background": paper,
            "block-hover-background": paper,
            "footer-background": paper,
            "footer-foreground": ink,
            "footer-key-foreground": ink,
            "footer-key-background": paper,
            "footer-description-foreground": ink,
            "footer-description-background": paper,
            "input-cursor-foreground": paper,
            "input-cursor-background": ink,
            "input-selection-background": ink,
            "scrollbar": ink,
            "scrollbar-hover": ink,
            "scrollbar-active": ink,
            "scrollbar-background": paper,
            "scrollbar-background-hover": paper,
            "scrollbar-background-active": paper,
            "scrollbar-corner-color": paper,
            "border": ink,
            "border-blurred": ink,
            "text-muted": ink,
            "text-disabled": ink,
        },
    )


THEMES = {
    "bench": Theme(
        name="bench",
        primary="#d8b26e",
        secondary="#9db4c0",
        accent="#d8b26e",
        warning="#e6c229",
        error="#ff8a70",
        success="#a8c686",
        foreground="#e8e6e1",
        background="#16181a",
        surface="#16181a",
        panel="#22262a",
        dark=True,
    ),
    "daylight": _one_ink("daylight", "#000000", "#ffffff", dark=False),
    "dark-room": _one_ink("dark-room", "#c23b22", "#000000", dark=True),
    "monochrome": _one_ink("monochrome", "#ffffff", "#000000", dark=True),
}
"""By name, in the order in which one key goes through them."""


def next_theme(name: str) -> str:
    """Return the theme after this one."""
    names = list(THEMES)
    return names[(names.index(name) + 1) % len(names)] if name in names else names[0]
