"""Portable firmware sources and the one templated table, copied into every sketch folder."""
