"""Prints, drawn with reportlab from plain values; no Django."""
