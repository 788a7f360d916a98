"""Sense circuits."""
