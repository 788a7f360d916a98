"""Tests of the schedules and lists."""
