"""Tests of the conversion plan and its rules."""
