"""Tests of the ways of reading contacts that are compared."""
