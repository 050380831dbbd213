"""Programmes whose truth is known, drawn in memory, and whether each interval that the site prints holds that truth."""
