"""Tests, one folder per part of the tool."""
