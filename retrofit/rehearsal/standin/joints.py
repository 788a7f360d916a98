"""Which nodes are one piece of metal: union by name, with path halving."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Generic, TypeVar

Item = TypeVar("Item", bound=Hashable)


class Joints(Generic[Item]):
    """Sets of joined items; an item that was never joined is a set of its own."""

    def __init__(self) -> None:
        self._parent: dict[Item, Item] = {}

    def root(self, item: Item) -> Item:
        """Return the item that stands for all that are joined with this one."""
        parent = self._parent
        while parent.setdefault(item, item) != item:
            parent[item] = parent[parent[item]]
            item = parent[item]
        return item

    def join(self, one: Item, other: Item) -> None:
        """Join two items and all that is joined with either."""
        self._parent[self.root(one)] = self.root(other)

    def joined(self, one: Item, other: Item) -> bool:
        """Return whether two items are one piece."""
        return self.root(one) == self.root(other)
