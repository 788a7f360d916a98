"""What can go wrong with a port or a recording, in words for whoever has to put it right."""

from __future__ import annotations


class PortError(Exception):
    """A port or a recording cannot be used: what was found, and the remedy."""

    def __init__(self, found: str, remedy: str = "") -> None:
        self.found = found
        self.remedy = remedy
        super().__init__(f"{found}; {remedy}" if remedy else found)


class PortChoiceError(PortError):
    """A name fits no port, or more than one; `names` are the ports that there are."""

    def __init__(self, found: str, names: tuple[str, ...]) -> None:
        self.names = names
        super().__init__(found, f"there are: {'; '.join(names)}" if names else "there is none at all")
